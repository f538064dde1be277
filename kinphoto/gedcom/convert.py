"""Converting a tree from GEDCOM 5.5.1 to 7.0 without losing anything.

What both versions have stays, what 7.0 writes differently is rewritten (`seven_rules`), and whatever 7.0 has no place
for is kept as an extension: the same line with an underscore before its tag. The specification's own tables of
structures and their values decide; they come from the package gedcom7.

The reverse is refused. 5.5.1 has no place for phrases, negative assertions, translations and several identifiers, nor
for extensions that other programs would keep.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from kinphoto.errors import InvalidValueError
from kinphoto.gedcom import decode, records
from kinphoto.gedcom.lines import VOID, Line
from kinphoto.gedcom.records import Record, Warnings

if TYPE_CHECKING:
    from kinphoto.gedcom.seven_rules import SevenWriter

_LINE = re.compile(r"(\d+) (?:(@[^@]+@) ?)?(\w+)(?: (.*))?", re.S)
_POINTER = re.compile(r"\s*@([^@#][^@]*)@\s*")
_BANNED = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ufffe\uffff]")


@dataclass(frozen=True, slots=True)
class Converted:
    """The tree to continue with, and what the keeper should know about the conversion."""

    source: decode.TreeFile
    warnings: tuple[str, ...] = ()


def converted(source: decode.TreeFile, seven: bool, was_seven: bool, into: Path) -> Converted:
    """The tree in the version asked for: as it is, or written to `into` as GEDCOM 7.0.

    Raises InvalidValueError when a tree in 7.0 is wanted in 5.5.1.
    """
    if seven == was_seven:
        return Converted(source)
    if not seven:
        raise InvalidValueError(
            "the tree is in GEDCOM 7.0, and 5.5.1 cannot hold everything in it",
            remedy="Leave out --version, or export 5.5.1 from your family tree program and import that.",
        )
    from kinphoto.gedcom.seven_rules import SevenWriter  # loads the tables of 7.0, which few people need

    xrefs, tags = _pointers(source)
    rules = SevenWriter(xrefs, tags)
    with into.open("w", encoding="utf-8", newline="\n") as out:
        for line in _converted_records(_records(source), rules):
            out.writelines(lines_of(line))
    return Converted(decode.examine(into), _extension_warning(rules.extensions))


def _converted_records(found: Iterator[Line], rules: SevenWriter) -> Iterator[Line]:
    """All records in 7.0, with a header and a trailer even if the file has none."""
    first = next(found, Line("HEAD"))
    if first.tag == "HEAD":
        yield rules.header(first)
    else:
        yield from (rules.header(Line("HEAD")), rules.record(first))
    yield from (rules.record(record) for record in found if record.tag != "TRLR")
    yield from rules.end()


def _extension_warning(extensions: Counter[str]) -> tuple[str, ...]:
    if not extensions:
        return ()
    tags = ", ".join(f"{tag} ({count})" for tag, count in sorted(extensions.items()))
    return (f"Written as GEDCOM 7.0; what 7.0 has no place for is kept under tags with an underscore: {tags}.",)


def _records(source: decode.TreeFile) -> Iterator[Line]:
    warn = Warnings(most=0)
    for record in records.split(decode.blocks(source, warn), warn):
        found = _structure(record, warn)
        if found is not None:
            yield found


def _structure(record: Record, warn: Warnings) -> Line | None:
    """A record as a structure with its substructures."""
    stack: list[Line] = []
    for text in records.tidied(record, warn)[0]:
        found = _LINE.fullmatch(text.removesuffix("\n"))
        if found is None:
            continue
        level, value = int(found[1]), found[4] or ""
        if not value.isprintable():
            value = _BANNED.sub("", value)
        if found[3] in ("CONT", "CONC"):
            if 0 < level <= len(stack):
                stack[level - 1].append(("\n" if found[3] == "CONT" else "") + value)
            continue
        pointer = _POINTER.fullmatch(value) if "@" in value else None
        line = Line(
            found[3].upper(), "" if pointer else value, f"@{pointer[1].strip()}@" if pointer else "", found[2] or ""
        )
        del stack[level:]
        if stack:
            stack[-1].below.append(line)
        stack.append(line)
    return stack[0] if stack else None


def _pointers(source: decode.TreeFile) -> tuple[dict[str, str], dict[str, str]]:
    """For each pointer of the file its spelling in 7.0, and the tag of its record."""
    new: dict[str, str] = {}
    tags: dict[str, str] = {}
    used = {VOID.strip("@")}
    warn = Warnings(most=0)
    for record in records.split(decode.blocks(source, warn), warn):
        pointer = f"@{record.pointer.strip('@').strip()}@"
        if not record.pointer or pointer in new or record.tag in ("HEAD", "TRLR"):  # which lose theirs
            continue
        plain = re.sub(r"[^A-Z0-9_]", "_", pointer.strip("@").upper())
        name = records.first_free(plain, used, "_")
        used.add(name)
        new[pointer], tags[pointer] = f"@{name}@", record.tag
    return new, tags


def lines_of(line: Line, level: int = 0) -> Iterator[str]:
    """A structure and its substructures as lines of GEDCOM 7.0, each with its line feed."""
    xref = f"{line.xref} " if line.xref else ""
    first, *more = line.value.split("\n")
    value = line.pointer or _escaped(first)
    yield f"{level} {xref}{line.tag}{' ' if value else ''}{value}\n"
    for text in more:
        yield f"{level + 1} CONT{' ' if text else ''}{_escaped(text)}\n"
    for each in line.below:
        yield from lines_of(each, level + 1)


def _escaped(text: str) -> str:
    return f"@{text}" if text.startswith("@") else text
