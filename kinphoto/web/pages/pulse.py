"""Whether anything was changed since a page was made: asked by the keeper's open pages now and then."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from kinphoto.web.access import archive_of, stranger


def pulse(request: Request) -> Response:
    """200 when something was changed after the state `after` that a page shows, 204 when not. Strangers
    always get 204: the change may be something they may not see."""
    if stranger(request):
        return Response(status_code=204)
    now = archive_of(request).statements.revision()
    return Response(status_code=204) if now == request.query_params.get("after") else Response(now)


routes = [Route("/pulse", pulse)]
