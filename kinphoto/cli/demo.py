"""`kinphoto demo`: the sample archive, and what kinphoto makes of it."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.asking import question_lines
from kinphoto.cli.findings import date_lines, story_lines
from kinphoto.cli.pictures import picture_lines
from kinphoto.cli.tree_findings import birth_lines
from kinphoto.phrases import listed

if TYPE_CHECKING:
    from kinphoto.archive.sample import Sample

GREAT_GRANDMOTHER = "I13"
"""Clemence, great-grandmother of the one who scanned the box; the date of her death is one of the puzzles."""
CLOSER_LOOK = "K00009"
IN_AN_ALBUM = "K00006"
"""Of this one the album tells something that its people do not."""
_BIRTHS = 3  # that rest on the most photographs


def demo(
    folder: Annotated[Path, typer.Argument(metavar="[DIR]", help="Where to build it: a new or empty folder.")] = Path(
        "kinphoto-demo"
    ),
) -> None:
    """Build a sample archive of an invented family and show what kinphoto makes of it."""
    from kinphoto.archive.sample import build
    from kinphoto.cli.output import closed_at_exit, say, warn

    warn("Building the sample (an invented family, drawn photographs) ...")
    built = build(folder)
    closed_at_exit(built.archive)
    for line in _report(built, folder):
        say(line)


def _report(built: Sample, folder: Path) -> Iterator[str]:
    yield from _imported(built)
    yield from _heading("When was each photograph taken? The likely range and the best single date")
    yield from date_lines(built.archive.dates.estimates())
    yield from _heading("What a box tells: pictures kept together were mostly taken together")
    yield from _box_at_work(built)
    yield from _heading("What does not fit together, and what could be set aside")
    yield from story_lines(built.archive.dates.conflicts())
    yield from _pictures(built)
    yield from _heading("Births the tree leaves open, as the photographs suggest them")
    yield from birth_lines(built.archive.tree.check().births[:_BIRTHS])
    yield from _heading("What to ask next, the most useful questions first")
    yield from question_lines(built.archive.asking.questions().questions[:3])
    yield from _heading("Three commands to try next")
    yield f"  cd {folder}"
    kinphoto = _as_typed()
    for command, what in (
        (f"explain {CLOSER_LOOK}", "why it has that date, and what it would be without each clue"),
        (f"pictures {GREAT_GRANDMOTHER} --descendants", "her pictures and those of all her descendants"),
        ("undo", "undo the last change; kinphoto log lists them all"),
    ):
        yield f"  {kinphoto} {command:<27} {what}"


def _box_at_work(built: Sample) -> Iterator[str]:
    """A photograph of an album, and what its date would be if the album said nothing."""
    from kinphoto.archive.words.dates import when

    found = built.archive.dates.explanation(IN_AN_ALBUM)
    box = next(part for part in found.parts if part.kind == "container")
    yield f"{found.dated.code}  {when(found.dated.estimate)}  {found.dated.title}"
    yield f"  {box.text}. {box.effect}"


def _as_typed() -> str:
    """How to call this program: by its name, or by its path where the shell does not know it."""
    known = shutil.which("kinphoto")
    return "kinphoto" if known or not sys.argv[0].endswith("kinphoto") else str(Path(sys.argv[0]).resolve())


def _imported(built: Sample) -> Iterator[str]:
    tree, scans = built.tree, built.scans
    yield from _heading("What went in")
    yield f"A family tree: {tree.people} people in {tree.families} families, {tree.events} events."
    yield f"A box of scans: {scans.added} files. Fronts, backs and rescans joined: {built.photographs} photographs."
    yield f"From {listed(built.informants)}: {built.links} names on faces, {built.statements} other statements."
    yield "Hardly any picture has a date on it. The family is invented, and every picture is drawn."


def _pictures(built: Sample) -> Iterator[str]:
    found = built.archive.people.pictures(GREAT_GRANDMOTHER)
    yield from _heading(f"Every picture of {found.name}, a great-grandmother")
    yield from picture_lines(found)


def _heading(text: str) -> Iterator[str]:
    yield ""
    yield text
    yield "-" * len(text)
