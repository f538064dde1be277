"""`kinphoto families`: the couples of the tree, with the ids that commands take."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.people.couples import Couple, Partner


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    app.command("families")(families)


def families(
    text: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[NAMES]...",
            help="One name or two: Lambert, or Lambert and Agnes; or an id such as F3. All couples without any.",
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
    answer(as_json, {"families": [_document(couple) for couple in found]}, lambda: _lines(found, line))


def _document(couple: Couple) -> dict[str, Any]:
    from kinphoto.archive.words.dates import life_years

    return {
        "id": couple.id,
        "partners": [
            {"id": one.id, "name": one.name, "years": life_years(one.life.begin, one.life.end)}
            for one in couple.partners
        ],
        "married": couple.married,
        "events": [{"key": event.key, "date": event.date, "place": event.place} for event in couple.events],
        "children": couple.children,
        "gone": couple.gone,
    }


def _lines(found: tuple[Couple, ...], text: str) -> Iterator[str]:
    if not found:
        if text:
            yield f"No couple in the tree fits '{text}'. To find one by one of their names: kinphoto families NAME"
        else:
            yield "There is no couple yet. Import a tree: kinphoto tree import FILE.ged"
    for couple in found:
        facts = [
            " and ".join(_called(one) for one in couple.partners),
            *(f"{_EVENTS.get(event.tag, event.tag)} {event.date or 'without a date'}" for event in couple.events),
            counted(couple.children, "child", "children") if couple.children else "",
            "no longer in the tree" if couple.gone else "",
        ]
        yield f"{couple.id:<6} {', '.join(fact for fact in facts if fact)}"


_EVENTS = {"MARR": "married", "ENGA": "engaged", "DIV": "divorced"}


def _called(one: Partner) -> str:
    from kinphoto.archive.words.dates import life_years

    years = life_years(one.life.begin, one.life.end)
    return f"{one.name or 'no name'} ({one.id}{f', {years}' if years else ''})"
