"""The history, undoing a change, and statements that are withdrawn or used again."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, dated_and_back, post_route, whole_number
from kinphoto.web.render import get_route, page

A_PAGE = 100
"""Changes shown on one page."""


@keepers_only
def log(request: Request) -> Response:
    """What was done, newest first, a page before change number `before`."""
    shown = archive_of(request).statements.history(A_PAGE, whole_number(request.query_params.get("before"), 18))
    return page(request, "log.html", shown=shown, most=A_PAGE)


def withdraw(request: Request, form: Form) -> Response:
    """Withdraw a statement or a name: it is kept and shown, but no longer used."""
    archive_of(request).statements.withdraw(form.get("statement", ""))
    return dated_and_back(request, form, "/log")


def reinstate(request: Request, form: Form) -> Response:
    """Use something withdrawn again."""
    archive_of(request).statements.reinstate(form.get("statement", ""))
    return dated_and_back(request, form, "/log")


def undo(request: Request, form: Form) -> Response:
    """Undo a change, or the newest one that is not undone."""
    archive_of(request).statements.undo(form.number("number"))
    return dated_and_back(request, form, "/log")


routes = [
    get_route("/log", log),
    post_route("/withdraw", withdraw),
    post_route("/reinstate", reinstate),
    post_route("/undo", undo),
]
