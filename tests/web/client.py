"""Asks the pages without a server, in the thread of the test.

The client that comes with Starlette starts a thread and an event loop for each question and hands every part of the
answer from one to the other, which takes longer than most of our pages do.
"""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor

import httpx2
from starlette.applications import Starlette


class _InThisThread(httpx2.BaseTransport):
    """Carries a question through the whole of the program, as a server would, and waits for the end of the answer."""

    def __init__(self, app: Starlette) -> None:
        self._app = httpx2.ASGITransport(app, client=("127.0.0.1", 50_000))

    def handle_request(self, request: httpx2.Request) -> httpx2.Response:
        request.read()
        try:
            asyncio.get_running_loop()
        except RuntimeError:
            return asyncio.run(self._answer(request))
        with ThreadPoolExecutor(1) as aside:  # a browser was started in this process before, and its loop never rests
            return aside.submit(asyncio.run, self._answer(request)).result()

    async def _answer(self, request: httpx2.Request) -> httpx2.Response:
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
