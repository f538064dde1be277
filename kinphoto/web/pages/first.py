"""The first page: what is in the archive, and what to do next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from kinphoto.web.render import page

if TYPE_CHECKING:
    from kinphoto.archive import Archive


def first(request: Request) -> Response:
    """What is in the archive."""
    archive: Archive = request.app.state.archive
    return page(request, "first.html", shown=archive.overview())


routes = [Route("/", first, name="first")]
