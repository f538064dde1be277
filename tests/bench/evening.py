"""A whole evening at the scanner, by the commands a person types: what is printed, and whether it is as it should be.

    python tests/bench/evening.py

Sixty scans are dropped one by one into a watched folder, six of them with something wrong; backs are paired; two scans
with several prints are cut apart; a coarse scan is made again; a disc of eighty nameless files is sorted into groups
and named, with what lies beside them, renamed back and named again; the folder is moved and found again. The page at
the scanner is read while the folder is watched. At the end every byte of every scan is compared with what was dropped.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.request import urlopen

import numpy as np
from PIL import Image, ImageDraw, ImageFilter
from scanned_beds import drawn
from scanned_prints import Print, as_jpeg, photograph, scanned

PRINT = Print(size=(1500, 1100), dust=10)
NAMES = ("astronaut", "camera", "chelsea", "coffee", "rocket", "coins")
FRONTS = 30
WRONG = {
    3: ("coarse", PRINT, 120),
    8: ("cut off at the edge", replace(PRINT, cut=60), 600),
    13: ("blurred", replace(PRINT, blur=4.0), 600),
    18: ("clipped", replace(PRINT, gain=1.5, lift=40), 600),
    23: ("glare", replace(PRINT, glare=0.06), 600),
}
TRUNCATED = 28
"""Which fronts have something wrong; one is cut off in the middle of its file."""
PROGRAM = [sys.executable, "-c", "from kinphoto.cli.main import run; run()"]
DROPPED: list[str] = []
"""The SHA-256 of every scan, as it came."""


def drop(path: Path, data: bytes) -> None:
    """A scan that comes."""
    path.write_bytes(data)
    DROPPED.append(hashlib.sha256(data).hexdigest())


def front(number: int) -> bytes:
    """A print of its own: a piece of a photograph, its paper a little larger or smaller than the next."""
    how, ppi = (WRONG[number][1], WRONG[number][2]) if number in WRONG else (PRINT, 600)
    size = (1480 + 15 * (number % 7), 1080 + 11 * (number % 5))
    data = as_jpeg(scanned(photograph(NAMES[number % len(NAMES)]), replace(how, size=size), number), ppi=ppi)
    return data[: len(data) // 2] if number == TRUNCATED else data


def back(number: int) -> bytes:
    """Its back: pale paper of the same size with some writing."""
    width, height = 1480 + 15 * (number % 7), 1080 + 11 * (number % 5)
    bed = Image.new("RGB", (width + 120, height + 120), (246, 246, 246))
    paper = Image.new("RGB", (width, height), (228, 222, 205))
    ImageDraw.Draw(paper).text((90, 150 + 20 * number), f"Summer {1900 + number}, at the harbour", fill=(70, 60, 60))
    bed.paste(paper, (60, 60))
    noise = np.random.default_rng(number).normal(0, 1.2, (bed.height, bed.width, 1))
    return as_jpeg(Image.fromarray(np.clip(np.asarray(bed) + noise, 0, 255).astype(np.uint8)), ppi=600)


def command(archive: Path, *words: str | Path) -> Any:
    """What a command answers as JSON; its words are printed."""
    print("$ kinphoto", " ".join(str(word) if not isinstance(word, Path) else word.name for word in words))
    where = [] if words[0] == "init" else ["--archive", str(archive)]
    done = subprocess.run([*PROGRAM, *map(str, words), *where, "--json"], capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(done.stderr)
    return json.loads(done.stdout)


def watched(archive: Path, folder: Path) -> list[dict[str, Any]]:
    """Drop the scans one by one; what the terminal said of each."""
    program = [*PROGRAM, "scans", "watch", str(folder)]
    log = (archive.parent / "watch.txt").open("w+")
    process = subprocess.Popen([*program, "--archive", str(archive), "--json"], stdout=log)
    try:
        time.sleep(6)
        for number in range(FRONTS):
            for which, made in (("a", front), ("b", back)):
                drop(folder / f"tin_{number + 1:04}{'' if which == 'a' else '_back'}.jpg", made(number))
                time.sleep(0.3)
        until = time.monotonic() + 1200
        seen: list[dict[str, Any]] = []
        while time.monotonic() < until and len(seen) < 2 * FRONTS:
            time.sleep(2)
            log.seek(0)
            lines = [json.loads(line) for line in log.read().splitlines() if line.endswith("}")]
            seen = [each for each in lines if each["path"].endswith(".jpg")]
        print("  the page says", " | ".join(page_at_the_scanner(archive)))
    finally:
        process.send_signal(signal.SIGINT)
        process.wait()
    return seen


def page_at_the_scanner(archive: Path) -> list[str]:
    """The large words of the page: the newest scan, the next name, tonight's count."""
    with served(archive) as address, urlopen(f"{address}scanning") as answer:
        return re.findall(r'<p class="huge">(.*?)</p>', answer.read().decode())


