"""Straighten: photographs taken of prints, the corners of each print corrected by mouse, touch or numbers, and shown
straight or as they were taken."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.errors import InvalidValueError
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, back_to_scan, post_route
from kinphoto.web.render import get_route, page

HERE = "/straighten"
CORNERS = ("Top left", "Top right", "Bottom right", "Bottom left")


@keepers_only
def straighten(request: Request) -> Response:
    """The corners on one `scan` (a code or the end of a path), or all photographs of prints."""
    archive, scan = archive_of(request), request.query_params.get("scan", "").strip()
    one = archive.scans.capture(scan) if scan else None
    found = None if one else archive.scans.captures()
    size = archive.scans.picture(one.id).as_filed if one else (1, 1)
    return page(
        request, "straighten.html", one=one, found=found, scan=scan, names=CORNERS, size=size,
        sure=sum(each.state == "offered" for each in found.captures) if found else 0,
    )  # fmt: skip


def save(request: Request, form: Form) -> Response:
    """Show it straight between the corners of the form."""
    archive_of(request).scans.straighten(form.text("scan") or "", _given(form))
    return back_to_scan(form, HERE)


def save_sure(request: Request, form: Form) -> Response:
    """Show all straight whose corners are sure."""
    archive_of(request).scans.straighten_sure()
    return RedirectResponse(HERE, 303)


def as_taken(request: Request, form: Form) -> Response:
    """Show it as it was taken."""
    archive_of(request).scans.show_as_taken(form.text("scan") or "")
    return back_to_scan(form, HERE)


def say(request: Request, form: Form) -> Response:
    """Say whether it is a photograph of a print."""
    archive_of(request).scans.say_capture(form.text("scan") or "", form.text("said") or "yes")
    return back_to_scan(form, HERE)


def _given(form: Form) -> list[tuple[float, float]]:
    """The four corners of the form, as shares."""
    across, down = form.all("across"), form.all("down")
    if len(across) != 4 or len(down) != 4:
        raise InvalidValueError("a print has four corners", remedy="Reload the page and try again.")
    return [(_number(x), _number(y)) for x, y in zip(across, down, strict=True)]


def _number(text: str) -> float:
    try:
        return float(text.replace(",", ".")) / 100
    except ValueError as problem:
        raise InvalidValueError(
            f"'{text[:20]}' is not a number" if text.strip() else "a corner has no place",
            remedy="Give percentages of the picture's width and height, such as 12.5.",
        ) from problem


routes = [
    get_route(HERE, straighten),
    post_route(f"{HERE}/save", save),
    post_route(f"{HERE}/sure", save_sure),
    post_route(f"{HERE}/as-taken", as_taken),
    post_route(f"{HERE}/say", say),
]
