"""The boxes, and one of them: its photographs in physical order, and what still needs a date, a name or a decision."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from kinphoto.archive.collection.arranging import ARRANGEMENTS
from kinphoto.archive.collection.container_pages import A_PAGE, Missing, Tally
from kinphoto.web.access import archive_of, keepers_only, stranger
from kinphoto.web.forms import Form, back, dated_and_back, post_route, whole_number
from kinphoto.web.pages.several import WORDS_OF_SEVERAL, chosen
from kinphoto.web.render import get_route, page

A_SHELF = 60
"""Containers listed at once; the script of the page fetches more as they are scrolled to."""


def boxes(request: Request) -> Response:
    """Every container, and how far each has got."""
    photographs, for_anybody = archive_of(request).photographs, stranger(request)
    every = photographs.containers(for_anybody=for_anybody)
    total = Tally(*(sum(getattr(box.tally, field) for box in every) for field in Tally.__slots__))
    start = whole_number(request.query_params.get("start")) or 0
    shown = every[start : start + A_SHELF]
    return page(
        request, "boxes.html", shown=shown, total=total, start=start, count=len(every), step=A_SHELF,
        few=photographs.few_of_containers([box.id for box in shown], for_anybody=for_anybody),
    )  # fmt: skip


@keepers_only
def names(request: Request) -> Response:
    """The names of all containers, for the script of a page to offer when one is typed."""
    return JSONResponse([box.name for box in archive_of(request).photographs.container_names()])


def box(request: Request) -> Response:
    """A container opened. `wanting` shows only what lacks something, `start` turns the pages."""
    archive = archive_of(request)
    id_ = request.path_params["id"]
    wanting = _wanting(request.query_params.get("wanting"))
    shown = archive.photographs.container(
        id_ or None, wanting, whole_number(request.query_params.get("start")) or 0, for_anybody=stranger(request)
    )
    kept = [("container", str(id_)), *([("wanting", str(wanting))] if wanting else [])]
    return page(
        request, "box.html", shown=shown, wanting=wanting, wantings=_WANTINGS, step=A_PAGE, through=urlencode(kept),
        open_first=next((one for one in shown.photographs if not one.page and (one.nameless or not one.names)), None),
        few=archive.photographs.few_of_containers([each.id for each in shown.inside], for_anybody=stranger(request)),
        **WORDS_OF_SEVERAL, arrangements=ARRANGEMENTS,
        box_names=archive.photographs.container_names(for_anybody=stranger(request)),
    )  # fmt: skip


_WANTINGS = {Missing.DATE: "without a date", Missing.NAMES: "without a name", Missing.RESOLUTION: "disputed"}


def _wanting(text: str | None) -> Missing | None:
    if text is None:
        return None
    try:
        return Missing(text)
    except ValueError:
        raise HTTPException(404) from None


def order(request: Request, form: Form) -> Response:
    """Move the chosen photographs to the front of the container, in their order; the others follow."""
    archive_of(request).photographs.reorder(request.path_params["id"], chosen(form, 1))
    return back(form, "/boxes")


def say_order(request: Request, form: Form) -> Response:
    """Say whether the photographs of the container are in the order of time."""
    archive_of(request).photographs.say_order(request.path_params["id"], form.text("arrangement") or "")
    return dated_and_back(request, form, f"/box/{request.path_params['id']}")


def nest(request: Request, form: Form) -> Response:
    """Put the container into a bigger one, or out of the one it is in."""
    archive_of(request).photographs.nest_container(request.path_params["id"], form.text("into"))
    return RedirectResponse(f"/box/{request.path_params['id']}", 303)


def rename(request: Request, form: Form) -> Response:
    """Rename a container."""
    archive = archive_of(request)
    archive.photographs.container(request.path_params["id"])  # raises when there is none
    archive.photographs.rename_container(request.path_params["id"], form.get("name", ""))
    return RedirectResponse(f"/box/{request.path_params['id']}", 303)


routes = [
    get_route("/boxes", boxes),
    Route("/boxes/names", names),
    get_route("/box/{id:int}", box),
    post_route("/box/{id:int}/order", order),
    post_route("/box/{id:int}/in-order", say_order),
    post_route("/box/{id:int}/nest", nest),
    post_route("/box/{id:int}/rename", rename),
]
