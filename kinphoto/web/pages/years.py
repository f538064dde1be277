"""The years: every decade by some of its pictures, and all of one decade in order of date."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from kinphoto.archive.search.years import A_PAGE
from kinphoto.web.access import archive_of, stranger
from kinphoto.web.forms import whole_number
from kinphoto.web.pages.several import WORDS_OF_SEVERAL
from kinphoto.web.render import get_route, page

UNDATED = "undated"
"""What the address calls the photographs without a date."""


def years(request: Request) -> Response:
    """Every decade."""
    shown = archive_of(request).search.decades(for_anybody=stranger(request))
    note_seen(request, [card.code for decade in shown for card in decade.few if decade.first])
    return page(request, "years.html", shown=shown)


def decade(request: Request) -> Response:
    """One decade, or what has no date, a page from number `start` on."""
    asked = request.path_params["decade"]
    first = whole_number(asked)
    if (first is None and asked != UNDATED) or (first is not None and not (1000 <= first <= 9990 and first % 10 == 0)):
        raise HTTPException(404)
    start = whole_number(request.query_params.get("start")) or 0
    shown = archive_of(request).search.decade(first, start, for_anybody=stranger(request))
    if first is not None:
        note_seen(request, [one.code for one in shown.photographs])
    return page(request, "decade.html", **WORDS_OF_SEVERAL, shown=shown, step=A_PAGE)


def note_seen(request: Request, codes: list[str]) -> None:
    """Whoever sees a photograph among those of its decade knows too much to judge an age by looks alone."""
    for code in codes:
        request.app.state.seen.note_seen(request, code)


routes = [get_route("/years", years), get_route("/years/{decade}", decade)]
