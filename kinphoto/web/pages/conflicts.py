"""What does not fit together: each conflict as a short story with its statements side by side, and its ways out, any of
which one press of a button takes."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, dated_and_back, post_route, whole_number
from kinphoto.web.render import get_route, page

A_PAGE = 60
"""Stories shown on one page."""
MOST_UNLIKELY = 200
"""Appearances shown that are possible, but unlikely."""


@keepers_only
def conflicts(request: Request) -> Response:
    """The stories, as of the newest estimates; `start` turns the pages."""
    archive = archive_of(request)
    book = archive.dates.kept_conflicts()
    wanted = whole_number(request.query_params.get("start")) or 0
    start = min(wanted, max(len(book.stories) - 1, 0)) // A_PAGE * A_PAGE  # a page that is still there
    stories = book.stories[start : start + A_PAGE]
    codes = {code for story in stories for code in story.photographs}
    pictures = {one.code: one for one in archive.photographs.cards(sorted(codes))}
    return page(
        request, "conflicts.html", book=book, stories=stories, start=start, step=A_PAGE, most=MOST_UNLIKELY,
        pictures=pictures, freshness=archive.dates.freshness(),
    )  # fmt: skip


def settle(request: Request, form: Form) -> Response:
    """Take one way out: withdraw what it names, in one change that can be taken back."""
    archive_of(request).dates.settle(request.path_params["id"], form.all("statement"))
    return dated_and_back(request, form, "/conflicts")


routes = [get_route("/conflicts", conflicts), post_route("/conflicts/{id}/settle", settle)]
