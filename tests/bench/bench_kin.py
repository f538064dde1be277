"""Kinship between random people of a tree of 100,000, against a bare recursive SQL query of both people's ancestors.

    python tests/bench/bench_kin.py [PEOPLE]

`kin`, and the bare queries through the standard library's sqlite3 on the same file, take turns; the pairs are the same.
Bound: 20 ms of the processor's time for nineteen in twenty. Beside it, what a page asks at each keystroke: the words of
60 people to one (`kin_of`), and of 60 people to the proband and to those named already (`phrases`).
"""

from __future__ import annotations

import random
import sqlite3
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median, quantiles
from time import process_time

sys.path.insert(0, str(Path(__file__).parents[2]))
from making import make_family, write_gedcom

from kinphoto.archive import Archive
from kinphoto.archive.people import kinship

PAIRS = 400
MANY = 60
CLAN = 30
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
    """Milliseconds of the processor's time for one call."""
    start = process_time()
    side()
    return 1000 * (process_time() - start)


def row(name: str, times: list[float], compared: list[float]) -> str:
    """Median, 95th percentile, and the ratio of the medians."""
    late = quantiles(times, n=20)[-1]
    return f"{name:46}{median(times):8.2f}{late:8.2f}{median(times) / median(compared):8.1f}"


def measure(archive: Archive, people: int) -> Iterator[str]:
    """The lines of the table: anybody and anybody, who are hardly ever related, then one clan, who mostly are."""
    bare_connection = sqlite3.connect(archive.folder / "kinphoto.db")
    yield f"{people:,} people; {PAIRS} pairs each; ratio of the medians to the bare SQL"
    yield f"{'':46}{'ms':>8}{'95 %':>8}{'ratio':>8}"
    for whom, far in (("anybody", people), ("one clan", CLAN)):
        dice = random.Random(7)
        pairs = [(one, _near(dice, one, far, people)) for one in dice.sample(range(1, people + 1), PAIRS)]
        sql: list[float] = []
        ours: list[float] = []
        many: list[float] = []
        told: list[float] = []
        with archive.reading() as connection:
            for one, other in pairs[:5]:  # statements are compiled once
                kinship.kin(connection, f"I{one}", f"I{other}")
            for one, other in pairs:
                sql.append(taken(lambda one=one, other=other: bare(bare_connection, one, other)))
                ours.append(taken(lambda one=one, other=other: kinship.kin(connection, f"I{one}", f"I{other}")))
            found = sum(bool(kinship.kin(connection, f"I{one}", f"I{other}").paths) for one, other in pairs)
            for one, _ in pairs[: PAIRS // 4]:
                others = [_near(dice, one, far, people) for _ in range(MANY)]
                named = [_near(dice, one, far, people) for _ in range(4)]
                many.append(taken(lambda one=one, others=others: kinship.kin_of(connection, one, others)))
                told.append(taken(lambda others=others, named=named: kinship.phrases(connection, others, named)))
        yield f"{whom}: {found} of the pairs are related"
        yield row("  bare SQL, the ancestors of both", sql, sql)
        yield row("  kin (bound 20 ms for 95 %)", ours, sql)
        yield row(f"  kin_of, {MANY} people to one", many, sql)
        yield row(f"  phrases, {MANY} to the proband and four more", told, sql)
        yield f"  {MANY} at once take {median(many) / median(ours):.1f} times as long as one"


def _near(dice: random.Random, one: int, far: int, people: int) -> int:
    """Somebody else, at most `far` numbers away: those of one clan stand together."""
    return dice.choice([n for n in (one + dice.randrange(-far, far + 1) for _ in range(50)) if 0 < n <= people])


def main() -> None:
    """Make the tree, take the times, print the table."""
    people = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory() as folder:
        everybody, homes = make_family(people, seed=5)
        write_gedcom(Path(folder, "tree.ged"), everybody, homes)
        archive = Archive.create(Path(folder, "archive"))
        archive.tree.import_file(Path(folder, "tree.ged"))
        archive.people.choose_proband(f"I{people // 2}")
        for line in measure(archive, len(everybody)):
            print(line)


if __name__ == "__main__":
    main()
