"""Many links or statements in a CSV file, row by row through the same functions as single ones."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Annotated, Any, NamedTuple

from kinphoto.archive.catalogue.vocabulary import AGE_BASES
from kinphoto.archive.statements.appearances import Link, link
from kinphoto.archive.statements.claims import NewClaim, Tie, find_process, made, relate, state
from kinphoto.archive.statements.descriptions import Description, describe
from kinphoto.archive.statements.recorder import Recorder
from kinphoto.errors import InvalidValueError, KinphotoError, RowsRejectedError, UnreadableFileError
from kinphoto.phrases import counted
from kinphoto.scans.walk import shown
from kinphoto.store.session import Work

Row = Mapping[str, str]

LARGEST = 100_000_000
"""Bytes of the largest spreadsheet that is read: a million rows and more."""
MOST_COLUMNS = 200
"""Columns with a name. A file with more is something else."""
_NEAR = 75
"""From which likeness (0 to 100) on the name of a column is taken for another one misspelt."""
_SHORT = 3
"""Letters of a name too short to be like another: `no` numbers the rows and is not `not`."""
_MEANT: dict[str, tuple[str, ...]] = {
    "photo": ("photograph", "picture", "image", "scan", "file", "file_name", "filename", "code"),
    "person": ("who", "name", "people", "id"),
    "age_from": ("age", "ages", "years", "looks", "apparent_age", "stated_age"),
    "informant": ("by", "source", "said_by", "told_by", "who_said", "who_says"),
    "date": ("when", "year", "taken"),
    "text": ("words", "note"),
    "kind": ("type",),
    "relation": ("related", "how"),
    "other": ("other_photo", "second", "second_photo"),
    "why": ("reason", "note", "because"),
    "left": ("x",),
    "top": ("y",),
    "width": ("w",),
    "height": ("h",),
    "name": ("process", "format", "what"),
    "container": ("box", "album", "envelope"),
    "note": ("notes", "comment", "remark", "description"),
    "maker": ("photographer", "studio"),
}
"""What people call the columns instead."""
_WITH_RANGE = "age_from (with age_to, when it is a range)"


class RejectedRow(NamedTuple):
    """A row that was not applied."""

    line: Annotated[int, "with `--from`: the line of a row that was not applied"]
    why: Annotated[str, "the reason"]


@dataclass(frozen=True, slots=True)
class Applied:
    """What became of the rows of a spreadsheet."""

    applied: Annotated[int, "with `--from`: how many rows were applied"]
    rejected: Annotated[tuple[RejectedRow, ...], "with `--from`: the rows that were not applied"]
    warnings: Annotated[tuple[str, ...], "with `--from`: rows that were applied although something looks odd"]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"] = None


@dataclass(frozen=True, slots=True)
class SheetKind:
    """A kind of spreadsheet: what one row does, and its columns."""

    name: str
    required: tuple[str, ...]
    optional: tuple[str, ...]
    apply: Callable[[Recorder, Row], object]


def apply_spreadsheet(work: Work, kind: str, path: Path, keep_going: bool = False) -> Applied:
    """Apply every row of a spreadsheet of this kind (SHEETS).

    Raises UnreadableFileError when it is not one, RowsRejectedError when a row cannot be applied and `keep_going` is
    False: then nothing is kept.
    """
    recorder, sheet = Recorder(work, many=True), SHEETS[kind]
    warnings: list[str] = []
    applied, rejected = 0, list[RejectedRow]()
    for line, row, spare in read_rows(path, sheet, warnings):
        try:
            if spare:
                raise InvalidValueError(
                    f"there are more cells than columns: {', '.join(spare)}",
                    remedy="Put quotation marks around text that has a comma or semicolon in it.",
                )
            sheet.apply(recorder, row)
            applied += 1
        except KinphotoError as problem:
            rejected.append(RejectedRow(line, str(problem)))
    if rejected and not keep_going:
        raise RowsRejectedError([*rejected], where=shown(str(path)))
    recorder.write()
    work.what = f"applied {counted(applied, 'row')} of {shown(path.name)} ({sheet.name})"
    return Applied(applied, tuple(rejected), tuple(warnings + recorder.warnings), work.id)


def read_rows(path: Path, sheet: SheetKind, warnings: list[str]) -> Iterator[tuple[int, Row, list[str]]]:
    """The line each row begins on, its cells by column, and those beyond the last column; empty rows are left out.

    Raises UnreadableFileError when it is not CSV or lacks a column.
    """
    text = _read_text(path, warnings)
    delimiter, skipped = _delimiter(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    header: list[str] = []
    start = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells) and start > skipped:
                if not header:
                    header = ["_".join(name.casefold().split()) for name in cells]
                    while not header[-1]:  # some programs save all the columns of their largest sheet
                        header.pop()
                    _check_header(header, sheet, f"{shown(str(path))}, line {start}", warnings)
                else:
                    plain = [cell.strip() for cell in cells]
                    row = dict.fromkeys(header, "") | dict(zip(header, plain, strict=False))
                    yield start, row, [c for c in plain[len(header) :] if c]
            start = reader.line_num + 1
    except csv.Error as problem:
        raise UnreadableFileError(
            f"this is not proper CSV: {problem}",
            where=f"{shown(str(path))}, line {start}",
            remedy="A cell that begins with a quotation mark must end with one; save it as CSV again.",
        ) from problem
    if not header:
        _check_header(header, sheet, f"{shown(str(path))}, line 1", warnings)


def _read_text(path: Path, warnings: list[str]) -> str:
    """The text of a spreadsheet: UTF-8 with or without BOM, UTF-16 with BOM, else Windows-1252 as older programs save.

    Raises UnreadableFileError for a missing, binary or endless file.
    """
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except OSError as problem:
        raise UnreadableFileError(
            f"it cannot be read ({problem.strerror})", where=shown(str(path)), remedy="Check the name of the file."
        ) from problem
    if len(data) > LARGEST:
        raise UnreadableFileError(
            f"it is larger than {LARGEST // 1_000_000} MB",
            where=shown(str(path)),
            remedy="Split it into several files.",
        )
    encodings = ["utf-16"] if data[:2] in (b"\xff\xfe", b"\xfe\xff") else ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            if encoding == "cp1252":
                odd = next((f" If “{word}” is misspelled" for word in text.split() if not word.isascii()), "")
                warnings.append(
                    f"{shown(path.name)} is not UTF-8 and was read as Windows-1252.{odd or ' If letters are wrong'}: "
                    "kinphoto undo, and save it as CSV (UTF-8)."
                )
            elif garbled := next(filter(_meant_word, re.split(r'[\s,;"]+', text)), ""):
                warnings.append(
                    f"{shown(path.name)}: “{garbled}” seems to be “{_meant_word(garbled)}”: the spreadsheet program "
                    "took UTF-8 for something else. Unless it is right: kinphoto undo, open the list in it as UTF-8, "
                    "and save it as CSV (UTF-8) again."
                )
            return text
    raise UnreadableFileError(
        "this is not a text file", where=shown(str(path)), remedy="Save the spreadsheet as CSV (UTF-8)."
    )


def _meant_word(word: str) -> str:
    """The word whose UTF-8 was read as Windows-1252 and saved so: Zoë for ZoÃ«; "" for all others."""
    try:
        return "" if word.isascii() else word.encode("cp1252").decode()
    except UnicodeError:
        return ""


def _delimiter(text: str) -> tuple[str, int]:
    """Whichever of comma, semicolon and tab parts the header most, and how many lines stand before the header.

    Some programs put a line `sep=;` first.
    """
    first = text.split("\n", 1)[0].strip()
    if first.casefold().startswith("sep=") and len(first) == 5:
        return first[4], 1
    header = text.lstrip().split("\n", 1)[0]
    return max(",;\t", key=header.count), 0


def _check_header(header: list[str], sheet: SheetKind, where: str, warnings: list[str]) -> None:
    counts, known = Counter(name for name in header if name), (*sheet.required, *sheet.optional)
    if counts.total() > MOST_COLUMNS:
        raise UnreadableFileError(
            f"it has {counts.total():,} columns",
            where=where,
            remedy=f"Keep those that are needed: {', '.join(known)}.",
        )
    columns = f"The first line names the columns, with commas, semicolons or tabs between them: {', '.join(known)}."
    unknown = [name for name in counts if name not in known]
    meant = {name: other for name in unknown if (other := _meant(name, [each for each in known if each not in counts]))}
    if meant:
        renamed = [f"{name} to {_WITH_RANGE if other == 'age_from' else other}" for name, other in meant.items()]
        raise UnreadableFileError(
            f"there is no column called {next(iter(meant))}",
            where=where,
            remedy=f"Rename {', '.join(renamed)}, and try again; nothing was changed.",
        )
    missing = [name for name in sheet.required if name not in header]
    if missing:
        are = "columns {} are" if len(missing) > 1 else "column {} is"
        raise UnreadableFileError(f"the {are.format(', '.join(missing))} missing", where=where, remedy=columns)
    twice = sorted(name for name, count in counts.items() if count > 1)
    if twice:
        raise UnreadableFileError(f"the column {twice[0]} is there twice", where=where, remedy="Remove one of them.")
    if unknown:
        warnings.append(f"{where}: ignored {' and '.join(unknown)}. {columns}")


def _meant(name: str, free: Sequence[str]) -> str | None:
    """Which of the columns that are free an unknown name probably means; None for one of the person's own."""
    from rapidfuzz import fuzz, process

    called = next((column for column in free if name in _MEANT.get(column, ())), None)
    if called is not None:
        return called
    if len(name) <= _SHORT:
        return None
    near = process.extractOne(name, free, scorer=fuzz.ratio, score_cutoff=_NEAR)
    return None if near is None else str(near[0])


