"""Asks the pages without a server, in the thread of the test.

The client that comes with Starlette starts a thread and an event loop for each question and hands every part of the
answer from one to the other, which takes longer than most of our pages do. Here one event loop answers all questions,
and what a page does outside the loop (in a pool of threads, which goes with each question) is done where it is asked.
"""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from contextvars import ContextVar, copy_context
from functools import cache
from typing import Any

import anyio.to_thread
import httpx2
from starlette.applications import Starlette

_by_a_pool: Callable[..., Awaitable[Any]] = anyio.to_thread.run_sync
_asked_here = ContextVar("asked_here", default=False)


async def _run_sync(work: Callable[..., Any], *given: Any, **how: Any) -> Any:
    """Work that may wait: done by the pool for a server that a test has started, and at once for this client."""
    return work(*given) if _asked_here.get() else await _by_a_pool(work, *given, **how)


anyio.to_thread.run_sync = _run_sync  # type: ignore[assignment]


@cache
def _loop() -> asyncio.Runner:
    return asyncio.Runner()


@cache
def _aside() -> ThreadPoolExecutor:
    """Where a loop can run after a browser was started in this process, whose own loop never rests."""
    return ThreadPoolExecutor(1)


class _InThisThread(httpx2.BaseTransport):
    """Carries a question through the whole of the program, as a server would, and waits for the end of the answer."""

    def __init__(self, app: Starlette) -> None:
        self._app = httpx2.ASGITransport(app, client=("127.0.0.1", 50_000))

    def handle_request(self, request: httpx2.Request) -> httpx2.Response:
        request.read()
        try:
            asyncio.get_running_loop()
        except RuntimeError:
            if threading.current_thread() is not threading.main_thread():
                return asyncio.run(self._answer(request))
            return _loop().run(self._answer(request), context=copy_context())
        return _aside().submit(asyncio.run, self._answer(request)).result()

    async def _answer(self, request: httpx2.Request) -> httpx2.Response:
        _asked_here.set(True)
        answer = await self._app.handle_async_request(request)
        assert isinstance(answer.stream, httpx2.AsyncByteStream)
        body = b"".join([part async for part in answer.stream])
        return httpx2.Response(answer.status_code, headers=answer.headers, content=httpx2.ByteStream(body))


class Client(httpx2.Client):
    """Before the pages of `app`, which raises here whatever it does not handle. Nothing is dated in the background."""

    def __init__(
        self, app: Starlette, base_url: str = "http://testserver", cookies: dict[str, str] | None = None
    ) -> None:
        super().__init__(transport=_InThisThread(app), base_url=base_url, cookies=cookies, follow_redirects=True)
        self.app = app
