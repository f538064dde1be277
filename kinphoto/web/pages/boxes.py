"""The shelf, and a box opened: its contact sheet in physical order, what still wants a date, a name or peace, and the
scans of one object put together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from kinphoto.archive.collection.container_pages import A_PAGE, Missing, Tally
from kinphoto.archive.statements.claims import Tie
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import InvalidValueError
from kinphoto.web.access import keepers_only, stranger
from kinphoto.web.forms import Form, back, post_route
from kinphoto.web.render import get_route, page

if TYPE_CHECKING:
    from kinphoto.archive import Archive

NOWHERE = 0
"""Stands in addresses for the photographs that lie in no container yet."""


def shelf(request: Request) -> Response:
    """Every container, and how far each has got."""
    archive: Archive = request.app.state.archive
    shown = archive.boxes(for_anybody=stranger(request))
    total = Tally(*(sum(getattr(box.tally, field) for box in shown) for field in Tally.__slots__))
    return page(request, "boxes.html", shown=shown, total=total)


@keepers_only
def names(request: Request) -> Response:
    """The names of all containers, for the script of a page to offer when one is typed."""
    archive: Archive = request.app.state.archive
    return JSONResponse([box.name for box in archive.box_names()])


def box(request: Request) -> Response:
    """A container opened. `wanting` shows only what lacks something, `start` turns the pages."""
    archive: Archive = request.app.state.archive
    id_ = request.path_params["id"]
    wanting = _wanting(request.query_params.get("wanting"))
    start = request.query_params.get("start", "0")
    shown = archive.box(
        id_ or None, wanting, int(start) if start.isascii() and start.isdecimal() and len(start) < 9 else 0,
        for_anybody=stranger(request),
    )  # fmt: skip
    return page(
        request, "box.html", shown=shown, wanting=wanting, wantings=_WANTINGS, step=A_PAGE,
        name=shown.name or "Lying nowhere yet", shelf=archive.box_names(for_anybody=stranger(request)),
    )  # fmt: skip


_WANTINGS = {Missing.DATE: "without a date", Missing.NAMES: "without a name", Missing.RESOLUTION: "disputed"}


def _wanting(text: str | None) -> Missing | None:
    if text is None:
        return None
    try:
        return Missing(text)
    except ValueError:
        raise HTTPException(404) from None


def join(request: Request, form: Form) -> Response:
    """Make the chosen photographs one: fronts and backs of one object, or scans of it made again."""
    archive: Archive = request.app.state.archive
    chosen = _chosen(form, 2)
    sides = {"verso": "verso", "detail": "detail", "recto": "recto"}
    archive.join_scans(chosen, sides.get(form.get("side", "")))
    archive.date_now()
    return back(form, "/boxes")


def move(request: Request, form: Form) -> Response:
    """Put the chosen photographs into a container."""
    archive: Archive = request.app.state.archive
    into = form.said("container")
    if into is None:
        raise InvalidValueError("no box was named", remedy="Type the name of one; a new name makes a new box.")
    archive.place(_chosen(form, 1), into)
    return back(form, "/boxes")


def order(request: Request, form: Form) -> Response:
    """Let the chosen photographs come first in the container, in the order in which they lie; the others follow."""
    archive: Archive = request.app.state.archive
    archive.reorder(request.path_params["id"], _chosen(form, 1))
    return back(form, "/boxes")


def nest(request: Request, form: Form) -> Response:
    """Put the container into another, or out of the one it lies in."""
    archive: Archive = request.app.state.archive
    archive.nest_container(request.path_params["id"], form.said("into"))
    return RedirectResponse(f"/box/{request.path_params['id']}", 303)


def together(request: Request, form: Form) -> Response:
    """Say that the chosen photographs were taken on the same occasion, or one after the other as they lie here."""
    archive: Archive = request.app.state.archive
    first, *others = _chosen(form, 2)
    relation = form.get("relation", "same-occasion")
    ties = []
    for other in others:
        ties.append(Tie(photograph=first, relation=relation, other=other, by=form.said("by")))
        first = other if relation == "before" else first
    archive.relate_all(ties)
    return back(form, "/boxes")


def describe(request: Request, form: Form) -> Response:
    """Say the same of all chosen photographs: where they were taken, who made them, whose they are."""
    archive: Archive = request.app.state.archive
    given = {field: form.said(field) for field in ("place", "maker", "rights")}
    archive.describe_alike(_chosen(form, 1), Description(**given))
    return back(form, "/boxes")


def rename(request: Request, form: Form) -> Response:
    """Give a container another name."""
    archive: Archive = request.app.state.archive
    archive.box(request.path_params["id"])  # raises when there is none
    archive.rename_container(request.path_params["id"], form.get("name", ""))
    return RedirectResponse(f"/box/{request.path_params['id']}", 303)


def _chosen(form: Form, least: int) -> list[str]:
    chosen = list(dict.fromkeys(form.all("photograph")))
    if len(chosen) < least:
        few = "two photographs or more" if least > 1 else "a photograph"
        raise InvalidValueError("too few were chosen", remedy=f"Tick {few} on the sheet first.")
    return chosen


routes = [
    get_route("/boxes", shelf),
    Route("/boxes/names", names),
    get_route("/box/{id:int}", box),
    post_route("/box/{id:int}/join", join),
    post_route("/box/{id:int}/move", move),
    post_route("/box/{id:int}/order", order),
    post_route("/box/{id:int}/nest", nest),
    post_route("/box/{id:int}/together", together),
    post_route("/box/{id:int}/describe", describe),
    post_route("/box/{id:int}/rename", rename),
]
