"""`kinphoto find` and `list`: photographs, people and boxes by words, and photographs by what they lack, lie in and are
from.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.collection.container_pages import PhotographCard
    from kinphoto.archive.people.people import FoundPeople
    from kinphoto.archive.search.listing import ListedPhotograph
    from kinphoto.archive.search.quoting import Quote
    from kinphoto.archive.search.searching import NamedPerson, SearchResult
    from kinphoto.reason.model.findings import Estimate


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    app.command("find")(find)
    app.command("list")(list_)


def find(
    words: Annotated[
        list[str],
        typer.Argument(
            metavar="WORDS...",
            help="Names, words on and about photographs, names of boxes, and years: ada harbour 1920-1930.",
        ),
    ],
    page: Annotated[int, typer.Option("--page", metavar="N", help="Which page of many photographs.", min=1)] = 1,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find photographs, people and boxes by words, each with the code to go on with.

    All words have to fit; each may be the beginning of a word.
    """
    from kinphoto.archive.search.searching import A_PAGE, SearchQuery

    line = " ".join(words).strip()
    if not line:
        raise typer.BadParameter("give at least one word, or see all photographs: kinphoto list.")
    store = open_archive(archive)
    store.refresh_estimates()
    question = SearchQuery(text=line)
    found = store.search(question, (page - 1) * A_PAGE)
    quotes = store.quotes([one.code for one in found.photographs], question)
    nobody = not (found.people or found.boxes or found.photographs)
    similar = store.people(line, 8) if nobody and page == 1 else None
    document = {
        "people": [_person(one) for one in found.people],
        "boxes": [{"id": box.id, "name": box.name} for box in found.boxes],
        "photographs": [
            {
                "code": one.code,
                "title": one.title,
                "scan": one.recto.path if one.recto else None,
                "names": list(one.names),
                "when": _when(one.estimate, one.page),
                "words": [{"kind": quote.kind, "text": quote.text} for quote in quotes.get(one.code, ())],
            }
            for one in found.photographs
        ],
        "count": found.count,
        "similar": [{"id": one.id, "name": one.name} for one in similar.people] if similar else [],
    }
    answer(as_json, document, lambda: _found_lines(line, found, quotes, similar))


def _person(one: NamedPerson) -> dict[str, Any]:
    from kinphoto.archive.words.dates import life_years

    return {
        "id": one.id,
        "name": one.name,
        "years": life_years(one.life.begin, one.life.end),
        "pictures": one.pictures,
    }


def _found_lines(
    line: str, found: SearchResult, quotes: dict[str, tuple[Quote, ...]], similar: FoundPeople | None
) -> Iterator[str]:
    from kinphoto.archive.words.dates import life_years

    if found.people:
        yield "People (kinphoto pictures ID):"
        for person in found.people:
            pictures = counted(person.pictures, "picture") if person.pictures else "no pictures"
            years = life_years(person.life.begin, person.life.end) or "years not known"
            yield f"  {person.id:<7} {person.name or 'no name'}, {years}, {pictures}"
    if found.boxes:
        yield "Boxes:"
        yield from (f'  {box.name}: kinphoto list --box "{box.name}"' for box in found.boxes)
    if found.photographs:
        shown = found.start + len(found.photographs)
        span = f", {found.start + 1} to {shown}" if len(found.photographs) < found.count else ""
        yield f"Photographs ({found.count:,}{span}; kinphoto show CODE):"
        for one in found.photographs:
            yield f"  {_photograph_line(one)}"
            yield from (f"          {quote.kind}: “{_one_line(quote.text)}”" for quote in quotes.get(one.code, ())
                        if quote.kind != "title")  # fmt: skip
        if shown < found.count:
            yield f"{found.count - shown:,} more: kinphoto find {line} --page {shown // len(found.photographs) + 1}"
    elif found.start:
        yield "There are no more."
    elif not found.people and not found.boxes:
        yield f"Nothing fits '{line}'."
        if similar is not None and similar.people:
            yield "People of nearly that name:"
            yield from (f"  {one.id:<7} {one.name}" for one in similar.people)


def _photograph_line(one: PhotographCard) -> str:
    nameless = f"{one.nameless} without a name" if one.nameless else ""
    who = ", ".join([*one.names, *([nameless] if nameless else [])])
    title = f"“{one.title}”" if one.title else ""
    scan = one.recto.path.rpartition("/")[2] if one.recto else ""
    return "  ".join(filter(None, [one.code, _when(one.estimate, one.page), title, who, scan]))


def _when(estimate: Estimate | None, page: bool) -> str:
    from kinphoto.archive.words.dates import when

    if page:
        return "an album page"
    return "not dated yet" if estimate is None else when(estimate)


