"""Keeping going: the quota of an evening, how far each box has come, and about when the scanning ends."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, post_route
from kinphoto.web.render import get_route, page

HERE = "/progress"


@keepers_only
def progress(request: Request) -> Response:
    """The page, with the list to hand over; `box` shows that of one container."""
    archive = archive_of(request)
    box = request.query_params.get("box") or None
    return page(
        request, "progress.html", found=archive.photographs.scanning_progress(), box=box or "",
        hand_over=archive.photographs.hand_over(box), box_names=archive.photographs.container_names(),
    )  # fmt: skip


def quota(request: Request, form: Form) -> Response:
    """How many prints an evening are meant."""
    archive_of(request).photographs.set_quota(form.number("prints"))
    return RedirectResponse(HERE, 303)


def expect(request: Request, form: Form) -> Response:
    """About how many prints are in a box."""
    archive_of(request).photographs.expect(form.get("container", ""), form.number("prints"))
    return RedirectResponse(HERE, 303)


routes = [
    get_route(HERE, progress),
    post_route(f"{HERE}/quota", quota),
    post_route(f"{HERE}/expect", expect),
]
