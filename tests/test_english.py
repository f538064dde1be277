"""The words that people read are those a native speaker would say: none of those that once read as if translated.

The list is this project's own. A folder added to `CODE`, or a page to `PAGES`, is looked at as well.
"""

import ast
import io
import re
import tokenize
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer.main

from kinphoto.cli.main import app

ROOT = Path(__file__).parent.parent
CODE = (
    "kinphoto/web",
    "kinphoto/cli",
    "kinphoto/reason",
    "kinphoto/archive/statements",
    "kinphoto/archive/people",
    "kinphoto/archive/search",
    "kinphoto/archive/catalogue",
    "kinphoto/archive/collection",
    "kinphoto/archive/tree",
    "kinphoto/gedcom",
    "kinphoto/scans",
    "kinphoto/store",
    "kinphoto/archive/words",
    "kinphoto/archive/dates",
    "kinphoto/archive/asking",
)
"""Folders whose strings are looked at, those of templates and scripts too."""
PAGES = ("README.md", "docs", "CHANGELOG.md")
GENERATED = ("docs/reference.md", "kinphoto/cli/documents.py")
"""The descriptions of fields, and the page that is made of them."""

FORBIDDEN = (
    r"puts? down|put them down",
    r"\bsay so\b",
    r"(?-i:Somebody in it)",
    r"kinship is told|tells? kinship",
    r"hangs? together",
    r"is known of when",
    r">\s*(Before|After|Log|Informants)\s*<",
    r"who told it|told (anything|something)\b(?! yet|$)",
    r"is written so\b",
    r"laid out after death(?!$)",  # by itself it is a word that people may use
    r"\b(let \w+|stands?) (stand )?again",
    r"(lies|lie|lying) (nowhere|directly|there)\b|where \w+ lies?\b",
    r"(is|are) theirs now",
    r"(?<!there )\bis no (age|trust|number|address|picture|name|form|question|date|face|region|text|proper)\b",
    r"(taken|takes?|took) (it|this|them|that|what \w+ \w+|either|everything|a change|the last change)? ?back\b",
    r"(have|had) (it|them)? ?again\b",
    r"bears? on nothing",
    r"(?<!you )\b(is|are|was) told\b(?! to\b)",
    r"\bof whom\b|\bask whom\b",
    r"\bso many\b|\bso-manyth\b",
    r"passed over",
    r"one object</button",
    r"(?<!-)\bwithdrawn; the tree",
    r"let it stand",
    r"\bfits? (that|what you asked)",
    r"if need be",
    r"(nobody|no \w+( or \w+)?) fits\b|\bfits '",
    r"noted the informant|noted more about",
    r"look whether|sit right|framed rightly",
    r"indexed by mistake|brought in by mistake",
    r"\bbits\]|\d on the scale",
    r"\bis inscribed\b|remembered as taken|is said to be\b",
    r"\(inferred\)|\bthe tie to\b",
    r"does not tell when|\btells which\b|for this look",
    r"did not die (on|in|about)|would not be so",
    r"\bno evidence\.|and no evidence\b(?!:)",
    r"\bif they are one\b",
    r"\bis also found as\b",
    r"who told what|somebody said who",
    r"went up in",
    r"(?<!there )\bis no (GEDCOM|archive|version|family|person)\b|which is none",
    r"read the other way round|nothing that is used here|is in use already",
    r"given as their own|names? @|one with somebody",
    r"(?<!there )\bis no (photograph|print|pair|picture)\b|made if there is none|it has to be known|not known of both",
    r"in no (output|outline)\b|say whom|whom (it|one of them|a name|the names) means?|by everything else that is known",
    r"on one strip of film with|laid side by side again|cannot tell .* for sure|what lies on it\b|and nobody's who",
)

GIVEN_UP = (
    r"hangs? together",
    r"one behind the other",
    r"\bto be had\b",
    r"\bnext to (no|nothing)\b",
    r"\bso many\b",
    r"\bcalled so\b",
    r"\b[Oo]f whom\b",
    r"\b(lies?|lay|lying) (nowhere|together|there|in it)\b",
    r"\bin the order in which\b",
)
"""Turns that neither docstrings nor comments have any more."""
SPEECH = re.compile(r"\b(hears?|heard|told to|(container|order|strip|photograph|frame|number)s? (tells?|told))\b")
"""Messages are passed; nothing in the reasoner speaks or hears."""


