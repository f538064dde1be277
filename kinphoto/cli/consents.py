"""The commands of `kinphoto give` that record for whom something is given, and what of the living may go to them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, warn
from kinphoto.phrases import listed

if TYPE_CHECKING:
    from kinphoto.archive.statements.consenting import Audience, Consent, ConsentsRecorded

To = Annotated[str, typer.Option("--to", metavar="AUDIENCE", help="A group of relatives, or public.")]

Named = Annotated[list[str], typer.Argument(metavar="PHOTO...", help="Codes such as K00042, or scans.")]

By = Annotated[str, typer.Option("--by", metavar="NAME", help="Who asked them, or who looked it through.")]

On = Annotated[str, typer.Option("--on", metavar="DAY", help="The day on which they agreed; today if left out.")]

Note = Annotated[str, typer.Option("--note", metavar="TEXT", help="What else to remember about it.")]


def audience(
    name: Annotated[
        str, typer.Argument(metavar="[NAME]", help="What to call a group of relatives, such as cousins.")
    ] = "",
    who: Annotated[str | None, typer.Option("--who", metavar="TEXT", help="Who belongs to it, in words.")] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the audiences, or add a group of relatives."""
    part = open_archive(archive).give
    if not name:
        found = part.audiences()
        answer(as_json, {"audiences": found}, _audience_lines(found))
        return
    done = part.add_audience(name, who)
    answer(
        as_json,
        done,
        f"{done.name} is{'' if done.changed else ' already'} an audience{f': {done.who}' if done.who else ''}.",
    )


def _audience_lines(found: tuple[Audience, ...]) -> Iterator[str]:
    for one in found:
        yield f"{one.name}{f': {one.who}' if one.who else ''}"
    if len(found) == 2:
        yield "To add a group of relatives: kinphoto give audience cousins --who 'Ruth and Ben in Hull'."


def consent(
    person: Annotated[str, typer.Argument(metavar="PERSON", help="Who was asked: an id or a name.")],
    to: To,
    by: By,
    on: On = "",
    branch: Annotated[
        bool,
        typer.Option(
            "--branch",
            help="They agree for everybody descended from them, and those they married. Whoever says no is left out.",
        ),
    ] = False,
    pictures: Annotated[
        bool, typer.Option("--pictures", help="They agreed to pictures only: their name and life are left out.")
    ] = False,
    no: Annotated[bool, typer.Option("--no", help="They said no. This comes before a branch's consent.")] = False,
    note: Note = "",
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record what somebody living agreed to, when, and who asked.

    Without it their name, dates and pictures stay. The dead, and those who must have died long ago, need no consent.
    """
    from kinphoto.archive.catalogue.consents import EVERYTHING, NOTHING, PICTURES

    what = NOTHING if no else PICTURES if pictures else EVERYTHING
    done = open_archive(archive).give.record_consent(
        person, to, asked_by=by, on=on, what=what, branch=branch, note=note
    )
    _answer_recorded(as_json, done)


def clear(
    photographs: Named,
    to: To,
    by: By,
    words: Annotated[
        bool, typer.Option("--words", help="What is written on them or about them may go, including their backs.")
    ] = False,
    faces: Annotated[
        bool, typer.Option("--faces", help="Everybody without a name in them is dead, or has agreed.")
    ] = False,
    on: On = "",
    note: Note = "",
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Release photographs that you have looked through: their words, or the faces in them without a name.

    A release holds for what is there now. When a word or a face is added, it has to be looked through again.
    """
    from kinphoto.archive.catalogue.consents import FACES, WORDS
    from kinphoto.errors import InvalidValueError

    if words == faces:
        raise InvalidValueError("say what may go", remedy="Add --words or --faces, one at a time.")
    what = WORDS if words else FACES
    done = open_archive(archive).give.release(photographs, to, what=what, looked_by=by, on=on, note=note)
    _answer_recorded(as_json, done)


def _answer_recorded(as_json: bool, done: ConsentsRecorded) -> None:
    for line in done.warnings:
        warn(line)
    answer(as_json, done, (f"{_consent_line(one)}." for one in done.consents))


def _consent_line(one: Consent) -> str:
    day = f"on {one.on}, {'asked by' if one.person else 'looked through by'} {one.asked_by}"
    revoked = " (revoked)" if one.revoked else ""
    return f"{one.id} for {one.audience}: {one.words}, {day}{revoked}{f'. {one.note}' if one.note else ''}"


def consents(
    to: Annotated[str, typer.Option("--to", metavar="AUDIENCE", help="Only for this audience.")] = "",
    revoked: Annotated[bool, typer.Option("--revoked", help="Also those that no longer hold.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """List who agreed to what, when, and who asked."""
    found = open_archive(archive).give.consents(to, revoked=revoked)
    none = "Nobody has been asked yet. To record what somebody agreed to: kinphoto give consent PERSON."
    answer(as_json, {"consents": found}, [_consent_line(one) for one in found] or none)


def revoke(
    id_: Annotated[str, typer.Argument(metavar="CONSENT", help="Its id, such as C3: kinphoto give consents.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Revoke a consent. What was given before cannot be called back: tell those who have it."""
    done = open_archive(archive).give.revoke(id_)
    answer(as_json, done, [f"{_consent_line(one)}." for one in done.consents])


def private(
    photographs: Named,
    no_longer: Annotated[bool, typer.Option("--no-longer", help="They may leave the archive again.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Mark photographs private: neither they nor copies of them leave the archive in any output, for anybody.

    Nothing is detected automatically. Think of illness, of the dead, of bodies, of what a picture may reveal about
    parents.
    """
    done = open_archive(archive).give.mark_private(photographs, private=not no_longer)
    are = "is" if len(done.photographs) == 1 else "are"
    state = "private: it never leaves the archive" if are == "is" else "private: they never leave it"
    answer(as_json, done, f"{listed(done.photographs)} {are} {state if done.private else 'no longer private'}.")