@contextmanager
def served(archive: Path) -> Iterator[str]:
    """The pages, and the address they are at."""
    program = [*PROGRAM, "serve", "--port", "0", "--archive", str(archive)]
    process = subprocess.Popen(program, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    try:
        assert process.stdout is not None
        yield process.stdout.readline().strip()
    finally:
        process.send_signal(signal.SIGINT)
        process.wait()


def digests(home: Path) -> Counter[str]:
    """What every scan is, whatever it is called and in whichever folder; display copies in the archive are none."""
    files = [path for path in home.rglob("*") if path.is_file() and home / "archive" not in path.parents]
    return Counter(
        hashlib.sha256(path.read_bytes()).hexdigest() for path in files if path.suffix in (".jpg", ".png", ".tif")
    )


def main() -> None:
    """The evening."""
    with tempfile.TemporaryDirectory() as place:
        home = Path(place)
        archive, tin, disc = home / "archive", home / "tin", home / "disc"
        tin.mkdir()
        disc.mkdir()
        command(archive, "init", archive)
        command(archive, "container", "expect", "tin", "120")
        seen = watched(archive, tin)
        print(f"  {len(seen)} scans seen; something is wrong with:")
        for each in seen:
            if each["notes"] or each["what"] != "scan":
                print(f"    {Path(each['path']).name}: {'; '.join(each['notes']) or each['words']}")

        found = command(archive, "scans", "pair", "tin", "--join")
        print(f"  {found['confirmed']['joined']} pairs joined, {len(found['proposals'])} left to look at")

        coarse = Path(command(archive, "show", "tin_0004.jpg")["photograph"]["scans"][0]["path"])
        drop(tin / "tin_0031.jpg", as_jpeg(scanned(photograph(NAMES[3]), PRINT, 3), ppi=600))
        command(archive, "replace", coarse, tin / "tin_0031.jpg")
        code = command(archive, "show", coarse.name)["photograph"]["code"]
        better = command(archive, "show", "tin_0031.jpg")["photograph"]["code"]
        print(f"  tin_0004.jpg is {code} still, and tin_0031.jpg is {better}")

        for seed in (1, 4):
            bed = tin / f"tin_{90 + seed:04}.png"
            drawn(seed, 150).picture.convert("RGB").save(bed, dpi=(150, 150))
            DROPPED.append(hashlib.sha256(bed.read_bytes()).hexdigest())
        command(archive, "scans", "add", tin)
        done = command(archive, "scans", "cut", "tin_0091.png", "tin_0094.png")
        print("  " + ", ".join(f"{Path(bed['scan']).name}: {len(bed['parts'])} parts" for bed in done["beds"]))
        names = command(archive, "scans", "names", "tin")
        gaps = names["themes"][0]["gaps"]
        print(f"  next {names['next']}; {len(gaps)} gaps, the first: {gaps[0]['why']}")

        sort_the_disc(archive, disc)

        os.rename(tin, home / "Blue tin, 2nd shelf")  # noqa: PTH104
        again = command(archive, "scans", "find", home / "Blue tin, 2nd shelf")
        print(f"  {again['missing']} missing, {len(again['found'])} found")
        progress = command(archive, "progress")
        print(f"  {progress['tonight']['photographs']} photographs tonight, {progress['left']} left")
        after, parts = digests(home), len(list(home.rglob("cut/*.tif")))
        print(f"  {len(DROPPED)} scans dropped, each on the disk with the same SHA-256: {not Counter(DROPPED) - after}")
        print(f"  nothing else but the {parts} parts: {(after - Counter(DROPPED)).total() == parts}")


def sort_the_disc(archive: Path, disc: Path) -> None:
    """Eighty files of three sizes in no order: looked at in groups, named, renamed back, and named again."""
    for number in map(int, np.random.default_rng(7).permutation(80)):
        picture = Image.fromarray(photograph(NAMES[number % 6])).convert("RGB").rotate(number, expand=False)
        picture = picture.resize((420, 300 + 60 * (number % 3))).filter(ImageFilter.GaussianBlur(0.5))
        path = disc / f"IMG_{number + 2031}.jpg"
        picture.save(path, quality=90, dpi=(100, 100))
        DROPPED.append(hashlib.sha256(path.read_bytes()).hexdigest())
    (disc / "IMG_2040.xmp").write_text("<x/>")
    command(archive, "scans", "add", disc, "--check")
    wanted = ("scans", "rename", disc, "--theme", "lab-disc", "--order", "looks")
    plan = command(archive, *wanted)
    print(
        "  " + "; ".join(f"group {each['number']}: {each['files']} files, {each['words']}" for each in plan["groups"])
    )
    named = command(archive, *wanted, "--apply")
    new = {Path(each["old"]).name: Path(each["new"]).name for each in (*named["names"], *named["beside"])}
    print(f"  {len(named['names'])} named; IMG_2040.jpg is {new['IMG_2040.jpg']}, beside it {new['IMG_2040.xmp']}")
    former = command(archive, "show", "IMG_2040.jpg")["photograph"]["scans"][0]["path"]
    print(f"  the old name finds {Path(former).name}")
    command(archive, "undo", str(named["change"]))
    print(f"  renamed back: {sorted(path.name for path in disc.iterdir())[0]}")
    named = command(archive, *wanted, "--apply")
    names = sorted(path.name for path in disc.iterdir())
    print(f"  named again, no number twice: {names[0]} to {names[-1]}")


if __name__ == "__main__":
    main()