def strings(path: Path) -> Iterator[tuple[int, str]]:
    """The texts of a file that somebody reads, each with its line; of a module its strings without the docstrings."""
    text = path.read_text(encoding="utf-8")
    if path.suffix != ".py":
        unreleased = re.split(r"(?m)^## \[(?!Unreleased)", text)[0] if path.name == "CHANGELOG.md" else text
        yield from enumerate(re.split(r"\n(?=\n)|\n(?=[-|<#])", unreleased), 1)
        return
    tree = ast.parse(text)
    described = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
    docs = {id(statement.value) for node in ast.walk(tree) if isinstance(node, described)
            for statement in node.body if isinstance(statement, ast.Expr)}  # fmt: skip
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs:
            yield node.lineno, node.value


def remarks(path: Path) -> Iterator[tuple[int, str]]:
    """The docstrings and comments of a module, each with its line."""
    text = path.read_text(encoding="utf-8")
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str):
            yield node.lineno, " ".join(node.value.value.split())
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.COMMENT:
            yield token.start[0], token.string


def files() -> Iterator[Path]:
    """Everything that holds words for people."""
    for name in CODE:
        for suffix in ("py", "html", "svg", "js"):
            yield from (ROOT / name).rglob(f"*.{suffix}")
    for name in PAGES:
        yield from [ROOT / name] if (ROOT / name).is_file() else sorted((ROOT / name).glob("*.md"))


def commands(group: Any, name: str = "kinphoto") -> Iterator[tuple[str, Any]]:
    """Every command by what is typed for it."""
    for word, command in group.commands.items():
        yield f"{name} {word}", command
        if hasattr(command, "commands"):
            yield from commands(command, f"{name} {word}")


def found(text: str) -> list[str]:
    """The forbidden words of a text."""
    plain = " ".join(text.split())
    return [match[0] for pattern in FORBIDDEN for match in re.finditer(pattern, plain, re.IGNORECASE)]


@pytest.mark.parametrize(
    "path", [path.relative_to(ROOT) for path in files() if str(path.relative_to(ROOT)) not in GENERATED], ids=str
)
def test_nothing_reads_as_if_translated(path: Path) -> None:
    """No page, message or label has one of the words."""
    assert [(line, words) for line, text in strings(ROOT / path) if (words := found(text))] == []


@pytest.mark.parametrize("folder", sorted(path.name for path in (ROOT / "kinphoto").iterdir() if path.is_dir()))
def test_no_remark_reads_as_if_translated(folder: str) -> None:
    """Docstrings and comments neither."""
    given_up = re.compile("|".join(GIVEN_UP))
    looked = [(path, line, text) for path in (ROOT / "kinphoto" / folder).rglob("*.py") for line, text in remarks(path)]
    assert [(str(path), line, match[0]) for path, line, text in looked if (match := given_up.search(text))] == []


def test_nothing_speaks_in_the_reasoner() -> None:
    """What statisticians call a message is called so in the docstrings of `reason/` too, and in its names."""
    paths = sorted((ROOT / "kinphoto" / "reason").rglob("*.py"))
    looked = [(path, line, text) for path in paths for line, text in remarks(path)]
    assert [(str(path), line, match[0]) for path, line, text in looked if (match := SPEECH.search(text))] == []
    named = [(str(path), word) for path in paths for word in re.findall(r"\b(?:heard|hear|told)\b(?= *[=(:])",
             path.read_text(encoding="utf-8"))]  # fmt: skip
    assert named == []


def test_no_help_reads_as_if_translated() -> None:
    """Neither has the help of a command or of one of its options."""
    for name, command in commands(typer.main.get_command(app)):
        texts = [command.help or "", *(getattr(option, "help", None) or "" for option in command.params)]
        assert [(text, words) for text in texts if (words := found(text))] == [], name


@pytest.mark.parametrize(
    "words",
    [
        "Put down",
        "Let it stand again",
        "1 photograph lies nowhere now",
        "Kinship is told from Susan",
        "Nobody is written so",
        "K00116 is inscribed in 1931",
        "Clemence Ombry did not die on 19 July 1919",
    ],
)
def test_the_list_knows_what_it_is_for(words: str) -> None:
    """Words that stood on the pages once are found by it."""
    assert found(words)
