"""A hundred faces of the sample are framed and named in a real browser in each of three ways: how long, and how many
wrong names.

    python tests/bench/hundred_faces.py [--faces N] [--by HOW] [--rest MS] [--of CHECKOUT]

Starts from an archive that has the sample's scans and its tree and no name, and names the faces that the sample's
family named, by mouse, by keys, and by touch. Whoever does it looks: letters are typed until the right person is
offered, and that one is taken. The next face is begun as soon as the name stands in the list, with no rest between
unless one is asked for. `--of` measures the pages of another checkout instead.

Seconds of a person are reckoned by the keystroke-level model (Card, Moran and Newell, "The keystroke-level model for
user performance time with interactive systems", Communications of the ACM 23, 1980; operator times from memory): K
0.28 s for a key of an average non-secretary typist, P 1.10 s to point, B 0.10 s to press or release a button, H 0.40 s
between keyboard and mouse, M 1.35 s to make up one's mind. Dragging a frame is two pointings with the button down
between. Each face has three M: where it is, how old they look, and whether that is the name. The
model knows no fingers: a tap is counted as P and two B, letters on glass as K, and nothing for H. What the machine
takes is measured from the last key or press until the page shows the name: the median, by the clock, on whatever
machine this is.

*Without looking* is another question: a first name is typed to its end, or with two letters exchanged, and Enter
pressed. Who would then be named, and is that right? Somebody new who is made by that is a wrong name too.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import re
import sqlite3
import statistics
import sys
import tempfile
import threading
import time
import urllib.request
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import quote

HERE = Path(__file__).parents[2]
K, P, B, H, M = 0.28, 1.10, 0.10, 0.40, 1.35
SIZES = {"mouse": (1440, 900), "keys": (1440, 900), "touch": (390, 844)}
MOST_ARROWS = 30
NEAR = 0.5
"""Of the width or height of a face: as far as the middle of a frame may be from the middle of the face."""
FRAME = (
    """() => ["cx", "cy", "rx", "ry"].map((name) => Number(document.querySelector(".frame.new").getAttribute(name)))"""
)


@dataclass(frozen=True)
class Face:
    """Somebody on a photograph: where, and who it is."""

    code: str
    box: tuple[float, float, float, float]
    person: str
    name: str


@dataclass
class Hand:
    """Counts what somebody does, by the operators of the model."""

    done: dict[str, int] = field(default_factory=lambda: dict.fromkeys("KPBHM", 0))
    machine: list[float] = field(default_factory=list)

    def does(self, operators: str) -> None:
        """These operators, one letter each."""
        for one in operators:
            self.done[one] += 1

    @property
    def seconds(self) -> float:
        """Of all of them."""
        return sum(self.done[name] * cost for name, cost in zip("KPBHM", (K, P, B, H, M), strict=True))


def faces_of(sample: Path, codes: dict[str, str], most: int) -> list[Face]:
    """The first faces that the sample's family named, one for each person on a photograph."""
    tree = (sample / "family.ged").read_text(encoding="utf-8")
    names = dict(re.findall(r"0 @(I\d+)@ INDI\n(?:\d (?!NAME).*\n)*1 NAME (.*)", tree))
    found: dict[tuple[str, str], Face] = {}
    with (sample / "links.csv").open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            code = codes.get(Path(row["photo"]).name)
            if code and row["person"] in names and row["left"]:
                box = tuple(float(row[side]) for side in ("left", "top", "width", "height"))
                name = " ".join(names[row["person"]].replace("/", "").split())
                found.setdefault((code, row["person"]), Face(code, box, row["person"], name))  # type: ignore[arg-type]
    by_photograph = sorted(found.values(), key=lambda face: face.code)
    return by_photograph[:most]


def framed(page: Any, how: str, face: Face, hand: Hand) -> None:
    """A frame comes round the face."""
    left, top, width, height = face.box
    if how == "keys":
        keys = framed_by_keys(page, face.box)
        hand.does("M" + "K" * keys)
        return
    box = page.locator(".looking").bounding_box()
    x, y = box["x"] + box["width"] * left, box["y"] + box["height"] * top
    if how == "touch":
        page.locator("#frame").tap()
        box = page.locator(".looking").bounding_box()
        x, y = box["x"] + box["width"] * (left + width / 2), box["y"] + box["height"] * (top + height / 2)
        page.touchscreen.tap(x, y)
        hand.does("MPBB" + "PBB")
        return
    page.locator("#frame").click()
    box = page.locator(".looking").bounding_box()
    x, y = box["x"] + box["width"] * left, box["y"] + box["height"] * top
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + box["width"] * width, y + box["height"] * height, steps=3)
    page.mouse.up()
    hand.does("MPBB" + "PBPB" + "H")


