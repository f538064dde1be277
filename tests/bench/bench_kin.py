"""Kinship between random people of a tree of 100,000, against a bare recursive SQL query of both people's ancestors.

    python tests/bench/bench_kin.py [PEOPLE]

`kin`, and the bare queries through the standard library's sqlite3 on the same file, take turns; the pairs are the same.
Bound: 20 ms for nineteen in twenty. Beside it, what a page asks at each keystroke: the words of 60 people to one
(`kin_of`), and of 60 people to the proband and to those named already (`phrases`).
"""

from __future__ import annotations

import random
import sqlite3
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter

sys.path.insert(0, str(Path(__file__).parents[2]))
from making import make_family, write_gedcom

from kinphoto.archive import Archive, kinship

PAIRS = 400
MANY = 60
ANCESTORS = """WITH RECURSIVE line(id, generation) AS (
                 SELECT ?, 0 UNION
                 SELECT parent_id, generation + 1 FROM parent_link JOIN line ON child_id = line.id
                 WHERE generation < 120)
               SELECT id, min(generation) FROM line GROUP BY id"""


def bare(connection: sqlite3.Connection, one: int, other: int) -> set[int]:
    """The ancestors two people have in common."""
    above, above_other = (dict(connection.execute(ANCESTORS, (id_,)).fetchall()) for id_ in (one, other))
    return above.keys() & above_other.keys()


def taken(side: Callable[[], object]) -> float:
    """Milliseconds of one call."""
    start = perf_counter()
    side()
    return 1000 * (perf_counter() - start)


def row(name: str, times: list[float], compared: list[float]) -> str:
    """Median, 95th percentile, and the ratio of the medians."""
    late = quantiles(times, n=20)[-1]
    return f"{name:46}{median(times):8.2f}{late:8.2f}{median(times) / median(compared):8.1f}"


def measure(archive: Archive, people: int) -> Iterator[str]:
    """The lines of the table."""
    dice = random.Random(7)
    bare_connection = sqlite3.connect(archive.folder / "kinphoto.db")
    pairs = [(dice.randrange(1, people), dice.randrange(1, people)) for _ in range(PAIRS)]
    sql: list[float] = []
    ours: list[float] = []
    many: list[float] = []
    told: list[float] = []
    found = 0
    with archive.reading() as connection:
        kinship.kin(connection, "I1", "I2")  # statements are compiled once
        for one, other in pairs:
            sql.append(taken(lambda one=one, other=other: bare(bare_connection, one, other)))
            ours.append(taken(lambda one=one, other=other: kinship.kin(connection, f"I{one}", f"I{other}")))
            found += bool(kinship.kin(connection, f"I{one}", f"I{other}").paths)
        for one, _ in pairs[: PAIRS // 4]:
            others = [dice.randrange(1, people) for _ in range(MANY)]
            many.append(taken(lambda one=one, others=others: kinship.kin_of(connection, one, others)))
            named = [dice.randrange(1, people) for _ in range(4)]
            told.append(taken(lambda others=others, named=named: kinship.phrases(connection, others, named)))
    yield f"{people:,} people; {PAIRS} pairs, {found} of them related"
    yield f"{'ms':>54}{'95 %':>8}{'ratio':>8}"
    yield row("bare SQL, the ancestors of both", sql, sql)
    yield row("kin (bound 20 ms for 95 %)", ours, sql)
    yield row(f"kin_of, {MANY} people to one", many, sql)
    yield row(f"phrases, {MANY} people to the proband and four", told, sql)
    yield f"{MANY} at once take {median(many) / median(ours):.1f} times as long as one"


def main() -> None:
    """Make the tree, take the times, print the table."""
    people = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory() as folder:
        everybody, homes = make_family(people, seed=5)
        write_gedcom(Path(folder, "tree.ged"), everybody, homes)
        archive = Archive.create(Path(folder, "archive"))
        archive.import_tree(Path(folder, "tree.ged"))
        archive.proband(f"I{people // 2}")
        for line in measure(archive, len(everybody)):
            print(line)


if __name__ == "__main__":
    main()
