"""`kinphoto kin` and `kinphoto proband`: how people are related, and from whose point of view."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, person

if TYPE_CHECKING:
    from kinphoto.archive.people.kinship import Kinship, Somebody
    from kinphoto.archive.people.proband import Proband


def kin(
    one: Annotated[str, typer.Argument(metavar="PERSON", help="An id such as I12, or a name.")],
    other: Annotated[str, typer.Argument(metavar="PERSON", help="The other one: an id or a name.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show how two people are related, in words, and through whom.

    Lines of descent come first, then a marriage at either end of one, then marriages of close relatives.
    """
    found = open_archive(archive).people.kinship(one, other)
    answer(as_json, found, _kin_lines(found))


def proband(
    person: Annotated[
        str | None,
        typer.Argument(metavar="[PERSON]", help="An id or a name; leave it out to see who it is.", show_default=False),
    ] = None,
    nobody: Annotated[bool, typer.Option("--nobody", help="Stop showing relationships.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say who you are, so that people are shown as "your great-grandmother"."""
    if person is not None and nobody:
        raise typer.BadParameter("give a person or --nobody, not both.")
    people = open_archive(archive).people
    done = people.proband() if person is None and not nobody else people.choose_proband(person)
    answer(as_json, done, _point_of_view(done))


def _kin_lines(found: Kinship) -> Iterator[str]:
    from kinphoto.archive.people.kin_sentences import how, sentences

    def called(one: Somebody) -> str:
        return person(one.name, one.id)

    yield from sentences(found, called)
    for path in found.paths:
        yield f"  {path.words}: {'; '.join(how(path, called))}"


def _point_of_view(done: Proband) -> str:
    if done.id is None:
        now = "Relationships are no longer shown." if done.changed else "Relationships are not shown yet."
        return f"{now} To say who you are: kinphoto proband PERSON"
    gone = " (no longer in the tree)" if done.gone else ""
    now = " now" if done.changed else ""
    return f"Relationships are{now} given from {done.name or 'no name'}'s point of view ({done.id}){gone}."
