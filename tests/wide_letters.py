"""A language for tests: English in wide letters (ｌｉｋｅ ｔｈｉｓ), whose catalogues are made from the code.

Whatever is shown in other letters was not looked up, also where it was filled into a message. Only what a message fills
in, its tags, and commands stay as they are.
"""

from __future__ import annotations

import re
from collections import defaultdict
from functools import cache
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from docs_scripts import script

from kinphoto.web.remedies import PLACES

_COMMANDS = "|".join(sorted(PLACES, key=len, reverse=True))
_KEPT = re.compile(rf"\{{[^{{}}]*\}}|<[^<>]*>|&\w+;|%[\d.]*[a-z]|`[^`]*`|\bkinphoto (?:{_COMMANDS})\b")
_WIDE = {letter: letter + ord("ａ") - ord("a") for letter in map(ord, "abcdefghijklmnopqrstuvwxyz")}
_WIDE |= {ord(chr(letter).upper()): ord(chr(wide).upper()) for letter, wide in _WIDE.items()}


def wide(text: str) -> str:
    """The same words in wide letters."""
    made, at = "", 0
    for kept in _KEPT.finditer(text):
        made += text[at : kept.start()].translate(_WIDE) + kept[0]
        at = kept.end()
    return made + text[at:].translate(_WIDE)


def write_catalogues(folder: Path) -> Path:
    """Every message that people read, in wide letters, as if they were German."""
    place = folder / "de" / "LC_MESSAGES"
    place.mkdir(parents=True)
    for surface, compiled in _compiled().items():
        (place / f"{surface}.mo").write_bytes(compiled)
    return folder


@cache
def messages() -> tuple[tuple[str, str, str | None, str], ...]:
    """All that people read: surface, words, plural, and file. To look through all of the code for it takes seconds."""
    return tuple(script("make_words").found())


@cache
def _compiled() -> dict[str, bytes]:
    """The catalogue of each surface."""
    books: defaultdict[str, Catalog] = defaultdict(lambda: Catalog("de"))
    for surface, text, plural, _ in messages():
        books[surface].add((text, plural) if plural else text, (wide(text), wide(plural)) if plural else wide(text))
    found = {}
    for surface, book in books.items():
        write_mo(file := BytesIO(), book)
        found[surface] = file.getvalue()
    return found
