"""`kinphoto pictures`: every picture of a person."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive
from kinphoto.cli.output import person as named
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.collection.photograph_cards import PersonInPhotograph, PhotographCard
    from kinphoto.archive.people.pictures import Pictures


def pictures(
    person: Annotated[str, typer.Argument(metavar="PERSON", help="An id such as I12, or a name.")],
    ancestors: Annotated[bool, typer.Option("--ancestors", help="Also the pictures of all their ancestors.")] = False,
    descendants: Annotated[
        bool, typer.Option("--descendants", help="Also the pictures of all their descendants.")
    ] = False,
    beside: Annotated[
        list[str] | None,
        typer.Option("--with", metavar="PERSON", help="Only those that also show this person; can be repeated."),
    ] = None,
    since: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="Only those that may be from this date or later.")
    ] = None,
    until: Annotated[
        str | None, typer.Option("--to", metavar="DATE", help="Only those that may be from this date or earlier.")
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show every picture of a person, oldest first: when it was taken, who else is in it, where its scan is."""
    from kinphoto.cli.documents import PicturesOf

    found = open_archive(archive).people.pictures(
        person, ancestors=ancestors, descendants=descendants, beside=beside or (), since=since, until=until
    )
    asked = bool(ancestors or descendants or beside or since or until)
    answer(as_json, PicturesOf.of(found), picture_lines(found, narrowed=asked))


def picture_lines(found: Pictures, *, narrowed: bool = False) -> Iterator[str]:
    """The pictures for a reader, a line each; also shown by the demo. `narrowed`: not simply all of one person."""
    who = named(found.name, found.id)
    count = len(found.photographs)
    if not count:
        yield f"No picture of {who} matches." if narrowed else f"There is no picture of {who} yet."
        return
    yield f"{who}: {counted(count, 'picture')}"
    for picture in found.photographs:
        yield "  ".join([picture.code, _when(picture), *_rest(picture, found.id)])


def _when(picture: PhotographCard) -> str:
    from kinphoto.archive.words.dates import when

    if picture.estimate is None:
        return "no date of its own"
    note = ", part of a conflict" if picture.estimate.state == "disputed" else ""
    return when(picture.estimate) + note


def _rest(picture: PhotographCard, person: str) -> Iterator[str]:
    """Who is in it, what it is called, where it is."""
    own = [one for one in picture.people if one.id == person]
    others = [name_in_picture(one) for one in picture.people if one.id != person]
    if own and own[0].perhaps:
        yield "perhaps"
    if others:
        yield f"{'with' if own else 'of'} {', '.join(others)}"
    if picture.title:
        yield f"“{picture.title}”"
    if picture.scans:
        yield picture.scans[0]


def name_in_picture(one: PersonInPhotograph) -> str:
    """Somebody in a picture by name, with "perhaps" where that is not certain."""
    return f"{'perhaps ' if one.perhaps else ''}{one.name or one.id}"
