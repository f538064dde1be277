"""A whole evening at the scanner, by the commands a person types: what is printed, and whether it is as it should be.

    python tests/bench/evening.py

Sixty scans are dropped one by one into a watched folder, six of them with something wrong; backs are paired; two scans
with several prints are cut apart; a disc of eighty nameless files is sorted and named; the folder is moved and found
again. At the end every byte of every scan is compared with what was dropped.
"""

from __future__ import annotations

import hashlib
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

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
    program = [sys.executable, "-c", "from kinphoto.cli.main import run; run()"]
    where = [] if words[0] == "init" else ["--archive", str(archive)]
    done = subprocess.run([*program, *map(str, words), *where, "--json"], capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(done.stderr)
    return json.loads(done.stdout)


def watched(archive: Path, folder: Path) -> list[dict[str, Any]]:
    """Drop the scans one by one; what the terminal said of each."""
    program = [sys.executable, "-c", "from kinphoto.cli.main import run; run()", "scans", "watch", str(folder)]
    log = (archive.parent / "watch.txt").open("w+")
    process = subprocess.Popen([*program, "--archive", str(archive), "--json"], stdout=log)
    try:
        time.sleep(6)
        for number in range(FRONTS):
            for which, made in (("a", front), ("b", back)):
                (folder / f"tin_{number + 1:04}{'' if which == 'a' else '_back'}.jpg").write_bytes(made(number))
                time.sleep(0.3)
        until = time.monotonic() + 240
        seen: list[dict[str, Any]] = []
        while time.monotonic() < until and len(seen) < 2 * FRONTS:
            time.sleep(2)
            log.seek(0)
            lines = [json.loads(line) for line in log.read().splitlines() if line.endswith("}")]
            seen = [each for each in lines if each["path"].endswith(".jpg")]
    finally:
        process.send_signal(signal.SIGINT)
        process.wait()
    return seen


def digests(home: Path) -> list[str]:
    """What every scan is, whatever it is called and in whichever folder; display copies in the archive are none."""
    files = [path for path in home.rglob("*") if path.is_file() and home / "archive" not in path.parents]
    return sorted(
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
        seen = watched(archive, tin)
        print(f"  {len(seen)} scans seen; something is wrong with:")
        for each in seen:
            if each["notes"] or each["what"] != "scan":
                print(f"    {Path(each['path']).name}: {'; '.join(each['notes']) or each['words']}")

        found = command(archive, "scans", "pair", "tin", "--join")
        print(f"  {found['confirmed']['joined']} pairs joined, {len(found['proposals'])} left to look at")

        for seed in (1, 4):
            drawn(seed, 150).picture.convert("RGB").save(tin / f"tin_{90 + seed:04}.png", dpi=(150, 150))
        command(archive, "scans", "add", tin)
        done = command(archive, "scans", "cut", "tin_0091.png", "tin_0094.png")
        print("  " + ", ".join(f"{Path(bed['scan']).name}: {len(bed['parts'])} parts" for bed in done["beds"]))

        for number in np.random.default_rng(7).permutation(80):
            picture = Image.fromarray(photograph(NAMES[number % 6])).convert("RGB").rotate(int(number), expand=False)
            picture = picture.resize((420, 300 + 30 * (int(number) % 3))).filter(ImageFilter.GaussianBlur(0.5))
            picture.save(disc / f"IMG_{int(number) + 2031}.jpg", quality=90, dpi=(300, 300))
        before = digests(home)
        command(archive, "scans", "add", disc)
        plan = command(archive, "scans", "rename", disc, "--theme", "lab-disc", "--order", "looks")
        named = command(archive, "scans", "rename", disc, "--theme", "lab-disc", "--order", "looks", "--apply")
        names = sorted(path.name for path in disc.iterdir())
        print(f"  {len(plan['names'])} planned, {len(named['names'])} named: {names[0]} to {names[-1]}")

        os.rename(tin, home / "Blue tin, 2nd shelf")  # noqa: PTH104
        again = command(archive, "scans", "find", home / "Blue tin, 2nd shelf")
        print(f"  {again['missing']} missing, {len(again['found'])} found")
        print(f"  no byte changed: {digests(home) == before}")


if __name__ == "__main__":
    main()
