"""All pictures of somebody with 500 among 100,000 photographs, against bare SQL for the same rows of the same file.

    python tests/bench/bench_pictures.py [PHOTOGRAPHS]

`Archive.people.pictures` in process, and the hand-written queries through the standard library's sqlite3, take turns;
medians of 20 runs. The queries fetch what the answer holds: dates, everybody named, paths. Bound: 3 times. Beside it,
finding people by name and year among 50,000, which should take less than 0.3 s of the processor's time.
"""

from __future__ import annotations

import random
import sqlite3
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

sys.path.insert(0, str(Path(__file__).parents[2]))
from making import GIVEN, SURNAMES, numeral

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.freshness import AS_OF, stamp
from kinphoto.store import tables as t

PEOPLE = 50_000
SOMEBODY = "I77"
THEIRS = 500
RUNS = 20
MINE = """(SELECT a.photograph_id FROM appearance a JOIN person p ON p.id = a.person_id
           WHERE p.code = ? AND a.denied = 0 AND a.withdrawn = 0)"""
DATES = f"""SELECT p.code, p.title, e.earliest, e.latest, e.likely_from, e.likely_to, e.best, e.edtf, e.state,
                   e.inferred
            FROM photograph p LEFT JOIN estimate e ON e.photograph_id = p.id WHERE p.id IN {MINE}
            ORDER BY e.best, e.earliest"""
NAMED = f"""SELECT a.photograph_id, a.region_id, a.denied, p.code, p.name
            FROM appearance a JOIN person p ON p.id = a.person_id
            WHERE a.photograph_id IN {MINE} AND a.withdrawn = 0 ORDER BY a.id"""
PATHS = f"SELECT photograph_id, path FROM scan WHERE photograph_id IN {MINE} ORDER BY side <> 'recto', position, id"


def make(folder: Path, photographs: int) -> Archive:
    """The archive: two or three people in each photograph, SOMEBODY in THEIRS of them."""
    dice = random.Random(3)
    archive = Archive.create(folder)
    theirs = set(dice.sample(range(1, photographs + 1), THEIRS))
    with archive.working("everything") as work:
        people = [_person(dice, number) for number in range(1, PEOPLE + 1)]
        ids = work.insert(t.person, [{"code": f"I{n}", "name": name} for n, (name, _, _) in enumerate(people, 1)])
        work.insert(
            t.name,
            [
                {
                    "person_id": id_,
                    "text": name,
                    "given": name.rpartition(" ")[0],
                    "surname": surname,
                    "folded": fold(name),
                }
                for id_, (name, surname, _) in zip(ids, people, strict=True)
            ],
        )
        for tag, after in (("BIRT", 0), ("DEAT", 60)):
            days = [(id_, born + after * 365) for id_, (_, _, born) in zip(ids, people, strict=True)]
            work.insert(t.event, [{"person_id": id_, "tag": tag, "first": day, "last": day} for id_, day in days])
        codes = [{"code": f"K{n:05}", "title": f"Print {n}", "indexed": 739_000} for n in range(1, photographs + 1)]
        pictures = work.insert(t.photograph, codes)
        work.insert(t.scan, [_scan(folder, id_) for id_ in pictures])
        work.insert(t.appearance, [row for id_ in pictures for row in _appearances(dice, id_, id_ in theirs)])
        work.connection.execute(t.estimate.insert(), [_estimate(dice, id_) for id_ in pictures])
    with archive.working("") as work:
        work.connection.execute(t.setting.insert().values(key=AS_OF, value=str(stamp(work.connection))))
    return archive


def _person(dice: random.Random, number: int) -> tuple[str, str, int]:
    surname = dice.choice(SURNAMES) + numeral(number % 900)
    return (
        f"{dice.choice(GIVEN[dice.choice('FM')])} {numeral(number)} {surname}",
        surname,
        dice.randrange(660_000, 715_000),
    )


def _scan(folder: Path, id_: int) -> dict[str, object]:
    return {
        "photograph_id": id_, "path": f"{folder}/scans/box_{id_ // 200}/print_{id_}.jpg", "sha256": f"{id_:064x}",
        "size": 1, "mtime_ns": 1, "file_type": "JPEG", "width": 1, "height": 1, "indexed_at": "", "first_sha256": "",
    }  # fmt: skip


def _appearances(dice: random.Random, id_: int, theirs: bool) -> list[dict[str, object]]:
    others = [dice.randrange(100, PEOPLE) for _ in range(2)]
    return [{"photograph_id": id_, "person_id": p, "said_at": ""} for p in ([*others, 77] if theirs else others)]


def _estimate(dice: random.Random, id_: int) -> dict[str, object]:
    best = dice.randrange(680_000, 720_000)
    return {
        "photograph_id": id_, "earliest": best - 4000, "latest": best + 4000, "likely_from": best - 1000,
        "likely_to": best + 1000, "best": best, "edtf": "[1900..1905]", "state": "dated",
    }  # fmt: skip


def bare(connection: sqlite3.Connection) -> int:
    """The hand-written queries."""
    dates, _, _ = (connection.execute(query, (SOMEBODY,)).fetchall() for query in (DATES, NAMED, PATHS))
    return len(dates)


def timed(*sides: Callable[[], object], clock: Callable[[], float] = perf_counter) -> list[float]:
    """Medians in milliseconds; the sides take turns, so that a busy moment of the machine hits all alike."""
    taken: list[list[float]] = [[] for _ in sides]
    for _ in range(RUNS):
        for side, times in zip(sides, taken, strict=True):
            start = clock()
            side()
            times.append(1000 * (clock() - start))
    return [median(times) for times in taken]


def main() -> None:
    """Make the archive, take the times, print the ratios."""
    photographs = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory() as folder:
        archive = make(Path(folder, "archive"), photographs)
        connection = sqlite3.connect(archive.folder / "kinphoto.db")
        assert bare(connection) == len(archive.people.pictures(SOMEBODY).photographs) == THEIRS
        sql, ours = timed(lambda: bare(connection), lambda: archive.people.pictures(SOMEBODY))
        print(f"{photographs:,} photographs, {PEOPLE:,} people; {THEIRS} pictures of one; medians of {RUNS} runs")
        print(f"{'':28}{'ms':>8}{'ratio':>8}")
        print(f"{'bare SQL':28}{sql:8.1f}{1:8.1f}")
        print(f"{'pictures (bound 3)':28}{ours:8.1f}{ours / sql:8.1f}")
        print(f"\n{'people (bound 300 ms)':28}{'ms':>8}{'found':>8}")
        for line in ("dagny fjordung", "alva 1890", "dagni fjordunk", "isebrand"):
            (taken,) = timed(lambda line=line: archive.people.find(line), clock=process_time)
            print(f"{line:28}{taken:8.0f}{len(archive.people.find(line).people):8}")


if __name__ == "__main__":
    main()
