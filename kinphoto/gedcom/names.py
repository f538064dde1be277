"""The names of a person: in one line or in pieces, married names, nicknames, and in other scripts."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import NamedTuple

from kinphoto.gedcom.parse import Item

_PIECES = ("NPFX", "GIVN", "SPFX", "SURN", "NSFX")
_NESTED_TAGS = {
    "_MARNM": "married", "_MARN": "married", "_AKA": "aka", "FONE": "phonetic", "ROMN": "romanized",
    "TRAN": "translation", "_HEB": "translation",
}  # fmt: skip
"""Tags of names below another name, with their kind."""
SEPARATE_TAGS = {"_MARNM": "married", "_MARN": "married", "_AKA": "aka", "ALIA": "aka"}
"""Tags of names that some programs write beside NAME, with their kind."""
_QUOTED = re.compile(r"[\"“”„]([^\"“”„/]+)[\"“”„]")


class Name(NamedTuple):
    """One name of a person; `kind` is what the file says of it (birth, married, aka ...), in lower case."""

    text: str
    given: str = ""
    surname: str = ""
    nickname: str = ""
    kind: str = ""


def read(item: Item, words: Callable[[str], str]) -> list[Name]:
    """A NAME line and the names below it; `words` unescapes a value."""
    pieces = dict.fromkeys((*_PIECES, "NICK", "TYPE"), "")
    others = []
    for below in item.below:
        tag = below.tag
        if tag in pieces:
            pieces[tag] = pieces[tag] or _piece(below, words)
        elif tag in _NESTED_TAGS and below.value.strip():
            others.append(plain(words(below.value), _NESTED_TAGS[tag]))
    value = words(item.value)
    if not value:
        value = " ".join(pieces[tag] for tag in _PIECES if pieces[tag])
    found = plain(value, pieces["TYPE"].lower())
    return [
        Name(
            found.text,
            pieces["GIVN"] or found.given,
            pieces["SURN"] or found.surname,
            pieces["NICK"] or found.nickname,
            found.kind,
        ),
        *(_complete_married_name(other, found) for other in others if other.text),
    ]


def _piece(item: Item, words: Callable[[str], str]) -> str:
    """A piece of a name, or its kind; for a kind of their own files in GEDCOM 7.0 have OTHER, with the word as
    PHRASE."""
    value = words(item.value)
    if value.upper() != "OTHER":
        return value
    return next((words(b.value) for b in item.below if b.tag == "PHRASE"), value)


def plain(value: str, kind: str) -> Name:
    """A name from one line, with the surname between slashes and a nickname between quotation marks."""
    before, slash, after = value.partition("/")
    surname, _, behind = after.partition("/")
    called = _QUOTED.search(value)
    given = _QUOTED.sub(" ", before if before.strip() else behind) if slash else ""
    text = " ".join(value.replace("/", " ").split())
    return Name(text, " ".join(given.split()), surname.strip(), called[1].strip() if called else "", kind)


def _complete_married_name(name: Name, first: Name) -> Name:
    """A married name with the given name of the first name, where the program wrote only the surname."""
    if name.kind != "married" or name.given or " " in name.text or not first.given:
        return name
    return Name(f"{first.given} {name.text}", first.given, name.surname or name.text, "", name.kind)
