"""What does not fit together: each conflict as a short story with its statements side by side, and its ways out, any of
which one press of a button takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from kinphoto.web.access import keepers_only
from kinphoto.web.forms import Form, back, posting
from kinphoto.web.render import page

if TYPE_CHECKING:
    from kinphoto.archive import Archive


@keepers_only
def conflicts(request: Request) -> Response:
    """The stories, as of the newest estimates."""
    archive: Archive = request.app.state.archive
    book = archive.conflicts(as_kept=True)
    codes = {code for story in book.stories for code in story.photographs} | {one.photograph for one in book.unlikely}
    pictures = {one.code: one for one in archive.mounted(sorted(codes))}
    return page(request, "conflicts.html", book=book, pictures=pictures, freshness=archive.freshness())


def settle(request: Request, form: Form) -> Response:
    """Take one way out: withdraw what it names, in one change that can be taken back."""
    archive: Archive = request.app.state.archive
    archive.settle(request.path_params["id"], form.all("statement"))
    return back(form, "/conflicts")


routes = [Route("/conflicts", conflicts, name="conflicts"), posting("/conflicts/{id}/settle", settle)]
