"""Keeping going: the quota of an evening, how far each box has come, and about when the scanning ends."""

from __future__ import annotations

from datetime import datetime

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.archive.collection.tonight import evening
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.drawing.plots import months
from kinphoto.web.forms import Form, post_route
from kinphoto.web.render import get_route, page

HERE = "/progress"


@keepers_only
def progress(request: Request) -> Response:
    """The page."""
    archive = archive_of(request)
    found, boxes = archive.photographs.scanning_progress(), archive.photographs.container_names()
    return page(
        request, "progress.html", found=found, box_names=boxes, months=months(found.months),
        today=evening(datetime.now().astimezone()).isoformat(),
    )  # fmt: skip


@keepers_only
def hand_over(request: Request) -> Response:
    """The list for whoever owns a box, to be printed; `box` is the one, otherwise all."""
    archive = archive_of(request)
    box = request.query_params.get("box") or None
    found, boxes = archive.photographs.hand_over(box), archive.photographs.container_names()
    return page(request, "hand_over.html", found=found, box=box or "", box_names=boxes)


def quota(request: Request, form: Form) -> Response:
    """How many prints an evening are meant."""
    archive_of(request).photographs.set_quota(form.number("prints"))
    return RedirectResponse(HERE, 303)


def expect(request: Request, form: Form) -> Response:
    """About how many prints are in a box."""
    archive_of(request).photographs.expect(form.get("container", ""), form.number("prints"))
    return RedirectResponse(HERE, 303)


def lend(request: Request, form: Form) -> Response:
    """Somebody lent what is in an envelope or box."""
    archive_of(request).photographs.lend(
        form.get("container", ""), form.get("by", ""), form.day("came"), form.get("condition", ""),
        form.get("holds", ""),
    )  # fmt: skip
    return RedirectResponse(HERE, 303)


def returned(request: Request, form: Form) -> Response:
    """It went back."""
    archive_of(request).photographs.give_back(form.get("container", ""), form.day("on"))
    return RedirectResponse(HERE, 303)


routes = [
    get_route(HERE, progress),
    get_route(f"{HERE}/hand-over", hand_over),
    post_route(f"{HERE}/quota", quota),
    post_route(f"{HERE}/expect", expect),
    post_route(f"{HERE}/lend", lend),
    post_route(f"{HERE}/returned", returned),
]
