"""Our own style sheets and scripts. The folder in their addresses changes with their contents, so browsers keep them
for good, and a script that imports another gets the one it was made with."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from kinphoto.web.assets import assets, version

FOR_GOOD = {"Cache-Control": "public, max-age=31536000, immutable"}


async def file(request: Request) -> Response:
    """One of the files that came with the program, from memory; no other name is looked for on the disk."""
    name, wanted = request.path_params["name"], request.path_params["version"]
    if name not in assets():
        raise HTTPException(404)
    data, kind = assets()[name]
    return Response(data, media_type=kind, headers=FOR_GOOD if wanted == version() else {"Cache-Control": "no-cache"})


routes = [Route("/static/{version}/{name}", file)]
