"""A first evening lived in the pages only, from an empty folder to twenty named photographs, as an aunt lives it: by
mouse and keyboard, with slips, dates and names as people say them, and nowhere a word of the command line.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from kinphoto.archive import Archive
from kinphoto.archive.sample import source
from kinphoto.web.begin import Beginning
from kinphoto.web.remedies import PLACES

from .axe import violations
from .conftest import Serving
from .test_valid import fetched, findings, keep

SAMPLE = source()
TWENTY = 20
COMMAND = re.compile(rf"kinphoto (?:{'|'.join(PLACES)})\b|\s--[a-z]|\bcommands?\b|\bterminal\b|\bshell\b|`")
"""What no page may say: a command by its name, an option, or that there is such a thing."""

KEEP_WHAT_IS_SAID = """addEventListener("DOMContentLoaded", () => {
  sessionStorage.setItem(`said ${performance.timeOrigin} ${location.pathname}`, document.body.textContent);
})"""


@dataclass(frozen=True, slots=True)
class Face:
    """Somebody who is named in the sample: on which scan, where, and who it is."""

    scan: Path
    box: tuple[float, float, float, float]
    person: str
    name: str


def faces() -> list[Face]:
    """The first face of each of twenty of the sample's photographs, by the names that its family gave."""
    tree = (SAMPLE / "family.ged").read_text(encoding="utf-8")
    names = {
        code: name.replace("/", "").strip()
        for code, name in re.findall(r"0 @(I\d+)@ INDI\n(?:\d (?!NAME).*\n)*1 NAME (.*)", tree)
    }
    first: dict[str, Face] = {}
    with (SAMPLE / "links.csv").open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            if row["person"] in names and row["left"] and row["photo"] not in first:
                left, top, width, height = (float(row[side]) for side in ("left", "top", "width", "height"))
                first[row["photo"]] = Face(
                    SAMPLE / "scans" / row["photo"], (left, top, width, height), row["person"], names[row["person"]]
                )
    return [face for face in first.values() if face.scan.suffix == ".jpg"][:TWENTY]


class Begun(Serving):
    """The pages started in a folder without an archive."""

    def __init__(self, here: Path) -> None:
        self.archive: list[Archive] = []
        super().__init__(Beginning(here, self.archive.append))


@pytest.fixture
def begun(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Begun]:
    """The pages, started in an empty home folder."""
    monkeypatch.setenv("HOME", str(tmp_path))
    pages = Begun(tmp_path)
    yield pages
    pages.stop()


def plain(page: Page) -> None:
    """Nothing on the page is of the command line, whether it is seen or folded away."""
    found = COMMAND.search(page.locator("body").text_content() or "")
    assert found is None, f"{page.url}: {found[0] if found else ''}"


