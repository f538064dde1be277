"""The reference is written from the code and lacks nothing."""

from __future__ import annotations

import re
from pathlib import Path
from types import ModuleType

import typer
from docs_scripts import script

from kinphoto.cli.documents import documents
from kinphoto.cli.main import app

DOCUMENTS = documents()

ROOT = Path(__file__).parents[2]


def maker() -> ModuleType:
    """docs/make_reference.py as a module."""
    return script("make_reference")


def test_the_reference_is_up_to_date() -> None:
    """docs/reference.md is what the code says now; `python docs/make_reference.py` mends it."""
    assert (ROOT / "docs" / "reference.md").read_text(encoding="utf-8") == maker().page()


def test_every_command_that_prints_json_has_its_output_described() -> None:
    """Whoever can say `--json` finds the fields in the reference, and nothing else is described there."""
    commands = dict(maker().commands(typer.main.get_command(app)))
    printing = {name for name, c in commands.items() if any("--json" in p.opts for p in c.params)}
    assert printing == set(DOCUMENTS)


def test_no_field_is_undescribed() -> None:
    """A field that is added to a result is told in the document, and has to say what it is."""
    assert [f"{name}: {path}" for name, told in DOCUMENTS.items() for path, says in told.items() if not says] == []


def test_every_command_in_the_docs_exists() -> None:
    """No page tells the reader to type a command there is not."""
    words = {name.split()[0] for name, _ in maker().commands(typer.main.get_command(app))}
    pages = [ROOT / "README.md", *(ROOT / "docs").glob("*.md")]
    typed = [block for page in pages for block in re.findall(r"(?s)```sh\n(.*?)```", page.read_text(encoding="utf-8"))]
    told = {word for block in typed for word in re.findall(r"(?m)^kinphoto ([a-z]+)", block)}
    assert told
    assert told <= words


def test_the_readme_opens_with_the_job() -> None:
    """The first paragraph says what it is for, in the words of the person it is for."""
    first = (ROOT / "README.md").read_text(encoding="utf-8").split("\n\n")[1]
    assert first.startswith("Somebody in every family")
    assert "family tree" in first
