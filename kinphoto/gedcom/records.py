"""From text to records: the lines from one level 0 to the next, corrected where they break the grammar.

The parser checks the grammar. Only a record it refuses is corrected here, line by line, so that a correct file costs
nothing extra.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import chain, count
from typing import Annotated, NamedTuple

LONGEST, MOST_LINES = 4 << 20, 100_000
"""Bytes and lines of the longest record that is read; once parsed, a longer one would not fit into memory."""

_RECORD = rb"[ \t]*0+[ \t]+(?:@[^@\n]*@[ \t]*[A-Za-z_]|[A-Z_][A-Z0-9_]{2,}[ \t]*(?:\n|$))"
_BOUNDARY = re.compile(rb"\n(?=%s)" % _RECORD)
_FIRST = re.compile(rb"\s*0+[ \t]+(?:(@[^@\n]+@)[ \t]*)?(\w*)")
_LINE = re.compile(r"[ \t]*(\d{1,3})[ \t]+(?:(@[^@]+@)[ \t]*)?([A-Za-z_][A-Za-z0-9_]*)(?:[ \t](.*))?$", re.ASCII)


def first_free(name: str, used: Container[str], mark: str = "-") -> str:
    """The name itself, or with the first number added that makes it unique."""
    return next(each for each in chain([name], (f"{name}{mark}{n}" for n in count(2))) if each not in used)


class Warned(NamedTuple):
    """A warning about a file."""

    line: Annotated[int, "line of the file; 0 for the whole file"]
    text: Annotated[str, "what is wrong there and what was done about it"]


@dataclass(slots=True)
class Warnings:
    """Collects the warnings about a file; line 0 stands for the whole file. `count` counts them all.

    At most `most` are kept, besides those of line 0.
    """

    most: int = 10_000
    kept: list[Warned] = field(default_factory=list)
    count: int = 0
    _noted_once: set[str] = field(default_factory=set)

    def __call__(self, line: int, text: str) -> None:
        """Add a warning."""
        self.count += 1
        if len(self.kept) < self.most or not line:
            self.kept.append(Warned(line, text))

    def once(self, line: int, text: str) -> None:
        """Add a warning only the first time: for what a file has everywhere or nowhere."""
        if text not in self._noted_once:
            self._noted_once.add(text)
            self(line, text)


@dataclass(frozen=True, slots=True)
class Record:
    """One record: the number, pointer (with its @, "" for none) and tag of its first line, and its text, which ends
    with a line feed."""

    line: int
    pointer: str
    tag: str
    text: bytes


def split(blocks: Iterable[bytes], warn: Warnings) -> Iterator[Record]:
    """Cut blocks of whole lines into records, keeping only the beginning of one that is too long."""
    line, rest, dropped = 1, b"", 0  # `dropped` lines of the record under way are gone
    for block in blocks:
        *complete, rest = _BOUNDARY.split(rest + block)
        for text in complete:
            yield _record(line, _bounded(line, text + b"\n", warn))
            line += text.count(b"\n") + 1 + dropped
            dropped = 0
        if len(rest) > LONGEST:
            kept = _bounded(line, rest, warn)
            dropped += rest.count(b"\n") - kept.count(b"\n")
            rest = kept
    if rest:
        yield _record(line, _bounded(line, rest, warn))


def _bounded(line: int, text: bytes, warn: Warnings) -> bytes:
    """The text of a record, or its first lines when it is longer than any person's."""
    if len(text) <= LONGEST and (len(text) < 4 * MOST_LINES or text.count(b"\n") <= MOST_LINES):
        return text
    end = min(len(text), LONGEST)
    for at, found in enumerate(re.finditer(rb"\n", text[:end]), 1):
        if at == MOST_LINES:
            end = found.end()
            break
    warn.once(
        line, f"the record that begins in line {line} is far too long for one person; only its beginning was read"
    )
    return text[: text.rfind(b"\n", 0, end) + 1] or text[:end]


def _record(line: int, text: bytes) -> Record:
    found = _FIRST.match(text)
    if found is None:
        return Record(line, "", "", text)
    return Record(line, (found[1] or b"").decode(), found[2].decode(), text)


def tidied(record: Record, warn: Warnings) -> tuple[list[str], list[int]]:
    """A record's lines in correct grammar, and the number of each in the file.

    Indentation and blank lines are removed, a level that is too deep is lowered, and a line without level or tag
    continues the text before it; so does one that only seems to have them ("2 sons and a daughter").
    """
    lines: list[str] = []
    numbers: list[int] = []
    level = text = -1  # of the line before; of the line whose text it holds or goes on with
    for number, raw in enumerate(record.text.decode().split("\n")[:-1], record.line):
        found = _LINE.match(raw)
        if not raw.strip():
            warn.once(number, "there are blank lines; left out")
        elif level < 0 and (found is None or int(found[1]) > 0):
            warn(number, "this line belongs to no record; left out")
        elif found is None or (level >= 0 and int(found[1]) == 0) or not found[3].isupper():
            warn(number, "this line has no level and tag; read as more of the text before it")
            level = text + 1
            lines.append(f"{level} CONT {raw}\n")
            numbers.append(number)
        else:
            if raw[0] in " \t":
                warn.once(number, "lines are indented; the indentation was ignored")
            if int(found[1]) > level + 1:
                warn(number, f"the level jumps from {level} to {found[1]}; read as {level + 1}")
            level = min(int(found[1]), level + 1)
            text = level - 1 if found[3] in ("CONT", "CONC") else level
            lines.append(_line(level, found))
            numbers.append(number)
    return lines, numbers


def _line(level: int, found: re.Match[str]) -> str:
    pointer = f"{found[2]} " if found[2] else ""
    value = "" if found[4] is None else f" {found[4]}"
    return f"{level} {pointer}{found[3]}{value}\n"
