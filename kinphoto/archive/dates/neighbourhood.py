"""Which rows can bear on one photograph: found from it step by step, by indexed queries.

The rules are those of `reason/model/focus.py`, so that `evidence` makes of these rows what it would make of all of
them:

- of a photograph: everybody in it, the photographs it is related to, the events it shows;
- of an event that is shown: the couple, and the other photographs that show it;
- of somebody in a picture: parents, children and partners;
- of somebody whose birth is not known to within a year also the other pictures they are in, and of such parents,
  children and partners everything again.

Where very much hangs together (somebody of unknown age in hundreds of pictures) the walk ends at a *bound*: the nearest
come first, and of those equally near the photographs that are dated most closely, since they bound a life the most.
Whose other photographs were not all reached is told (`cut`): what those say of their births is known from when
everything was last dated. What is concluded from it stands until everything is dated again.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from sqlalchemy import Column, Connection, RowMapping, Select, Table, bindparam, select

from kinphoto.archive.catalogue.identity import same_as
from kinphoto.archive.catalogue.kinds import RELATION_KINDS
from kinphoto.reason.model.focus import EXACT
from kinphoto.store import tables as t
from kinphoto.store.among import FEW, among

_PAGE = "part-of"  # the relation that says nothing about dates

# What is read of the rows on the way. Each stands here once and is put together once: a walk asks some sixty times.
_a, _e, _i, _k, _s = t.appearance.c, t.event.c, t.informant.c, t.parent_link.c, t.statement.c
_PAGES = select(_s.other_id).where(_s.kind == _PAGE, _s.other_id.is_not(None))
_SAID = select(_s.photograph_id, _s.other_id, _s.kind, _s.value).where(
    _s.withdrawn == 0, _s.kind.in_((*RELATION_KINDS, "event")), _s.kind != _PAGE
)
_SEEN = select(_a.person_id, _a.withdrawn, _i.person_id.label("teller")).outerjoin(
    t.informant, _i.id == _a.informant_id
)
_TELLERS = select(_i.person_id).join(t.statement, _s.informant_id == _i.id)
_PICTURES = select(_a.photograph_id).where(_a.withdrawn == 0)
_PICTURED = select(_a.photograph_id, _a.person_id).where(_a.withdrawn == 0)
_SHOWING = select(_s.photograph_id).where(_s.kind == "event", _s.withdrawn == 0)
_FAMILIES = select(t.family.c.id, t.family.c.code)
_PEOPLE = select(t.person.c.id, t.person.c.code)
_PARTNERS = select(t.partner.c.family_id, t.partner.c.person_id)
_PARENTS = select(_k.child_id, _k.parent_id)
_BIRTHS = select(_e.person_id, _e.first, _e.last).where(_e.tag == "BIRT", _e.withdrawn == 0)
_DATES = select(t.estimate.c.photograph_id, t.estimate.c.earliest, t.estimate.c.latest)


@dataclass(frozen=True, slots=True)
class Bound:
    """How many photographs and people the walk may open; what the photograph itself shows is always opened."""

    photographs: int = 10
    people: int = 75


BOUND = Bound()


@dataclass(frozen=True)
class Reach:
    """What was reached, nearest photographs first. `people` may bear on the photograph; `others` are named by rows.
    `complete` is False when there was more than the bound allowed; `cut` are then the people who are in photographs
    that were not reached."""

    connection: Connection
    turned_out: dict[int, int]
    photographs: tuple[int, ...]
    people: set[int]
    others: set[int]
    families: set[int]
    complete: bool
    cut: frozenset[int] = frozenset()

    def rows(self, table: Table) -> list[RowMapping]:
        """The rows of a table that were reached, in the order of their ids."""
        if table is t.informant:
            found: Iterable[RowMapping] = self.connection.execute(select(table)).mappings()
        else:
            wanted = [_rows(self.connection, _whole(table), column, ids) for column, ids in self._wanted(table)]
            found = (row for rows in wanted for row in rows)
        return sorted({row["id"]: row for row in found if self._is_whole(table, row)}.values(), key=lambda r: r["id"])

    def withdrawn(self, table: Table) -> list[RowMapping]:
        """The withdrawn rows of appearances or statements that were about the photograph itself."""
        rows = _rows(self.connection, _whole(table), table.c.photograph_id, self.photographs[:1])
        return [row for row in rows if row["withdrawn"]]

    def _wanted(self, table: Table) -> list[tuple[Column[Any], Collection[int]]]:
        """Of which ids in which columns the rows are."""
        c = table.c
        if table is t.photograph:
            return [(c.id, {*self.photographs, *self._pages()})]
        if table is t.appearance or table is t.statement:
            return [(c.photograph_id, self.photographs)]
        if table is t.person:
            return [(c.id, self.people | self.others)]
        if table is t.event:
            return [(c.person_id, self.people | self.others), (c.family_id, self.families)]
        if table is t.parent_link:
            return [(c.child_id, self.people)]
        return [(c.id if table is t.family else c.family_id, self.families)]

    def _is_whole(self, table: Table, row: RowMapping) -> bool:
        """Whether the other end of a relation was reached too."""
        far = table is t.statement and row["other_id"] is not None and row["kind"] != _PAGE
        return not far or row["other_id"] in self.photographs

    def _pages(self) -> Iterator[int]:
        """The album pages that these photographs are mounted on."""
        return (row["other_id"] for row in _rows(self.connection, _PAGES, _s.photograph_id, self.photographs))


def reach(connection: Connection, photograph_id: int, bound: Bound = BOUND) -> Reach:
    """What can bear on one photograph."""
    walk = _Walk(connection, bound)
    walk.go(photograph_id)
    tellers = {row["person_id"] for row in _rows(connection, _TELLERS, _s.photograph_id, walk.photographs)}
    tellers = {who for one in tellers - {None} for who in (one, walk.turned_out.get(one, one))}
    others = {other for one in walk.people for other in walk.also[one]} | walk.others | tellers
    return Reach(
        connection, walk.turned_out, tuple(walk.photographs), walk.people, others, walk.families, walk.complete,
        frozenset() if walk.complete else walk.cut(),
    )  # fmt: skip


def reach_people(connection: Connection, people: Collection[int]) -> Reach:
    """What the tree says of these people (row ids) and of their parents, children and partners; no photograph."""
    walk = _Walk(connection, BOUND)
    walk.people.update(people, *walk.families_of(set(people)).values())
    others = {other for one in walk.people for other in walk.also[one]}
    return Reach(connection, walk.turned_out, (), walk.people, others, walk.families, complete=True)


class _Walk:
    """The walk from one photograph: photographs, then their people and families, then further photographs."""

    def __init__(self, connection: Connection, bound: Bound) -> None:
        self.connection = connection
        self.bound = bound
        self.turned_out = same_as(connection)
        self.also: dict[int, list[int]] = defaultdict(list)
        for one, who in self.turned_out.items():
            self.also[who].append(one)
        self.photographs: list[int] = []
        self.people: set[int] = set()
        self.opened: set[int] = set()
        self.others: set[int] = set()
        self.families: set[int] = set()
        self.shown: set[str] = set()
        self.complete = True

    def go(self, photograph_id: int) -> None:
        """Walk as far as there is something, or as the bound allows."""
        ring = [photograph_id]
        while ring:
            self.photographs += ring
            related, events = self._said_of(ring)
            pictured = self._seen_in(ring) | self._people_of(events)
            vague = self._open(pictured, first=len(self.photographs) == 1)
            self.shown |= events | self._events_of(vague)
            ring = self._nearest(related, self._pictures_of(vague) | self._showing(self.shown))

    def cut(self) -> frozenset[int]:
        """The people who are in photographs that were not reached."""
        names = {name: one for one in self.people for name in (one, *self.also[one])}
        reached = set(self.photographs)
        rows = self._rows(_PICTURED, _a.person_id, names)
        return frozenset(names[row["person_id"]] for row in rows if row["photograph_id"] not in reached)

    # --- from photographs -----------------------------------------------------------------------------------------

    def _said_of(self, ring: list[int]) -> tuple[set[int], set[str]]:
        """The photographs related to these, and the keys of the events shown in them."""
        rows = [*self._rows(_SAID, _s.photograph_id, ring), *self._rows(_SAID, _s.other_id, ring)]
        ends = {row[end] for row in rows for end in ("photograph_id", "other_id") if row["kind"] != "event"}
        return ends - {None}, {row["value"] for row in rows if row["kind"] == "event"}

    def _seen_in(self, ring: list[int]) -> set[int]:
        """Everybody in these photographs; who told of it is noted."""
        rows = self._rows(_SEEN, _a.photograph_id, ring)
        named = {row[column] for row in rows for column in ("person_id", "teller")} - {None}
        self.others |= named | {self._who(one) for one in named}
        seen = {row["person_id"] for row in rows if not row["withdrawn"]} - {None}
        return {self._who(one) for one in seen}

    def _people_of(self, events: set[str]) -> set[int]:
        """The couples of marriages, and whose birth or death is shown; whom other events are of is noted."""
        codes = {key.partition(":")[0] for key in events}
        f, p = t.family.c, t.person.c
        families = {row["code"]: row["id"] for row in self._rows(_FAMILIES, f.code, codes)}
        self.families |= set(families.values())
        couples = {row["person_id"] for row in self._partners(t.partner.c.family_id, families.values())}
        known = {row["code"]: row["id"] for row in self._rows(_PEOPLE, p.code, codes)}
        lives = {known[code] for code in known if {f"{code}:BIRT", f"{code}:DEAT"} & events}
        self.others |= set(known.values())
        return couples | lives

    # --- from people ----------------------------------------------------------------------------------------------

    def _open(self, pictured: set[int], *, first: bool) -> set[int]:
        """Everybody in a picture and their families, on and on through those whose birth is vague, who are returned."""
        self.people |= pictured
        found: set[int] = set()
        edge = pictured - self.opened
        while edge:
            room = len(edge) if first else max(self.bound.people - len(self.opened), 0)
            self.complete &= len(edge) <= room
            edge, first = set(sorted(edge)[:room]), False
            self.opened |= edge
            near = self.families_of(edge)
            self.people.update(*near.values())
            vague = edge - self._exact(edge)
            found |= vague
            edge = {other for one in vague for other in near[one]} - self.opened
            edge -= self._exact(edge)
        return found

    def families_of(self, people: set[int]) -> dict[int, set[int]]:
        """Parents, children and partners of each."""
        near: dict[int, set[int]] = defaultdict(set)
        for column in (_k.child_id, _k.parent_id):
            for row in self._rows(_PARENTS, column, people):
                near[row["child_id"]].add(row["parent_id"])
                near[row["parent_id"]].add(row["child_id"])
        of = {row["family_id"] for row in self._partners(t.partner.c.person_id, people)}
        self.families |= of
        couples: dict[int, set[int]] = defaultdict(set)
        for row in self._partners(t.partner.c.family_id, of):
            couples[row["family_id"]].add(row["person_id"])
        for couple in couples.values():
            for one in couple:
                near[one] |= couple
        return {one: near[one] for one in people}

    def _exact(self, people: set[int]) -> set[int]:
        """Those of them whose birth is known to within a year, whichever of its dates is believed."""
        names = {name: one for one in people for name in (one, *self.also[one])}
        dates: dict[int, list[bool]] = defaultdict(list)
        for row in self._rows(_BIRTHS, _e.person_id, names):
            first, last = row["first"], row["last"]
            if first is not None or last is not None:
                dates[names[row["person_id"]]].append(first is not None and last is not None and last - first <= EXACT)
        return {one for one, exact in dates.items() if all(exact)}

    def _events_of(self, people: set[int]) -> set[str]:
        """The keys of the events that bound these lives: marriages, births and deaths."""
        p, f = t.person.c, t.family.c
        codes = [row["code"] for row in self._rows(_PEOPLE, p.id, people)]
        of = {row["family_id"] for row in self._partners(t.partner.c.person_id, people)}
        weddings = {f"{row['code']}:MARR" for row in self._rows(_FAMILIES, f.id, of)}
        return weddings | {f"{code}:{tag}" for code in codes for tag in ("BIRT", "DEAT")}

    # --- to further photographs -----------------------------------------------------------------------------------

    def _pictures_of(self, people: set[int]) -> set[int]:
        """The photographs these people are in."""
        names = {name for one in people for name in (one, *self.also[one])}
        return {row["photograph_id"] for row in self._rows(_PICTURES, _a.person_id, names)}

    def _showing(self, events: set[str]) -> set[int]:
        """The photographs that show one of these events."""
        return {row["photograph_id"] for row in self._rows(_SHOWING, _s.value, events)}

    def _nearest(self, related: set[int], others: set[int]) -> list[int]:
        """As many of these as there is room for: related ones first, then by how closely they are dated now."""
        known = set(self.photographs)
        related, others = related - known, others - known - related
        room = max(self.bound.photographs - len(known), 0)
        if len(related) + len(others) > room:
            self.complete = False
            return [*self._by_width(related), *self._by_width(others)][:room]
        return [*sorted(related), *sorted(others)]

    def _by_width(self, photographs: set[int]) -> list[int]:
        rows = self._rows(_DATES, t.estimate.c.photograph_id, photographs)
        width = {row["photograph_id"]: row["latest"] - row["earliest"] for row in rows}
        return sorted(photographs, key=lambda i: (i not in width, width.get(i, 0), i))

    # --- reading --------------------------------------------------------------------------------------------------

    def _who(self, person_id: int) -> int:
        return self.turned_out.get(person_id, person_id)

    def _partners(self, column: Column[Any], ids: Collection[int]) -> list[RowMapping]:
        return self._rows(_PARTNERS, column, ids)

    def _rows(self, query: Select[Any], column: Column[Any], values: Collection[Any]) -> list[RowMapping]:
        return _rows(self.connection, query, column, values)


def _rows(connection: Connection, query: Select[Any], column: Column[Any], values: Collection[Any]) -> list[RowMapping]:
    """The rows of a query whose `column` has one of the values."""
    if not values:
        return []
    if len(values) > FEW:
        return list(connection.execute(query.where(among(connection, column, values))).mappings())
    return list(connection.execute(_listed(query, column), {"wanted": sorted(values)}).mappings())


@cache
def _listed(query: Select[Any], column: Column[Any]) -> Select[Any]:
    """The query for a list of `wanted` values of the column."""
    return query.where(column.in_(bindparam("wanted", expanding=True)))


@cache
def _whole(table: Table) -> Select[Any]:
    return select(table)
