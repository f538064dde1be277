"""What could not be saved, to be corrected: what was typed, which field the error is about, and what may be meant."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from kinphoto.errors import AmbiguousError, KinphotoError, UnclearDateError
from kinphoto.web.wording import FIELDS, FILES

TOKEN = "token"
MOST = 8
"""Suggestions shown."""
_ABOUT = {
    "age": ("age",), "stated_age": ("age",), "date": ("date", "day", "year"), "person": ("person", "nobody", "named"),
    "name": ("name",), "photographs": ("photograph",), "other": ("photograph", "related"), "better": ("scan",),
    "folder": ("folder",), "by": ("informant", "who asked"), "container": ("box", "container"), "text": ("words",),
}  # fmt: skip
"""Words of an error that show which field it is about, where it quotes nothing."""


@dataclass(frozen=True, slots=True)
class FieldSuggestion:
    """Something that may be meant: the words to show, and what to put into the field."""

    words: str
    value: str


@dataclass(frozen=True, slots=True)
class Refusal:
    """A form that was refused: where it goes, each field with its label (None for one that is not seen) and its values,
    the name of the field it is about ("" for none in particular), and what might be meant. `in_place` when where it
    happened is only that field again. `files` are the fields of files, each with its label: they are chosen anew."""

    action: str
    fields: tuple[tuple[str, str | None, str], ...]
    about: str
    suggestions: tuple[FieldSuggestion, ...]
    in_place: bool = False
    files: tuple[tuple[str, str], ...] = ()


def refusal(
    action: str, lists: Mapping[str, list[str]], problem: KinphotoError, files: Collection[str] = ()
) -> Refusal:
    """The form that was sent to this address, to be shown again."""
    typed = {name: values[-1].strip() for name, values in lists.items() if name in FIELDS and values}
    hidden = [name for name in lists if name != TOKEN and (name not in FIELDS or len(lists[name]) > 1)]
    fields: list[tuple[str, str | None, str]] = [(name, None, _shown(v)) for name in hidden for v in lists[name]]
    fields += [(name, FIELDS[name], _shown(lists[name][-1])) for name in typed if name not in hidden]
    field = about(typed, problem)
    chosen_anew = tuple((name, FILES[name]) for name in dict.fromkeys(files) if name in FILES)
    in_place = bool(typed.get(field)) and f"'{typed[field]}'" in problem.where
    return Refusal(action, tuple(fields), field, suggestions(problem), in_place, chosen_anew)


def _shown(value: str) -> str:
    """A value without what a page cannot hold: control characters (Unicode's category Cc) but ends of lines."""
    return re.sub(r"[\x00-\x09\x0b\x0c\x0e-\x1f\x7f-\x9f]", " ", value)


def about(typed: Mapping[str, str], problem: KinphotoError) -> str:
    """The field that an error is about: whose words it quotes, or else one that its words name."""
    said = f"{problem.where} {problem.what}"
    quoted = [name for name, value in typed.items() if value and any(f"{q}{value}" in said for q in "'\"“")]
    if quoted:
        return max(quoted, key=lambda name: len(typed[name]))
    named = [name for name, words in _ABOUT.items() if name in typed and any(word in said for word in words)]
    return next((name for name in named if not typed[name]), next(iter(named), ""))


def suggestions(problem: KinphotoError) -> tuple[FieldSuggestion, ...]:
    """What might be meant: each meaning of a date, or each of those who have the name, by their id."""
    if isinstance(problem, UnclearDateError):
        return tuple(FieldSuggestion(choice, choice) for choice in problem.choices[:MOST])
    if isinstance(problem, AmbiguousError):
        parts = ((words, words.rpartition(", ")) for words in problem.candidates[:MOST])
        return tuple(FieldSuggestion(before, code) for _, (before, _, code) in parts if before and " " not in code)
    return ()
