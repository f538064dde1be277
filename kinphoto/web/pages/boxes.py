"""The boxes, and one of them: its contact sheet in physical order, what still needs a date, a name or a decision,
and the scans of one object joined."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from kinphoto.archive.collection.container_pages import A_PAGE, Missing, Tally
from kinphoto.archive.statements.claims import Tie
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import InvalidValueError
from kinphoto.web import wording
from kinphoto.web.access import archive_of, keepers_only, stranger
from kinphoto.web.forms import Form, back, dated_and_back, post_route, whole_number
from kinphoto.web.render import get_route, page


def boxes(request: Request) -> Response:
    """Every container, and how far each has got."""
    shown = archive_of(request).photographs.containers(for_anybody=stranger(request))
    total = Tally(*(sum(getattr(box.tally, field) for box in shown) for field in Tally.__slots__))
    return page(request, "boxes.html", shown=shown, total=total)


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
    return page(
        request, "box.html", shown=shown, wanting=wanting, wantings=_WANTINGS, step=A_PAGE,
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


def join(request: Request, form: Form) -> Response:
    """Make the chosen photographs one: fronts and backs of one object, or scans of it made again."""
    side = form.get("side")
    archive_of(request).scans.join(_chosen(form, 2), side if side in wording.SIDES else None)
    return dated_and_back(request, form, "/boxes")


def move(request: Request, form: Form) -> Response:
    """Put the chosen photographs into a container."""
    into = form.text("container")
    if into is None:
        raise InvalidValueError("no box was named", remedy="Type its name; a new name makes a new box.")
    archive_of(request).photographs.move(_chosen(form, 1), into)
    return back(form, "/boxes")


def order(request: Request, form: Form) -> Response:
    """Move the chosen photographs to the front of the container, in their order; the others follow."""
    archive_of(request).photographs.reorder(request.path_params["id"], _chosen(form, 1))
    return back(form, "/boxes")


def nest(request: Request, form: Form) -> Response:
    """Put the container into a bigger one, or out of the one it is in."""
    archive_of(request).photographs.nest_container(request.path_params["id"], form.text("into"))
    return RedirectResponse(f"/box/{request.path_params['id']}", 303)


def together(request: Request, form: Form) -> Response:
    """Record that the chosen photographs were taken on the same occasion, or one after the other in this order."""
    first, *others = _chosen(form, 2)
    relation = form.get("relation", "same-occasion")
    ties = []
    for other in others:
        ties.append(Tie(photograph=first, relation=relation, other=other, by=form.text("by")))
        first = other if relation == "before" else first
    archive_of(request).statements.relate_all(ties)
    return back(form, "/boxes")


def describe(request: Request, form: Form) -> Response:
    """Describe all chosen photographs alike: where they were taken, who made them, whose they are."""
    given = {field: form.text(field) for field in ("place", "maker", "rights")}
    archive_of(request).photographs.describe_alike(_chosen(form, 1), Description(**given))
    return back(form, "/boxes")


def rename(request: Request, form: Form) -> Response:
    """Rename a container."""
    archive = archive_of(request)
    archive.photographs.container(request.path_params["id"])  # raises when there is none
    archive.photographs.rename_container(request.path_params["id"], form.get("name", ""))
    return RedirectResponse(f"/box/{request.path_params['id']}", 303)


def _chosen(form: Form, least: int) -> list[str]:
    chosen = list(dict.fromkeys(form.all("photograph")))
    if len(chosen) < least:
        few = "two photographs or more" if least > 1 else "a photograph"
        raise InvalidValueError("too few photographs are ticked", remedy=f"Tick {few} first.")
    return chosen


routes = [
    get_route("/boxes", boxes),
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
