"""Takes the pictures of the pages in docs/images: the sample, served, before a real browser.

Run `python docs/make_screenshots.py [NAME ...]` after changing how a page looks; it needs what the tests need. The
archive's clock stands still while the sample is built, so that a picture changes only when a page does.
"""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from unittest.mock import patch

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from kinphoto.archive import sample

IMAGES = Path(__file__).with_name("images")
LARGEST = 150_000
"""Bytes of one picture."""
THAT_EVENING = "2026-01-31T19:30:00+00:00"
WHO_LOOKS = "I68"
"""From whose point of view relationships are given: the one who scanned the box."""
PASSWORD = "only-for-the-picture"
BROWSERS = (
    "chromium", "chromium-browser", "google-chrome", "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
)  # fmt: skip


def offers_open(page: Page) -> None:
    """An age is typed, and two letters of a name."""
    page.keyboard.press("Escape")
    page.keyboard.press("3")
    page.keyboard.type("9")
    page.keyboard.press("Enter")
    page.keyboard.type("ma")
    page.locator("#offers [role=option]").nth(2).wait_for()


def face_begun(page: Page) -> None:
    """The sheet is closed, and a frame is begun."""
    page.get_by_role("button", name="Turn the view").wait_for()
    page.get_by_role("button", name="Close").tap()
    page.locator("#frame").tap()
    page.get_by_text("Tap a face").wait_for()


def words_typed(page: Page) -> None:
    """A line with a date that has one meaning, and one that has two."""
    page.locator("#read-text").fill("Pellering, Pfingsten 1905. Young Ambrose at the rope, 12/8/1905")
    page.get_by_text("8 December 1905").wait_for()


def one_switched_off(page: Page) -> None:
    """The postmark is switched off for a look."""
    page.locator("[data-switch]", has_text="Postmarked").locator(".dot").click()
    page.get_by_text("1 statement is switched off").wait_for()


def year_saved(page: Page) -> None:
    """A year is saved, and what it did is shown. This changes the archive, so it comes last."""
    page.get_by_text("Add words on it").click()
    page.get_by_label("Date or event").fill("1877")
    page.locator("#marks").get_by_label("Who told us").first.fill("Judith Quillern")
    page.locator("#marks").get_by_role("button", name="Save").first.click()
    page.locator(".did").wait_for()
    page.wait_for_timeout(8000)  # until the line at the foot is gone


def screen_filled(page: Page) -> None:
    """The photograph fills the screen, with a name at one of its faces."""
    page.keyboard.press("l")
    page.get_by_text("1 of").or_(page.locator(".look-note")).first.wait_for()
    page.wait_for_timeout(1200)
    box = page.locator(".look-picture").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] * 0.345, box["y"] + box["height"] * 0.28, steps=3)
    page.wait_for_timeout(600)


