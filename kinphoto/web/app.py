"""Puts the pages together: every route, and what surrounds them."""

from __future__ import annotations

from collections.abc import AsyncIterator, Collection
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response

from kinphoto.archive.dates.background import BackgroundRefresh
from kinphoto.archive.keeping.background import Upkeep
from kinphoto.errors import KinphotoError, NotFoundError
from kinphoto.web.access import Access, Credentials
from kinphoto.web.done import DoneByVisitors
from kinphoto.web.guard import Guard
from kinphoto.web.jobs import Jobs
from kinphoto.web.made import MadeFiles
from kinphoto.web.pages import (
    boxes,
    bring_in,
    changes,
    conflicts,
    cut,
    faces,
    first,
    give,
    hindsight,
    informants,
    inside,
    keep,
    kinship,
    look,
    names,
    pairs,
    people,
    person,
    photograph,
    progress,
    pulse,
    questions,
    reading,
    scan_checks,
    scanning,
    scans,
    search,
    several,
    sign_in,
    static,
    stories,
    straighten,
    table,
    tree_check,
    view,
    years,
)
from kinphoto.web.passwords import SignInAttempts
from kinphoto.web.render import refused
from kinphoto.web.scanner import Scanner
from kinphoto.web.seen import SeenByVisitors

if TYPE_CHECKING:
    from kinphoto.archive import Archive

PAGES = (
    first,
    boxes,
    photograph,
    reading,
    years,
    people,
    person,
    kinship,
    search,
    several,
    table,
    look,
    view,
    bring_in,
    scanning,
    names,
    inside,
    pairs,
    cut,
    progress,
    scan_checks,
    faces,
    questions,
    conflicts,
    informants,
    stories,
    straighten,
    give,
    keep,
    tree_check,
    hindsight,
    changes,
    sign_in,
    scans,
    pulse,
    static,
)
"""The modules whose `routes` are served."""
LARGE = ("/bring-in/tree", "/bring-in/sheet", "/bring-in/scans", "/stories/new")
"""The forms with files."""
THIS_MACHINE = ("127.0.0.1", "localhost", "[::1]")


def make_app(archive: Archive, hosts: Collection[str] = THIS_MACHINE, *, open_to_house: bool = False) -> Starlette:
    """The pages of an archive. `hosts` are the names under which they may be asked for; `open_to_house` says that
    others than the keeper can reach them, so that one has to sign in."""
    refresh, jobs, upkeep = BackgroundRefresh(archive), Jobs(), Upkeep(archive.engine)
    scanner, made = Scanner(archive, refresh.poke), MadeFiles()

    @asynccontextmanager
    async def running(_: Starlette) -> AsyncIterator[None]:
        refresh.start()
        upkeep.start()
        yield
        await run_in_threadpool(upkeep.stop)
        await run_in_threadpool(jobs.stop)
        await run_in_threadpool(jobs.finish)
        await run_in_threadpool(made.remove)
        await run_in_threadpool(scanner.stop)
        await run_in_threadpool(refresh.stop)
        await run_in_threadpool(archive.close)  # here, as the server may end with the signal that stopped it

    app = Starlette(
        lifespan=running,
        routes=[route for module in PAGES for route in module.routes],
        middleware=[Middleware(Guard, hosts=hosts, large=LARGE)],
        exception_handlers={KinphotoError: _refused, HTTPException: _not_there},
    )
    app.state.archive = archive
    app.state.seen = SeenByVisitors()
    app.state.done = DoneByVisitors()
    app.state.jobs = jobs
    app.state.scanner = scanner
    app.state.overviews = {}
    app.state.made = made
    app.state.refresh = refresh
    app.state.upkeep = upkeep
    app.state.attempts = SignInAttempts()
    app.state.access = Access(Credentials.of(archive.folder), open_to_house)
    return app


async def _refused(request: Request, problem: Exception) -> Response:
    assert isinstance(problem, KinphotoError)  # the only kind this is registered for
    return await run_in_threadpool(refused, request, problem)


async def _not_there(request: Request, problem: Exception) -> Response:
    assert isinstance(problem, HTTPException)
    if problem.status_code != 404:
        return Response(f"{problem.detail}\n", problem.status_code, media_type="text/plain")
    missing = NotFoundError("there is no such page", where=request.url.path, remedy="Check the address.")
    return await run_in_threadpool(refused, request, missing)
