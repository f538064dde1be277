"""The history, undoing a change, and statements that are withdrawn or used again."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.web.access import archive_of, keepers_only, own_path
from kinphoto.web.done import is_undone_at_once, next_step
from kinphoto.web.forms import Form, dated_and_back, post_route, whole_number
from kinphoto.web.render import get_route, page

A_PAGE = 100
"""Changes shown on one page."""


@keepers_only
def log(request: Request) -> Response:
    """What was done, newest first, a page before change number `before`."""
    shown = archive_of(request).statements.history(A_PAGE, whole_number(request.query_params.get("before"), 18))
    own = {one.number for one in shown if is_undone_at_once(request, one.number)}
    return page(request, "log.html", shown=shown, most=A_PAGE, own=own)


def withdraw(request: Request, form: Form) -> Response:
    """Withdraw a statement or a name: it is kept and shown, but no longer used."""
    archive_of(request).statements.withdraw(form.get("statement", ""))
    return dated_and_back(request, form, "/log")


def reinstate(request: Request, form: Form) -> Response:
    """Use something withdrawn again."""
    archive_of(request).statements.reinstate(form.get("statement", ""))
    return dated_and_back(request, form, "/log")


def undo(request: Request, form: Form) -> Response:
    """Undo a change: one of this visitor's own at once, any other after a question (`sure`). Without a number it is the
    newest of their own; `step` says that the one after it is meant where the number is undone already, as by a key that
    was pressed twice."""
    statements = archive_of(request).statements
    number = form.number("number")
    own = next_step(request)
    if form.get("step") == "1" and number is not None and own is not None:
        known = next(iter(statements.changes([number])), None)
        number = own.number if known is not None and known.undone_by is not None else number
    if number is None and own is not None:
        number = own.number
    if number is None:
        newest = next((one for one in statements.history(A_PAGE) if not one.undone_by and one.undoes is None), None)
        number = newest.number if newest else None
    if number is not None and form.get("sure") != "1" and not is_undone_at_once(request, number):
        return _ask(request, form, number)
    statements.undo(number)
    return dated_and_back(request, form, "/log")


def _ask(request: Request, form: Form, number: int) -> Response:
    """Whether a change is to be undone that this visitor did not make themself."""
    archive = archive_of(request)
    asked = next((one for one in archive.statements.history(1, number + 1) if one.number == number), None)
    if asked is None or asked.undone_by is not None:
        archive.statements.undo(number)  # says what is the matter
        return dated_and_back(request, form, "/log")
    return page(
        request, "undo.html", asked=asked, next=own_path(form.get("next", "")) or "/log",
        cards=archive.photographs.cards(asked.photographs),
    )  # fmt: skip


routes = [
    get_route("/log", log),
    post_route("/withdraw", withdraw),
    post_route("/reinstate", reinstate),
    post_route("/undo", undo),
]