def _one_line(text: str) -> str:
    plain = " ".join(text.split())
    return plain if len(plain) <= 200 else f"{plain[:199]}…"


COLUMNS = (
    "photo", "title", "container", "place", "when", "earliest", "latest", "likely_from", "likely_to", "best", "edtf",
    "state", "people", "nameless", "scans",
)  # fmt: skip
"""Of the spreadsheet that `list --csv` writes."""


def list_(
    undated: Annotated[bool, typer.Option("--undated", help="Only those without a date.")] = False,
    unnamed: Annotated[bool, typer.Option("--unnamed", help="Only those in which nobody is named.")] = False,
    disputed: Annotated[
        bool, typer.Option("--disputed", help="Only those of which something does not fit together.")
    ] = False,
    box: Annotated[
        str | None,
        typer.Option("--box", metavar="CONTAINER", help='Only those in this box or one inside it; "" for nowhere.'),
    ] = None,
    year: Annotated[
        str | None,
        typer.Option(
            "--year", metavar="YEARS", help="Only those likely to be from a year (1924), decade (1920s) or 1920-1935."
        ),
    ] = None,
    as_csv: Annotated[
        bool, typer.Option("--csv", help="Print a spreadsheet: kinphoto list --csv > photographs.csv")
    ] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """List photographs as they lie in their boxes: all, or the undated, the unnamed, those of a box or of some years.

    What is asked combines. With --year they come by date. The columns photo, title, container and place of the
    spreadsheet can be filled in and read back with `kinphoto describe --from`.
    """
    if as_csv and as_json:
        raise typer.BadParameter("give --csv or --json, not both.")
    from kinphoto.archive.collection.container_pages import Missing
    from kinphoto.archive.search.listing import ListQuery

    lacking = tuple(
        want
        for want, asked in ((Missing.DATE, undated), (Missing.NAMES, unnamed), (Missing.RESOLUTION, disputed))
        if asked
    )
    found = open_archive(archive).listed(ListQuery(lacking=lacking, box=box, years=year))
    if as_csv:
        sheet = csv.writer(sys.stdout, lineterminator="\n")
        sheet.writerow(COLUMNS)
        sheet.writerows(_cells(one) for one in found)
        return
    asked = bool(lacking or box is not None or year)
    answer(as_json, {"photographs": [_listed(one) for one in found]}, lambda: _list_lines(found, asked))


def _listed(one: ListedPhotograph) -> dict[str, Any]:
    from kinphoto.reason.model.span import iso

    picture, e = one.picture, one.picture.estimate
    return {
        "code": picture.code,
        "title": picture.title,
        "box": one.box,
        "place": one.place,
        "page": one.page,
        "when": _when(e, one.page),
        "earliest": iso(e.earliest) if e else None,
        "latest": iso(e.latest) if e else None,
        "likely_from": iso(e.likely_from) if e else None,
        "likely_to": iso(e.likely_to) if e else None,
        "best": iso(e.best) if e else None,
        "edtf": (e.edtf or None) if e else None,
        "state": str(e.state) if e else None,
        "people": [{"id": who.id, "name": who.name, "perhaps": who.perhaps} for who in picture.people],
        "nameless": one.nameless,
        "scans": list(picture.scans),
    }


def _cells(one: ListedPhotograph) -> list[str]:
    """A row of the spreadsheet, in the order of COLUMNS."""
    listed = _listed(one)
    cells = listed | {
        "photo": one.picture.code,
        "container": one.box,
        "people": "; ".join(f"{who['name']} ({who['id']})" for who in listed["people"]),
        "scans": "; ".join(listed["scans"]),
    }
    return ["" if cells[column] is None else str(cells[column]) for column in COLUMNS]


def _list_lines(found: Sequence[ListedPhotograph], asked: bool) -> Iterator[str]:
    if not found:
        yield "No photograph fits that." if asked else "There is no photograph yet. Add some: kinphoto scans add FOLDER"
        return
    box: str | None = None
    for one in found:
        if one.box != box:
            box = one.box
            yield f"{box or '(nowhere yet)'}:"
        picture = one.picture
        names = [f"{'perhaps ' if who.perhaps else ''}{who.name or who.id}" for who in picture.people]
        names += [f"{one.nameless} without a name"] if one.nameless else []
        title = f"“{picture.title}”" if picture.title else ""
        scan = picture.scans[0].rpartition("/")[2] if picture.scans else ""
        facts = [picture.code, _when(picture.estimate, one.page), title, ", ".join(names), scan]
        yield "  " + "  ".join(filter(None, facts))
    yield f"{counted(len(found), 'photograph')}."
