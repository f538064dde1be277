"""What may be shown to somebody who has not signed in: nothing of people who may be living.

A photograph is kept back when anybody named in it may be living; how old it is does not matter, because a name may be
on it by mistake. One with a face without a name, or in which nobody is named, is kept back unless it was certainly
taken so long ago that nobody in it can be living. Nobody can know who is in it without a frame and without a name:
whoever opens an archive to others should decide that with care.

`Public` is all of it at once. Whatever lists, counts, searches or turns a page for somebody who has not signed in is
given it, and works as if nothing else were in the archive: what is kept back is neither found nor counted, and no gap,
order or error reveals it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy import ColumnElement, Connection, Engine, select

from kinphoto.archive.catalogue.freshness import as_of
from kinphoto.archive.catalogue.lives import LONGEST, rows_of
from kinphoto.archive.catalogue.living import may_be_living
from kinphoto.gedcom.calendars import years_later
from kinphoto.reason.model.findings import Estimate, State
from kinphoto.store import tables as t
from kinphoto.store.among import among


@dataclass(frozen=True, slots=True)
class Public:
    """What may be shown to anybody (row ids), in one state of the archive and on one day (`as_of`): photographs, people
    who are dead, and the containers in which, or in one inside, such a photograph lies."""

    as_of: tuple[str, int]
    photographs: frozenset[int]
    people: frozenset[int]
    containers: frozenset[int]


_KEPT: WeakKeyDictionary[Engine, Public] = WeakKeyDictionary()


def public_view(connection: Connection, for_anybody: bool) -> Public | None:
    """What may be shown `for_anybody`, kept in memory until something changes; None, for everything, to a keeper."""
    if not for_anybody:
        return None
    known, moment = _KEPT.get(connection.engine), (as_of(connection), date.today().toordinal())
    if known is None or known.as_of != moment:  # changed or dated again since, or another day
        known = _KEPT[connection.engine] = _read(connection, moment)
    return known


def _read(connection: Connection, moment: tuple[str, int]) -> Public:
    p, c = t.photograph.c, t.container.c
    everybody = set(connection.scalars(select(t.person.c.id)))
    lies_in: dict[int, int | None] = {
        row.id: row.container_id for row in connection.execute(select(p.id, p.container_id))
    }
    photographs = for_anybody(connection, set(lies_in), moment[1])
    above: dict[int, int | None] = {row.id: row.parent_id for row in connection.execute(select(c.id, c.parent_id))}
    containers: set[int] = set()
    for inside in {lies_in[id_] for id_ in photographs}:
        while inside is not None and inside not in containers:
            containers.add(inside)
            inside = above[inside]
    people = everybody - may_be_living(connection, everybody, moment[1])
    return Public(moment, frozenset(photographs), frozenset(people), frozenset(containers))


def photographs_shown(
    connection: Connection, photograph_id: ColumnElement[Any], public: Public | None
) -> list[ColumnElement[bool]]:
    """The condition that a photograph may be shown; none where everything may (`public` is None)."""
    return [] if public is None else [among(connection, photograph_id, public.photographs)]


def undisputed(estimate: Estimate) -> Estimate:
    """The estimate without the word that something does not fit together: that can touch what a family never said, and
    is for the keeper."""
    return replace(estimate, state=State.DATED) if estimate.state is State.DISPUTED else estimate


def of_the_dead(connection: Connection, codes: Sequence[str]) -> frozenset[str]:
    """Those of these photographs (codes) that show nobody who may be living, as far as that is known."""
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


def is_for_anybody(connection: Connection, photograph_id: int) -> bool:
    """Whether one photograph (its row id) shows nobody who may be living, as far as that is known."""
    return bool(for_anybody(connection, {photograph_id}))


def the_living(connection: Connection, people: Collection[str]) -> frozenset[str]:
    """Those of these people (ids in the tree) who may be living."""
    p = t.person.c
    ids = {row.id: row.code for row in connection.execute(select(p.id, p.code).where(p.code.in_(list(people))))}
    return frozenset(ids[id_] for id_ in may_be_living(connection, set(ids)))
