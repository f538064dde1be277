"""Recording statements: one unit of work that remembers what it looked up and writes new rows together.

One link typed by hand and twenty thousand from a spreadsheet go through the same functions; the recorder makes the
second quick. Nothing is written before every value of a row has been understood.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import cached_property, wraps
from itertools import count
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, Protocol, TypeVar

from sqlalchemy import ColumnDefault, Connection, RowMapping, Table, select

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.containers import Containers
from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.catalogue.finding_people import find_person
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.archive.catalogue.lives import Life, lives
from kinphoto.archive.catalogue.vocabulary import TRUSTS
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.store import tables as t
from kinphoto.store.session import Work

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

    class Logged(DataclassInstance, Protocol):
        """What was done, with the number under which it is logged."""

        @property
        def change(self) -> int | None: ...


P = ParamSpec("P")
R = TypeVar("R", bound="Logged")
Row = dict[str, Any]
ID = re.compile(r"([RA])([0-9]{1,15})")
"""The id of a face or of an appearance."""
WRITTEN = (t.photograph, t.informant, t.region, t.appearance, t.statement)
"""The tables that are written, each after those it refers to."""
_BLOCK = 50  # ids reserved at a time when many rows come


class Recorder:
    """Look-ups and new rows of one change. `many` reads the whole archive at once instead of piece by piece."""

    def __init__(self, work: Work, *, many: bool = False) -> None:
        self.work = work
        self.warnings: list[str] = []
        self._many = many
        self._people: dict[str, RowMapping] = {}
        self._photographs: dict[str, Row] = {}
        self._photograph_rows: dict[int, Row] = {}
        self._places: dict[str, tuple[int, Iterator[int]]] = {}
        self._informants: dict[str, tuple[int, str]] | None = None  # id and name, by folded name
        self._ids: dict[str, list[int]] = defaultdict(list)
        self._new: dict[str, dict[int, Row]] = {table.name: {} for table in WRITTEN}
        self._changed: dict[str, dict[int, Row]] = {table.name: {} for table in WRITTEN}
        self._of_photograph: dict[str, dict[int, list[Row]]] = {}
        self._lives: dict[int, Life] = {}
        self._ends = _PathEnds(work.connection) if many else None

    @property
    def connection(self) -> Connection:
        """For reading; new rows are there after `write`."""
        return self.work.connection

    def person(self, text: str) -> RowMapping:
        """The person meant. Raises NotFoundError or AmbiguousError."""
        if text not in self._people:
            self._people[text] = find_person(self.connection, text)
        return self._people[text]

    def named(self, person_id: int) -> RowMapping:
        """The person an appearance names, by row id."""
        return row_of(self.connection, t.person, self.identity.of(person_id))

    def meant(self, photograph: Row, text: str) -> tuple[Row | None, Row | None]:
        """The region and the appearance that an id (R3 or A7) in a photograph means; for R3 the region alone.

        Raises InvalidValueError for something else, NotFoundError when the photograph has none of that id.
        """
        match = ID.fullmatch(text.strip().upper())
        if match is None:
            remedy = "Give the id of a face (R3) or of a name on a picture (A7)."
            raise InvalidValueError(f"'{text}' is not a face", remedy=remedy)
        regions = {row["id"]: row for row in self.of(t.region, photograph["id"])}
        appearances = {row["id"]: row for row in self.of(t.appearance, photograph["id"])}
        found = (regions if match[1] == "R" else appearances).get(int(match[2]))
        if found is None:
            remedy = "It may have been withdrawn: see kinphoto log."
            raise NotFoundError(f"there is no {text.strip()} in {photograph['code']}", remedy=remedy)
        return (found, None) if match[1] == "R" else (regions.get(found["region_id"]), found)

    def photograph(self, text: str) -> Row:
        """The photograph meant. Raises NotFoundError or AmbiguousError."""
        if text not in self._photographs:
            found = (self._ends.find(text) if self._ends else None) or find_photograph(self.connection, text)
            self._photographs[text] = self._photograph_rows.setdefault(found["id"], dict(found))
        return self._photographs[text]

    def place_in(self, name: str, now_in: int | None) -> tuple[int | None, int]:
        """The container of this name, made if it is not there, and the next free place in it; (None, 0) for "".

        Nothing changes when the container is `now_in`. Raises AmbiguousError when several have this name.
        """
        if not name:
            return None, 0
        if name not in self._places:
            containers = Containers(self.work)
            id_ = containers.named(name)
            self._places[name] = id_, count(containers.next_positions(id_, 1).start)
        container, places = self._places[name]
        return container, 0 if container == now_in else next(places)

    def informant(self, name: str | None) -> int | None:
        """The row of an informant, made when they are new; None for no name."""
        plain = " ".join((name or "").split())
        if not plain:
            return None
        if self._informants is None:
            i = t.informant.c
            rows = self.connection.execute(select(i.name, i.id))
            self._informants = {fold(row.name): (row.id, row.name) for row in rows}
        key = fold(plain)
        if key not in self._informants:
            self._warn_of_near(plain, {folded: known for folded, (_, known) in self._informants.items()})
            self._informants[key] = self.add(t.informant, name=plain), plain
        return self._informants[key][0]

    @cached_property
    def identity(self) -> Identity:
        """Who people are in the end."""
        return read_identity(self.connection)

    def lived(self, people: Iterable[int]) -> dict[int, Life]:
        """The lives of these people (row ids), by who they turned out to be."""
        wanted = {self.identity.of(id_) for id_ in people}
        if not wanted <= self._lives.keys():
            missing = wanted - self._lives.keys()
            if self._many:  # all who are in a photograph at once
                seen = (
                    a["person_id"] for rows in self._of_photograph.get(t.appearance.name, {}).values() for a in rows
                )
                missing |= {self.identity.of(id_) for id_ in seen if id_ is not None} - self._lives.keys()
            self._lives |= lives(self.connection, missing, self.identity)
        return {id_: self._lives[id_] for id_ in wanted}

    def of(self, table: Table, photograph_id: int) -> list[Row]:
        """The rows of `region`, `appearance` or `statement` of one photograph that were not withdrawn, new ones too."""
        if table.name not in self._of_photograph:
            self._of_photograph[table.name] = self._load(table) if self._many else {}
        known = self._of_photograph[table.name]
        if photograph_id not in known:
            known[photograph_id] = [] if self._many else self._load(table, photograph_id).get(photograph_id, [])
        return known[photograph_id]

    def add(self, table: Table, **values: Any) -> int:
        """A new row; returns its id. It is written with the others by `write`."""
        row = {"id": self._take(table), **_EMPTY[table.name], **values}
        self._new[table.name][row["id"]] = row
        if "photograph_id" in values:
            self.of(table, values["photograph_id"]).append(row)
        return int(row["id"])

    def change(self, table: Table, row: Row, **values: Any) -> bool:
        """Set values of a row got from `of` or `photograph`; False when nothing would change."""
        fresh = {key: value for key, value in values.items() if row.get(key) != value}
        if not fresh:
            return False
        row.update(fresh)
        if row["id"] not in self._new[table.name]:
            self._changed[table.name][row["id"]] = row
        return True

    def withdraw(self, table: Table, row: Row) -> None:
        """Withdraw a row got from `of`: it is kept and shown, but no longer used."""
        self.change(table, row, withdrawn=1)
        self.of(table, row["photograph_id"]).remove(row)

    def write(self) -> None:
        """Write all new and changed rows."""
        for table in WRITTEN:
            new, changed = self._new[table.name], self._changed[table.name]
            self.work.insert_as(table, list(new.values()))
            self.work.rewrite(table, list(changed.values()))
            new.clear()
            changed.clear()

    def finish(self, done: Iterable[R]) -> tuple[R, ...]:
        """Write all of it; what was done, with the number under which it is logged."""
        found = list(done)
        self.write()
        return tuple(replace(one, change=self.work.id) for one in found)

    def _take(self, table: Table) -> int:
        if not self._ids[table.name]:
            self._ids[table.name] = list(reversed(self.work.take(table.name, _BLOCK if self._many else 1)))
        return self._ids[table.name].pop()

    def _load(self, table: Table, photograph_id: int | None = None) -> dict[int, list[Row]]:
        query = select(table).order_by(table.c.id)
        if "withdrawn" in table.c:
            query = query.where(table.c.withdrawn == 0)
        if photograph_id is not None:
            query = query.where(table.c.photograph_id == photograph_id)
        found: dict[int, list[Row]] = defaultdict(list)
        for row in self.connection.execute(query).mappings():
            found[row["photograph_id"]].append(dict(row))
        return found

    def _warn_of_near(self, name: str, known: dict[str, str]) -> None:
        from rapidfuzz import fuzz, process

        near = process.extractOne(fold(name), list(known), scorer=fuzz.ratio, score_cutoff=80)
        if near is not None:
            self.warnings.append(
                f"{name} is new here, and you already have {known[near[0]]}. If they are the same person: kinphoto "
                "undo, then record it again under that name."
            )


_EMPTY: dict[str, Row] = {
    table.name: {
        c.name: c.default.arg if isinstance(c.default, ColumnDefault) else None for c in table.c if c.name != "id"
    }
    for table in WRITTEN
}
"""An empty row of each table."""


class _PathEnds:
    """Photographs by code and by the end of a scan's path, from one reading of the tables."""

    def __init__(self, connection: Connection) -> None:
        rows = {row["id"]: row for row in connection.execute(select(t.photograph)).mappings()}
        self._codes = {row["code"]: row for row in rows.values()}
        self._by_name: dict[str, list[tuple[str, RowMapping]]] = defaultdict(list)
        for path, photograph_id in connection.execute(select(t.scan.c.path, t.scan.c.photograph_id)):
            self._by_name[path.rpartition("/")[2]].append((path, rows[photograph_id]))

    def find(self, text: str) -> RowMapping | None:
        """The one that matches exactly; None leaves it to the slower, more forgiving look-up."""
        if text in self._codes:
            return self._codes[text]
        fitting = [row for path, row in self._by_name.get(text.rpartition("/")[2], ()) if path.endswith(f"/{text}")]
        return fitting[0] if len({row["id"] for row in fitting}) == 1 else None


def recorded(function: Callable[Concatenate[Recorder, P], R]) -> Callable[Concatenate[Work, P], R]:
    """A function that records something, as a change of its own: written, with its number in the log."""

    @wraps(function)
    def alone(work: Work, /, *args: P.args, **kwargs: P.kwargs) -> R:
        recorder = Recorder(work)
        return recorder.finish([function(recorder, *args, **kwargs)])[0]

    return alone


def recorded_with_warnings(
    function: Callable[Concatenate[Recorder, P], R],
) -> Callable[Concatenate[Work, P], tuple[R, list[str]]]:
    """The same, with the warnings."""

    @wraps(function)
    def alone(work: Work, /, *args: P.args, **kwargs: P.kwargs) -> tuple[R, list[str]]:
        recorder = Recorder(work)
        return recorder.finish([function(recorder, *args, **kwargs)])[0], recorder.warnings

    return alone


def parse_trust(text: str | None) -> str | None:
    """One of certain, strong, fair, weak; None for none given. Raises InvalidValueError."""
    return TRUSTS.read(text) if text and text.strip() else None
