"""One conflict to talk about: what is in dispute, each with its picture (the face, the handwriting, the date in the
tree), and for every way out which dates it would change, before anybody takes it.

The dates that a way out would change are worked out from what bears on each photograph alone, so it is quick on any
archive; the whole is dated again once a way is taken.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, RowMapping, Table, select

from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.dates.conflicts import conflicts
from kinphoto.archive.dates.date_changes import Moved
from kinphoto.archive.dates.estimates import estimates
from kinphoto.archive.dates.one_photograph import near
from kinphoto.archive.words.conflict_stories import ConflictStory, StatementInWords
from kinphoto.archive.words.ways_out import Way
from kinphoto.store import tables as t

MOST = 4
"""Photographs of one conflict whose dates are worked out for each way."""


@dataclass(frozen=True, slots=True)
class Exhibit:
    """A part of what is in dispute: statements about one face, one writing, one life or one photograph. `photograph` is
    a code and `region` the row of a face; `writing` says that the back is what matters, with its words in `quote`.
    `person` is somebody of the tree, where it is about a date there, and `other` the photograph it is linked to."""

    statements: tuple[StatementInWords, ...]
    photograph: str | None = None
    region: int | None = None
    writing: bool = False
    quote: str = ""
    person: str | None = None
    other: str | None = None


@dataclass(frozen=True, slots=True)
class WayShown:
    """A way out, the dates that would change if it were taken, and how many other conflicts would go with this one."""

    way: Way
    moves: tuple[Moved, ...]
    settles: int


@dataclass(frozen=True, slots=True)
class Dispute:
    """A conflict with what is in dispute and its ways out; `following` is the next conflict that is left."""

    story: ConflictStory
    exhibits: tuple[Exhibit, ...]
    ways: tuple[WayShown, ...]
    following: str | None
    left: int


def dispute(connection: Connection, conflict: str) -> Dispute | None:
    """The conflict of this id as it was last found; None where there is none any more."""
    stories = conflicts(connection).stories
    plain = conflict.strip().upper()
    at = next((number for number, one in enumerate(stories) if one.id == plain), None)
    if at is None:
        return None
    story = stories[at]
    following = stories[(at + 1) % len(stories)].id if len(stories) > 1 else None
    return Dispute(story, _exhibits(connection, story), _ways(connection, story, stories), following, len(stories) - 1)


def _ways(connection: Connection, story: ConflictStory, stories: Sequence[ConflictStory]) -> tuple[WayShown, ...]:
    p = t.photograph.c
    wanted = story.photographs[:MOST]
    ids = {row.code: row.id for row in connection.execute(select(p.code, p.id).where(p.code.in_(wanted), p.page == 0))}
    kept = {one.code: one.estimate for one in estimates(connection, list(ids.values())).values()}
    around = {code: near(connection, ids[code]) for code in wanted if code in ids and code in kept}
    present = {code: one.estimate(one.look(), code) for code, one in around.items()}
    shown = []
    for way in story.ways:
        then = {code: one.estimate(one.look(off=way.statements), code, way.statements) for code, one in around.items()}
        moves = (
            Moved(code, kept[code], then[code]) for code in around if Moved(code, present[code], then[code]).notable
        )
        others = [one for one in stories if one.id != story.id and _goes(one, way)]
        shown.append(WayShown(way, tuple(moves), len(others)))
    return tuple(shown)


def _goes(story: ConflictStory, way: Way) -> bool:
    """Whether a conflict is none any more once this way is taken: it cannot do without any of its statements."""
    return any(statement.id in way.statements for statement in story.statements)


def _exhibits(connection: Connection, story: ConflictStory) -> tuple[Exhibit, ...]:
    """What the statements are about, each once, in the order of the statements."""
    found: dict[tuple[object, ...], Exhibit] = {}
    for statement in story.statements:
        exhibit = _exhibit(connection, statement)
        key = (
            exhibit.photograph,
            exhibit.region,
            exhibit.writing and exhibit.quote,
            exhibit.person,
            exhibit.other,
            None if exhibit.photograph or exhibit.person else statement.id,
        )
        known = found.get(key)
        found[key] = Exhibit(
            (*(known.statements if known else ()), statement), exhibit.photograph, exhibit.region, exhibit.writing,
            exhibit.quote, exhibit.person, exhibit.other,
        )  # fmt: skip
    return tuple(found.values())


def _exhibit(connection: Connection, statement: StatementInWords) -> Exhibit:
    table = {"A": t.appearance, "S": t.statement, "E": t.event}.get(statement.id[0])
    number = int(statement.id[1:]) if statement.id[1:].isdecimal() else None
    row = _row(connection, table, number) if table is not None and number is not None else None
    if row is None:
        return Exhibit((statement,))
    if table is t.event:
        person = read_identity(connection).of(row["person_id"]) if row["person_id"] else None
        code = connection.scalar(select(t.person.c.code).where(t.person.c.id == person)) if person else None
        return Exhibit((statement,), person=code)
    photograph = _code(connection, row["photograph_id"])
    if table is t.statement and row["appearance_id"]:
        seen = _row(connection, t.appearance, row["appearance_id"])
        return Exhibit((statement,), photograph, seen["region_id"] if seen else None)
    if table is t.appearance:
        return Exhibit((statement,), photograph, row["region_id"])
    other = _code(connection, row["other_id"]) if row["other_id"] else None
    return Exhibit((statement,), photograph, writing=bool(row["text"]), quote=row["text"], other=other)


def _row(connection: Connection, table: Table, number: int) -> RowMapping | None:
    return connection.execute(select(table).where(table.c.id == number)).mappings().first()


def _code(connection: Connection, photograph_id: int) -> str | None:
    return connection.scalar(select(t.photograph.c.code).where(t.photograph.c.id == photograph_id))
