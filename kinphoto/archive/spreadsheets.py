"""Many links or statements at once: a CSV file, row by row through the same functions as single ones."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields
from pathlib import Path

from kinphoto.archive.desk import Desk
from kinphoto.archive.links import Link, link
from kinphoto.archive.objects import Description, describe
from kinphoto.archive.statements import Said, Tie, made, relate, state
from kinphoto.errors import KinphotoError, RowsRejectedError, UnreadableFileError

Row = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Applied:
    """How many rows were applied, and (line number, why) of those that were not."""

    applied: int
    rejected: tuple[tuple[int, str], ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A kind of spreadsheet: what one row does, and its columns."""

    name: str
    required: tuple[str, ...]
    optional: tuple[str, ...]
    apply: Callable[[Desk, Row], object]


def apply_sheet(desk: Desk, sheet: Sheet, path: Path, keep_going: bool = False) -> Applied:
    """Apply every row of a file.

    Raises UnreadableFileError when it is no such spreadsheet, RowsRejectedError when a row cannot be applied and
    `keep_going` is False: then nothing is to be kept.
    """
    warnings: list[str] = []
    applied, rejected = 0, []
    for line, row in read_rows(path, sheet, warnings):
        try:
            sheet.apply(desk, row)
            applied += 1
        except KinphotoError as problem:
            rejected.append((line, str(problem)))
    if rejected and not keep_going:
        raise RowsRejectedError(rejected, where=str(path))
    desk.write()
    desk.work.what = f"applied {applied} row(s) of {path.name} ({sheet.name})"
    return Applied(applied, tuple(rejected), tuple(warnings + desk.warnings))


def read_rows(path: Path, sheet: Sheet, warnings: list[str]) -> Iterator[tuple[int, Row]]:
    """The rows of a file with the line each begins on; empty ones are passed over."""
    text = read_text(path)
    reader = csv.reader(io.StringIO(text), delimiter=_delimiter(text), strict=True)
    try:
        header = [name.strip().casefold().replace(" ", "_") for name in next(reader, [])]
        _check_header(header, sheet, path, warnings)
        start = reader.line_num + 1
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield start, dict(zip(header, (cell.strip() for cell in cells), strict=False))
            start = reader.line_num + 1
    except csv.Error as problem:
        raise UnreadableFileError(
            f"this is no proper CSV: {problem}", where=f"{path}, line {reader.line_num}", remedy="Save it as CSV again."
        ) from problem


def read_text(path: Path) -> str:
    """The text of a spreadsheet: UTF-8 with or without BOM, UTF-16 with BOM, else Windows-1252 as older programs save.

    Raises UnreadableFileError for a missing or binary file.
    """
    try:
        data = path.read_bytes()
    except OSError as problem:
        raise UnreadableFileError(
            f"it cannot be read: {problem.strerror}", where=str(path), remedy="Check the name of the file."
        ) from problem
    encodings = ["utf-16"] if data[:2] in (b"\xff\xfe", b"\xfe\xff") else ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise UnreadableFileError("this is no text", where=str(path), remedy="Save the spreadsheet as CSV (UTF-8).")


def _delimiter(text: str) -> str:
    """Whichever of comma, semicolon and tab parts the header most."""
    header = text.lstrip().split("\n", 1)[0]
    return max(",;\t", key=header.count)


def _check_header(header: list[str], sheet: Sheet, path: Path, warnings: list[str]) -> None:
    missing = [name for name in sheet.required if name not in header]
    if missing:
        raise UnreadableFileError(
            f"the column{'s' if len(missing) > 1 else ''} {', '.join(missing)} "
            f"{'are' if len(missing) > 1 else 'is'} missing",
            where=f"{path}, line 1",
            remedy=f"The first line names the columns: {', '.join((*sheet.required, *sheet.optional))}.",
        )
    unknown = [name for name in header if name and name not in (*sheet.required, *sheet.optional)]
    if unknown:
        warnings.append(f"{path.name}: the column(s) {', '.join(unknown)} mean nothing here and were passed over.")


def _link(desk: Desk, row: Row) -> object:
    place = [row.get(name, "") for name in ("left", "top", "width", "height")]
    ages = [row.get("age_from", ""), row.get("age_to", "")]
    age = "-".join(a for a in ages if a) or None
    stated = row.get("age_basis", "").casefold() == "stated"
    return link(
        desk,
        Link(
            photograph=row["photo"],
            person=row.get("person") or "-",
            region=",".join(place) if any(place) else None,
            age=None if stated else age,
            stated_age=age if stated else None,
            role=row.get("role") or None,
            trust=row.get("trust") or None,
            by=row.get("informant") or None,
            why=row.get("why") or None,
            denied=row.get("not", "").casefold() in ("1", "yes", "true", "x", "not"),
        ),
    )


def _state(desk: Desk, row: Row) -> object:
    return state(
        desk,
        Said(
            photograph=row["photo"],
            kind=row["kind"],
            date=row.get("date"),
            text=row.get("text"),
            trust=row.get("trust"),
            by=row.get("informant"),
        ),
    )


def _relate(desk: Desk, row: Row) -> object:
    return relate(
        desk,
        Tie(
            photograph=row["photo"],
            relation=row["relation"],
            other=row["other"],
            trust=row.get("trust"),
            by=row.get("informant"),
        ),
    )


def _made(kind: str) -> Callable[[Desk, Row], object]:
    return lambda desk, row: made(desk, row["photo"], kind, row["name"], row.get("trust"), row.get("informant"))


LINKS = Sheet(
    "links",
    ("photo", "person"),
    ("left", "top", "width", "height", "age_from", "age_to", "age_basis", "role", "trust", "informant", "why", "not"),
    _link,
)
STATEMENTS = Sheet("statements", ("photo", "kind"), ("date", "text", "trust", "informant"), _state)
RELATIONS = Sheet("relations", ("photo", "relation", "other"), ("trust", "informant"), _relate)
PROCESSES = Sheet("processes", ("photo", "name"), ("trust", "informant"), _made("process"))
FORMATS = Sheet("formats", ("photo", "name"), ("trust", "informant"), _made("format"))


def _describe(desk: Desk, row: Row) -> object:
    said = {f.name: row[f.name] for f in fields(Description) if row.get(f.name)}
    code = desk.photograph(row["photo"])["code"]
    for kind in ("process", "format"):
        if row.get(kind):
            made(desk, code, kind, row[kind])
    return describe(desk.work, code, Description(**said)) if said else None


OBJECTS = Sheet("objects", ("photo",), (*(f.name for f in fields(Description)), "process", "format"), _describe)
SHEETS = {sheet.name: sheet for sheet in (LINKS, STATEMENTS, RELATIONS, PROCESSES, FORMATS, OBJECTS)}