def _link(recorder: Recorder, row: Row) -> object:
    place = [row.get(name, "").replace(",", ".") for name in ("left", "top", "width", "height")]
    age, basis = _age(row), AGE_BASES.read(row["age_basis"]) if row.get("age_basis") else ""
    if not row["person"]:
        raise InvalidValueError("the person is missing", remedy="Write - for somebody not identified yet.")
    new = Link(
        photograph=row["photo"],
        region=",".join(place) if any(place) else None,
        age=None if basis == "stated" else age,
        stated_age=age if basis == "stated" else None,
        by=row.get("informant"),
        denied=_ticked(row, "not"),
        blind=_ticked(row, "unseen"),
        **_cells(row, "person", "role", "trust", "why"),
    )
    done = link(recorder, new)
    for each in done.replaced:
        recorder.warnings.append(f"{done.photograph}: {done.words} replaces the age given before: {each}.")
    return done


def _age(row: Row) -> str | None:
    first, last = row.get("age_from", ""), row.get("age_to", "")
    if last and not first:
        raise InvalidValueError("age_to is filled in, but age_from is not", remedy="Give both, or age_from alone.")
    return f"{first}-{last}" if last and last != first else first or None


def _ticked(row: Row, column: str) -> bool:
    mark = row.get(column, "").casefold()
    if mark not in ("", "0", "no", "false", "1", "yes", "true", "x", column):
        raise InvalidValueError(
            f"'{row[column]}' in the column {column} is neither yes nor no", remedy="Write yes, or leave it empty."
        )
    return mark not in ("", "0", "no", "false")


