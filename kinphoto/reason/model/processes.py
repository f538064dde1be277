"""When each process was in use and each kind of object was made: the table `processes.toml`, with its sources."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from kinphoto.reason.model.span import Span, span_of_years


@dataclass(frozen=True, slots=True)
class Citation:
    """Who says so. `basis` is "seen" when it was read there, "from memory" when it was not."""

    source: str
    says: str
    basis: str


@dataclass(frozen=True, slots=True)
class Process:
    """One way of making a photograph (`kind` "process") or one kind of object ("format").

    `window`: outside it the thing is not known. `common`: years of common use, None where no source gives them.
    `original` is True when the object lay in the camera, so that the window bounds the exposure; False when it
    bounds the making of the print. `title` is a noun phrase without its article; `also` are other words for it.
    """

    name: str
    kind: str
    title: str
    original: bool
    window: Span
    common: Span | None
    also: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[Citation, ...]


translate: Callable[[str], str] = str
"""What makes of the titles and cautions of the file those of another language; nothing in English."""


@cache
def load() -> Mapping[str, Process]:
    """The table by name, in the order of the file."""
    text = files("kinphoto.reason").joinpath("processes.toml").read_text(encoding="utf-8")
    return MappingProxyType({name: _process(name, entry) for name, entry in tomllib.loads(text).items()})


def named(text: str, kind: str) -> Process | None:
    """The process or format of this name, in any case, with spaces or hyphens, by its name, title or another word."""
    return _words(kind).get(_plain(text))


def near(text: str, kind: str) -> list[str]:
    """Names of the same kind that are spelt nearly so, nearest first; at most three."""
    words = _words(kind)
    close = get_close_matches(_plain(text), list(words), n=3, cutoff=0.6)
    return list(dict.fromkeys(words[word].name for word in close))


def _process(name: str, entry: Mapping[str, Any]) -> Process:
    common = entry.get("common")
    return Process(
        name=name,
        kind=entry["kind"],
        title=translate(entry["title"]),
        original=entry["original"],
        window=Span(_end(entry["first"]).first, _end(entry.get("last")).last),
        common=None if common is None else span_of_years(*common),
        also=tuple(entry.get("also", ())),
        cautions=tuple(map(translate, entry.get("cautions", ()))),
        sources=tuple(Citation(**source) for source in entry["sources"]),
    )


def _end(written: int | date | None) -> Span:
    """One end of a window, a year or a day (None: open), as the days it covers."""
    if isinstance(written, date):
        return Span(written.toordinal(), written.toordinal())
    return span_of_years(written, written)


@cache
def _words(kind: str) -> dict[str, Process]:
    """Every word for the entries of this kind; names go before other words."""
    entries = [process for process in load().values() if process.kind == kind]
    words = {_plain(word): process for process in entries for word in (process.title, *process.also)}
    return words | {_plain(process.name): process for process in entries}


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace("-", " ").replace("_", " ").split())
