"""The first page: what is in the archive, how far it has got, and what to do next."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.web.access import archive_of, stranger
from kinphoto.web.drawing.plots import decades, growth
from kinphoto.web.render import get_route, page

if TYPE_CHECKING:
    from kinphoto.archive.people.overview import Overview


def first(request: Request) -> Response:
    """What is in the archive and what to do next."""
    shown = _overview(request)
    return page(
        request, "first.html", shown=shown, decades=decades(shown.boxes),
        growth=growth(shown.progress, shown.tally.photographs), keeping=_keeping(request),
    )  # fmt: skip


def _keeping(request: Request) -> Sequence[str]:
    """What would be good to do to keep the archive safe; nothing for a stranger."""
    return () if stranger(request) else archive_of(request).keep.state().advice


def _overview(request: Request) -> Overview:
    """Counted anew only when something was changed: on a large archive that takes a while. For strangers only what they
    may see is counted, which a new day may change too."""
    for_anybody = stranger(request)
    kept: dict[bool, tuple[object, Overview]] = request.app.state.overviews
    now = request.state.change, date.today() if for_anybody else None
    if for_anybody not in kept or kept[for_anybody][0] != now:
        kept[for_anybody] = now, archive_of(request).search.overview(for_anybody=for_anybody)
    return kept[for_anybody][1]


routes = [get_route("/", first)]
