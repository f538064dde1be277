"""The people meant by the names that other programs wrote into the scans' files.

Each such name is recorded as somebody not identified yet, under this name, said by the file (`reading_inside.py`). The
keeper says who a name is for all photographs that have it at once; a name that was matched before is offered for new
scans too.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Annotated, Any, NamedTuple

from sqlalchemy import Connection, Engine, RowMapping, select

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.finding_people import find_person
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.person_cards import Named
from kinphoto.archive.statements.appearances import Link, link
from kinphoto.archive.statements.recorder import Recorder
from kinphoto.errors import KinphotoError, NotFoundError
from kinphoto.phrases import counted
from kinphoto.store import tables as t
from kinphoto.store.session import reading, working

THE_FILE = "the file"
"""Who is said to have told us what is read out of a file."""


@dataclass(frozen=True, slots=True)
class NameInside:
    """A name as it stands in files, of somebody not identified yet."""

    name: Annotated[str, "a name as other programs wrote it into files"]
    photographs: Annotated[tuple[str, ...], "codes of the photographs whose file has it"]
    framed: Annotated[int, "on how many of them a face is framed"]
    person: Annotated[
        Named | None, "who it meant before, or the only person who has this name here; null for nobody or several"
    ]


class NotRecorded(NamedTuple):
    """A photograph whose file holds something that was not recorded."""

    photograph: Annotated[str, "the code of a photograph that something was not recorded about"]
    why: Annotated[str, "why"]


@dataclass(frozen=True, slots=True)
class NamesTaken:
    """What was recorded of one name."""

    name: Annotated[str, "the name in the files"]
    person: Annotated[Named, "who it means"]
    photographs: Annotated[tuple[str, ...], "codes of the photographs on which they are named now"]
    refused: tuple[NotRecorded, ...]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"]


def names_inside(connection: Connection) -> tuple[NameInside, ...]:
    """The names that nobody has matched yet, those of the most photographs first."""
    before = _matched_before(connection)
    names = [
        NameInside(
            rows[0].called, tuple(sorted({row.code for row in rows})), sum(row.region_id is not None for row in rows),
            _named(row_of(connection, t.person, before[folded]))
            if folded in before
            else _only_person(connection, rows[0].called),
        )
        for folded, rows in _open(connection).items()
    ]  # fmt: skip
    return tuple(sorted(names, key=lambda one: (-len(one.photographs), fold(one.name))))


def take_names(engine: Engine, name: str, person: str) -> NamesTaken:
    """Name somebody on every photograph whose file has this name, where the file says they are.

    Where they are framed elsewhere on the photograph already, they stay there and what the file says is withdrawn.
    Raises NotFoundError when no file has the name or there is no such person, AmbiguousError.
    """
    with reading(engine) as connection:
        who = find_person(connection, person)
        rows, spelling = _open(connection).get(fold(name), []), _spelling(connection, name)
    done, refused = dict[str, None](), []
    person_named = _named(who)
    with working(engine, "") as work:
        for row in rows:
            said = Link(
                photograph=row.code, person=who["code"], region=f"A{row.id}", by=THE_FILE, why=f"“{row.called}” in it"
            )
            recorder = Recorder(work)  # one for each, so that nothing is left of what is refused
            try:
                is_new = link(recorder, said).changed
            except KinphotoError as problem:
                refused.append(NotRecorded(row.code, problem.what))
                _settle(Recorder(work), row)
                continue
            recorder.write()
            if is_new:
                done[row.code] = None
        pictures = counted(len(done), "photograph")
        work.what = f"named {person_named.name} ({person_named.id}) in {pictures}, as the files say"
        change = work.id
    return NamesTaken(spelling, person_named, tuple(done), tuple(refused), change)


def _settle(recorder: Recorder, row: Any) -> None:
    """Withdraw what a file says of somebody who is in the photograph already."""
    _, somebody = recorder.meant(recorder.photograph(row.code), f"A{row.id}")
    recorder.withdraw(t.appearance, somebody or {})
    recorder.write()


def _open(connection: Connection) -> dict[str, list[Any]]:
    """Everybody whom a file names and nobody has identified, by the folded name, in the order of the photographs."""
    a, p = t.appearance.c, t.photograph.c
    query = (
        select(a.id, a.called, a.region_id, p.code)
        .join(t.photograph, p.id == a.photograph_id)
        .where(a.called != "", a.person_id.is_(None), a.denied == 0, a.withdrawn == 0)
        .order_by(p.code, a.id)
    )
    found: dict[str, list[Any]] = defaultdict(list)
    for row in connection.execute(query):
        found[fold(row.called)].append(row)
    return found


def _spelling(connection: Connection, name: str) -> str:
    """A name as a file has it, matched or not. Raises NotFoundError."""
    a = t.appearance.c
    names = connection.scalars(select(a.called).where(a.called != "", a.withdrawn == 0).order_by(a.id))
    found: str | None = next((called for called in names if fold(called) == fold(name)), None)
    if found is None:
        raise NotFoundError(f"no file has the name '{name}'", remedy="To see them all: kinphoto scans inside.")
    return found


def _matched_before(connection: Connection) -> dict[str, int]:
    """The person (row id) whom a folded name in files has meant, where it was always the same one."""
    a = t.appearance.c
    query = select(a.called, a.person_id).where(
        a.called != "", a.person_id.is_not(None), a.denied == 0, a.withdrawn == 0
    )
    identity, meant = read_identity(connection), defaultdict[str, set[int]](set)
    for row in connection.execute(query):
        meant[fold(row.called)].add(identity.of(row.person_id))
    return {name: next(iter(people)) for name, people in meant.items() if len(people) == 1}


def _only_person(connection: Connection, name: str) -> Named | None:
    try:
        return _named(find_person(connection, name))
    except KinphotoError:
        return None


def _named(row: RowMapping) -> Named:
    return Named(row["code"], row["name"] or row["code"])
