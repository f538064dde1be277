"""The first page: what is in the archive, how far it has got, and what to do next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.web.drawing.plots import decades, growth
from kinphoto.web.render import page, showing

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.archive.overview import Overview


def first(request: Request) -> Response:
    """What is in the archive and what to do next."""
    shown = _overview(request)
    return page(
        request, "first.html", shown=shown, decades=decades(shown.boxes),
        growth=growth(shown.progress, shown.tally.photographs),
    )  # fmt: skip


def _overview(request: Request) -> Overview:
    """Counted anew only when something was changed: on a large archive that takes a while."""
    archive: Archive = request.app.state.archive
    now = request.state.change
    kept = getattr(request.app.state, "overview", None)
    if kept is None or kept[0] != now:
        kept = request.app.state.overview = (now, archive.overview())
    shown: Overview = kept[1]
    return shown


routes = [showing("/", first)]
