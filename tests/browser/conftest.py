"""A real browser (Chromium) before real pages, served from a thread.

Where there is no Chromium these tests fail: `sh .ci/test` installs it.
"""

from __future__ import annotations

import os
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from time import sleep
from typing import Any
from urllib.parse import urlsplit

import pytest
import uvicorn
from building import MadeBefore
from playwright.sync_api import Browser, BrowserContext, BrowserType, ConsoleMessage, Page, expect, sync_playwright
from starlette.types import ASGIApp

from kinphoto.archive import Archive
from kinphoto.scans import tiles
from kinphoto.web.app import make_app

BROWSERS = (
    "chromium-headless-shell",  # the same engine without windows, in a third of the processor's time
    "chromium", "chromium-browser", "google-chrome", "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
)  # fmt: skip
CHROMIUM = next(filter(None, map(shutil.which, BROWSERS)), "/usr/bin/chromium")
PATIENCE = 30_000
"""Milliseconds to wait for what is expected: other tests run on the same machine."""
expect.set_options(timeout=PATIENCE)
NEVER_FILLED = "Element.prototype.requestFullscreen = undefined"
"""For pages whose window is resized: one that fills the screen cannot be."""
SIZES = {"desk": (1440, 900), "small": (1024, 768), "phone": (390, 844)}


class Serving:
    """Pages served from a thread, and the address they are served under."""

    def __init__(self, app: ASGIApp) -> None:
        self._server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="warning"))
        self._thread = threading.Thread(target=self._server.run, daemon=True)
        self._thread.start()
        while not self._server.started:
            assert self._thread.is_alive(), "the pages did not start"
            sleep(0.005)  # asking without a pause would keep them from it
        self.address = f"http://127.0.0.1:{self._server.servers[0].sockets[0].getsockname()[1]}"

    def stop(self) -> None:
        """End, when what is being answered is."""
        self._server.should_exit = True
        self._thread.join(20)


class Served(Serving):
    """An archive with its pages."""

    def __init__(self, archive: Archive, *, open_to_house: bool = False) -> None:
        self.archive = archive
        super().__init__(make_app(archive, open_to_house=open_to_house))

    def stop(self) -> None:
        """The same, and let go of the archive."""
        super().stop()
        self.archive.engine.dispose()


