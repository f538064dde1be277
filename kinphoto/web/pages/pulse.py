"""Whether anything was changed since a page was made: asked by the keeper's open pages now and then."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from kinphoto.web.access import archive_of, stranger
from kinphoto.web.done import is_elsewhere
from kinphoto.web.forms import whole_number


def pulse(request: Request) -> Response:
    """200 when something was changed after the state `after` that a page shows, 204 when not; with the header
    `X-Elsewhere` where that was not this visitor's own doing, nor dates that follow from something. Strangers
    always get 204: the change may be something they may not see."""
    if stranger(request):
        return Response(status_code=204)
    now, after = archive_of(request).statements.revision(), request.query_params.get("after", "")
    if now == after:
        return Response(status_code=204)
    number = whole_number(after.partition("-")[0], 18)
    elsewhere = number is None or is_elsewhere(request, number)
    return Response(now, headers={"X-Elsewhere": "1"} if elsewhere else None)


routes = [Route("/pulse", pulse)]
