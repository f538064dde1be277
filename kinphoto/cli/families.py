"""`kinphoto families`: the couples of the tree, with the ids that commands take."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, person
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.people.couples import Couple


def families(
    text: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[NAMES]...",
            help="One name or two: Lambert, or Lambert and Agnes; or an id such as F3. Leave it out for all couples.",
            show_default=False,
        ),
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the couples of the tree, with their years and events.

    For a photograph of a wedding: kinphoto state PHOTO event "wedding of Lambert and Agnes".
    """
    line = " ".join(text or []).strip()
    found = open_archive(archive).people.couples(line)
    answer(as_json, {"families": found}, _couple_lines(found, line))


def _couple_lines(found: tuple[Couple, ...], text: str) -> Iterator[str]:
    if not found:
        if text:
            yield f"No couple in the tree matches '{text}'. Try one of their names: kinphoto families NAME"
        else:
            yield "There are no couples yet. Import a tree: kinphoto tree import FILE.ged"
    for couple in found:
        facts = [
            " and ".join(person(one.name, one.id, one.life.years) for one in couple.partners),
            *(
                _EVENTS.get(event.tag, f"{event.tag} {{}}").format(event.date or "without a date")
                for event in couple.events
            ),
            counted(couple.children, "child", "children") if couple.children else "",
            "no longer in the tree" if couple.gone else "",
        ]
        yield f"{couple.id:<6} {', '.join(fact for fact in facts if fact)}"


_EVENTS = {"MARR": "married {}", "ENGA": "engaged {}", "DIV": "divorced {}"}
