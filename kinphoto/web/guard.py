"""What every request passes first: is it meant for us, does it come from our own pages, is it small enough?

The pages listen on this machine only, but a browser on it runs other people's scripts too. Three things keep those out:
the `Host` must be one of ours (a foreign name that was pointed at 127.0.0.1 is not), a post must come from our own
pages (`Sec-Fetch-Site`, `Origin`, and a token in the form, see `forms.py`), and the Content-Security-Policy lets a page
load nothing but our own files and run no script within the page itself.
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import Collection
from contextlib import AbstractAsyncContextManager, asynccontextmanager, nullcontext
from typing import TYPE_CHECKING
from weakref import WeakValueDictionary

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

if TYPE_CHECKING:
    from collections.abc import AsyncIterator

    from kinphoto.web.access import Access

LARGEST_FORM = 256 * 1024
"""Bytes of a posted form; files are read by their own page with its own bound."""
LARGEST_FILES = 2 * 1024**3
"""Bytes of one upload."""
LONGEST_PATH = 2000
"""Letters of an address without its question: longer than any name of a person or file."""
LONGEST_QUESTION = 16_000
"""Letters of the question: more than the questions that one evening passes over."""

POLICY = "; ".join((
    "default-src 'none'", "img-src 'self'", "script-src 'self'", "style-src 'self'", "connect-src 'self'",
    "media-src 'self'", "manifest-src 'self'", "form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'",
))  # fmt: skip

CLOSE = {"Connection": "close"}
"""With an answer to something that was not read to its end: nobody need send the rest."""
STRANGERS_AT_ONCE, OF_ONE = 4, 2
"""Pages made at a time for visitors who have not signed in, in all and for one address, so that nobody who asks for
thousands keeps the keeper waiting."""
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
        self._page_limiter = PageLimiter()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the request pass, or answer why not."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        scope["app"].state.upkeep.noticed()
        refusal = self._refusal(scope)
        if refusal is not None:
            await _with_headers(refusal, scope, receive, send)
            return
        async with self._slot(scope):
            await _with_headers(self.app, scope, receive, send)

    def _slot(self, scope: Scope) -> AbstractAsyncContextManager[None]:
        """A slot for a stranger's page; forms and what is in memory need none."""
        access: Access = scope["app"].state.access
        if not access.open_to_house or scope["method"] == "POST" or scope["path"].startswith("/static/"):
            return nullcontext()
        if access.visitor(Request(scope)).keeper:
            return nullcontext()
        return self._page_limiter.slot(scope["client"][0] if scope.get("client") else "")

    def _refusal(self, scope: Scope) -> PlainTextResponse | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if name_of(host).casefold() not in self.hosts:
            return PlainTextResponse("There are no pages under that name.\n", 421, CLOSE)
        if len(scope["path"]) > LONGEST_PATH or len(scope["query_string"]) > LONGEST_QUESTION:
            return PlainTextResponse("That address is too long.\n", 414)
        if "\0" in scope["path"] or b"%00" in scope["query_string"]:
            return PlainTextResponse("That is not an address.\n", 400)
        if scope["method"] in ("GET", "HEAD"):
            return None
        if scope["method"] != "POST":
            return PlainTextResponse("These pages can only be read and sent forms.\n", 405, CLOSE)
        if not _from_our_pages(headers, host):
            return PlainTextResponse("This was sent from another site.\n", 403, CLOSE)
        if (announced(headers) or 0) > (LARGEST_FILES if scope["path"] in self.large else LARGEST_FORM):
            return PlainTextResponse("That is too much to send at once.\n", 413, CLOSE)
        return None


class PageLimiter:
    """Makes pages a few at a time, in all and for each address."""

    def __init__(self) -> None:
        self._all = asyncio.Semaphore(STRANGERS_AT_ONCE)
        self._of: WeakValueDictionary[str, asyncio.Semaphore] = WeakValueDictionary()

    @asynccontextmanager
    async def slot(self, address: str) -> AsyncIterator[None]:
        """A slot for this address."""
        own = self._of.get(address)
        if own is None:
            own = self._of[address] = asyncio.Semaphore(OF_ONE)
        async with own, self._all:
            yield


def name_of(host: str) -> str:
    """The host without its port, `[::1]` for `[::1]:8080`; "" for anything else."""
    found = re.fullmatch(r"(\[[0-9A-Fa-f:.]+\]|[^\[\]:@/?#\\\s]+)(:[0-9]{1,5})?", host)
    return found[1] if found else ""


def _from_our_pages(headers: Headers, host: str) -> bool:
    """Whether a post was sent by one of our own pages, as far as the browser says."""
    if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        return False
    origin = headers.get("origin")
    return origin is None or origin.casefold() == f"http://{host}".casefold()


def announced(headers: Headers) -> int | None:
    """How many bytes the sender says it sends; None for no number, since reading is bounded too."""
    text = headers.get("content-length", "")
    return int(text[:19]) if text.isascii() and text.isdecimal() else None


async def _with_headers(app: ASGIApp, scope: Scope, receive: Receive, send: Send) -> None:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("Cache-Control", "no-store")
        await send(message)

    await app(scope, receive, sending)
