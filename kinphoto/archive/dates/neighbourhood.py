"""Which rows can bear on one photograph: the walk of `reason/model/walk.py` from row to row, by indexed queries.

Where very much is connected (somebody of unknown age in hundreds of pictures) the walk ends at a *bound*: the nearest
come first, and of those equally near the photographs with the closest dates, which limit a life the most. `cut` are the
people in photographs beyond it: what those show about their births comes from when everything was last dated.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Set
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from sqlalchemy import Column, Connection, Table, select

from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.archive.catalogue.kinds import RELATION_KINDS
from kinphoto.archive.catalogue.recorded_dates import names_event
from kinphoto.archive.dates.rows import Row, rows_among, rows_now
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.batches import EXACT
from kinphoto.reason.model.span import Span
from kinphoto.reason.model.walk import Bound, Walk, is_exact, walk
from kinphoto.store import tables as t

_PAGE = "part-of"  # the relation that says nothing about dates
_a, _e, _k, _s = t.appearance.c, t.event.c, t.parent_link.c, t.statement.c
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
_SEEN = _a.photograph_id, _a.person_id, _a.withdrawn
"""What tells in which photographs somebody is, who may be in hundreds."""
_TOLD = select(t.photograph.c.code, t.from_container.c.told).join(
    t.photograph, t.photograph.c.id == t.from_container.c.photograph_id
)
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

    def rows(self, table: Table) -> list[Row]:
        """The rows of a table that were reached, in the order of their ids."""
        rows = self.source.rows
        if table is t.informant:
            return list(rows.every(table))
        found = (row for column, ids in self._wanted(table) for row in rows.having(column, ids))
        return sorted({row["id"]: row for row in found if self._is_whole(table, row)}.values(), key=lambda r: r["id"])

    def from_containers(self) -> dict[str, bytes]:
        """The messages of containers to the photographs reached, as of when everything was last dated."""
        told = rows_among(self.source.connection, _TOLD, t.from_container.c.photograph_id, self.found.photographs)
        return {row["code"]: row["told"] for row in told}

    def tied(self) -> set[int]:
        """The photographs reached that relations or events tie to others, reached or not."""
        said = self.source.said_of(self._reached)
        return {row[end] for row in said for end in ("photograph_id", "other_id")} & self._reached

    @cached_property
    def _reached(self) -> set[int]:
        return set(self.found.photographs)

    def withdrawn(self, table: Table) -> list[Row]:
        """The withdrawn rows of appearances or statements that were about the photograph itself."""
        rows = self.source.rows.having(table.c.photograph_id, self.found.photographs[:1])
        return [row for row in rows if row["withdrawn"]]

    def _wanted(self, table: Table) -> list[tuple[Column[Any], Collection[int]]]:
        """Which ids in which columns the rows have."""
        c, photographs, families = table.c, self.found.photographs, self.source.met
        if table is t.container:  # most of what is in it was not reached
            return []
        if table is t.photograph:
            said = self.source.rows.having(_s.photograph_id, photographs)
            pages = (row["other_id"] for row in said if row["kind"] == _PAGE and row["other_id"] is not None)
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

    def _is_whole(self, table: Table, row: Row) -> bool:
        """Whether the other end of a relation was reached too."""
        far = table is t.statement and row["other_id"] is not None and row["kind"] != _PAGE
        return not far or row["other_id"] in self._reached


def reach(connection: Connection, photograph_id: int, bound: Bound = BOUND) -> Reach:
    """What can bear on one photograph."""
    source = _Tables(connection)
    found = walk(source, photograph_id, bound)
    source.note(source.tellers(source.rows.having(_s.photograph_id, found.photographs)))
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
        self.rows = rows_now(connection)
        self.identity = read_identity(connection)
        self.others: set[int] = set()
        self.met: set[int] = set()

    def cut(self, found: Walk[int]) -> frozenset[int]:
        """The people who are in photographs that were not reached."""
        names, reached = self.identity.names(found.people), set(found.photographs)
        rows = self.rows.having(_a.person_id, names, _SEEN)
        return frozenset(
            names[row["person_id"]] for row in rows if not row["withdrawn"] and row["photograph_id"] not in reached
        )

    def note(self, people: Set[int | None]) -> None:
        """A sentence may have to name these people, or who they turned out to be."""
        named = {one for one in people if one is not None}
        self.others |= named | {self.identity.of(one) for one in named}

    # --- from photographs -----------------------------------------------------------------------------------------

    def shown(self, photographs: Set[int]) -> tuple[set[int], set[int], set[str]]:
        said = self.said_of(photographs)
        related = {row[end] for row in said for end in ("photograph_id", "other_id") if not names_event(row)}
        events = {row["value"] for row in said if names_event(row)}
        people = self._people_of(events)
        related |= self._printed_with(photographs)
        return related - {None}, self._seen_in(photographs) | people, events | self._lives_of(people)

    def said_of(self, photographs: Set[int]) -> list[Row]:
        """What is said of how these photographs relate to others, at either end, and of the events they show."""
        rows = [row for end in (_s.photograph_id, _s.other_id) for row in self.rows.having(end, photographs)]
        return [row for row in rows if not row["withdrawn"] and (_is_relation(row) or names_event(row))]

    def _printed_with(self, photographs: Set[int]) -> set[int]:
        """What was printed together with one of these."""
        rows = self.rows.having(_s.photograph_id, photographs)
        stamped = {row["photograph_id"] for row in rows if row["kind"] == ev.Claim.PRINT_STAMP}
        return {row["photograph_id"] for row in rows_among(self.connection, _PRINTED, _s.photograph_id, stamped)}

    def tellers(self, rows: Iterable[Row]) -> set[int | None]:
        """Who (as people) told us these."""
        informants = {row["informant_id"] for row in rows} - {None}
        return {one["person_id"] for one in self.rows.every(t.informant) if one["id"] in informants}

    def _seen_in(self, photographs: Set[int]) -> set[int]:
        """Everybody in these photographs; whoever told us is noted."""
        rows = self.rows.having(_a.photograph_id, photographs)
        self.note({row["person_id"] for row in rows} | self.tellers(rows))
        return {self.identity.of(row["person_id"]) for row in rows if not row["withdrawn"]} - {None}

    def _people_of(self, events: set[str]) -> set[int]:
        """The couples of marriages, and people whose birth or death is shown; those of other events are noted."""
        codes = {key.partition(":")[0] for key in events}
        families = {row["id"] for row in self.rows.having(t.family.c.code, codes)}
        self.met |= families
        couples = {row["person_id"] for row in self.rows.having(t.partner.c.family_id, families)}
        known = {row["code"]: row["id"] for row in self.rows.having(t.person.c.code, codes)}
        self.others |= set(known.values())
        lived = {known[code] for code in known if {f"{code}:{tag}" for tag in ev.LIFE_TAGS.values()} & events}
        return couples | {self.identity.of(one) for one in lived}

    def _lives_of(self, people: Set[int]) -> set[str]:
        """Births and deaths of these people, by the codes of everybody who turned out to be them."""
        codes = [row["code"] for row in self.rows.having(t.person.c.id, self.identity.names(people))]
        return {f"{code}:{tag}" for code in codes for tag in ev.LIFE_TAGS.values()}

    # --- from people ----------------------------------------------------------------------------------------------

    def families(self, people: Set[int]) -> dict[int, set[int]]:
        near: dict[int, set[int]] = defaultdict(set)
        for column in (_k.child_id, _k.parent_id):
            for row in self.rows.having(column, people):
                near[row["child_id"]].add(row["parent_id"])
                near[row["parent_id"]].add(row["child_id"])
        of = self._families_of(people)
        self.met |= of
        couples: dict[int, set[int]] = defaultdict(set)
        for row in self.rows.having(t.partner.c.family_id, of):
            couples[row["family_id"]].add(row["person_id"])
        for couple in couples.values():
            for one in couple:
                near[one] |= couple
        return {one: near[one] for one in people}

    def exactly_born(self, people: Set[int]) -> set[int]:
        """Those whose birth is known closely by every one of its dates."""
        names = self.identity.names(people)
        dates: dict[int, list[bool]] = defaultdict(list)
        for row in self.rows.having(_e.person_id, names):
            if row["tag"] == "BIRT" and not row["withdrawn"] and (row["first"] is not None or row["last"] is not None):
                dates[names[row["person_id"]]].append(is_exact(Span(row["first"], row["last"])))
        return {one for one, exact in dates.items() if all(exact)}

    def events(self, people: Set[int]) -> set[str]:
        families = self.rows.having(t.family.c.id, self._families_of(people))
        return {f"{row['code']}:MARR" for row in families} | self._lives_of(people)

    def _families_of(self, people: Set[int]) -> set[int]:
        """The families in which one of these is a partner."""
        return {row["family_id"] for row in self.rows.having(t.partner.c.person_id, people)}

    # --- to further photographs -----------------------------------------------------------------------------------

    def showing(self, people: Set[int], events: Set[str]) -> set[int]:
        seen = self.rows.having(_a.person_id, self.identity.names(people), _SEEN)
        said = (row for row in self.rows.having(_s.value, events) if names_event(row))
        return {row["photograph_id"] for row in (*seen, *said) if not row["withdrawn"]}

    def best_first(self, photographs: Set[int]) -> list[int]:
        rows = rows_among(self.connection, _DATES, t.estimate.c.photograph_id, photographs)
        width = {row["photograph_id"]: row["latest"] - row["earliest"] for row in rows}
        return sorted(photographs, key=lambda i: (i not in width, width.get(i, 0), i))


def _is_relation(row: Row) -> bool:
    """Whether a `statement` row relates two photographs in a way that says something about dates."""
    return row["kind"] in RELATION_KINDS and row["kind"] != _PAGE
