"""Withdrawing what somebody no longer says, or what in the tree is not believed; and using it again.

What is withdrawn is kept and shown, but no longer used. That goes for statements (S12), names on pictures (A7) and
stories (T3), for the number of a photograph as far as it says when it was taken (N4, by the photograph's row), and for
what the tree says: a date (E5), who somebody's parent is (L9), and that two people married (M3, the family's id).
The tree itself stays as it was imported; it is corrected in the program it comes from.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import shorten
from typing import Annotated, Any

from sqlalchemy import Column, Connection, RowMapping, Table, select

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.recorded_dates import dated, lapse_of
from kinphoto.archive.catalogue.scan_numbers import number_of
from kinphoto.archive.words.ages import age_words
from kinphoto.archive.words.sentences import EVENT_WORDS, on
from kinphoto.documents import Key
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.session import Work

FLAGS: dict[str, Column[Any]] = {
    "S": t.statement.c.withdrawn, "A": t.appearance.c.withdrawn, "E": t.event.c.withdrawn,
    "L": t.parent_link.c.withdrawn, "M": t.family.c.withdrawn, "T": t.story.c.withdrawn,
    "N": t.photograph.c.number_withdrawn,
}  # fmt: skip
"""By the letter of an id, the column that says that a row of its table, or what it says, is withdrawn."""

ABOUT_PARENTS = (
    "This is about who somebody's parents were. Look at it alone first, and leave the decision to the archive's "
    "keeper and the people concerned."
)

_ID = re.compile(r"([SAELMTN])([0-9]{1,15})")


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """A statement that somebody withdrew or reinstated."""

    statement: Annotated[str, "its id"]
    changed: Annotated[bool, "false when it was so already"]
    words: Annotated[str, Key("text"), "what it says, in short"] = ""
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"] = None
    cautions: Annotated[tuple[str, ...], "what to take care of"] = ()


def withdraw(work: Work, statement: str) -> Withdrawn:
    """Withdraw a statement, an appearance, or a date or tie of the tree.

    Raises InvalidValueError for anything but such an id and for what has no date, NotFoundError when there is none.
    """
    plain, flag, row = _find(work.connection, statement, again=False)
    summary = in_short(work.connection, flag.table, row)
    _set(work, flag, row, withdrawn=True)
    changed = not row[flag]
    if changed:
        work.what = f"withdrew {plain}, {summary}"
    return Withdrawn(plain, changed, summary, work.id, _cautions(flag.table))


def reinstate(work: Work, statement: str) -> Withdrawn:
    """Use something again that was withdrawn. Raises as `withdraw`, and InvalidValueError where the opposite has been
    recorded since."""
    plain, flag, row = _find(work.connection, statement, again=True)
    summary = in_short(work.connection, flag.table, row)
    if not row[flag]:
        return Withdrawn(plain, False, summary)
    _refuse_opposite(work.connection, plain, row)
    _set(work, flag, row, withdrawn=False)
    work.what = f"reinstated {plain}, {summary}"
    cautions = (*_cautions(flag.table), *_rests_on_withdrawn(work.connection, row))
    return Withdrawn(plain, True, summary, work.id, cautions)


def withdraw_all(work: Work, statements: Sequence[str]) -> tuple[Withdrawn, ...]:
    """Withdraw several in one change. Raises as `withdraw`."""
    done = tuple(withdraw(work, each) for each in statements)
    work.what = f"withdrew {'; '.join(f'{each.statement}, {each.words}' for each in done if each.changed)}"
    return done


def standing(connection: Connection, statements: Sequence[str]) -> frozenset[str]:
    """Which of these ids are there and not withdrawn."""
    found: set[str] = set()
    for letter, flag in FLAGS.items():
        row_id, ids = flag.table.c.id, {int(each[1:]) for each in statements if each[:1] == letter}
        rows = connection.scalars(select(row_id).where(among(connection, row_id, ids), flag == 0))
        found.update(f"{letter}{id_}" for id_ in rows)
    return frozenset(found)


def _find(connection: Connection, statement: str, *, again: bool) -> tuple[str, Column[Any], RowMapping]:
    """The id as written properly, its flag and its row; `again` where it is to be reinstated."""
    match = _ID.fullmatch(statement.strip().upper())
    if match is None:
        raise InvalidValueError(
            f"'{statement}' cannot be reinstated" if again else f"'{statement}' cannot be withdrawn",
            remedy="Give an id as `kinphoto explain` and `kinphoto conflicts` show it: a statement (S12), a name on a "
            "picture (A7), a number (N4), a story (T3), or a date (E5), parent (L9) or marriage (M3) of the tree.",
        )
    plain, flag = match[0], FLAGS[match[1]]
    table = flag.table
    row = connection.execute(select(table).where(table.c.id == int(match[2]))).mappings().first()
    if row is None:
        raise NotFoundError(
            f"there is no statement {plain}", remedy="`kinphoto explain PHOTO` and `kinphoto conflicts` show the ids."
        )
    if table is t.event and row["first"] is None and row["last"] is None and not row["date_text"]:
        raise InvalidValueError(
            f"{plain} has no date that could be used", remedy="`kinphoto explain PHOTO` shows what affects a date."
        )
    if table is t.photograph and not again and number_of(connection, row["id"]) is None:
        raise InvalidValueError(
            f"{row['code']} has no number that could say when it was taken",
            remedy="A number counts where it is recorded as a former number or stands in a file's name, in a box.",
        )
    e = t.event.c
    marriage = select(e.id).where(e.family_id == row["id"], e.tag == "MARR").limit(1)
    if table is t.family and connection.scalar(marriage) is None:
        raise InvalidValueError(
            f"the tree records no marriage for {row['code']}, so nothing rests on it",
            remedy="To withdraw who somebody's parent is, give its id (L9) as `kinphoto conflicts` shows it.",
        )
    return plain, flag, row


def _set(work: Work, flag: Column[Any], row: RowMapping, *, withdrawn: bool) -> None:
    if bool(row[flag]) == withdrawn:
        return
    work.update(flag.table, [row["id"]], **{flag.name: int(withdrawn)})
    if row.get("kind") == "part-of":
        update_page_flag(work, row["other_id"])


def update_page_flag(work: Work, photograph_id: int) -> None:
    """What some picture is part of is an album page; what none is part of any more is not."""
    s, p = t.statement.c, t.photograph.c
    parts = select(s.id).where(s.kind == "part-of", s.other_id == photograph_id, s.withdrawn == 0).limit(1)
    page = int(work.connection.scalar(parts) is not None)
    if work.connection.scalar(select(p.page).where(p.id == photograph_id)) != page:
        work.update(t.photograph, [photograph_id], page=page)


def _refuse_opposite(connection: Connection, plain: str, row: RowMapping) -> None:
    """Two photographs cannot each be the copy, or the page, of the other."""
    if row.get("kind") not in ("copy-of", "part-of"):
        return
    s = t.statement.c
    turned = connection.scalar(
        select(s.id).where(
            s.kind == row["kind"], s.photograph_id == row["other_id"], s.other_id == row["photograph_id"],
            s.withdrawn == 0,
        )
    )  # fmt: skip
    if turned is not None:
        raise InvalidValueError(
            f"{plain} cannot be reinstated, because the opposite has been recorded since (S{turned})",
            remedy=f"If that is the wrong way round: kinphoto withdraw S{turned}, then this again.",
        )


def _cautions(table: Table) -> tuple[str, ...]:
    return (ABOUT_PARENTS,) if table is t.parent_link else ()


def _rests_on_withdrawn(connection: Connection, row: RowMapping) -> tuple[str, ...]:
    """An age belongs to an appearance: as long as that is withdrawn, the age is not used."""
    appearance = row.get("appearance_id")
    if appearance is None or standing(connection, [f"A{appearance}"]):
        return ()
    return (
        f"It belongs to A{appearance}, which is withdrawn. To use that again too: kinphoto reinstate A{appearance}.",
    )


def in_short(connection: Connection, table: Table, row: RowMapping) -> str:
    """What a row says: "Ada Marsh in K00042", "inscription “1924?” of K00042", "the birth of Ada Marsh in 1917"."""
    if table is t.event:
        what = EVENT_WORDS.get(row["tag"], f"the event {row['tag']}")
        whose = (
            _name(connection, row["person_id"]) if row["family_id"] is None else couple(connection, row["family_id"])
        )
        return f"{what} of {whose} {on(dated(row))}"
    if table is t.parent_link:
        parent, child = (_name(connection, row[side]) for side in ("parent_id", "child_id"))
        sex = row_of(connection, t.person, row["parent_id"])["sex"]
        return f"that {parent} is {({'F': 'the mother', 'M': 'the father'}).get(sex, 'a parent')} of {child}"
    if table is t.family:
        return f"that {couple(connection, row['id'])} married"
    if table is t.story:
        return f"the story “{row['title'] or shorten(row['text'], 60, placeholder=' …') or row['sound_name']}”"
    if table is t.photograph:
        number = number_of(connection, row["id"])
        return f"the number {'' if number is None else f'{number.value} '}of {row['code']}"
    photo = row_of(connection, t.photograph, row["photograph_id"])["code"]
    if table is t.appearance:
        who = "somebody not identified yet" if row["person_id"] is None else _name(connection, row["person_id"])
        return f"{'not ' if row['denied'] else ''}{who} in {photo}"
    if row["age_low"] is not None:
        return f"{row['kind'].replace('-', ' ')} {age_words(row['age_low'], row['age_high'])} in {photo}"
    other = None if row["other_id"] is None else row_of(connection, t.photograph, row["other_id"])["code"]
    of_event = "" if lapse_of(row) is None else row["date_text"]
    said = of_event or row["value"] or other or row["date_text"] or f"“{shorten(row['text'], 60, placeholder=' …')}”"
    return f"{row['kind']} {said} of {photo}"


def couple(connection: Connection, family_id: int) -> str:
    """The partners of a family by name, or its code."""
    p, r = t.person.c, t.partner.c
    names = connection.execute(
        select(p.name, p.code).join(t.partner, r.person_id == p.id).where(r.family_id == family_id).order_by(r.position)
    ).all()
    partners = " and ".join(name or code for name, code in names)
    return partners or str(row_of(connection, t.family, family_id)["code"])


def _name(connection: Connection, person_id: int) -> str:
    row = row_of(connection, t.person, person_id)
    return str(row["name"] or row["code"])
