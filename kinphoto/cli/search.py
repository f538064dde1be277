"""`kinphoto find` and `list`: photographs, people and boxes by words, and photographs by what they lack, their box and
years.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive
from kinphoto.cli.pictures import name_in_picture
from kinphoto.phrases import counted, in_one_line

if TYPE_CHECKING:
    from kinphoto.archive.collection.photograph_cards import PhotographCard
    from kinphoto.archive.people.people import FoundPerson
    from kinphoto.archive.search.listing import ListedPhotograph
    from kinphoto.archive.search.quoting import Quote
    from kinphoto.archive.search.searching import SearchResult


def find(
    words: Annotated[
        list[str],
        typer.Argument(
            metavar="WORDS...",
            help="Names of people and boxes, words on or about photographs, and years: ada harbour about 1930.",
        ),
    ],
    page: Annotated[int, typer.Option("--page", metavar="N", help="Which page of the results.", min=1)] = 1,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find photographs, people and boxes by words, with the code of each.

    All words have to match, except small ones such as `the` and `of`; the beginning of a word is enough.
    """
    from kinphoto.archive.catalogue.person_cards import Named
    from kinphoto.archive.search.question import SearchQuery
    from kinphoto.archive.search.searching import A_PAGE
    from kinphoto.documents import Together

    line = " ".join(words).strip()
    if not line:
        raise typer.BadParameter("give at least one word, or see all photographs: kinphoto list.")
    store = open_archive(archive)
    store.dates.refresh()
    question = SearchQuery(text=line)
    found = store.search.find(question, (page - 1) * A_PAGE)
    quotes = store.search.quotes(found.by_words, question)
    nobody = not (found.people or found.boxes or found.photographs or found.stories)
    nearly = store.people.find(line, 8) if nobody and page == 1 else None
    similar = nearly.people if nearly and nearly.similar else ()
    document = {
        "people": found.people,
        "boxes": found.boxes,
        "photographs": [Together(one, {"words": quotes.get(one.code, ())}) for one in found.photographs],
        "count": found.count,
        "stories": found.stories,
        "similar": [Named(one.id, one.name) for one in similar],
    }
    answer(as_json, document, _found_lines(line, found, quotes, similar))


def _found_lines(
    line: str, found: SearchResult, quotes: dict[str, tuple[Quote, ...]], similar: Sequence[FoundPerson]
) -> Iterator[str]:
    if found.people:
        yield "People (kinphoto pictures ID):"
        for person in found.people:
            pictures = counted(person.pictures, "picture") if person.pictures else "no pictures"
            years = person.life.years or "years not known"
            yield f"  {person.id:<7} {person.name or 'no name'}, {years}, {pictures}"
    if found.boxes:
        yield "Boxes:"
        yield from (f'  {box.name}: kinphoto list --box "{box.name}"' for box in found.boxes)
    if found.stories:
        yield "Stories (kinphoto stories ID):"
        yield from (
            f"  {one.id:<7} {one.label}{f', told by {one.teller}' if one.teller else ''}" for one in found.stories
        )
    if found.photographs:
        shown = found.start + len(found.photographs)
        span = f", {found.start + 1} to {shown}" if len(found.photographs) < found.count else ""
        yield f"Photographs ({found.count:,}{span}; kinphoto show CODE):"
        for one in found.photographs:
            yield f"  {_photograph_line(one, one.names)}"
            yield from (f"          {quote.kind}: “{_one_line(quote.text)}”" for quote in quotes.get(one.code, ())
                        if quote.kind not in ("title", "file name"))  # fmt: skip
        if shown < found.count:
            yield f"{found.count - shown:,} more: kinphoto find {line} --page {shown // len(found.photographs) + 1}"
    elif found.start:
        yield "There are no more."
    elif not found.people and not found.boxes and not found.stories:
        yield f"Nothing found for '{line}'."
        if similar:
            yield "People with nearly that name:"
            yield from (f"  {one.id:<7} {one.name}" for one in similar)


def _photograph_line(one: PhotographCard, names: Sequence[str]) -> str:
    who = ", ".join([*names, *([f"{one.nameless} without a name"] if one.nameless else [])])
    title = f"“{one.title}”" if one.title else ""
    scan = one.scan.rpartition("/")[2] if one.scan else ""
    return "  ".join(filter(None, [one.code, one.when, title, who, scan]))


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
    disputed: Annotated[bool, typer.Option("--disputed", help="Only those that are part of a conflict.")] = False,
    box: Annotated[
        str | None,
        typer.Option(
            "--box", metavar="CONTAINER", help='Only those in this box or one inside it; "" for those in none.'
        ),
    ] = None,
    year: Annotated[
        str | None,
        typer.Option(
            "--year", metavar="YEARS", help="Only those likely to be from a year (1924), a decade (1920s) or 1920-1935."
        ),
    ] = None,
    as_csv: Annotated[
        bool, typer.Option("--csv", help="Print a spreadsheet: kinphoto list --csv > photographs.csv")
    ] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """List photographs box by box: all, or those without a date or a name, in one box, or from some years.

    Options combine. With --year they are sorted by date. You can fill in the columns photo, title, container and
    place of the spreadsheet and read them back with `kinphoto describe --from`.
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
    found = open_archive(archive).search.photographs(ListQuery(lacking=lacking, box=box, years=year))
    if as_csv:
        sheet = csv.writer(sys.stdout, lineterminator="\n")
        sheet.writerow(COLUMNS)
        shown = in_one_line if sys.stdout.isatty() else str  # a file gets the names as they are
        sheet.writerows(map(shown, _cells(one)) for one in found)
        return
    asked = bool(lacking or box is not None or year)
    answer(as_json, {"photographs": found}, _list_lines(found, asked))


def _cells(one: ListedPhotograph) -> list[str]:
    """A row of the spreadsheet, in the order of COLUMNS."""
    from kinphoto.cli.documents import document

    listed = document(one)
    cells = listed | {
        "photo": one.picture.code,
        "container": one.box,
        "people": "; ".join(f"{who['name']} ({who['id']})" for who in listed["people"]),
        "scans": "; ".join(listed["scans"]),
    }
    return ["" if cells[column] is None else str(cells[column]) for column in COLUMNS]


def _list_lines(found: Sequence[ListedPhotograph], asked: bool) -> Iterator[str]:
    if not found:
        yield "No photograph matches." if asked else "There are no photographs yet. Add some: kinphoto scans add FOLDER"
        return
    box: str | None = None
    for one in found:
        if one.box != box:
            box = one.box
            yield f"{box or '(not in any box yet)'}:"
        yield f"  {_photograph_line(one.picture, [name_in_picture(who) for who in one.picture.people])}"
    pages = sum(one.picture.page for one in found)
    of_albums = f" and {counted(pages, 'album page')}" if pages else ""
    yield f"{counted(len(found) - pages, 'photograph')}{of_albums}."
