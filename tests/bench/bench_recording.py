"""How long a spreadsheet of 20,000 links and one of 20,000 statements take, beside reading them with the csv module
alone. Run: python tests/bench/bench_recording.py"""

from __future__ import annotations

import csv
import random
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.folding import fold
from kinphoto.store import tables as t

ROWS, PEOPLE, PHOTOGRAPHS = 20_000, 3_000, 8_000


def fill(archive: Archive) -> None:
    """People and photographs with a scan each, straight into the tables."""
    with archive.working("filled") as work:
        people = work.insert(t.person, [{"code": f"I{n}", "name": f"Somebody {n}"} for n in range(PEOPLE)])
        work.insert(
            t.name,
            [{"person_id": i, "text": f"Somebody {n}", "folded": fold(f"Somebody {n}")} for n, i in enumerate(people)],
        )
        photos = work.insert(
            t.photograph, [{"code": f"K{n:05d}", "indexed": 738000} for n in range(1, PHOTOGRAPHS + 1)]
        )
        blank = {"sha256": "", "size": 1, "mtime_ns": 1, "file_type": "JPEG", "width": 1, "height": 1, "indexed_at": "",
                 "first_sha256": ""}  # fmt: skip
        work.insert(
            t.scan,
            [blank | {"photograph_id": i, "path": f"/box/{n // 100}/scan_{n}.jpg"} for n, i in enumerate(photos)],
        )


def write(folder: Path) -> tuple[Path, Path]:
    """The two spreadsheets."""
    dice = random.Random(5)
    links, statements = folder / "links.csv", folder / "statements.csv"
    with links.open("w", newline="", encoding="utf-8") as out:
        rows = csv.writer(out)
        rows.writerow("photo,person,left,top,width,height,age_from,age_to,informant,why".split(","))
        for n in range(ROWS):
            photo = dice.randrange(PHOTOGRAPHS)
            person = dice.choice([f"I{dice.randrange(PEOPLE)}", f"Somebody {dice.randrange(PEOPLE)}"])
            place = [round(n % 5 * 0.18, 2), round(dice.random() * 0.8, 3), 0.1, 0.15]
            age = dice.randrange(80)
            rows.writerow([f"{photo // 100}/scan_{photo}.jpg", person, *place, age, age + 4, f"Aunt {n % 3}", ""])
    with statements.open("w", newline="", encoding="utf-8") as out:
        rows = csv.writer(out)
        rows.writerow("photo,kind,date,text,informant".split(","))
        for n in range(ROWS):
            year = dice.randrange(1860, 1990)
            date = dice.choice(
                [f"ABT {year}", f"{year}", f"BET {year} AND {year + 3}", f"{year}-0{dice.randrange(1, 10)}-11"]
            )
            rows.writerow(
                [f"K{dice.randrange(1, PHOTOGRAPHS + 1):05d}", "inscription", date, f"words {n}", f"Aunt {n % 3}"]
            )
    return links, statements


def timed(what: Callable[[], Any]) -> float:
    """Seconds one call takes."""
    start = time.perf_counter()
    what()
    return time.perf_counter() - start


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        archive = Archive.create(folder / "archive")
        fill(archive)
        print(f"{ROWS} rows, {PEOPLE} people, {PHOTOGRAPHS} photographs, Python {sys.version.split()[0]}")
        for kind, path in zip(("links", "statements"), write(folder), strict=True):
            bare = timed(lambda path=path: list(csv.reader(path.open(newline="", encoding="utf-8"))))
            for time_ in ("first time", "again"):
                took = timed(
                    lambda kind=kind, path=path: archive.statements.apply_spreadsheet(kind, path, keep_going=True)
                )
                print(f"{kind:<11} {time_:<11} {took:6.2f} s   {took / bare:6.0f} times the csv module alone")
        print(f"undo of the statements          {timed(archive.statements.undo):6.2f} s")


if __name__ == "__main__":
    main()
