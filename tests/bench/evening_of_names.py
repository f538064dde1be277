"""An evening of naming twenty photographs without and with the search for faces: keys and seconds.

    python tests/bench/evening_of_names.py [FOLDER]

Ten of the sample's drawn photographs and ten of real people: the nine of dlib's examples in FOLDER (`apt-get source
dlib`: examples/faces, with boxes by its authors) and scikit-image's astronaut twice side by side; without FOLDER ten of
these. Every face gets an age and a name. Chromium is driven by Playwright: without the search each face is framed with
the mouse; with it the frames are there, wrong ones are refused, and those that were missed are framed.

Seconds are those of the keystroke-level model (Card, Moran and Newell 1980; times from memory): K 0.28 s a key of an
average typist, P 1.1 s to point, B 0.1 s to press or let go of a button, H 0.4 s from keys to mouse or back, M 1.35 s
to think before each name and each age. They leave out looking and remembering, which take the longest and are the same
in both.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))
sys.path.insert(0, str(Path(__file__).parents[1]))
import portraits
from browser.conftest import Served, launched
from PIL import Image
from playwright.sync_api import Page, expect, sync_playwright
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.regions import overlap
from kinphoto.archive.sample import build
from kinphoto.store import tables as t

K, P, B, H, M = 0.28, 1.1, 0.1, 0.4, 1.35
Box = tuple[float, float, float, float]
NAMES = ("Ada Marsh", "Bertha Holm", "Cora Vane", "Dora Pell", "Elsa Quint", "Frieda Rook", "Greta Sand", "Hilda Tarn",
         "Ida Usk", "Jutta Venn", "Klara Wick", "Lena Yarrow")  # fmt: skip
MATCH = 0.3
"""Overlap from which a frame on offer is taken to be of a face."""


@dataclass
class Tally:
    """What was pressed and what it takes by the model."""

    faces: int = 0
    keys: int = 0
    mouse: int = 0
    refused: int = 0
    seconds: float = 0.0
    by_photograph: dict[str, int] = field(default_factory=dict)

    def pressed(self, keys: int, thoughts: int = 0) -> None:
        """So many keys after so many thoughts."""
        self.keys += keys
        self.seconds += keys * K + thoughts * M

    def dragged(self) -> None:
        """A frame drawn with the mouse: the hand there, the button *Frame a face*, to one corner, press, to the other,
        let go, and the hand back to the keys."""
        self.mouse += 1
        self.seconds += 2 * H + 3 * P + 4 * B


def pictures(folder: Path, real: Path | None) -> dict[str, list[Box]]:
    """Twenty scans in a folder; of each, by its name, where its faces are in parts of the picture."""
    folder.mkdir()
    found: dict[str, list[Box]] = {}
    with tempfile.TemporaryDirectory() as place:
        sample = build(Path(place) / "sample").archive
        with sample.reading() as rows:
            s, r = t.scan.c, t.region.c
            query = select(s.path, r.left, r.top, r.width, r.height).join(t.region, r.photograph_id == s.photograph_id)
            for path, *box in rows.execute(query.where(s.side == "recto", s.turn == 0, s.position == 0)).all():
                left, top, width, height = box
                found.setdefault(str(path), []).append((left, top, width, height))
        sample.close()
        result: dict[str, list[Box]] = {}
        for path in [path for path, boxes in found.items() if 2 <= len(boxes) <= 5][:10]:
            shutil.copy(path, folder / f"drawn_{Path(path).name}")
            result[f"drawn_{Path(path).name}"] = found[path]
    result |= dict(_real(folder, real))
    return result


def _real(folder: Path, real: Path | None) -> Iterator[tuple[str, list[Box]]]:
    head = portraits.portrait().crop((110, 0, 370, 300))
    for number in range(10 if real is None else 1):
        many = 2 + number % 4
        row = Image.new("RGB", (300 * many, 420), (110, 100, 90))
        for at in range(many):
            row.paste(head, (20 + 300 * at, 60))
        row.save(folder / f"real_9{number}.png")
        yield (
            f"real_9{number}.png",
            [((82 + 300 * at) / row.width, 126 / 420, 98 / row.width, 112 / 420) for at in range(many)],
        )
    if real is None:
        return
    number = 0
    for name in ("testing.xml", "training.xml"):
        for image in ET.parse(real / name).iter("image"):
            with Image.open(real / image.attrib["file"]) as picture:
                picture.convert("RGB").save(folder / f"real_{number}.png")
                sides = (picture.width, picture.height, picture.width, picture.height)
            yield f"real_{number}.png", [
                tuple(float(box.attrib[key]) / side for key, side in zip(("left", "top", "width", "height"), sides,
                                                                         strict=True))
                for box in image.iter("box")
            ]  # type: ignore[misc]  # fmt: skip
            number += 1


def archive_of(place: Path, scans: Path, *, found: bool) -> Archive:
    """A new archive with these scans and a tree of twelve people; searched, if asked."""
    people = "".join(f"0 @I{n}@ INDI\n1 NAME {who.replace(' ', ' /')}/\n" for n, who in enumerate(NAMES, 1))
    place.mkdir()
    (place / "family.ged").write_text(f"0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR UTF-8\n{people}0 TRLR\n")
    archive = Archive.create(place / "family")
    archive.tree.import_file(place / "family.ged")
    archive.scans.add([scans])
    if found:
        archive.faces.turn_on("bench")
        archive.faces.find()
    return archive


def name(page: Page, person: str, called: str, tally: Tally) -> None:
    """An age, Enter, letters until the person is first, Enter."""
    for key in ("3", "0", "Enter"):
        page.keyboard.press(key)
    expect(page.locator("#person")).to_be_focused()
    typed = ""
    for letter in called.lower():
        typed += letter
        page.keyboard.press(letter)
        expect(page.locator(f"#offers [data-newcomer='{typed.strip()}']")).to_have_count(1)
        first = page.locator("#offers [aria-selected=true]")
        if first.count() and first.get_attribute("data-person") == person:
            break
    with page.expect_response("**/name"):
        page.keyboard.press("Enter")
    expect(page.locator("#offers")).to_be_hidden()
    tally.faces += 1
    tally.pressed(4 + len(typed), thoughts=2)


def frame(page: Page, box: Box) -> None:
    """Draw a frame with the mouse."""
    page.get_by_role("button", name="Turn the view").wait_for()
    page.locator("#frame").click()
    here = page.locator(".looking").bounding_box()
    assert here is not None
    left, top = here["x"] + box[0] * here["width"], here["y"] + box[1] * here["height"]
    page.mouse.move(left, top)
    page.mouse.down()
    page.mouse.move(left + box[2] * here["width"] / 2, top + box[3] * here["height"] / 2)
    page.mouse.move(left + box[2] * here["width"], top + box[3] * here["height"])
    page.mouse.up()


def one_photograph(page: Page, pages: Served, code: str, boxes: list[Box], tally: Tally) -> None:
    """Name everybody in a photograph: those on offer from the left, then those that were missed."""
    page.goto(f"{pages.address}/photograph/{code}")
    offered = [frame for each in pages.archive.faces.offers([code]) for frame in each.frames]
    before = tally.keys
    left = list(range(len(boxes)))
    for one in offered:
        best = max(left, key=lambda at: overlap(boxes[at], one.box), default=None)
        if best is None or overlap(boxes[best], one.box) < MATCH:
            pages.archive.faces.refuse(code, [one.id])  # X, after its number and Escape
            tally.refused += 1
            tally.pressed(3, thoughts=1)
        else:
            left.remove(best)
    page.goto(f"{pages.address}/photograph/{code}")
    page.keyboard.press("n")
    page.wait_for_url("**naming=1*")
    tally.pressed(1)
    there = len(boxes) - len(left)
    for number in range(there):
        expect(page.locator("#naming [name=age]")).to_be_focused()
        name(page, f"I{number + 1}", NAMES[number], tally)
    for number in range(there, len(boxes)):
        expect(page.locator("[data-face^=R]")).to_have_count(number)
        frame(page, boxes[left[number - there]])
        tally.dragged()
        expect(page.locator("#naming [name=age]")).to_be_focused()
        name(page, f"I{number + 1}", NAMES[number], tally)
    tally.by_photograph[code] = tally.keys - before


def evening(scans: Path, faces: dict[str, list[Box]], place: Path, *, found: bool) -> dict[str, Tally]:
    """Both kinds of pictures, named to the end."""
    archive = archive_of(place, scans, found=found)
    pages = Served(archive)
    tallies = {"drawn": Tally(), "real": Tally()}
    try:
        with sync_playwright() as playwright:
            browser = launched(playwright.chromium)
            page: Any = browser.new_page(viewport={"width": 1440, "height": 900})
            page.set_default_timeout(60_000)
            expect.set_options(timeout=60_000)
            for number, file in enumerate(sorted(faces), 1):
                kind = file.partition("_")[0]
                one_photograph(page, pages, f"K{number:05}", faces[file][: len(NAMES)], tallies[kind])
            browser.close()
    finally:
        pages.stop()
    return tallies


def main(*folder: str) -> int:
    """Print the table; 1 where the search does not save anything."""
    with tempfile.TemporaryDirectory() as place:
        faces = pictures(Path(place) / "scans", Path(folder[0]) if folder else None)
        print(f"{len(faces)} photographs")
        print("| | faces | keys | frames drawn | frames refused | seconds by the model | a face |")
        print("| --- | --- | --- | --- | --- | --- | --- |")
        totals = []
        for found in (False, True):
            tallies = evening(Path(place) / "scans", faces, Path(place) / f"found-{found}", found=found)
            for kind, t in tallies.items():
                words = f"{kind} photographs, {'with' if found else 'without'} the search"
                print(
                    f"| {words} | {t.faces} | {t.keys} | {t.mouse} | {t.refused} | {t.seconds:.0f} |"
                    f" {t.seconds / max(t.faces, 1):.1f} |", flush=True,
                )  # fmt: skip
            totals.append(sum(t.seconds for t in tallies.values()))
    print(f"{1 - totals[1] / totals[0]:.0%} fewer seconds with the search")
    return 0 if totals[1] < totals[0] else 1


if __name__ == "__main__":
    raise SystemExit(main(*sys.argv[1:]))
