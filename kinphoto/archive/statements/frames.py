"""Moving the frame around a face, and removing a name while keeping the face.

Withdrawing a name removes its face too, which is right for a face drawn by mistake. Where only the name was mistaken,
the face is still somebody's and still looks six to eight: an age judged by eye stays with it, and what is known about
the person goes with the name.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import select

from kinphoto.archive.catalogue.codes import with_id
from kinphoto.archive.catalogue.regions import SIDES, Region, parse_region, same_face
from kinphoto.archive.statements.recorder import ID, Recorder, Row, recorded
from kinphoto.documents import Key
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class Framed:
    """Where a face is framed now."""

    photograph: Annotated[str, "the photograph's code"]
    region: Annotated[str, "the face's id, `R3`"]
    box: Annotated[Region, "left, top, width, height as parts of the upright image"]
    changed: Annotated[bool, "false when it was framed so already"]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"] = None


@dataclass(frozen=True, slots=True)
class NameRemoved:
    """A name taken off its face."""

    photograph: Annotated[str, "the photograph's code"]
    appearance: Annotated[str, "the appearance that was withdrawn, `A7`"]
    words: Annotated[str, Key("text"), "whose name it was"]
    face: Annotated[str | None, "the appearance that is on the face now, null when the name was on no face"]
    change: Annotated[int | None, "its number in the log, for `undo`"] = None


@recorded
def move_face(recorder: Recorder, photograph: str, what: str, region: str) -> Framed:
    """Move a face (R3), or that of an appearance (A7), to `region`; an appearance that has none gets one.

    All names on the face go with it. Raises NotFoundError, AmbiguousError, or InvalidValueError for something that is
    not a region, or one where another face is framed already.
    """
    photo, place = recorder.photograph(photograph), parse_region(region)
    face, seen = recorder.meant(photo, what)
    standing = {row["region_id"] for row in recorder.of(t.appearance, photo["id"])}
    others = [r for r in recorder.of(t.region, photo["id"]) if r is not face and r["id"] in standing]
    taken = same_face(place, others)
    if taken is not None:
        raise InvalidValueError(
            f"there is already a face framed there (R{taken['id']})",
            remedy=f"Record the name on that face: kinphoto link {photo['code']} PERSON --region R{taken['id']}.",
        )
    sides = dict(zip(SIDES, place, strict=True))
    if face is not None:
        changed, id_ = recorder.change(t.region, face, **sides), face["id"]
    else:
        changed, id_ = True, recorder.add(t.region, photograph_id=photo["id"], **sides)
        recorder.change(t.appearance, seen or {}, region_id=id_)
    recorder.work.what = f"framed {_names(recorder, photo, id_)} in {photo['code']}"
    return Framed(photo["code"], f"R{id_}", place, changed)


@recorded
def remove_name(recorder: Recorder, appearance: str) -> NameRemoved:
    """Withdraw a name and leave its face, as somebody not identified yet unless another name is on it.

    Raises NotFoundError, and InvalidValueError for an appearance that names nobody.
    """
    photo = _photograph_of(recorder, appearance)
    _, row = recorder.meant(photo, appearance)
    if row is None or row["person_id"] is None or row["denied"]:
        raise InvalidValueError(
            f"{appearance} names nobody", remedy=f"To remove it altogether: kinphoto withdraw {appearance}."
        )
    words = f"{_called(recorder, row)} in {photo['code']}"
    recorder.withdraw(t.appearance, row)
    remaining = None if row["region_id"] is None else _next_on_face(recorder, row)
    if remaining is not None:
        _hand_over(recorder, row, remaining)
    recorder.work.what = f"removed a name: {words}"
    return NameRemoved(photo["code"], f"A{row['id']}", words, None if remaining is None else f"A{remaining['id']}")


def _photograph_of(recorder: Recorder, text: str) -> Row:
    """The photograph that an appearance is in."""
    match = ID.fullmatch(text.strip().upper())
    a, p = t.appearance.c, t.photograph.c
    number = int(match[2]) if match is not None and match[1] == "A" else None
    code = recorder.connection.scalar(select(p.code).join(t.appearance, a.photograph_id == p.id).where(a.id == number))
    if code is None:
        raise NotFoundError(
            f"there is no name on a picture with the id '{text.strip()}'",
            remedy="Give its id, such as A7; `kinphoto explain PHOTO` shows them.",
        )
    return recorder.photograph(code)


def _next_on_face(recorder: Recorder, row: Row) -> Row:
    """Whoever else is on the face, or somebody not identified yet."""
    left = _on_face(recorder, row["photograph_id"], row["region_id"])
    if left:
        return left[0]
    kept = {key: row[key] for key in ("photograph_id", "region_id", "role", "informant_id", "said_at", "called")}
    id_ = recorder.add(t.appearance, **kept)
    return next(other for other in recorder.of(t.appearance, row["photograph_id"]) if other["id"] == id_)


def _hand_over(recorder: Recorder, row: Row, remaining: Row) -> None:
    """What was judged by eye stays with the face, unless the same informant has judged it there already."""
    ages = [age for age in recorder.of(t.statement, row["photograph_id"]) if age["kind"] == "apparent-age"]
    judged = {age["informant_id"] for age in ages if age["appearance_id"] == remaining["id"]}
    for age in ages:
        if age["appearance_id"] == row["id"] and age["informant_id"] not in judged:
            recorder.change(t.statement, age, appearance_id=remaining["id"])


def _names(recorder: Recorder, photo: Row, region_id: int) -> str:
    there = _on_face(recorder, photo["id"], region_id)
    return " or ".join(dict.fromkeys(_called(recorder, row) for row in there)) or "a face"


def _on_face(recorder: Recorder, photograph_id: int, region_id: int) -> list[Row]:
    there = recorder.of(t.appearance, photograph_id)
    return [row for row in there if row["region_id"] == region_id and not row["denied"]]


def _called(recorder: Recorder, row: Row) -> str:
    return "somebody not identified yet" if row["person_id"] is None else with_id(recorder.named(row["person_id"]))
