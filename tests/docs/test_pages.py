"""The tour of the pages cannot go stale: its pictures exist and are small, its keys are those that the scripts take."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from typer.main import get_command

from kinphoto.cli.main import app

ROOT = Path(__file__).parents[2]
WEB = ROOT / "kinphoto" / "web"
DOCS = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]
SIGNS = {" ": "Space", "ArrowLeft": "←", "ArrowRight": "→", "ArrowUp": "↑", "ArrowDown": "↓", "−": "-", "=": "+"}
"""Keys by what stands on them; the equals sign is the key of the plus."""
LARGEST = 150_000
PARTS = {f"page-{name}" for name in ("strip", "strip-without", "disputed", "phone-when", "answer")}
"""Pictures of a part of a page, as wide as that is."""


def script(name: str) -> str:
    """The text of a script of the pages."""
    return (WEB / "static" / name).read_text(encoding="utf-8")


def keys_taken() -> set[str]:
    """Every key that a page or one of its scripts takes, by what stands on it."""
    templates = " ".join(path.read_text(encoding="utf-8") for path in (WEB / "templates").glob("*.html"))
    scripts = " ".join(path.read_text(encoding="utf-8") for path in (WEB / "static").glob("*.js"))
    named = re.findall(r'data-key="(\w+)"', templates)
    named += re.findall(r'event\.key === "([^"]+)"', scripts) + re.findall(r"\b(Arrow\w+): \[", scripts)
    named += re.findall(r'event\.key >= "(.)" && event\.key <= "(.)"', scripts)[0]
    ways = re.findall(r'\[WORDS\.\w+, "([^"]+)", \(\)', script("looking.js"))
    assert len(ways) == 4, "closer, further away, the whole, turned"
    named += [key for keys in ways for key in keys]
    keys = re.search(r"const keys = \{(.*?)\};", script("filling.js"), re.DOTALL)
    assert keys is not None, "the keys while a photograph fills the screen"
    named += [quoted or plain for quoted, plain in re.findall(r'(?:"( )"|(\w+)): \(\)', keys[1])]
    named += ["Alt"] if "event.altKey ||" in script("table.js") else []
    named += ["Shift"] if "event.shiftKey" in scripts else []
    return {SIGNS.get(key, key if len(key) > 1 else key.upper()) for key in named}


def test_the_table_of_keys_is_that_of_the_scripts() -> None:
    """Every key in the tour's table is taken by a page, and every key that a page takes is in the table."""
    tour = (ROOT / "docs" / "pages.md").read_text(encoding="utf-8")
    rows = re.findall(r"(?m)^\| (<kbd>.*?) \|.*\|.*\|$", tour)
    told = {key for row in rows for key in re.findall(r"<kbd>(.+?)</kbd>", row)}
    assert len(rows) > 10
    assert told == keys_taken()


@pytest.mark.parametrize("page", DOCS, ids=lambda path: path.name)
def test_what_the_docs_show_and_lead_to_is_there(page: Path) -> None:
    """Every picture and every other page that a page of the docs names exists."""
    named = re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8"))
    assert [name for name in named if not (page.parent / name).exists()] == []


def test_the_pictures_of_the_pages_are_all_shown_and_small() -> None:
    """Each picture of a page stands in the tour, can be opened, and is quickly there."""
    tour = (ROOT / "docs" / "pages.md").read_text(encoding="utf-8")
    pictures = sorted((ROOT / "docs" / "images").glob("page-*"))
    assert pictures
    for picture in pictures:
        assert f"(images/{picture.name})" in tour
        assert picture.stat().st_size <= LARGEST
        with Image.open(picture) as opened:
            assert opened.width in (390, 1440, 2560) or picture.stem in PARTS


def commands(group: object, before: str = "") -> Iterator[str]:
    """Every command with its group."""
    for name, one in group.commands.items():  # type: ignore[attr-defined]
        inner = getattr(one, "commands", None)
        yield from commands(one, f"{before}{name} ") if inner else iter([f"{before}{name}"])


def test_every_command_has_its_place_in_the_tour() -> None:
    """Whether something can be done here, there or in both is said of every command of the program."""
    tour = (ROOT / "docs" / "pages.md").read_text(encoding="utf-8")
    part = tour.partition("## Here, there, or both")[2].partition("\n## ")[0]
    named = {words.removesuffix(" N").removesuffix(" --dry-run") for words in re.findall(r"`([^`]+)`", part)}
    assert set(commands(get_command(app))) - named == set()
    assert named - set(commands(get_command(app))) <= {"--json", "undo", "scans"}
