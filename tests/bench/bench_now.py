"""What the new date of one photograph and its evidence strip cost, on an archive of 100,000 photographs and 50,000
people, a third of whose births are vague; beside reading the same rows with sqlite3 alone. In processor time, so that
what else the machine does counts for neither.

Run: python tests/bench/bench_now.py [--photographs 100000] [--people 50000] [--runs 40] [--keep DIR] [--whole]
     [--apart]

`--keep` builds the archive in DIR, or uses the one built there before. `--whole` also dates everything in the
background, and tells how long saving takes meanwhile. `--apart` dates everything first, and tells by how much each
photograph looked at by itself differs from that. (What becomes of changes in a family's archive: bench_date_now.py.)
"""

from __future__ import annotations

import argparse
import platform
import random
import sqlite3
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from statistics import median, quantiles
from typing import Any

import large
from bench_date_now import apart as days_apart
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.dates.background import BackgroundRefresh, Doing
from kinphoto.archive.dates.evidence import gather_reached
from kinphoto.archive.dates.neighbourhood import Reach, reach
from kinphoto.archive.dates.one_photograph import near
from kinphoto.archive.statements.appearances import Link
from kinphoto.store import tables as t

TABLES = (t.photograph, t.appearance, t.statement, t.person, t.event, t.family, t.partner, t.parent_link)


def clocked(what: Callable[[], Any], clock: Callable[[], float] = time.process_time) -> float:
    """Milliseconds one call takes."""
    start = clock()
    what()
    return 1000 * (clock() - start)


def bare(database: sqlite3.Connection, near: Reach) -> None:
    """Read the rows that were reached, by their indexes, with nothing made of them."""
    for table in TABLES:
        for column, ids in near._wanted(table):
            marks = ", ".join("?" * len(ids))
            database.execute(f"SELECT * FROM {table.name} WHERE {column.name} IN ({marks})", list(ids)).fetchall()


def measure(archive: Archive, title: str, codes: Sequence[str], people: Sequence[str]) -> None:
    """Time everything for some photographs."""
    database = sqlite3.connect(archive.folder / "kinphoto.db")
    with archive.reading() as connection:
        ids = dict(connection.execute(select(t.photograph.c.code, t.photograph.c.id)).all())
        reached = [reach(connection, ids[code]) for code in codes]
        rows = [clocked(lambda one=one: bare(database, one)) for one in reached]
        rows = [clocked(lambda one=one: bare(database, one)) for one in reached]
        gathered = [clocked(lambda code=code: gather_reached(reach(connection, ids[code]))) for code in codes]
    photographs = median(len(near.found.photographs) for near in reached)
    everybody = median(len(near.people) for near in reached)
    print(
        f"\n{title}: {len(codes)} of them; reached in the median {photographs:.0f} photographs, {everybody:.0f} people"
    )
    archive.dates.evidence_strip(codes[0])  # what is imported and made once
    strips = [clocked(lambda code=code: archive.dates.evidence_strip(code)) for code in codes]
    pairs = list(zip(codes, people, strict=True))
    saved = [
        clocked(lambda c=c, p=p: archive.statements.link(Link(photograph=c, person=p, age="20-30"))) for c, p in pairs
    ]
    dated = [clocked(lambda code=code: archive.dates.refresh_photographs([code])) for code in codes]
    told = [clocked(lambda code=code: archive.dates.evidence_strip(code, withouts=True)) for code in codes[:5]]
    base = median(rows)
    print(f"{'':46}{'median':>9}{'worst':>9}{'times the bare read':>21}")
    for what, taken in (("rows read with sqlite3 alone", rows), ("evidence gathered", gathered), ("strip", strips),
                        ("appearance saved", saved), ("dated again (date_now)", dated),
                        ("strip with what it would be without each", told)):  # fmt: skip
        print(f"{what:46}{median(taken):6.1f} ms{max(taken):6.1f} ms{median(taken) / base:21.1f}")
    database.close()