def framed_by_keys(page: Any, box: tuple[float, float, float, float]) -> int:
    """F, the part of the picture, and arrows until the frame is about as large as the face and on it; how many keys."""
    left, top, width, height = box
    x, y = left + width / 2, top + height / 2
    keys = ["f", str(1 + min(int(x * 3), 2) + 3 * min(int(y * 3), 2))]
    for key in keys:
        page.keyboard.press(key)
    for _ in range(MOST_ARROWS):
        across, down, wide, high = page.evaluate(FRAME)
        if 2 * wide > 1.6 * width:
            keys.append("Shift+ArrowLeft")
        elif 2 * high > 1.6 * height:
            keys.append("Shift+ArrowUp")
        elif abs(across - x) > max(wide, NEAR * width):
            keys.append("ArrowLeft" if across > x else "ArrowRight")
        elif abs(down - y) > max(high, NEAR * height):
            keys.append("ArrowUp" if down > y else "ArrowDown")
        else:
            break
        page.keyboard.press(keys[-1])
    page.keyboard.press("Enter")
    return len(keys) + 1


def named(page: Any, how: str, face: Face, hand: Hand) -> None:
    """An age is judged, letters are typed until the right one is offered, and that one is taken."""
    from playwright.sync_api import expect

    if how == "touch":
        page.locator("#naming [name=age]").tap()
        hand.does("PBB")
    expect(page.locator("#naming [name=age]")).to_be_focused()
    page.keyboard.type("30")
    page.keyboard.press("Enter")
    hand.does("M" + "KKK")
    letters = ""
    for letter in face.name.lower():
        letters += letter
        with page.expect_response(lambda answer: "/offers?" in answer.url):
            page.keyboard.type(letter)
        hand.does("K")
        if letter == " ":
            continue
        expect(page.locator(f"#offers [data-newcomer='{letters.strip()}']")).to_have_count(1)
        offers = page.locator("#offers [role=option]").evaluate_all("(all) => all.map((one) => one.dataset.person)")
        if face.person in offers and (how != "keys" or offers.index(face.person) <= 3):
            break
    hand.does("M")
    offer = page.locator(f"#offers [data-person={face.person}]")
    called = page.locator("#who .faces > li", has_text=face.name)  # namesakes may stand in one picture
    before = called.count()
    began = time.perf_counter()
    if how == "keys":
        while offer.get_attribute("aria-selected") != "true":
            page.keyboard.press("ArrowDown")
            hand.does("K")
        began = time.perf_counter()
        page.keyboard.press("Enter")
        hand.does("K")
    elif how == "touch":
        offer.tap()
        hand.does("PBB")
    else:
        offer.click()
        hand.does("HPBB")
    called.nth(before).wait_for()
    hand.machine.append(time.perf_counter() - began)


def evening(browser: Any, address: str, how: str, faces: list[Face], rest: int) -> Hand:
    """All of them, one photograph after another."""
    hand = Hand()
    width, height = SIZES[how]
    context = browser.new_context(viewport={"width": width, "height": height}, has_touch=how == "touch",
                                  is_mobile=how == "touch")  # fmt: skip
    page, code = context.new_page(), ""
    page.set_default_timeout(60_000)
    for face in faces:
        if face.code != code:
            code = face.code
            page.goto(f"{address}/photograph/{code}?naming=1")
            page.get_by_role("button", name="Turn the view").wait_for()
            hand.does("K" if how == "keys" else "PBB")
        page.keyboard.press("Escape")
        framed(page, how, face, hand)
        named(page, how, face, hand)
        page.wait_for_timeout(rest)
    context.close()
    return hand


