"""Paper: sheets to ask somebody who uses no computer, and labels for sleeves and boxes.

A sheet shows no date that was worked out and suggests no name, so that the answer is her own. What goes on paper leaves
the house like everything else, and passes the same gate.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Annotated

from sqlalchemy import Connection, Engine, select

from kinphoto.archive.asking import questions
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.dates.estimates import refresh
from kinphoto.archive.giving.copies import kept_away, made_anew
from kinphoto.archive.giving.given import Given, Region
from kinphoto.archive.giving.selection import Gift, Report, Wanted, gift, refuse_empty
from kinphoto.errors import ArchiveError, InvalidValueError, NotFoundError, UnreadableFileError
from kinphoto.phrases import listed
from kinphoto.share import paper
from kinphoto.store import tables as t
from kinphoto.store.atomic import atomic_write
from kinphoto.store.session import reading

MOST = 12
"""Sheets at a time, unless somebody asks for more: as many as one sitting can bear."""
_EDGE = 1800  # pixels: 260 ppi on the longest a picture can be on A4


@dataclass(frozen=True, slots=True)
class PaperWritten:
    """A PDF that was written, or would be."""

    report: Annotated[Report, "what goes, and what is held back and why"]
    path: Annotated[str, "the file"]
    done: Annotated[bool, "false without `--write`: nothing was written"]
    photographs: Annotated[tuple[str, ...], "codes of the photographs on it, in order"]
    size: Annotated[int, "its size in bytes"] = 0
    answers: Annotated[str, "the spreadsheet for the answers; empty when none was asked for"] = ""
    unreadable: Annotated[tuple[str, ...], "codes of photographs left out because their scan cannot be read"] = ()


def write_sheets(
    engine: Engine,
    path: Path | str,
    whom: str,
    audience: str,
    wanted: Wanted = Wanted(),
    *,
    sender: str = "",
    answers: Path | str | None = None,
    most: int = MOST,
    write: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> PaperWritten:
    """Write sheets for somebody to a PDF, a photograph on each: those worth asking them about first, unless photographs
    are named. `answers` is a spreadsheet to fill in, which `link --from` reads.

    Raises InvalidValueError for an unusable path or number, NotFoundError, AmbiguousError, ArchiveError for a file that
    is there already and is none of ours.
    """
    target = _checked(path, ".pdf")
    table = None if answers is None else _checked(answers, ".csv")
    if not 1 <= most <= 200:
        raise InvalidValueError(f"{most} sheets are too many", remedy="Ask for 1 to 200.")
    refresh(engine)
    with reading(engine) as connection:
        _refuse_scans(connection, target, *([table] if table else []))
        found = gift(connection, audience, wanted)
        chosen = _worth_asking(connection, found, whom, wanted, most)
        faces = _faces(connection, [one.id for one in chosen], found)
    codes = tuple(one.code for one in chosen)
    if not write:
        return PaperWritten(found.report, str(target), False, codes)
    refuse_empty(found)
    pages, unreadable = [], []
    for number, one in enumerate(chosen, 1):
        try:
            pages.append(_sheet(one, faces.get(one.id, [])))
        except UnreadableFileError:
            unreadable.append(one.code)
        if progress is not None:
            progress(number, len(chosen))
    data = paper.sheets(pages, whom, sender, date.today())
    _put(target, data)
    if table is not None:
        _put(table, _answers(pages, whom).encode("utf-8-sig"))
    kept = tuple(page.code for page in pages)
    return PaperWritten(
        found.report, str(target), True, kept, len(data), "" if table is None else str(table), tuple(unreadable)
    )


def write_labels(
    engine: Engine,
    path: Path | str,
    wanted: Wanted = Wanted(),
    *,
    boxes: bool = False,
    audience: str = "household",
    write: bool = False,
) -> PaperWritten:
    """Write labels for sleeves, one a photograph, or for `boxes`, one each. Raises as `write_sheets` does."""
    target = _checked(path, ".pdf")
    refresh(engine)
    with reading(engine) as connection:
        _refuse_scans(connection, target)
        found = gift(connection, audience, wanted)
        labels = list(_box_labels(found) if boxes else map(_label, found.photographs))
    codes = tuple(one.code for one in found.photographs)
    if not write:
        return PaperWritten(found.report, str(target), False, codes)
    refuse_empty(found)
    data = paper.labels(labels, date.today())
    _put(target, data)
    return PaperWritten(found.report, str(target), True, codes, len(data))


def _checked(path: Path | str, suffix: str) -> Path:
    target = Path(path).absolute()
    if target.suffix.lower() != suffix:
        raise InvalidValueError(
            f"it is written to a file ending in {suffix}", where=str(path), remedy="Add that ending to its name."
        )
    if not target.parent.is_dir():
        raise NotFoundError("there is no such folder", where=str(target.parent), remedy="Create it, or choose another.")
    return target


def _refuse_scans(connection: Connection, *targets: Path) -> None:
    """Never write among the scans, nor over a file that is not of the same kind."""
    scans = [folder.resolve() for folder in kept_away(connection)[1:]]
    for target in targets:
        if any(folder in target.resolve().parents for folder in scans):
            raise InvalidValueError("this is a folder of scans", where=str(target), remedy="Choose another folder.")
        if target.exists() and not target.is_file():
            raise ArchiveError("this is not a file", where=str(target), remedy="Use another name.")


def _put(path: Path, data: bytes) -> None:
    with atomic_write(path, "it cannot be written") as part:
        part.write_bytes(data)


def _worth_asking(connection: Connection, found: Gift, whom: str, wanted: Wanted, most: int) -> list[Given]:
    """The photographs named, or else those that the best questions for this person are about."""
    given = {one.code: one for one in found.photographs if not one.page}
    if wanted.photographs:
        return list(given.values())[:most]
    questions.work_out(connection)
    try:
        asked = questions.kept(connection, whom).questions
    except NotFoundError:  # somebody who has told nothing yet
        asked = questions.kept(connection).questions
    order = dict.fromkeys(code for each in asked for code in each.photographs if code in given)
    return [given[code] for code in (*order, *(code for code in given if code not in order))][:most]


def _faces(connection: Connection, ids: list[int], found: Gift) -> dict[int, list[tuple[Region, str]]]:
    """The faces of each photograph from left to right, with the names that nobody disputes.

    Whoever is asked sees all framed faces of the photographs that may go.
    """
    a, r = t.appearance.c, t.region.c
    query = (
        select(a.photograph_id, r.left, r.top, r.width, r.height)
        .join(t.region, r.id == a.region_id)
        .where(a.withdrawn == 0, a.denied == 0)
        .distinct()
    )
    names = {one.id: {name.region: name for name in one.names if name.id} for one in found.photographs}
    alike = Counter((id_, name.name) for id_, named in names.items() for name in named.values())
    faces: dict[int, list[tuple[Region, str]]] = {}
    for id_, *region in rows_of(connection, query, a.photograph_id, ids):
        place = tuple(region)
        who = names[id_].get(place)
        years = f" ({who.years})" if who and who.years and alike[id_, who.name] > 1 else ""
        faces.setdefault(id_, []).append((place, f"{who.name}{years}" if who else ""))
    return {id_: sorted(each) for id_, each in faces.items()}


def _sheet(one: Given, faces: list[tuple[Region, str]]) -> paper.SheetPage:
    numbered = tuple(paper.SheetFace(number, region, name) for number, (region, name) in enumerate(faces, 1))
    picture, size = made_anew(one.front, _EDGE)
    return paper.SheetPage(one.code, one.title, picture, size, numbered, tuple(_questions(one, numbered)))


def _questions(one: Given, faces: tuple[paper.SheetFace, ...]) -> Iterator[str]:
    unknown = [str(face.number) for face in faces if not face.name]
    if unknown:
        yield f"Who {'is' if len(unknown) == 1 else 'are'} {listed(unknown)}, and how old?"
    elif not one.names:
        yield "Who is in this picture?"
    if not one.date.exact:
        yield "When was it taken, and how do you know?"
    if not one.place:
        yield "Where was it taken?"
    yield "What do you remember of it?"


def _answers(pages: list[paper.SheetPage], whom: str) -> str:
    """A line for each face without a name, to be filled in and read with `link --from`."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(
        ["photo", "person", "age_from", "left", "top", "width", "height", "informant", "number on the sheet"]
    )
    for page in pages:
        for face in page.faces:
            if not face.name:
                writer.writerow([page.code, "", "", *(f"{part:.6g}" for part in face.region), whom, face.number])
    return out.getvalue()


def _label(one: Given) -> paper.Label:
    when = one.date.exact and one.date.bare
    lines = (one.title or listed(one.who), when, one.place, " › ".join(one.boxes))
    return paper.Label(one.code, tuple(line for line in lines if line))


def _box_labels(found: Gift) -> Iterator[paper.Label]:
    boxes: dict[tuple[str, ...], list[str]] = {}
    for one in found.photographs:
        if one.boxes:
            boxes.setdefault(one.boxes, []).append(one.code)
    for names, codes in sorted(boxes.items()):
        inside = codes[0] if len(codes) == 1 else f"{codes[0]} to {codes[-1]}, {len(codes)} photographs"
        yield paper.Label(names[-1], tuple(filter(None, (" › ".join(names[:-1]), inside))))
