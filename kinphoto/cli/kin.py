"""`kinphoto kin` and `kinphoto proband`: how people are related, and from whom that is told."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive

if TYPE_CHECKING:
    from kinphoto.archive.people.kinship import Kin, Path, Somebody
    from kinphoto.archive.people.proband import Proband


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    for command in (kin, proband):
        app.command()(command)


def kin(
    one: Annotated[str, typer.Argument(metavar="PERSON", help="An id such as I12, or a name.")],
    other: Annotated[str, typer.Argument(metavar="PERSON", help="To whom the first is related: an id or a name.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say how two people are related, in words, and by whom.

    Every line of descent is followed; then one marriage at either end of it; then marriages between near kin.
    """
    found = open_archive(archive).people.kinship(one, other)
    answer(as_json, _document(found), lambda: _lines(found))


def proband(
    person: Annotated[
        str | None,
        typer.Argument(metavar="[PERSON]", help="An id or a name; without one, who it is.", show_default=False),
    ] = None,
    nobody: Annotated[bool, typer.Option("--nobody", help="Tell kinship from nobody any more.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Choose from whom kinship is told: for that person, somebody is "your great-grandmother"."""
    if person is not None and nobody:
        raise typer.BadParameter("name a person or give --nobody, not both.")
    people = open_archive(archive).people
    done = people.proband() if person is None and not nobody else people.choose_proband(person)
    who = None if done.id is None else {"id": done.id, "name": done.name}
    document = {"person": who, "changed": done.changed, "change": done.change}
    answer(as_json, document, lambda: iter([_told_from(done)]))


def _document(found: Kin) -> dict[str, Any]:
    return {
        "person": {"id": found.one.id, "name": found.one.name},
        "other": {"id": found.other.id, "name": found.other.name},
        "same": found.same,
        "words": found.words or None,
        "in_return": found.in_return or None,
        "paths": [_path(path) for path in found.paths],
        "within": found.within,
    }


def _path(path: Path) -> dict[str, Any]:
    return {
        "words": path.words,
        "in_return": path.in_return,
        "up": path.up,
        "down": path.down,
        "common_ancestors": [one.id for one in path.ancestors],
        "full": path.full,
        "canon": path.canon,
        "civil": path.civil,
        "marriages": path.marriages,
        "through": [one.id for one in path.through],
    }


def _lines(found: Kin) -> Iterator[str]:
    one, other = found.one, found.other
    if found.same:
        yield f"Both are {_called(one)}."
    elif not found.paths:
        yield (
            f"No kinship found between {_called(one)} and {_called(other)}: no ancestor in common, no marriage at the "
            f"end of a line, and none between them within {found.within} steps of kinship."
        )
        for who in (one, other):
            if who.outside or who.gone:
                where = "outside the tree" if who.outside else "no longer in the tree"
                yield f"{who.name or who.id} is {where}, so nothing may be recorded of their family."
    else:
        yield f"{_called(one)} is {_whose(other)} {found.words}."
        if found.in_return != found.words:
            yield f"{_called(other)} is {_whose(one)} {found.in_return}."
        for path in found.paths:
            yield f"  {path.words}: {'; '.join(_how(path))}"


def _how(path: Path) -> Iterator[str]:
    """By whom, and how near."""
    if path.through:
        yield f"through {' and '.join(_called(one) for one in path.through)}"
    if path.up and path.down:
        shared = "common ancestor" + ("s" if len(path.ancestors) > 1 else "")
        yield f"{shared} {' and '.join(_called(one) for one in path.ancestors)}"
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


def _called(one: Somebody) -> str:
    return f"{one.name or 'no name'} ({one.id})"


def _whose(one: Somebody) -> str:
    return f"{one.name or one.id}'s"


def _told_from(done: Proband) -> str:
    if done.id is None:
        before = "Kinship is told from nobody any more." if done.changed else "Kinship is told from nobody yet."
        return f"{before} To choose somebody: kinphoto proband PERSON"
    gone = " (no longer in the tree)" if done.gone else ""
    since = " from now on" if done.changed else ""
    return f"Kinship is told from {done.name or 'no name'} ({done.id}){gone}{since}."