def _state(recorder: Recorder, row: Row) -> object:
    cells = _cells(row, "kind", "date", "text", "trust")
    return state(recorder, NewClaim(photograph=row["photo"], by=row.get("informant"), **cells))


def _relate(recorder: Recorder, row: Row) -> object:
    cells = _cells(row, "relation", "other", "trust")
    return relate(recorder, Tie(photograph=row["photo"], by=row.get("informant"), **cells))


def _cells(row: Row, *columns: str) -> dict[str, Any]:
    """The cells of columns that are called as the fields they fill."""
    return {column: row.get(column) for column in columns}


def _made(kind: str) -> Callable[[Recorder, Row], object]:
    return lambda recorder, row: made(recorder, row["photo"], kind, row["name"], row.get("trust"), row.get("informant"))


LINKS = SheetKind(
    "links",
    ("photo", "person"),
    tuple("left top width height age_from age_to age_basis role trust informant why not unseen".split()),
    _link,
)
STATEMENTS = SheetKind("statements", ("photo", "kind"), ("date", "text", "trust", "informant"), _state)
RELATIONS = SheetKind("relations", ("photo", "relation", "other"), ("trust", "informant"), _relate)
PROCESSES = SheetKind("processes", ("photo", "name"), ("trust", "informant"), _made("process"))
FORMATS = SheetKind("formats", ("photo", "name"), ("trust", "informant"), _made("format"))


def _describe(recorder: Recorder, row: Row) -> object:
    said = {f.name: row[f.name] for f in fields(Description) if row.get(f.name)}
    code = recorder.photograph(row["photo"])["code"]
    kinds = {kind: find_process(row[kind], kind).name for kind in ("process", "format") if row.get(kind)}
    if said:
        describe(recorder, code, Description(**said))
    return [made(recorder, code, kind, name) for kind, name in kinds.items()]


OBJECTS = SheetKind("objects", ("photo",), (*(f.name for f in fields(Description)), "process", "format"), _describe)
SHEETS = {sheet.name: sheet for sheet in (LINKS, STATEMENTS, RELATIONS, PROCESSES, FORMATS, OBJECTS)}
