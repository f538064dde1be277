"""Who may be living: the people whose pictures and dates are theirs to share or not.

Nobody is taken to be dead for want of a date. Somebody is when the tree or an informant says so (a death, a burial, a
flag), or when they were there so long ago that nobody lives as long: born, christened, married, or the parent of a
child.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import LONGEST, rows_of
from kinphoto.gedcom.calendars import years_later
from kinphoto.store import tables as t


def may_be_living(connection: Connection, people: Collection[int], today: int | None = None) -> set[int]:
    """Those of these people (row ids) who are not known to be dead; somebody outside the tree who turned out to be
    another counts as that other. `today` is a day's ordinal, the present one by default."""
    long_ago = years_later(today or date.today().toordinal(), -LONGEST)
    identity = read_identity(connection)
    who = {id_: identity.of(id_) for id_ in people}
    everybody = set(identity.names(who.values()))
    p = t.person.c
    flags = {row.id: row.living for row in rows_of(connection, select(p.id, p.living), p.id, everybody)}
    dead = {identity.of(id_) for id_, flag in flags.items() if flag == 0}
    dead |= {identity.of(id_) for id_ in _there_before(connection, everybody, long_ago)}
    alive = {identity.of(id_) for id_, flag in flags.items() if flag == 1}
    return {id_ for id_, one in who.items() if one in alive or one not in dead}


def _there_before(connection: Connection, people: set[int], day: int) -> set[int]:
    """Those with an event of their own, of a family in which they are a partner, or of a child, before this day."""
    e, m, k = t.event.c, t.partner.c, t.parent_link.c
    early = (e.last < day) & (e.withdrawn == 0)
    own = select(e.person_id).where(early)
    married = select(m.person_id).join(t.event, e.family_id == m.family_id).where(early)
    child = select(k.parent_id).join(t.event, e.person_id == k.child_id).where(early, k.withdrawn == 0)
    queries = ((own, e.person_id), (married, m.person_id), (child, k.parent_id))
    return {row[0] for query, owner in queries for row in rows_of(connection, query.distinct(), owner, people)}
