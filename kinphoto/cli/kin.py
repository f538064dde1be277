"""`kinphoto kin` and `kinphoto proband`: how people are related, and from whose point of view."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, person

if TYPE_CHECKING:
    from kinphoto.archive.people.kinship import Kin, Path, Somebody
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


def _kin_lines(found: Kin) -> Iterator[str]:
    one, other = found.one, found.other
    first, second = person(one.name, one.id), person(other.name, other.id)
    if found.same:
        yield f"Both are {first}."
    elif not found.paths:
        yield (
            f"No relationship found between {first} and {second}: no common ancestor, no marriage at "
            f"the end of a line, and no marriages that link them within {found.within} steps."
        )
        for who in (one, other):
            if who.outside or who.gone:
                where = "outside the tree" if who.outside else "no longer in the tree"
                yield f"{who.name or who.id} is {where}, so their family may not be recorded."
    else:
        yield f"{first} is {_whose(other)} {found.words}."
        if found.in_return != found.words:
            yield f"{second} is {_whose(one)} {found.in_return}."
        for path in found.paths:
            yield f"  {path.words}: {'; '.join(_how(path))}"


def _how(path: Path) -> Iterator[str]:
    """Through which people, and how closely."""
    if path.through:
        yield f"through {' and '.join(person(one.name, one.id) for one in path.through)}"
    if path.up and path.down:
        shared = "common ancestor" + ("s" if len(path.ancestors) > 1 else "")
        yield f"{shared} {' and '.join(person(one.name, one.id) for one in path.ancestors)}"
    if path.up or path.down:
        yield ", ".join(_generations(path))
    if path.civil:
        yield f"civil degree {path.civil}, canon degree {path.canon}"
    elif path.marriages == 1 and not path.through:
        yield "by marriage"


def _generations(path: Path) -> Iterator[str]:
    """ "2 generations up", "1 down" """
    steps = [(count, way) for count, way in ((path.up, "up"), (path.down, "down")) if count]
    for at, (count, way) in enumerate(steps):
        yield f"{count} {'' if at else 'generation ' if count == 1 else 'generations '}{way}"


def _whose(one: Somebody) -> str:
    return f"{one.name or one.id}'s"


def _point_of_view(done: Proband) -> str:
    if done.id is None:
        now = "Relationships are no longer shown." if done.changed else "Relationships are not shown yet."
        return f"{now} To say who you are: kinphoto proband PERSON"
    gone = " (no longer in the tree)" if done.gone else ""
    now = " now" if done.changed else ""
    return f"Relationships are{now} given from {done.name or 'no name'}'s point of view ({done.id}){gone}."
