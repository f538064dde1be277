"""Taking things back: a statement that somebody withdraws or lets stand again, a change that is undone, and the log."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.web.access import keepers_only
from kinphoto.web.forms import Form, back, post_route
from kinphoto.web.render import get_route, page

if TYPE_CHECKING:
    from kinphoto.archive import Archive

A_PAGE = 100
"""Changes shown at once."""


@keepers_only
def log(request: Request) -> Response:
    """What was done, newest first, a page before change number `before`."""
    archive: Archive = request.app.state.archive
    before = request.query_params.get("before", "")
    shown = archive.log(A_PAGE, int(before) if before.isascii() and before.isdecimal() and len(before) < 15 else None)
    return page(request, "log.html", shown=shown, most=A_PAGE)


def withdraw(request: Request, form: Form) -> Response:
    """Withdraw a statement or a name: it is kept and shown, but bears on nothing any more."""
    archive: Archive = request.app.state.archive
    archive.withdraw(form.get("statement", ""))
    archive.date_now()
    return back(form, "/log")


def reinstate(request: Request, form: Form) -> Response:
    """Let something withdrawn stand again."""
    archive: Archive = request.app.state.archive
    archive.reinstate(form.get("statement", ""))
    archive.date_now()
    return back(form, "/log")


def undo(request: Request, form: Form) -> Response:
    """Take back a change, or the newest that stands."""
    archive: Archive = request.app.state.archive
    archive.undo(form.number("number"))
    archive.date_now()
    return back(form, "/log")


routes = [
    get_route("/log", log),
    post_route("/withdraw", withdraw),
    post_route("/reinstate", reinstate),
    post_route("/undo", undo),
]
