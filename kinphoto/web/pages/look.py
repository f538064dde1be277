"""Looking: one photograph after the other with nothing beside it, through a box, a search, a person or a decade.

The page works by links. Where scripts run, `look.js` lets the photograph fill the screen instead, and fetches what
comes next as JSON.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from starlette.datastructures import QueryParams
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from kinphoto.archive.collection.container_pages import Missing
from kinphoto.archive.collection.photograph_page import ScanShown
from kinphoto.archive.collection.views import PhotographView
from kinphoto.web.access import archive_of, stranger
from kinphoto.web.forms import whole_number
from kinphoto.web.pages.search import question_of
from kinphoto.web.render import get_route, page, when_short, who_short
from kinphoto.web.seen import SeenByVisitors

AT_ONCE = 40
"""Photographs that are fetched at a time."""
BEFORE = 4
"""Of these, how many come before the one that is asked for."""


@dataclass(frozen=True, slots=True)
class LookPage:
    """A part of what is looked through: from number `start` of `count` on; `back` is the page it came from."""

    views: list[PhotographView]
    start: int
    count: int
    back: str


def look(request: Request) -> Response:
    """One photograph, number `at` of what the rest of the address means; `code` is the one that was meant, should it
    have moved meanwhile. `side=back` shows its back."""
    asked = request.query_params
    at = whole_number(asked.get("at")) or 0
    through = _through(request, max(0, at - BEFORE))
    number = next((n for n, one in enumerate(through.views) if one.card.code == asked.get("code")), at - through.start)
    if not 0 <= number < len(through.views):
        raise HTTPException(404)
    shown, at = through.views[number], through.start + number
    back = shown.back if asked.get("side") == "back" else None
    if back is not None:
        _seen(request).note_seen(request, shown.card.code)
    kept = [(key, value) for key, value in asked.multi_items() if key not in ("at", "code", "side")]

    def address(to: int, side: str = "") -> str:
        return "/look?" + urlencode([*kept, ("at", to), *([("side", side)] if side else [])])

    return page(
        request, "look.html", shown=shown, scan=back or shown.card.recto, turned=back is not None, at=at,
        count=through.count, back=through.back, address=address, through=urlencode(kept), words=_words(shown),
    )  # fmt: skip


def look_on(request: Request) -> Response:
    """What comes from number `start` on, for the script."""
    through = _through(request, whole_number(request.query_params.get("start")) or 0)
    return JSONResponse(
        {
            "start": through.start,
            "count": through.count,
            "back": through.back,
            "photographs": [_item(one) for one in through.views],
        }
    )


def look_seen(request: Request) -> Response:
    """The back of a photograph was turned up: this visitor may have seen its date."""
    _seen(request).note_seen(request, request.query_params.get("code", "")[:20])
    return Response(status_code=204)


def _through(request: Request, start: int) -> LookPage:
    """What the address means: a container, a decade, or else a search."""
    archive, for_anybody, asked = archive_of(request), stranger(request), request.query_params
    if "container" in asked:
        id_ = whole_number(asked.get("container")) or 0
        wanting = asked.get("wanting")
        missing = Missing(wanting) if wanting in list(Missing) else None
        box = archive.photographs.container(id_ or None, missing, start, for_anybody=for_anybody)
        codes, count, back = [one.code for one in box.photographs], box.count, f"/box/{id_}"
        back += f"?wanting={missing}" if missing else ""
    elif "decade" in asked:
        first = whole_number(asked.get("decade"))
        decade = archive.search.decade(first, start, for_anybody=for_anybody)
        codes, count, back = [one.code for one in decade.photographs], decade.count, f"/years/{first or 'undated'}"
    else:
        found = archive.search.find(question_of(asked), start, for_anybody=for_anybody)
        codes, count, back = [one.code for one in found.photographs], found.count, _searched(asked)
    views = archive.photographs.views(codes[:AT_ONCE], for_anybody=for_anybody)
    return LookPage(views, start, count, back)


def _searched(asked: QueryParams) -> str:
    kept = [(key, value) for key, value in asked.multi_items() if key not in ("at", "code", "side", "start")]
    return f"/search?{urlencode(kept)}"


def _seen(request: Request) -> SeenByVisitors:
    seen: SeenByVisitors = request.app.state.seen
    return seen


def _words(one: PhotographView) -> tuple[str, str]:
    """What the caption says of it: its title, or else who is in it, and when it was taken; the date is left out where
    an age is still to be judged."""
    card = one.card
    when = when_short(card.estimate) if card.estimate and one.judged else ""
    worked_out = ", worked out" if when and card.estimate and card.estimate.inferred else ""
    return card.title or ", ".join(card.names[:3]) or who_short(card) or card.code, f"{when}{worked_out}"


def _item(one: PhotographView) -> dict[str, Any]:
    title, when = _words(one)
    return {
        "code": one.card.code, "title": title, "when": when, "front": _scan(one.card.recto), "back": _scan(one.back),
        "faces": [{"box": face.box, "name": " or ".join(face.names)} for face in one.faces],
        "unasked": one.unasked, "judged": one.judged,
    }  # fmt: skip


def _scan(scan: ScanShown | None) -> dict[str, Any] | None:
    if scan is None:
        return None
    return {"id": scan.id, "v": scan.version, "width": scan.width, "height": scan.height}


routes = [get_route("/look", look), Route("/look/on", look_on), Route("/look/seen", look_seen)]