def laid_on_the_table(page: Page) -> None:
    """Three photographs are chosen in a box and laid side by side, their faces at the same size."""
    page.get_by_role("button", name="Choose photographs").click()
    for code in ("K00009", "K00011", "K00013"):
        page.locator(f"[data-code={code}] a").click()
    page.get_by_role("button", name="Lay on the table").click()
    for code in ("K00009", "K00011", "K00013"):
        page.get_by_label(f"Select {code}").check()
    page.get_by_role("button", name="Side by side").click()
    page.get_by_role("button", name="Faces at the same size").click()
    page.wait_for_timeout(1500)


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture: the page, what is done on it first, how wide it is, and how much of it is taken (None: all)."""

    path: str
    height: int | None = None
    done: Callable[[Page], None] | None = None
    width: int = 1440
    dark: bool = False
    part: str | None = None
    lan: bool = False
    nowhere: bool = False
    """Before there is an archive."""


SHOTS = {
    "begin": Shot("/", 700, nowhere=True),
    "first": Shot("/", 900),
    "look": Shot("/photograph/K00003", 900, screen_filled),
    "decade": Shot("/years/1920", 900),
    "boxes": Shot("/boxes", 860),
    "box": Shot("/box/9", 900),
    "table": Shot("/box/9", 900, laid_on_the_table),
    "photograph": Shot("/photograph/K00009", 1130),
    "naming": Shot("/photograph/K00016?naming=1", 900, offers_open),
    "reading": Shot("/photograph/K00009/back", 1000, words_typed),
    "strip": Shot("/photograph/K00009", part="#when"),
    "strip-without": Shot("/photograph/K00009", part="#when", done=one_switched_off),
    "disputed": Shot("/photograph/K00023", part="#when"),
    "conflict": Shot("/conflicts/CVFFIE3", 1150),
    "conflicts": Shot("/conflicts", 1000),
    "kinship": Shot("/kinship?one=I68&other=I13", 760),
    "person": Shot("/person/I24", 1900),
    "people": Shot("/people?name=quillern", 700),
    "search": Shot("/search?q=clemence+1900-1935", 600),
    "informants": Shot("/informants", 640),
    "log": Shot("/log", 700),
    "bring-in": Shot("/bring-in", 620),
    "sign-in": Shot("/sign-in", 500, lan=True),
    "questions": Shot("/questions?of=Judith+Quillern", 900),
    "wide-first": Shot("/", 1440, width=2560),
    "wide-questions": Shot("/questions?of=Judith+Quillern", 1440, width=2560),
    "phone-first": Shot("/", 844, width=390),
    "phone-naming": Shot("/photograph/K00016?naming=1", 900, offers_open, width=390),
    "phone-questions": Shot("/questions?of=Judith+Quillern", 844, width=390),
    "phone-framing": Shot("/photograph/K00016?naming=1", 844, face_begun, width=390),
    "phone-person": Shot("/person/I24", 1300, width=390),
    "phone-when": Shot("/photograph/K00009", 2400, part="#when", done=one_switched_off, width=390),
    "dark": Shot("/photograph/K00009", 1130, dark=True),
    "answer": Shot("/photograph/K00018", 420, done=year_saved, part="#marks"),
}


def main(wanted: list[str]) -> None:
    """Take the pictures of these names, or all."""
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary, "Quillern photographs")
        with patch("kinphoto.store.session.now", lambda: THAT_EVENING):
            built = sample.build(folder).archive
            built.people.choose_proband(WHO_LOOKS)
            built.dates.refresh()
        built.engine.dispose()
        with sync_playwright() as playwright:
            chromium = next(filter(None, map(shutil.which, BROWSERS)), None)
            root = hasattr(os, "geteuid") and os.geteuid() == 0
            browser = playwright.chromium.launch(
                executable_path=chromium, args=["--no-sandbox", "--hide-scrollbars"] if root else ["--hide-scrollbars"]
            )
            for lan, nowhere in ((False, True), (False, False), (True, False)):
                with served(Path(temporary) if nowhere else folder, lan, nowhere) as address:
                    for name, shot in SHOTS.items():
                        if (shot.lan, shot.nowhere) == (lan, nowhere) and (not wanted or name in wanted):
                            save(IMAGES / f"page-{name}.webp", taken(browser, address, shot, temporary))


@contextmanager
def served(folder: Path, lan: bool, nowhere: bool) -> Iterator[str]:
    """The pages of an archive, as whoever types `kinphoto serve` gets them, or of a folder that holds none (`nowhere`);
    gives their address."""
    words = [Path(sys.executable).with_name("kinphoto"), "serve", "--port", "0"]
    if nowhere:
        folder = folder / "nowhere"
        folder.mkdir()
    else:
        words += ["--archive", folder]
    process = subprocess.Popen(
        [*words, "--lan"] if lan else words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, cwd=folder,
        env={**os.environ, "KINPHOTO_PASSWORD": PASSWORD, "HOME": "/home/judith"},
    )  # fmt: skip
    assert process.stdout is not None
    try:
        port = re.search(r":(\d+)/", process.stdout.readline())
        assert port is not None, "the pages did not start"
        yield f"http://127.0.0.1:{port[1]}"
    finally:
        process.terminate()
        process.wait(20)


def taken(browser: Browser, address: str, shot: Shot, temporary: str) -> Image.Image:
    """The picture of a page; of a phone only its window, since a picture of all of it knows no fingers."""
    phone = shot.width < 600
    high = (shot.height or 900) if phone or shot.width > 2000 else 900
    context = browser.new_context(
        viewport={"width": shot.width, "height": high}, is_mobile=phone, has_touch=phone,
        color_scheme="dark" if shot.dark else "light", reduced_motion="reduce",
    )  # fmt: skip
    page = context.new_page()
    page.goto(address + shot.path)
    page.evaluate(ALL_PICTURES)
    page.wait_for_load_state("networkidle")
    if shot.done:
        shot.done(page)
    for folder in (f"{temporary}/nowhere", temporary):
        page.evaluate(HIDE_WHERE, folder)
    drawn = page.locator(shot.part).screenshot() if shot.part else page.screenshot(full_page=not phone)
    context.close()
    picture = Image.open(io.BytesIO(drawn)).convert("RGB")
    return picture.crop((0, 0, picture.width, min(shot.height or picture.height, picture.height)))


ALL_PICTURES = """() => Promise.all([...document.images].map((one) => {
  one.loading = "eager";
  return one.decode().catch(() => {});
}))"""
HIDE_WHERE = """(folder) => {
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) walker.currentNode.data = walker.currentNode.data.replaceAll(folder, "/home/judith");
  for (const one of document.querySelectorAll("[name=where]")) one.value = "/home/judith";
  for (const one of document.querySelectorAll(".result")) one.style.position = "static";
}"""
"""Where this machine keeps what is temporary is nobody's business; nothing stays in view on a picture of all of a
page."""


def save(path: Path, picture: Image.Image) -> None:
    """Write it, as good as it can be without being too large."""
    for quality in range(90, 30, -6):
        data = io.BytesIO()
        picture.save(data, "WEBP", quality=quality, method=6)
        if data.tell() <= LARGEST:
            break
    path.write_bytes(data.getvalue())
    print(f"{path.name}: {picture.width} × {picture.height}, {data.tell() // 1000} kB")


if __name__ == "__main__":
    main(sys.argv[1:])
