"""How much is in an archive and how far along it is: what a newcomer asks first, and what an evening begins with."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import accumulate
from typing import Any

import numpy as np
from sqlalchemy import Connection, Select, and_, case, func, literal, select, union_all

from kinphoto.archive.catalogue.privacy import Public, photographs_shown, public_view
from kinphoto.archive.collection.container_pages import Missing, Tally, lacks, tally
from kinphoto.archive.dates.estimates import kept_findings
from kinphoto.archive.people.proband import proband_id
from kinphoto.archive.words.dates import on_the_clock
from kinphoto.store import tables as t
from kinphoto.store.among import among


@dataclass(frozen=True, slots=True)
class BoxDecades:
    """The photographs directly in one container (`id` 0: in none) by the decade of their best date, and how many
    have no date yet."""

    id: int
    name: str
    decades: dict[int, int]
    undated: int


@dataclass(frozen=True, slots=True)
class DayProgress:
    """How many of the photographs had somebody named in them, and how many a date, at the end of a day (ordinal).

    A photograph counts from the day of the first statement about it that is in use; it counts as dated when it has a
    date now.
    """

    day: int
    named: int
    dated: int


@dataclass(frozen=True, slots=True)
class Overview:
    """Counts of what is in the archive. Album pages are no photographs. `next_unnamed` is the first photograph in which
    nobody is named, `faces` how many faces there are without a name."""

    tally: Tally
    scans: int
    people: int
    in_pictures: int
    faces: int
    conflicts: int
    has_tree: bool
    has_proband: bool
    next_unnamed: str | None
    boxes: tuple[BoxDecades, ...]
    progress: tuple[DayProgress, ...]


def overview(connection: Connection, *, for_anybody: bool = False) -> Overview:
    """How much is in the archive, and how far it has got. With `for_anybody` as if there were only what anybody may
    see, no conflict and nothing to do."""
    public, conflicts = public_view(connection, for_anybody), len(kept_findings(connection).conflicts)
    a, p, s = t.appearance.c, t.photograph.c, t.scan.c
    named = and_(a.withdrawn == 0, a.denied == 0, *photographs_shown(connection, a.photograph_id, public))
    scans = select(func.count()).select_from(t.scan).where(*photographs_shown(connection, s.photograph_id, public))
    people = select(func.count()).select_from(t.person).where(t.person.c.same_as_id.is_(None))
    if public is not None:
        scans = scans.where(s.side != "verso")
        people = people.where(among(connection, t.person.c.id, public.people))
        conflicts = 0
    by_box = tally(connection, None, public)
    boxes = tuple(_boxes(connection, by_box, public))
    return Overview(
        Tally(*(sum(getattr(one, field) for one in by_box.values()) for field in Tally.__slots__)),
        _count(connection, scans),
        _count(connection, people),
        _count(connection, select(func.count(a.person_id.distinct())).where(named)),
        _count(connection, select(func.count()).select_from(t.appearance).where(named, a.person_id.is_(None))),
        conflicts,
        _count(connection, select(func.count()).select_from(t.tree_file)) > 0,
        proband_id(connection) is not None,
        connection.scalar(
            select(p.code)
            .select_from(t.photograph)
            .outerjoin(t.estimate, t.estimate.c.photograph_id == p.id)
            .where(lacks(Missing.NAMES), *photographs_shown(connection, p.id, public))
            .order_by(p.container_id, p.position, p.id)
            .limit(1)
        ),
        boxes,
        tuple(_progress(connection, public)),
    )


def _count(connection: Connection, query: Select[Any]) -> int:
    return int(connection.scalar(query) or 0)


def _boxes(connection: Connection, by_box: dict[int | None, Tally], public: Public | None) -> Iterable[BoxDecades]:
    """The containers by how much is in them."""
    p, e, c = t.photograph.c, t.estimate.c, t.container.c
    query = select(func.coalesce(p.container_id, 0), e.best).join(t.estimate, e.photograph_id == p.id)
    query = query.where(*photographs_shown(connection, p.id, public))
    rows = connection.execute(query.where(p.page == 0, e.best.is_not(None))).all()
    decades: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    if rows:
        box, best = np.array(rows, dtype=np.int64).T
        years = (best - date(1970, 1, 1).toordinal()).astype("datetime64[D]").astype("datetime64[Y]").astype(int) + 1970
        pairs, counts = np.unique(np.stack([box, years // 10 * 10]), axis=1, return_counts=True)
        for (id_, decade), count in zip(pairs.T.tolist(), counts.tolist(), strict=True):
            decades[id_][decade] = count
    names: dict[int | None, str] = {row.id: row.name for row in connection.execute(select(c.id, c.name))}
    for key, counted in sorted(by_box.items(), key=lambda pair: -pair[1].photographs):
        known = dict(decades.get(key or 0, {}))
        undated = counted.photographs - sum(known.values())
        yield BoxDecades(key or 0, names.get(key, "") if key else "", known, undated)


def _progress(connection: Connection, public: Public | None) -> Iterable[DayProgress]:
    """Day by day, from the first statement to the last."""
    a, s, e = t.appearance.c, t.statement.c, t.estimate.c
    names = select(a.photograph_id, func.min(a.said_at).label("at"), literal(1).label("named")).where(
        a.withdrawn == 0, a.denied == 0, a.person_id.is_not(None)
    )
    others = select(s.photograph_id, func.min(s.said_at).label("at"), literal(0).label("named")).where(s.withdrawn == 0)
    both = union_all(names.group_by(a.photograph_id), others.group_by(s.photograph_id)).subquery()
    first_name = func.min(case((both.c.named == 1, both.c.at)))
    each = (
        select(first_name, func.min(both.c.at), func.min(e.best))
        .select_from(both.outerjoin(t.estimate, e.photograph_id == both.c.photograph_id))
        .where(*photographs_shown(connection, both.c.photograph_id, public))
        .group_by(both.c.photograph_id)
    )
    counted: dict[date, list[int]] = defaultdict(lambda: [0, 0])
    for named_at, first_at, best in connection.execute(each):
        if named_at is not None:
            counted[on_the_clock(named_at).date()][0] += 1
        if best is not None:
            counted[on_the_clock(first_at).date()][1] += 1
    days = sorted(counted)
    totals = zip(*(accumulate(counted[day][at] for day in days) for at in (0, 1)), strict=True) if days else ()
    for day, (named, dated) in zip(days, totals, strict=True):
        yield DayProgress(day.toordinal(), named, dated)
