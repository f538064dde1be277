"""What does not fit together: each conflict as a short story with its statements side by side, and its ways out, any of
which one press of a button takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.web.access import keepers_only
from kinphoto.web.forms import Form, back, post_route
from kinphoto.web.render import get_route, page

if TYPE_CHECKING:
    from kinphoto.archive import Archive

A_PAGE = 60
"""Stories shown at once."""
MOST_UNLIKELY = 200
"""Appearances shown that are possible, but unlikely."""


@keepers_only
def conflicts(request: Request) -> Response:
    """The stories, as of the newest estimates; `start` turns the pages."""
    archive: Archive = request.app.state.archive
    book = archive.conflicts(as_kept=True)
    start = _start(request.query_params.get("start", ""), len(book.stories))
    stories = book.stories[start : start + A_PAGE]
    codes = {code for story in stories for code in story.photographs}
    pictures = {one.code: one for one in archive.mounted(sorted(codes))}
    return page(
        request, "conflicts.html", book=book, stories=stories, start=start, step=A_PAGE, most=MOST_UNLIKELY,
        pictures=pictures, freshness=archive.freshness(),
    )  # fmt: skip


def _start(asked: str, count: int) -> int:
    """The number of the first story to show: that of a page there is, also when the last ones were just settled."""
    wanted = int(asked) if asked.isascii() and asked.isdecimal() and len(asked) < 9 else 0
    return min(wanted, max(count - 1, 0)) // A_PAGE * A_PAGE


def settle(request: Request, form: Form) -> Response:
    """Take one way out: withdraw what it names, in one change that can be taken back."""
    archive: Archive = request.app.state.archive
    archive.settle(request.path_params["id"], form.all("statement"))
    archive.date_now()
    return back(form, "/conflicts")


routes = [get_route("/conflicts", conflicts), post_route("/conflicts/{id}/settle", settle)]
