"""`kinphoto people`: finds people; `add` and `same` for those outside the tree.

`people` takes a name at once and is a group of commands too: when the first word is none of its commands, `find` is
meant. Names begin with capitals and the commands do not, so that `kinphoto people Add` looks for somebody called Add;
`kinphoto people find add` does so in any case.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kinphoto.cli.commands import Commands, first_word
from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, warn
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.people.people import FoundPeople, FoundPerson
    from kinphoto.archive.words.dates import Vital
    from kinphoto.reason.model.findings import BirthEstimate

_KIN_OF = 100  # people of whom is told what they are to the proband; more are no list to choose from
_SIMILAR = 20  # people of nearly the same name that are shown


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
    help="Find people by name and year, and name those who are in no tree. `kinphoto people Ada Marsh 1890` finds at "
    "once; somebody called Add is found with `kinphoto people find add`.",
)


@app.command("find")
def find(
    text: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[TEXT]...",
            help="Parts of names in any order, of a married name too, and years of the life: Ada Marsh 1890. "
            "Everybody when nothing is given.",
            show_default=False,
        ),
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find people by parts of their names and years of their lives. The word `find` may be left out."""
    line = " ".join(text or [])
    store = open_archive(archive)
    found = store.people.find(line)
    kin = store.people.kin_phrases([one.id for one in found.people]) if len(found.people) <= _KIN_OF else {}
    births = store.people.suggested_births([one.id for one in found.people])
    document = {"people": [_document(one, kin.get(one.id), births.get(one.id)) for one in found.people]}
    answer(as_json, document, lambda: _lines(found, line, kin, births))


@app.command("add")
def add(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help='The whole name; slashes may mark the surname: "Ada /Marsh/".')
    ],
    born: Annotated[str | None, typer.Option(metavar="DATE", help='When born, as well as known: "about 1890".')] = None,
    died: Annotated[str | None, typer.Option(metavar="DATE", help="When died, as well as known.")] = None,
    note: Annotated[str, typer.Option(metavar="TEXT", help="Who this is: a neighbour, a classmate.")] = "",
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Name somebody who is not in the tree, such as a neighbour or a classmate."""
    added = open_archive(archive).people.add(name, born, died, note)
    for other in added.namesakes:
        warn(f"There is another person of that name: {other}. If they are one: kinphoto people same {added.id} ID")
    answer(
        as_json,
        {"id": added.id, "name": added.name, "namesakes": list(added.namesakes)},
        lambda: iter([f"{added.name} is {added.id} from now on. Next: kinphoto link PHOTO {added.id}"]),
    )


@app.command("same")
def same(
    somebody: Annotated[str, typer.Argument(metavar="X7", help="The person outside the tree.")],
    turned_out: Annotated[str, typer.Argument(metavar="I12", help="Who that is: an id or a name.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say who somebody outside the tree turned out to be: their pictures become that person's, both ids work."""
    done = open_archive(archive).people.identify(somebody, turned_out)
    pictures = counted(done.moved, "picture is", "pictures are")
    answer(
        as_json,
        {"id": done.id, "was": done.was, "name": done.name, "moved": done.moved},
        lambda: iter([f"{done.was} is {done.name} ({done.id}); {pictures} theirs now. To take it back: kinphoto undo"]),
    )


def _document(one: FoundPerson, kin: str | None, birth: BirthEstimate | None) -> dict[str, Any]:
    from kinphoto.cli import tree_findings

    return {
        "id": one.id,
        "name": one.name,
        "sex": one.sex,
        "born": _date(one.life.begin),
        "died": _date(one.life.end),
        "pictures": one.pictures,
        "found_as": one.found_as or None,
        "outside": one.outside,
        "gone": one.gone,
        "note": one.note,
        "kin": kin,
        "suggested_birth": None if birth is None else tree_findings.birth(birth),
    }


def _date(vital: Vital | None) -> dict[str, str | None]:
    """A birth or death; of a christening or burial only that it was no later is known."""
    from kinphoto.reason.model.span import iso

    if vital is None:
        return {"text": "", "earliest": None, "latest": None}
    span = vital.date.span
    earliest = span.first if vital.said in ("born", "died") else None
    return {"text": vital.text, "earliest": iso(earliest), "latest": iso(span.last)}


def _lines(found: FoundPeople, text: str, kin: dict[str, str], births: dict[str, BirthEstimate]) -> Iterator[str]:
    from kinphoto.archive.words.dates import NO_PROOF

    if not found.people:
        if text:
            yield f"Nobody fits '{text}'. Name somebody new: kinphoto people add NAME"
        else:
            yield "There is nobody yet. Import a tree (kinphoto tree import FILE.ged), or: kinphoto people add NAME"
        return
    shown = found.people
    if found.similar:
        yield f"Nobody fits '{text}' as it is written. Of nearly that name:"
        shown = found.people[:_SIMILAR]
    for one in shown:
        yield _line(one, kin.get(one.id, ""), births.get(one.id))
    if len(shown) < len(found.people):
        yield f"and {len(found.people) - len(shown)} more; give more of the name, or a year."
    if any(one.id in births for one in shown):
        yield NO_PROOF


def _line(one: FoundPerson, kin: str, birth: BirthEstimate | None) -> str:
    """ "I12  Ada Marsh (Holm), about 1890 to 1961, 3 pictures, your great-aunt" """
    from kinphoto.archive.words.dates import born, life_years

    name = one.name or "no name"
    facts = [
        f"{name} ({one.found_as})" if one.found_as else name,
        life_years(one.life.begin, one.life.end) or "years not known",
        counted(one.pictures, "picture") if one.pictures else "no pictures",
        "outside the tree" if one.outside else "",
        "no longer in the tree" if one.gone else "",
        one.note if one.outside else "",
        kin,
        born(birth) if birth else "",
    ]
    return f"{one.id:<6} {', '.join(' '.join(fact.split()) for fact in facts if fact)}"
