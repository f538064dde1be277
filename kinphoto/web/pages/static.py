"""Our own style sheets and scripts. Their addresses change with their contents, so browsers keep them."""

from __future__ import annotations

from functools import cache
from importlib import resources

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

KINDS = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml", ".webmanifest": "application/json"}


def file(request: Request) -> Response:
    """One of the files that came with the program; a name that is none of theirs is not looked for on the disk."""
    name = request.path_params["name"]
    if name not in _files():
        raise HTTPException(404)
    data, kind = _files()[name]
    return Response(data, media_type=kind, headers={"Cache-Control": "public, max-age=31536000, immutable"})


@cache
def _files() -> dict[str, tuple[bytes, str]]:
    folder = resources.files("kinphoto.web") / "static"
    known = ((entry, "." + entry.name.rpartition(".")[2]) for entry in folder.iterdir())
    return {entry.name: (entry.read_bytes(), KINDS[end]) for entry, end in known if end in KINDS}


routes = [Route("/static/{name}", file, name="static")]
