"""What may be shown to somebody who has not signed in: nothing of people who may be living.

A photograph is kept back when anybody named in it may be living; a name may be on it by mistake, so that how old the
photograph is does not matter. One with a face without a name, or in which nobody is named, is kept back unless it was
certainly taken so long ago that nobody in it can be living. Who stands in it without a frame and without a name nobody
can know: whoever opens an archive to others decides that with care.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from datetime import date

from sqlalchemy import Connection, select

from kinphoto.archive.lives import LONGEST, rows_of
from kinphoto.archive.living import may_be_living
from kinphoto.store import tables as t
from kinphoto.tree.calendars import years_later


def of_the_dead(connection: Connection, codes: Sequence[str]) -> frozenset[str]:
    """Those of these photographs (codes) that may be shown to anybody."""
    p = t.photograph.c
    ids = {row.id: row.code for row in connection.execute(select(p.id, p.code).where(p.code.in_(codes)))}
    return frozenset(ids[id_] for id_ in for_anybody(connection, ids))


def for_anybody(connection: Connection, ids: Collection[int], today: int | None = None) -> set[int]:
    """The same by row ids. `today` is a day, the present one by default."""
    a, e = t.appearance.c, t.estimate.c
    there: dict[int, set[int | None]] = defaultdict(set)
    query = select(a.photograph_id, a.person_id).where(a.denied == 0, a.withdrawn == 0)
    for photograph_id, person_id in rows_of(connection, query, a.photograph_id, ids):
        there[photograph_id].add(person_id)
    living = may_be_living(connection, {who for people in there.values() for who in people if who is not None}, today)
    long_ago = years_later(today or date.today().toordinal(), -LONGEST)
    latest = {row[0]: row[1] for row in rows_of(connection, select(e.photograph_id, e.latest), e.photograph_id, ids)}
    return {
        id_ for id_ in ids
        if there[id_].isdisjoint(living)
        and ((there[id_] and None not in there[id_]) or (id_ in latest and latest[id_] < long_ago))
    }  # fmt: skip


def the_living(connection: Connection, people: Collection[str]) -> frozenset[str]:
    """Those of these people (ids in the tree) who may be living."""
    p = t.person.c
    ids = {row.id: row.code for row in connection.execute(select(p.id, p.code).where(p.code.in_(list(people))))}
    return frozenset(ids[id_] for id_ in may_be_living(connection, set(ids)))
