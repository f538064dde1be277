"""Which rows can bear on one photograph: the walk of `reason/model/walk.py` from row to row, by indexed queries.

Where very much is connected (somebody of unknown age in hundreds of pictures) the walk ends at a *bound*: the nearest
come first, and of those equally near the photographs with the closest dates, which limit a life the most. `cut` are the
people in photographs beyond it: what those show about their births comes from when everything was last dated.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Set
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any

from sqlalchemy import Column, Connection, RowMapping, Select, Table, bindparam, select

from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.archive.catalogue.kinds import RELATION_KINDS
from kinphoto.archive.catalogue.recorded_dates import names_event, naming_events
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.batches import EXACT
from kinphoto.reason.model.span import Span
from kinphoto.reason.model.walk import Bound, Walk, is_exact, walk
from kinphoto.store import tables as t
from kinphoto.store.among import FEW, among

_PAGE = "part-of"  # the relation that says nothing about dates

# What is read on the way, built once: a walk asks some sixty times.
_a, _e, _i, _k, _s = t.appearance.c, t.event.c, t.informant.c, t.parent_link.c, t.statement.c
_PAGES = select(_s.other_id).where(_s.kind == _PAGE, _s.other_id.is_not(None))
_SAID = select(_s.photograph_id, _s.other_id, _s.kind, _s.value, _s.days_from, _s.days_to).where(
    _s.withdrawn == 0, _s.kind.in_(RELATION_KINDS) | naming_events(_s), _s.kind != _PAGE
)
_p, _p2, _s2 = t.photograph.c, t.photograph.alias("beside"), t.statement.alias("of_it")
_PRINTED = (  # with the same printed date in the same container: a batch (reason/model/batches.py)
    select(_s2.c.photograph_id)
    .select_from(t.statement)
    .join(t.photograph, _p.id == _s.photograph_id)
    .join(_p2, _p2.c.container_id == _p.container_id)
    .join(_s2, _s2.c.photograph_id == _p2.c.id)
    .where(_s.kind == ev.Claim.PRINT_STAMP, _s.withdrawn == 0, _s.doubtful == 0, _s.last - _s.first < EXACT)
    .where(_s2.c.kind == _s.kind, _s2.c.withdrawn == 0, _s2.c.first == _s.first, _s2.c.last == _s.last)
)
_SEEN = select(_a.person_id, _a.withdrawn, _i.person_id.label("teller")).outerjoin(
    t.informant, _i.id == _a.informant_id
)
_TELLERS = select(_i.person_id).join(t.statement, _s.informant_id == _i.id)
_PICTURES = select(_a.photograph_id).where(_a.withdrawn == 0)
_PICTURED = select(_a.photograph_id, _a.person_id).where(_a.withdrawn == 0)
_SHOWING = select(_s.photograph_id).where(naming_events(_s), _s.withdrawn == 0)
_FAMILIES = select(t.family.c.id, t.family.c.code)
_PEOPLE = select(t.person.c.id, t.person.c.code)
_PARTNERS = select(t.partner.c.family_id, t.partner.c.person_id)
_PARENTS = select(_k.child_id, _k.parent_id)
_BIRTHS = select(_e.person_id, _e.first, _e.last).where(_e.tag == "BIRT", _e.withdrawn == 0)
_DATES = select(t.estimate.c.photograph_id, t.estimate.c.earliest, t.estimate.c.latest)


BOUND = Bound(photographs=10, people=75)
"""What is opened where very much is connected."""
WIDER = Bound(photographs=20, people=120)
"""The same where a photograph is dated again, and what it moves with it."""


@dataclass(frozen=True)
class Reach:
    """What was reached. `others` are people whose names a sentence may need, `cut` those in photographs that were not
    reached."""

    source: _Tables
    found: Walk[int]
    others: set[int]
    cut: frozenset[int] = frozenset()

    @property
    def identity(self) -> Identity:
        """Who is who."""
        return self.source.identity

    @property
    def people(self) -> set[int]:
        """Everybody reached or named."""
        return self.found.people | self.others

    def rows(self, table: Table) -> list[RowMapping]:
        """The rows of a table that were reached, in the order of their ids."""
        if table is t.informant:
            found: Iterable[RowMapping] = self.source.connection.execute(select(table)).mappings()
        else:
            wanted = [self.source.rows(_whole(table), column, ids) for column, ids in self._wanted(table)]
            found = (row for rows in wanted for row in rows)
        return sorted({row["id"]: row for row in found if self._is_whole(table, row)}.values(), key=lambda r: r["id"])

    def from_containers(self) -> dict[str, bytes]:
        """The messages of containers to the photographs reached, as of when everything was last dated."""
        f = t.from_container.c
        query = select(t.photograph.c.code, f.told).join(t.photograph, t.photograph.c.id == f.photograph_id)
        rows = self.source.rows(query, f.photograph_id, self.found.photographs)
        return {row["code"]: row["told"] for row in rows}

    def tied(self) -> set[int]:
        """The photographs reached that relations or events tie to others, reached or not."""
        said = [row for end in (_s.photograph_id, _s.other_id) for row in self.source.rows(_SAID, end, self._reached)]
        return {row[end] for row in said for end in ("photograph_id", "other_id")} & self._reached

    @cached_property
    def _reached(self) -> set[int]:
        return set(self.found.photographs)

    def withdrawn(self, table: Table) -> list[RowMapping]:
        """The withdrawn rows of appearances or statements that were about the photograph itself."""
        rows = self.source.rows(_whole(table), table.c.photograph_id, self.found.photographs[:1])
        return [row for row in rows if row["withdrawn"]]

    def _wanted(self, table: Table) -> list[tuple[Column[Any], Collection[int]]]:
        """Which ids in which columns the rows have."""
        c, photographs, families = table.c, self.found.photographs, self.source.met
        if table is t.container:  # most of what is in it was not reached
            return []
        if table is t.photograph:
            pages = (row["other_id"] for row in self.source.rows(_PAGES, _s.photograph_id, photographs))
            return [(c.id, {*photographs, *pages})]
        if table is t.appearance or table is t.statement:
            return [(c.photograph_id, photographs)]
        if table is t.person:
            return [(c.id, self.people)]
        if table is t.event:
            return [(c.person_id, self.people), (c.family_id, families)]
        if table is t.parent_link:
            return [(c.child_id, self.found.people)]
        return [(c.id if table is t.family else c.family_id, families)]

    def _is_whole(self, table: Table, row: RowMapping) -> bool:
        """Whether the other end of a relation was reached too."""
        far = table is t.statement and row["other_id"] is not None and row["kind"] != _PAGE
        return not far or row["other_id"] in self.found.photographs


def reach(connection: Connection, photograph_id: int, bound: Bound = BOUND) -> Reach:
    """What can bear on one photograph."""
    source = _Tables(connection)
    found = walk(source, photograph_id, bound)
    source.note({row["person_id"] for row in source.rows(_TELLERS, _s.photograph_id, found.photographs)})
    cut = frozenset[int]() if found.complete else source.cut(found)
    return _reached(source, found, cut)


def reach_people(connection: Connection, people: Collection[int]) -> Reach:
    """What the tree says about these people (row ids) and their parents, children and partners; no photograph."""
    source, found = _Tables(connection), Walk[int]()
    found.people.update(people, *source.families(set(people)).values())
    return _reached(source, found, frozenset())


def _reached(source: _Tables, found: Walk[int], cut: frozenset[int]) -> Reach:
    return Reach(source, found, source.others | source.identity.names(found.people).keys(), cut)


class _Tables:
    """The source of the walk. It notes people whose names a sentence may need (`others`), and the families it met."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.identity = read_identity(connection)
        self.others: set[int] = set()
        self.met: set[int] = set()

    def cut(self, found: Walk[int]) -> frozenset[int]:
        """The people who are in photographs that were not reached."""
        names, reached = self.identity.names(found.people), set(found.photographs)
        rows = self.rows(_PICTURED, _a.person_id, names)
        return frozenset(names[row["person_id"]] for row in rows if row["photograph_id"] not in reached)

    def note(self, people: Set[int | None]) -> None:
        """A sentence may have to name these people, or who they turned out to be."""
        named = {one for one in people if one is not None}
        self.others |= named | {self.identity.of(one) for one in named}

    # --- from photographs -----------------------------------------------------------------------------------------

    def shown(self, photographs: Set[int]) -> tuple[set[int], set[int], set[str]]:
        said = [*self.rows(_SAID, _s.photograph_id, photographs), *self.rows(_SAID, _s.other_id, photographs)]
        related = {row[end] for row in said for end in ("photograph_id", "other_id") if not names_event(row)}
        related |= {row["photograph_id"] for row in self.rows(_PRINTED, _s.photograph_id, photographs)}
        events = {row["value"] for row in said if names_event(row)}
        people = self._people_of(events)
        return related - {None}, self._seen_in(photographs) | people, events | self._lives_of(people)

    def _seen_in(self, photographs: Set[int]) -> set[int]:
        """Everybody in these photographs; whoever told us is noted."""
        rows = self.rows(_SEEN, _a.photograph_id, photographs)
        self.note({row[column] for row in rows for column in ("person_id", "teller")})
        return {self.identity.of(row["person_id"]) for row in rows if not row["withdrawn"]} - {None}

    def _people_of(self, events: set[str]) -> set[int]:
        """The couples of marriages, and people whose birth or death is shown; those of other events are noted."""
        codes = {key.partition(":")[0] for key in events}
        families = {row["id"] for row in self.rows(_FAMILIES, t.family.c.code, codes)}
        self.met |= families
        couples = {row["person_id"] for row in self.rows(_PARTNERS, t.partner.c.family_id, families)}
        known = {row["code"]: row["id"] for row in self.rows(_PEOPLE, t.person.c.code, codes)}
        self.others |= set(known.values())
        lived = {known[code] for code in known if {f"{code}:{tag}" for tag in ev.LIFE_TAGS.values()} & events}
        return couples | {self.identity.of(one) for one in lived}

    def _lives_of(self, people: Set[int]) -> set[str]:
        """Births and deaths of these people, by the codes of everybody who turned out to be them."""
        codes = [row["code"] for row in self.rows(_PEOPLE, t.person.c.id, self.identity.names(people))]
        return {f"{code}:{tag}" for code in codes for tag in ev.LIFE_TAGS.values()}

    # --- from people ----------------------------------------------------------------------------------------------

    def families(self, people: Set[int]) -> dict[int, set[int]]:
        near: dict[int, set[int]] = defaultdict(set)
        for column in (_k.child_id, _k.parent_id):
            for row in self.rows(_PARENTS, column, people):
                near[row["child_id"]].add(row["parent_id"])
                near[row["parent_id"]].add(row["child_id"])
        of = {row["family_id"] for row in self.rows(_PARTNERS, t.partner.c.person_id, people)}
        self.met |= of
        couples: dict[int, set[int]] = defaultdict(set)
        for row in self.rows(_PARTNERS, t.partner.c.family_id, of):
            couples[row["family_id"]].add(row["person_id"])
        for couple in couples.values():
            for one in couple:
                near[one] |= couple
        return {one: near[one] for one in people}

    def exactly_born(self, people: Set[int]) -> set[int]:
        """Those whose birth is known closely by every one of its dates."""
        names = self.identity.names(people)
        dates: dict[int, list[bool]] = defaultdict(list)
        for row in self.rows(_BIRTHS, _e.person_id, names):
            if row["first"] is not None or row["last"] is not None:
                dates[names[row["person_id"]]].append(is_exact(Span(row["first"], row["last"])))
        return {one for one, exact in dates.items() if all(exact)}

    def events(self, people: Set[int]) -> set[str]:
        of = {row["family_id"] for row in self.rows(_PARTNERS, t.partner.c.person_id, people)}
        weddings = {f"{row['code']}:MARR" for row in self.rows(_FAMILIES, t.family.c.id, of)}
        return weddings | self._lives_of(people)

    # --- to further photographs -----------------------------------------------------------------------------------

    def showing(self, people: Set[int], events: Set[str]) -> set[int]:
        found = [
            *self.rows(_PICTURES, _a.person_id, self.identity.names(people)),
            *self.rows(_SHOWING, _s.value, events),
        ]
        return {row["photograph_id"] for row in found}

    def best_first(self, photographs: Set[int]) -> list[int]:
        rows = self.rows(_DATES, t.estimate.c.photograph_id, photographs)
        width = {row["photograph_id"]: row["latest"] - row["earliest"] for row in rows}
        return sorted(photographs, key=lambda i: (i not in width, width.get(i, 0), i))

    def rows(self, query: Select[Any], column: Column[Any], values: Collection[Any]) -> list[RowMapping]:
        """The rows of a query whose `column` has one of the values."""
        if not values:
            return []
        if len(values) > FEW:
            found = self.connection.execute(query.where(among(self.connection, column, values)))
        else:
            found = self.connection.execute(_listed(query, column), {"wanted": sorted(values)})
        return list(found.mappings().all())


@cache
def _listed(query: Select[Any], column: Column[Any]) -> Select[Any]:
    """The query for a list of `wanted` values of the column."""
    return query.where(column.in_(bindparam("wanted", expanding=True)))


@cache
def _whole(table: Table) -> Select[Any]:
    return select(table)