@pytest.fixture(scope="session", autouse=True)
def made_before(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """What pages show of a scan is made once in a process."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tiles, "make", MadeBefore(tiles.make, tmp_path_factory.mktemp("shown")))
        yield


@pytest.fixture(scope="session")
def served(shared_sample: Archive) -> Iterator[Served]:
    """The pages of the sample, for tests that change nothing."""
    pages = Served(shared_sample)
    yield pages
    pages.stop()


@pytest.fixture
def own(own_sample: Archive) -> Iterator[Served]:
    """The pages of a copy of the sample, for a test that changes it."""
    pages = Served(own_sample)
    yield pages
    pages.stop()


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Served]:
    """The pages of a new archive with nothing in it."""
    pages = Served(Archive.create(tmp_path / "family"))
    yield pages
    pages.stop()


CHEAPER = (
    "--renderer-process-limit=1",  # a new tab does not start a process of its own where one of the same site is open
    "--default-tile-width=1536", "--default-tile-height=512",  # pages are painted in few pieces, not in many
)  # fmt: skip


def launched(kind: BrowserType, *flags: str) -> Browser:
    """Chromium, started with these flags."""
    sandbox = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    return kind.launch(executable_path=CHROMIUM, args=[*CHEAPER, *flags, *sandbox])


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """The browser, started once. Playwright runs once in a process, so that another browser is `launched` from this
    one's `browser_type`."""
    with sync_playwright() as playwright:
        browser = launched(playwright.chromium)
        yield browser
        browser.close()


def _of(size: str) -> dict[str, Any]:
    """What a browser of this size is, in Playwright's words."""
    width, height = SIZES[size]
    touch = size == "phone"
    return {"viewport": {"width": width, "height": height}, "has_touch": touch, "is_mobile": touch}


class Kept:
    """One browser of each kind for one test after another: a new one, in which everything has to be made ready again,
    takes three times as long as to show a page. Each test has a tab of its own, and nothing stays of it but what the
    browser has fetched; a tab on an empty page of the same site keeps the process for the next."""

    def __init__(self, chromium: Browser) -> None:
        self._chromium = chromium
        self._empty: list[tuple[dict[str, Any], Page]] = []
        self._taken: list[Page] = []

    def context(self, options: dict[str, Any]) -> BrowserContext:
        """A browser with these options that nobody else has."""
        empty = next((tab for kind, tab in self._empty if kind == options and tab not in self._taken), None)
        if empty is None:
            empty = self._chromium.new_context(**options).new_page()
            empty.route("**", lambda route: route.fulfill(body=""))
            empty.goto("http://127.0.0.1/")
            empty.unroute_all()
            self._empty.append((options, empty))
        self._taken.append(empty)
        return empty.context

    def give_back(self) -> None:
        """Leave all that were taken as they came."""
        while self._taken:
            self._forget(self._taken.pop())

    def _forget(self, empty: Page) -> None:
        """Close the other tabs, and forget what pages have the browser remember: cookies, and what scripts put down."""
        tabs = [tab for tab in empty.context.pages if tab != empty]
        places = {urlsplit(tab.url)[:2] for tab in tabs}
        for tab in tabs:
            tab.close()
        empty.context.clear_cookies()
        memory = empty.context.new_cdp_session(empty)
        for scheme, place in places:
            if scheme == "http":
                everything = {"origin": f"{scheme}://{place}", "storageTypes": "local_storage"}
                memory.send("Storage.clearDataForOrigin", everything)
        memory.detach()

    def close(self) -> None:
        """Close them all."""
        for _, empty in self._empty:
            empty.context.close()


@pytest.fixture(scope="session")
def kept(chromium: Browser) -> Iterator[Kept]:
    """The browsers that one test leaves to the next."""
    browsers = Kept(chromium)
    yield browsers
    browsers.close()


class Opened:
    """Browsers of one's own, and what their consoles say against us."""

    def __init__(self, chromium: Browser, kept: Kept | None = None) -> None:
        """Where there are some that are `kept`, they are taken."""
        self._chromium, self._kept = chromium, kept
        self._contexts: list[BrowserContext] = []
        self.complaints: list[str] = []

    def __call__(self, size: str = "desk", *, missing: bool = False, new: bool = False, **options: Any) -> Page:
        """A page of this size. That something is not there is no complaint where it is `missing` on purpose. The
        browser is a `new` one where one that has fetched something before would not do, or what the test does to it
        would stay."""
        kind = {**_of(size), **options}
        if self._kept and not new:
            one = self._kept.context(kind)
        else:
            one = self._chromium.new_context(**kind)
            self._contexts.append(one)
        page = one.new_page()
        page.on("pageerror", lambda problem: self.complaints.append(str(problem)))
        if not missing:
            page.on("console", self._listen)
        page.set_default_timeout(PATIENCE)
        return page

    def _listen(self, said: ConsoleMessage) -> None:
        if said.type in ("error", "warning"):
            self.complaints.append(said.text)

    def close(self) -> None:
        """Close them all."""
        for one in self._contexts:
            one.close()
        if self._kept:
            self._kept.give_back()


@pytest.fixture
def context(chromium: Browser, kept: Kept) -> Iterator[Opened]:
    """Makes a browser of one's own: `context("phone", java_script_enabled=False)`. What its console says against us is
    a failure, unless something is `missing` on purpose."""
    opened = Opened(chromium, kept)
    yield opened
    opened.close()
    assert opened.complaints == []


UNFOLD = """() => document.querySelectorAll("details:not([open])").forEach((one) => {
  one.open = true;
  one.dataset.unfolded = "";
})"""
FOLD = """() => document.querySelectorAll("[data-unfolded]").forEach((one) => {
  one.open = false;
  delete one.dataset.unfolded;
})"""


class OneAfterTheOther:
    """A browser of one size for all pages: in a new one styles, scripts and axe have to be made ready again, which
    takes as long as to look at a page. Each is shown as to whoever comes for the first time."""

    def __init__(self, chromium: Browser, size: str) -> None:
        self._opened, self._size = Opened(chromium), size
        self._page = self._opened(size)
        self._page.add_init_script(NEVER_FILLED)

    def shown(self, address: str, *, missing: bool = False) -> Page:
        """The page at an address as it comes."""
        self._opened.complaints.clear()
        self._missing = missing
        self._page.context.clear_cookies()
        self.as_it_was()
        self._page.goto(address)
        return self._page

    def as_it_was(self) -> None:
        """The window as large as at first, on a light screen, and folded what `unfold` has opened."""
        width, height = SIZES[self._size]
        self._page.set_viewport_size({"width": width, "height": height})
        self._page.emulate_media(media="screen", color_scheme="light", reduced_motion="no-preference")
        self._page.evaluate(FOLD)

    def unfold(self) -> None:
        """Open everything that is folded."""
        self._page.evaluate(UNFOLD)

    def complaints(self) -> list[str]:
        """What the console says against this page; not that it is missing, where it is so on purpose."""
        said = self._opened.complaints
        return [one for one in said if not (self._missing and one.startswith("Failed to load resource"))]

    def close(self) -> None:
        """Close it."""
        self._opened.close()


@pytest.fixture(scope="session")
def desk(chromium: Browser) -> Iterator[OneAfterTheOther]:
    """The browser of a computer."""
    browser = OneAfterTheOther(chromium, "desk")
    yield browser
    browser.close()


@pytest.fixture(scope="session")
def phone(chromium: Browser) -> Iterator[OneAfterTheOther]:
    """The browser of a phone."""
    browser = OneAfterTheOther(chromium, "phone")
    yield browser
    browser.close()
