"""What is known about the object: its description, and the container it is in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Annotated, Literal, get_args

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.statements.recorder import Recorder, Row, recorded
from kinphoto.archive.words.fields import FIELDS
from kinphoto.errors import ChangedMeanwhileError, InvalidValueError
from kinphoto.store import tables as t
from kinphoto.store.session import Work


@dataclass(frozen=True, slots=True, kw_only=True)
class Description:
    """What somebody says about an object; None leaves a thing as it is, "" empties it."""

    title: str | None = None
    place: str | None = None
    note: str | None = None
    rights: str | None = None
    maker: str | None = None
    former_number: str | None = None
    container: str | None = None


GivenField = Literal["title", "place", "note", "rights", "maker", "former_number", "container"]
_FIELDS: tuple[GivenField, ...] = get_args(GivenField)
_AS_TYPED = ("note", "container")
"""What may take several lines: a note, and the name of a folder. Elsewhere the end of a line is a slip in a cell."""


@dataclass(frozen=True, slots=True)
class Described:
    """What was said of an object."""

    photograph: Annotated[str, "the photograph's code"]
    given: Annotated[dict[GivenField, str], 'what was recorded, "" for what was emptied']
    changed: Annotated[bool, "false when it had been said before"]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"] = None


def _in_one_line(text: str) -> str:
    return " ".join(filter(None, map(str.strip, text.splitlines())))


def describe(
    recorder: Recorder, photograph: str, said: Description, instead_of: Description | None = None
) -> Described:
    """Set what was given; `instead_of` is what the person saw there when they changed it.

    Raises NotFoundError, AmbiguousError, InvalidValueError when nothing was given, and ChangedMeanwhileError when
    another has changed one of these things since.
    """
    row = recorder.photograph(photograph)
    if instead_of is not None:
        _refuse_overwriting(recorder, row, said, instead_of)
    given: dict[GivenField, str] = {
        name: value.strip() if name in _AS_TYPED else _in_one_line(value)
        for name in _FIELDS
        if (value := getattr(said, name)) is not None
    }
    if not given:
        raise InvalidValueError("nothing was given to describe", remedy="Add --title, --place, --note or another.")
    fresh: dict[str, object] = {name: value for name, value in given.items() if name != "container"}
    if "container" in given:
        container, position = recorder.place_in(given["container"], row["container_id"])
        if container != row["container_id"]:
            fresh |= {"container_id": container, "position": position}
    if row["number_withdrawn"] and given.get("former_number", row["former_number"]) != row["former_number"]:
        fresh["number_withdrawn"] = 0  # that was about another number
    changed = recorder.change(t.photograph, row, **fresh)
    recorder.work.what = f"described {row['code']}: {', '.join(FIELDS[name] for name in given)}"
    return Described(row["code"], given, changed)


describe_one = recorded(describe)


def describe_alike(work: Work, photographs: Sequence[str], said: Description) -> tuple[Described, ...]:
    """Say the same of several objects, of all of them or of none. Raises the same, and
    InvalidValueError for no object."""
    if not photographs:
        raise InvalidValueError("no photograph was named", remedy="Give codes such as K00042.")
    recorder = Recorder(work)
    done = [describe(recorder, photograph, said) for photograph in dict.fromkeys(photographs)]
    if len(done) > 1:
        work.what += f" (and the same of {len(done) - 1} more)"
    return recorder.finish(done)


def _refuse_overwriting(recorder: Recorder, row: Row, said: Description, seen: Description) -> None:
    """Refuse to replace words that the person has not seen, unless they are what is to be set."""
    for field in fields(said):
        wanted, was = getattr(said, field.name), getattr(seen, field.name)
        if wanted is None or was is None:
            continue
        present = row.get(field.name) or ""
        if field.name == "container" and row["container_id"] is not None:
            present = row_of(recorder.connection, t.container, row["container_id"])["name"]
        if " ".join(present.split()) not in (" ".join(was.split()), " ".join(wanted.split())):
            what = field.name.replace("_", " ")
            raise ChangedMeanwhileError(
                f"somebody else has just changed the {what} of {row['code']} to “{present}”",
                remedy=f"Yours was “{wanted}”. Look at it again, and save what it should be.",
            )
