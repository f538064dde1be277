"""The pages where there is no archive yet: one page until one is made or opened, and from then on its pages, without
starting anything again."""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import AsyncIterator, Callable
from contextlib import AsyncExitStack, asynccontextmanager
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import ClientDisconnect, Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route
from starlette.types import Receive, Scope, Send

from kinphoto.errors import InvalidValueError
from kinphoto.web.access import Access, Credentials
from kinphoto.web.app import THIS_MACHINE, make_app
from kinphoto.web.forms import LARGEST_OF_ANYBODY, TOKEN, Form, read
from kinphoto.web.guard import Guard
from kinphoto.web.jobs import Jobs
from kinphoto.web.pages import beginning, bring_in, static, view
from kinphoto.web.render import get_route

if TYPE_CHECKING:
    from kinphoto.archive import Archive

ADDRESS = "/begin"


class Beginning:
    """The application until there is an archive, and the pages of that archive afterwards. `here` is the folder that it
    was started in; `opened` is called with the archive."""

    def __init__(self, here: Path, opened: Callable[[Archive], None] = lambda archive: None) -> None:
        self._opened = opened
        self._pages: Starlette | None = None
        self._running = AsyncExitStack()
        self._one_at_a_time = asyncio.Lock()
        self._app = Starlette(
            lifespan=self._lifespan,
            routes=[
                Route("/", self._ask), Route(ADDRESS, self._begin, methods=["GET", "POST"]),
                get_route("/bring-in/progress", bring_in.progress), *view.routes,
                *static.routes, Route("/{path:path}", self._to_the_page),
            ],
            middleware=[Middleware(Guard, hosts=THIS_MACHINE)],
        )  # fmt: skip
        self._app.state.here = here
        self._app.state.jobs = Jobs()
        self._app.state.made_again = None
        self._app.state.access = Access(Credentials(secrets.token_urlsafe(32)))
        self._app.state.upkeep = SimpleNamespace(noticed=lambda: None)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the page answer, or the pages of the archive; one that was left open somewhere leads to these."""
        pages = self._pages
        if pages is None or scope["type"] == "lifespan" or scope["path"] == ADDRESS:
            await self._app(scope, receive, send)
        else:
            await pages(scope, receive, send)

    @asynccontextmanager
    async def _lifespan(self, _: Starlette) -> AsyncIterator[None]:
        async with self._running:
            yield

    async def _ask(self, request: Request) -> Response:
        return await run_in_threadpool(beginning.ask, request)

    async def _to_the_page(self, request: Request) -> Response:
        return RedirectResponse("/", 303)

    async def _begin(self, request: Request) -> Response:
        if request.method != "POST":
            return RedirectResponse("/", 303)
        try:
            form = await read(request, LARGEST_OF_ANYBODY)
        except (ClientDisconnect, TimeoutError, ValueError):
            form = Form([])
        async with self._one_at_a_time:
            if self._pages is not None:
                return RedirectResponse("/", 303)
            access: Access = self._app.state.access
            if access.accepts_token(access.visitor(request), form.get(TOKEN, "")):
                made = await run_in_threadpool(beginning.carry_out, form, self._app.state.here, self._app.state.jobs)
            else:
                stale = "this page was open for longer than kinphoto runs"
                made = beginning.RefusedField("name", InvalidValueError(stale, remedy="Press it once more."))
            if isinstance(made, beginning.RefusedField):
                return await run_in_threadpool(beginning.ask, request, form, made)
            if isinstance(made, Path):
                self._app.state.made_again = made
                return RedirectResponse("/", 303)
            pages = make_app(made)
            await self._running.enter_async_context(pages.router.lifespan_context(pages))
            self._pages = pages
        self._opened(made)
        return RedirectResponse("/", 303)
