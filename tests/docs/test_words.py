"""The catalogues of what people read: made from the code, and readable by a translator's tools."""

from __future__ import annotations

import re
from collections import defaultdict
from io import BytesIO
from pathlib import Path
from types import ModuleType

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po
from docs_scripts import script

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    """docs/make_words.py."""
    return script("make_words")


@pytest.fixture(scope="module")
def books(maker: ModuleType) -> dict[str, Catalog]:
    """The catalogue of each surface."""
    made: dict[str, Catalog] = maker.catalogues()
    return made


def test_there_is_a_catalogue_of_each_surface(maker: ModuleType, books: dict[str, Catalog]) -> None:
    """With what stands there, and read again by Babel as it was written: no dates, no line numbers."""
    assert set(books) == {"pages", "given", "scripts", "labels", "commands", "sentences", "errors", "documents"}
    for surface, said in {
        "pages": "Skip to the page",
        "given": "Skip to the content",
        "scripts": "{number} of {count}",
        "labels": "Not in any box yet",
        "commands": "Only photographs this person is in.",
        "sentences": "{photo} is a copy of {other}",
        "errors": "there is no photograph or scan called '{text}'",
        "documents": "image files found",
    }.items():
        assert said in books[surface], (surface, said)
        text = maker.written(books[surface])
        again = read_po(BytesIO(text))
        assert {each.id for each in again} == {each.id for each in books[surface]}
        assert not re.search(rb"^#: .*:\d+$|POT-Creation-Date", text, re.MULTILINE)


def test_the_catalogues_are_the_same_each_time(maker: ModuleType, books: dict[str, Catalog]) -> None:
    """So that two of them can be compared."""
    again = maker.catalogues()
    assert {name: maker.written(book) for name, book in again.items()} == {
        name: maker.written(book) for name, book in books.items()
    }


def test_nothing_is_said_in_two_ways_that_differ_in_spelling(books: dict[str, Catalog]) -> None:
    """No two messages of the pages and scripts are the same but for capitals inside and marks."""
    found = defaultdict(set)
    for surface in ("pages", "given", "scripts"):
        for message in books[surface]:
            text = message.id if isinstance(message.id, str) else message.id[0]
            words = re.sub(r"[^\w{}]+", " ", text).strip()
            found[words.lower()].add(words[:1].lower() + words[1:])
    assert {key: texts for key, texts in found.items() if len(texts) > 1} == {}


RETIRED = {
    r"(?<!\()\bcontainers?\b": "box",
    r"\bpropos(e|ed|al|als)\b": "offer",
    r"\b(take|takes|taken|took) (it|them|that|all of them) back\b": "undo",
    r"\blog(ged)? (in|out)\b|\blogin\b": "sign in",
    r"\bdirector(y|ies)\b": "folder",
    r"\b(it|this) is no (?!longer|more|date)": "is not a",
    r"\bspelt\b": "spelled",
    r"\bwants? a (date|name)\b": "without a date, without a name",
    r"\bleast resolution\b|\bfloors?\b": "minimum resolution",
    r"\bways? out\b": "a way to settle it",
    r"\bsome per cent\b": "a few per cent",
    r"\bstands? upright\b|\bDrawn is\b": "its faces are upright, the frame shows",
}
"""Words and turns for which people read another one, which stands everywhere."""


def test_one_thing_has_one_word(books: dict[str, Catalog]) -> None:
    """None of the words that were given up is back, but as the name of a command, an option or a field."""
    for surface in books.keys() - {"documents"}:
        for message in books[surface]:
            text = message.id if isinstance(message.id, str) else message.id[0]
            own = re.sub(
                r"\{[^}]*\}|`[^`]*`|kinphoto [a-z]+( [a-z-]+)?|--[a-z-]+|columns [a-z, ]+ of|^[a-z -]+$", " ", text
            )
            for pattern, better in RETIRED.items():
                assert not re.search(pattern, own, re.IGNORECASE), (surface, text, better)


def test_a_translation_is_checked(maker: ModuleType) -> None:
    """What does not fill in what the English fills in is named with its line."""
    book = read_po(
        [
            'msgid "{n} in <a>{box}</a>"', 'msgstr "in {box}: {n}"', "",
            'msgid "The %ds"', 'msgstr "Die Jahre"', "",
            'msgid "Look {L}"', 'msgstr "{L} Ansehen"', "",
            "#: kinphoto/errors.py", 'msgid "line {line}: {why}"', 'msgstr "Zeile {line}"', "",
        ]
    )  # fmt: skip
    assert list(maker.faults(book)) == [
        "line 1: <a> is missing from the translation of “{n} in <a>{box}</a>”",
        "line 4: “Die Jahre” does not format what “The %ds” formats",
        "line 11: “Zeile {line}” does not fill in what “line {line}: {why}” fills in",
    ]
