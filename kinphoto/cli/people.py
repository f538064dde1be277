"""`kinphoto people`: finds people; `add` and `same` for those outside the tree.

`people` takes a name directly and is a group of commands too: when the first word is none of its commands, `find` is
meant. Names begin with capitals and the commands do not, so that `kinphoto people Add` looks for somebody called Add;
`kinphoto people find add` does so in any case.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kinphoto.cli.commands import Commands, first_word
from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, warn
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.people.people import FoundPeople, FoundPerson

_KIN_OF = 100  # shown with how they are related to you; more are too many to choose from
_SIMILAR = 20  # people with nearly the same name who are shown


class _FindUnlessCommand(Commands):
    """A group whose command `find` may be left out."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Put the command first: the one that is named, otherwise `find`."""
        if "--help" in args[:1]:
            return list(super().parse_args(ctx, args))
        at = first_word(args)
        if at is None or args[at] not in self.commands:
            args = ["find", *args]
        return list(super().parse_args(ctx, args))


app = typer.Typer(
    cls=_FindUnlessCommand,
    subcommand_metavar="[find] [TEXT]... | add NAME | same X7 I12",
    help="Find people by name and year, and add those who are not in the tree. `kinphoto people Ada Marsh 1890` is "
    "enough; for somebody called Add, type `kinphoto people find add`.",
)


@app.command("find")
def find(
    text: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[TEXT]...",
            help="Parts of names in any order, married names too, and years of their life: Ada Marsh 1890. "
            "Leave it out for everybody.",
            show_default=False,
        ),
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find people by parts of their names and years of their lives. You can leave out the word `find`."""
    line = " ".join(text or [])
    store = open_archive(archive)
    found = store.people.find(line)
    kin = store.people.kin_phrases([one.id for one in found.people]) if len(found.people) <= _KIN_OF else {}
    births = store.people.suggested_births([one.id for one in found.people])
    people = [replace(one, kin=kin.get(one.id), suggested_birth=births.get(one.id)) for one in found.people]
    answer(as_json, {"people": people}, _people_lines(replace(found, people=tuple(people)), line))


@app.command("add")
def add(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help='The full name; slashes can mark the surname: "Ada /Marsh/".')
    ],
    born: Annotated[
        str | None, typer.Option(metavar="DATE", help='When they were born, if known: "about 1890".')
    ] = None,
    died: Annotated[str | None, typer.Option(metavar="DATE", help="When they died, if known.")] = None,
    note: Annotated[str, typer.Option(metavar="TEXT", help="Who they are: a neighbour, a classmate.")] = "",
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Add somebody who is not in the tree, such as a neighbour or a classmate."""
    added = open_archive(archive).people.add(name, born, died, note)
    for other in added.namesakes:
        warn(f"Somebody already has that name: {other}. If it is the same person: kinphoto people same {added.id} ID")
    answer(as_json, added, f"Added {added.name} as {added.id}. Next: kinphoto link PHOTO {added.id}")


@app.command("same")
def same(
    somebody: Annotated[str, typer.Argument(metavar="X7", help="The person outside the tree.")],
    turned_out: Annotated[str, typer.Argument(metavar="I12", help="Who they turned out to be: an id or a name.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say who somebody outside the tree turned out to be. Their pictures move along, and both ids work."""
    done = open_archive(archive).people.identify(somebody, turned_out)
    pictures = counted(done.moved, "picture")
    answer(as_json, done, f"{done.was} is {done.name} ({done.id}): {pictures} moved. To undo: kinphoto undo")


def _people_lines(found: FoundPeople, text: str) -> Iterator[str]:
    from kinphoto.archive.words.dates import NO_PROOF

    if not found.people:
        if text:
            yield f"Nobody matches '{text}'. To add somebody: kinphoto people add NAME"
        else:
            yield "There is nobody yet. Import a tree (kinphoto tree import FILE.ged), or: kinphoto people add NAME"
        return
    shown = found.people
    if found.similar:
        yield f"No exact match for '{text}'. Nearly the same:"
        shown = found.people[:_SIMILAR]
    for one in shown:
        yield _person_line(one)
    if len(shown) < len(found.people):
        yield f"and {len(found.people) - len(shown)} more; type more of the name, or a year."
    if any(one.suggested_birth for one in shown):
        yield NO_PROOF


def _person_line(one: FoundPerson) -> str:
    """ "I12  Ada Marsh (Holm), about 1890 to 1961, 3 pictures, your great-aunt" """
    from kinphoto.archive.words.dates import born

    name = one.name or "no name"
    facts = [
        f"{name} ({one.found_as})" if one.found_as else name,
        one.life.years or "years not known",
        counted(one.pictures, "picture") if one.pictures else "no pictures",
        "outside the tree" if one.outside else "",
        "no longer in the tree" if one.gone else "",
        one.note if one.outside else "",
        one.kin or "",
        born(one.suggested_birth) if one.suggested_birth else "",
    ]
    return f"{one.id:<6} {', '.join(' '.join(fact.split()) for fact in facts if fact)}"
