"""From text to records: the lines from one level 0 to the next, made to obey the grammar where they do not.

The grammar is checked by the parser of the records. Only a record it refuses is looked at line by line here, so that
a sound file costs nothing extra.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from kinphoto.errors import UnreadableFileError

LONGEST = 8 << 20
"""Bytes of the longest record. A longer one is no record: it would not fit into memory when taken apart."""

_BOUNDARY = re.compile(rb"\n(?=[ \t]*0+[ \t])")
_FIRST = re.compile(rb"\s*0+[ \t]+(?:(@[^@\n]+@)[ \t]*)?(\w*)")
_LINE = re.compile(r"[ \t]*(\d{1,2})[ \t]+(?:(@[^@]+@)[ \t]*)?([A-Za-z0-9_]+)(?:[ \t](.*))?$", re.ASCII)


@dataclass(slots=True)
class Warnings:
    """What is odd about a file, as (line, text), line 0 for what concerns the whole; `count` counts them all.

    At most `most` are kept, and those of line 0 in any case.
    """

    most: int = 10_000
    kept: list[tuple[int, str]] = field(default_factory=list)
    count: int = 0
    _said: set[str] = field(default_factory=set)

    def __call__(self, line: int, text: str) -> None:
        """Note one."""
        self.count += 1
        if len(self.kept) < self.most or not line:
            self.kept.append((line, text))

    def once(self, line: int, text: str) -> None:
        """Note what a file has everywhere or nowhere: only the first place."""
        if text not in self._said:
            self._said.add(text)
            self(line, text)


@dataclass(frozen=True, slots=True)
class Record:
    """One record: its first line's number, pointer (with its @, "" for none), tag, and text that ends with a line
    feed."""

    line: int
    pointer: str
    tag: str
    text: bytes


def split(blocks: Iterable[bytes], where: str) -> Iterator[Record]:
    """Cut blocks of whole lines into records. Raises UnreadableFileError for one longer than LONGEST."""
    line, rest = 1, b""
    for block in blocks:
        *complete, rest = _BOUNDARY.split(rest + block)
        for text in complete:
            yield _record(line, text + b"\n")
            line += text.count(b"\n") + 1
        if len(rest) > LONGEST:
            raise UnreadableFileError(
                f"the record that begins at line {line} is longer than {LONGEST >> 20} MB",
                where=where,
                remedy="Look at that line in a text editor; export the tree again.",
            )
    if rest:
        yield _record(line, rest)


def _record(line: int, text: bytes) -> Record:
    found = _FIRST.match(text)
    if found is None:
        return Record(line, "", "", text)
    return Record(line, (found[1] or b"").decode(), found[2].decode(), text)


def tidied(record: Record, warn: Warnings) -> tuple[list[str], list[int]]:
    """A record's lines as the grammar wants them, and the number of each in the file.

    Indentation and blank lines go, a level that jumps comes down, and a line without level or tag goes on with the
    text of the line before it.
    """
    lines: list[str] = []
    numbers: list[int] = []
    level = text = -1  # of the line before; of the line whose text it holds or goes on with
    for number, raw in enumerate(record.text.decode().split("\n")[:-1], record.line):
        found = _LINE.match(raw)
        if not raw.strip():
            warn.once(number, "there are blank lines; left out")
        elif level < 0 and (found is None or int(found[1]) > 0):
            warn(number, "this line belongs to nothing; left out")
        elif found is None:
            warn(number, "this line has no level and tag; taken as more of the text before it")
            level = text + 1
            lines.append(f"{level} CONT {raw}\n")
            numbers.append(number)
        else:
            if raw[0] in " \t":
                warn.once(number, "lines are indented; read as if they were not")
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
