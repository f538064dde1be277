"""How the pages are to look, chosen by a link and remembered by the browser; nothing of it is in the archive."""

from __future__ import annotations

from urllib.parse import urlsplit, urlunsplit

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from kinphoto.web.access import own_path
from kinphoto.web.preferences import CHOICES, remember


def view(request: Request) -> Response:
    """Remember what the address chooses, and go back to the page on which it was chosen."""
    asked, here = request.query_params, urlsplit(request.headers.get("referer", ""))
    address = urlunsplit(("", "", here.path, here.query, ""))
    response = RedirectResponse(own_path(address) or "/", 303)
    for what in CHOICES:
        remember(response, what, asked.get(what, ""))
    return response


routes = [Route("/view", view)]
