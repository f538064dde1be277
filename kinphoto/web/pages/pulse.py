"""Whether anything was changed since a page was made: asked by open pages now and then."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

if TYPE_CHECKING:
    from kinphoto.archive import Archive


def pulse(request: Request) -> Response:
    """200 when something was changed after the state `after` that a page shows, 204 when not."""
    archive: Archive = request.app.state.archive
    now = archive.pulse()
    return Response(status_code=204) if now == request.query_params.get("after") else Response(now)


routes = [Route("/pulse", pulse)]