def test_an_evening_from_nothing_to_twenty_named_photographs(begun: Begun, tmp_path: Path, context: Any) -> None:
    """Make the archive, add scans and the tree, name somebody in twenty photographs, date one, put a slip right."""
    page: Page = context(missing=True)
    page.add_init_script(KEEP_WHAT_IS_SAID)
    twenty = faces()
    assert len(twenty) == TWENTY
    make_the_archive(page, begun, tmp_path)
    add_scans_and_tree(page, [face.scan for face in twenty])
    archive = begun.archive[0]
    codes = {Path(scan.path).name: one.code for one in all_photographs(archive) for scan in one.scans}

    page.get_by_role("link", name="I might know").click()
    page.wait_for_url("**naming=1**")
    for number, face in enumerate(twenty):
        code = codes[face.scan.name]
        if not page.url.partition("?")[0].endswith(code):
            go_to(page, archive.folder.name, code)
        frame(page, face, by_mouse=number % 2 == 0)
        name(page, face, slip=number in (0, 7))
        plain(page)
    named = {
        code: {one.person for each in archive.photographs.faces(code).faces for one in each.names}
        for code in codes.values()
    }
    assert {code for code, people in named.items() if people} >= set(codes.values())
    assert all(face.person in named[codes[face.scan.name]] for face in twenty)

    say_when(page, begun, codes[twenty[3].scan.name])
    put_right(page, begun, archive, codes[twenty[4].scan.name])
    page.goto(begun.address)
    expect(page.get_by_text("20 photographs from 20 scans")).to_be_visible()
    figures = page.locator(".figures > div", has_text=re.compile("^with a name"))
    expect(figures.locator("dd")).to_have_text("20")
    plain(page)
    pages = page.evaluate("Object.entries(sessionStorage).filter(([key]) => key.startsWith('said '))")
    assert len(pages) > 2 * TWENTY, "every page on the way was kept"
    assert [(where, found[0]) for where, said in pages if (found := COMMAND.search(said))] == []


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_the_pages_before_the_first_name_are_accessible(begun: Begun, tmp_path: Path, context: Any, size: str) -> None:
    """Before there is an archive, after something was refused, and with the first step done: axe finds nothing, and at
    320 pixels nothing has to be pushed sideways (WCAG 1.4.10)."""
    page: Page = context(size, missing=True)
    page.goto(begun.address)
    assert violations(page) == []
    page.get_by_label("The family's name").fill("Marsh/Quillern")
    page.get_by_role("button", name="Make the archive").click()
    expect(page.locator("#problem")).to_contain_text("because of /")
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true })")
    assert violations(page) == []
    for colours in ("dark", "light"):
        page.emulate_media(color_scheme=colours, reduced_motion="reduce")
        assert violations(page) == []
    checked = {"begin": page.content().encode(), "empty": fetched(begun.address)}
    page.set_viewport_size({"width": 320, "height": 640})
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    page.get_by_label("The family's name").fill("Quillern")
    page.get_by_role("button", name="Make the archive").click()
    page.set_input_files("input[name=scans]", faces()[0].scan)
    page.get_by_role("button", name="Add them").click()
    expect(page.get_by_role("heading", name="Done: reading the pictures")).to_be_visible()
    page.get_by_role("link", name="Go on").click()
    expect(page.get_by_role("heading", name="3. Name the first face")).to_be_visible()
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    keep(tmp_path / "checked", checked | {"steps": fetched(begun.address)})
    assert findings(tmp_path / "checked") == []


def all_photographs(archive: Archive) -> list[Any]:
    """Every photograph with its scans."""
    return [archive.photographs.details(one.code) for one in archive.dates.estimates()]


def make_the_archive(page: Page, begun: Begun, home: Path) -> None:
    """A folder misspelled first, then the one that was meant."""
    (home / "Pictures").mkdir()
    page.goto(begun.address)
    page.get_by_label("The family's name").fill("Quillern family")
    page.get_by_label("The folder on this computer to keep it in").fill(str(home / "Pictrues"))
    page.keyboard.press("Enter")
    expect(page.locator("#problem")).to_contain_text("Did you mean Pictures?")
    expect(page.get_by_label("The family's name")).to_have_value("Quillern family")
    page.get_by_label("The folder on this computer to keep it in").fill(str(home / "Pictures"))
    page.get_by_role("button", name="Make the archive").click()
    expect(page.get_by_role("heading", name="1. Add some scans")).to_be_visible()
    assert (home / "Pictures" / "Quillern family" / "kinphoto.db").is_file()


def add_scans_and_tree(page: Page, scans: list[Path]) -> None:
    """The first two steps, each with its control in place, and *Go on* after each."""
    page.set_input_files("input[name=scans]", scans)
    page.get_by_label("Box").fill("Oma Grete's box")
    page.get_by_role("button", name="Add them").click()
    expect(page.get_by_role("heading", name="Done: reading the pictures")).to_be_visible()
    plain(page)
    page.get_by_role("link", name="Go on").click()
    expect(page.get_by_role("heading", name="1. Add some scans: done")).to_be_visible()
    page.set_input_files("input[name=tree]", SAMPLE / "family.ged")
    page.get_by_role("button", name="Import the tree").click()
    expect(page.get_by_role("heading", name="Done: importing the tree")).to_be_visible()
    plain(page)
    page.get_by_role("link", name="Go on").click()
    expect(page.get_by_role("heading", name="2. Add your family tree: done")).to_be_visible()


