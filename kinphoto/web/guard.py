"""What every request passes first: is it meant for us, does it come from our own pages, is it small enough?

The pages listen on this machine only, but a browser on it runs other people's scripts too. Three things keep those out:
the `Host` must be one of ours (a foreign name that was pointed at 127.0.0.1 is not), a post must come from our own
pages (`Sec-Fetch-Site`, `Origin`, and a token in the form, see `forms.py`), and the Content-Security-Policy lets a page
load nothing but our own files and run no script that stands in the page itself.
"""

from __future__ import annotations

from collections.abc import Collection

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_FORM = 256 * 1024
"""Bytes of a posted form; files are read by their own page with its own bound."""
LONGEST_PATH = 2000
"""Letters of an address without its question: longer than any name of a person or file."""

POLICY = "; ".join((
    "default-src 'none'", "img-src 'self'", "script-src 'self'", "style-src 'self'", "connect-src 'self'",
    "media-src 'self'", "manifest-src 'self'", "form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'",
))  # fmt: skip

HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}


class Guard:
    """ASGI middleware: refuses what is not meant for us, and says to the browser what our pages may do.

    `hosts` are the names and addresses, without port, under which the pages are served; `large` are the paths to which
    files are sent, whose pages bound what they read themselves.
    """

    def __init__(self, app: ASGIApp, hosts: Collection[str], large: Collection[str] = ()) -> None:
        self.app = app
        self.hosts = {host.casefold() for host in hosts}
        self.large = frozenset(large)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the request pass, or answer why not."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        refusal = self._refusal(scope)
        if refusal is not None:
            await _with_headers(refusal, scope, receive, send)
            return
        await _with_headers(self.app, scope, receive, send)

    def _refusal(self, scope: Scope) -> PlainTextResponse | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if _name(host).casefold() not in self.hosts:
            return PlainTextResponse("These pages are not served under that name.\n", 421)
        if len(scope["path"]) > LONGEST_PATH:
            return PlainTextResponse("That address is too long.\n", 414)
        if "\0" in scope["path"] or b"%00" in scope["query_string"]:
            return PlainTextResponse("That is no address.\n", 400)
        if scope["method"] in ("GET", "HEAD"):
            return None
        if scope["method"] != "POST":
            return PlainTextResponse("Pages are read and posted to, nothing else.\n", 405)
        if not _from_our_pages(headers, host):
            return PlainTextResponse("This was sent from a page that is not ours.\n", 403)
        if scope["path"] not in self.large and _length(headers) > LARGEST_FORM:
            return PlainTextResponse("That is more than a form can hold.\n", 413)
        return None


def _name(host: str) -> str:
    """The host without its port: `[::1]:8080` gives `[::1]`."""
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0]


def _from_our_pages(headers: Headers, host: str) -> bool:
    """Whether a post was sent by one of our own pages, as far as the browser tells."""
    if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        return False
    origin = headers.get("origin")
    return origin is None or origin.casefold() == f"http://{host}".casefold()


def _length(headers: Headers) -> int:
    """What the sender says it sends; no number counts as none, since reading is bounded too."""
    text = headers.get("content-length", "0")
    return int(text[:19]) if text.isascii() and text.isdecimal() else 0


async def _with_headers(app: ASGIApp, scope: Scope, receive: Receive, send: Send) -> None:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("Cache-Control", "no-store")
        await send(message)

    await app(scope, receive, sending)