def compare(archive: Archive, title: str, codes: Sequence[str]) -> None:
    """By how many days the best date or an end of the likely range of each differs from when everything is dated."""
    expected = {d.code: d.estimate for d in archive.dates.estimates(codes)}
    found: dict[bool, list[int]] = {True: [], False: []}
    with archive.reading() as connection:
        ids = dict(connection.execute(select(t.photograph.c.code, t.photograph.c.id)).all())
        for code in codes:
            around = near(connection, ids[code])
            found[around.complete].append(days_apart(around.estimate(around.look(), code), expected[code]))
    for complete, days in found.items():
        which = "all that hangs together was looked at" if complete else "cut off at the bound"
        print(f"{title}, {which}: {len(days)}, over a month apart {sum(d > 31 for d in days)}, over a year "
              f"{sum(d > 366 for d in days)}, most {max(days, default=0)} days")  # fmt: skip


def whole(archive: Archive, codes: Sequence[str], people: Sequence[str]) -> None:
    """Date everything in the background and save meanwhile, by the clock on the wall."""
    background = BackgroundRefresh(archive, quiet=0.0)
    start = time.perf_counter()
    background.start()
    saved: list[float] = []
    pairs = list(zip(codes, people, strict=True))
    while not saved or background.progress().doing in (Doing.WORKING, Doing.WAITING):
        code, person = pairs[len(saved) % len(pairs)]
        why = f"seen again {len(saved)}"
        link = Link(photograph=code, person=person, why=why)
        saved.append(clocked(lambda link=link: archive.statements.link(link), time.perf_counter))
        time.sleep(0.1)
        if background.progress().as_of is not None:
            break
    took = time.perf_counter() - start
    background.stop()
    print(f"\nthe whole in the background                   {took:6.1f} s; {background.progress()}")
    print(f"saving meanwhile ({len(saved)} times): median {median(saved):.1f} ms, "
          f"1 in 20 over {quantiles([*saved, *saved], n=20)[-1]:.1f} ms, worst {max(saved):.1f} ms")  # fmt: skip


def main() -> None:
    """Print the tables."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--photographs", type=int, default=100_000)
    arguments.add_argument("--people", type=int, default=50_000)
    arguments.add_argument("--runs", type=int, default=40)
    arguments.add_argument("--keep", type=Path)
    arguments.add_argument("--whole", action="store_true")
    arguments.add_argument("--apart", action="store_true")
    asked = arguments.parse_args()
    print(f"{platform.machine()}, Python {platform.python_version()}")
    with tempfile.TemporaryDirectory() as name:
        folder = asked.keep or Path(name)
        folder.mkdir(parents=True, exist_ok=True)
        start = time.perf_counter()
        archive = large.archive(folder, asked.photographs, asked.people)
        print(
            f"{asked.photographs:,} photographs, {asked.people:,} people; made in {time.perf_counter() - start:.0f} s"
        )
        dice = random.Random(time.time_ns())
        with archive.reading() as connection:
            a, p = t.appearance.c, t.photograph.c
            query = select(p.code).join(t.appearance, a.photograph_id == p.id)
            codes = list(connection.scalars(query.where(a.person_id.is_not(None)).distinct()))
            neighbour = select(t.person.c.id).where(t.person.c.code == "X1").scalar_subquery()
            busy = list(connection.scalars(query.where(a.person_id == neighbour)))
        for title, chosen in (("ordinary photographs", codes), ("photographs of somebody in very many", busy)):
            some = dice.sample(chosen, min(asked.runs, len(chosen)))
            if asked.apart:
                compare(archive, title, some)
            measure(archive, title, some, [f"I{dice.randrange(1, asked.people)}" for _ in some])
        if asked.whole:
            some = dice.sample(codes, min(200, len(codes)))
            whole(archive, some, [f"I{dice.randrange(1, asked.people)}" for _ in some])


if __name__ == "__main__":
    main()