def go_to(page: Page, archive_name: str, code: str) -> None:
    """From wherever one is through the box to a photograph, and to naming."""
    page.get_by_role("link", name="Boxes").first.click()
    page.get_by_role("link", name="Oma Grete's box").click()
    page.locator(f"[data-code={code}] a").first.click()
    page.wait_for_url(f"**/photograph/{code}*")
    page.keyboard.press("n")
    page.wait_for_url(f"**/photograph/{code}?naming=1*")


def frame(page: Page, face: Face, *, by_mouse: bool) -> None:
    """Put a frame on a face: dragged, or with the keys in the part of the picture where it is."""
    left, top, width, height = face.box
    page.get_by_role("button", name="Turn the view").wait_for()
    page.keyboard.press("Escape")
    if by_mouse:
        page.get_by_role("button", name="Frame a face").click()
        box = page.locator(".looking").bounding_box()
        assert box is not None
        page.mouse.move(box["x"] + box["width"] * left, box["y"] + box["height"] * top)
        page.mouse.down()
        page.mouse.move(box["x"] + box["width"] * (left + width), box["y"] + box["height"] * (top + height), steps=4)
        page.mouse.up()
    else:
        page.keyboard.press("f")
        across, down = (min(int(3 * middle), 2) for middle in (left + width / 2, top + height / 2))
        page.keyboard.press(str(1 + across + 3 * down))
        page.keyboard.press("Enter")
    expect(page.locator("#naming [name=age]")).to_be_focused()


def name(page: Page, face: Face, *, slip: bool) -> None:
    """Say how old they look and who it is; with a slip, the letters of two are exchanged."""
    page.keyboard.type("about 30")
    page.keyboard.press("Enter")
    typed = face.name
    if slip:
        typed = typed[:3] + typed[4] + typed[3] + typed[5:]
    page.keyboard.type(typed)
    option = page.locator(f"#offers [data-person={face.person}]")
    expect(option).to_be_visible()
    option.click()
    expect(page.locator("#who .faces")).to_contain_text(face.name)


def say_when(page: Page, begun: Begun, code: str) -> None:
    """What is written on it, with a date that can mean two days, and then one as people say it."""
    page.goto(f"{begun.address}/photograph/{code}")
    page.get_by_text("Add words on it").click()
    page.get_by_label("Date or event").fill("12/8/1910")
    save = page.locator("#marks").get_by_role("button", name="Save").first
    save.click()
    expect(page.locator(".problem")).to_contain_text("could be")
    plain(page)
    page.get_by_label("Date or event").fill("about 1910")
    page.locator("#marks").get_by_label("Who told us").first.fill("Oma Grete")
    save.click()
    expect(page.locator("#marks")).to_contain_text("says Oma Grete")
    plain(page)


def put_right(page: Page, begun: Begun, archive: Archive, code: str) -> None:
    """A wrong name is taken off, and who it is after all is somebody who is not in the tree: Tante Edda."""
    page.goto(f"{begun.address}/photograph/{code}")
    before = archive.photographs.faces(code).faces[0]
    face = page.locator(f"[data-face={before.region}]")
    face.locator("summary").first.click()
    face.get_by_role("button", name="Remove the name, keep the face").click()
    expect(face).to_contain_text("not named yet")
    face.locator("a.number").click()
    page.keyboard.press("Enter")  # the age stays
    page.keyboard.type("Tante Edda Vossholt")
    page.locator("#offers [data-newcomer='Tante Edda Vossholt']").click()
    expect(page.locator("#who .faces")).to_contain_text("Tante Edda Vossholt")
    plain(page)