def without_looking(address: str, faces: list[Face], slip: bool, makes_new: bool) -> tuple[int, int]:
    """Of so many first names with Enter: wrong names, and those for which nothing is saved and it is said."""
    wrong = stopped = 0
    for face in faces:
        first, last = face.name.split()[0], face.name.split()[-1]
        first = first[:2] + first[3] + first[2] + first[4:] if slip and len(first) > 3 else first
        asked = f"{address}/photograph/{face.code}/offers?letters={quote(f'{first} {last}')}&age=30&region="
        with urllib.request.urlopen(asked) as answer:
            people = json.load(answer)["people"]
        if people:
            wrong += people[0]["person"] != face.person
        elif makes_new:
            wrong += 1
        else:
            stopped += 1
    return wrong, stopped


def wrong_names(archive: Any, faces: list[Face]) -> int:
    """Faces on which somebody stands who is not meant, by what the archive holds in the end."""
    wrong, photographs = 0, getattr(archive, "photographs", archive)
    for code in {face.code for face in faces}:
        meant = sorted(face.person for face in faces if face.code == code)
        stands = sorted(one.person or "?" for face in photographs.faces(code).faces for one in face.names)
        wrong += len(set(stands) - set(meant)) + abs(len(stands) - len(meant))
    return wrong


def served(archive: Any) -> Iterator[str]:
    """The pages of an archive; gives their address."""
    import uvicorn

    from kinphoto.web.app import make_app

    server = uvicorn.Server(uvicorn.Config(make_app(archive), port=0, log_level="warning"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.05)
    yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    server.should_exit = True
    thread.join(20)


def row(how: str, hand: Hand, wrong: int, number: int) -> str:
    """A line of the table: of each face."""
    keys, presses = hand.done["K"] / number, hand.done["B"] / 2 / number
    person, machine = hand.seconds / number, statistics.median(hand.machine)
    return f"| {how} | {person:.1f} | {machine:.2f} | {keys:.1f} | {presses:.1f} | {wrong} of {number} |"


def main() -> None:
    """Print a table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--faces", type=int, default=100, help="by each of the three")
    parser.add_argument("--by", choices=SIZES, action="append", help="only so")
    parser.add_argument("--rest", type=int, default=0, help="milliseconds between two faces")
    parser.add_argument("--of", type=Path, default=HERE)
    asked = parser.parse_args()
    sys.path.insert(0, str(asked.of.resolve()))
    from playwright.sync_api import expect, sync_playwright

    from kinphoto.archive import Archive
    from kinphoto.archive.sample import source

    expect.set_options(timeout=60_000)
    print("| by | seconds of a person (model) | of the machine (median) | keys | presses | wrong names |")
    print("| --- | ---: | ---: | ---: | ---: | ---: |")
    rows = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        sandbox = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=sandbox)
        for how in asked.by or SIZES:
            archive = Archive.create(Path(folder, how))
            (archive.tree.import_file if hasattr(archive, "tree") else archive.import_tree)(source() / "family.ged")
            (archive.scans.add if hasattr(archive, "scans") else archive.add_scans)([source() / "scans"])
            codes = dict(scans_of(Path(folder, how)))
            faces = faces_of(source(), codes, asked.faces)
            pages = served(archive)
            address = next(pages)
            if not rows:
                script = (asked.of / "kinphoto" / "web" / "static" / "naming.js").read_text(encoding="utf-8")
                makes_new = "activate(letters ? 0" in script
                blind = [without_looking(address, faces, slip, makes_new) for slip in (False, True)]
            hand = evening(browser, address, how, faces, asked.rest)
            rows.append((how, hand, wrong_names(archive, faces), len(faces)))
            print(row(*rows[-1]), flush=True)
            next(pages, None)
        browser.close()
    for (wrong, stopped), typed in zip(blind, ("as they are", "with two letters exchanged"), strict=True):
        print(f"Without looking, {typed}: {wrong} wrong names of {rows[0][3]}, {stopped} not saved and said.")


def scans_of(folder: Path) -> Iterator[tuple[str, str]]:
    """The name of each scan with the code of its photograph; from the database, as older checkouts have other names."""
    with closing(sqlite3.connect(folder / "kinphoto.db")) as database:
        query = "SELECT scan.path, photograph.code FROM scan JOIN photograph ON photograph.id = scan.photograph_id"
        yield from ((Path(path).name, code) for path, code in database.execute(query))


if __name__ == "__main__":
    main()
