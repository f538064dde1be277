"""What the new date of one photograph and its evidence strip cost, on an archive of 100,000 photographs and 50,000
people, a third of whose births are vague; beside reading the same rows with sqlite3 alone. In processor time, so that
what else the machine does counts for neither.

Run: python tests/bench/bench_now.py [--photographs 100000] [--people 50000] [--runs 40] [--keep DIR] [--whole]

`--keep` builds the archive in DIR, or uses the one built there before. `--whole` also dates everything in the
background, and tells how long saving takes meanwhile.
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

from making import Household, Somebody, make_family, write_gedcom
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.gathering import gather_near
from kinphoto.archive.links import Link
from kinphoto.archive.reaching import Reach, reach
from kinphoto.archive.refreshing import BackgroundRefresh, Doing
from kinphoto.store import tables as t

SCANNED = 738_000
VAGUE = 0.3
"""Share of births that the tree does not have, or has to within ten years only."""
BUSY = 600
"""Photographs of a neighbour of whom nothing is known."""
TABLES = (t.photograph, t.appearance, t.statement, t.person, t.event, t.family, t.partner, t.parent_link)


def build(folder: Path, photographs: int, people: int) -> Archive:
    """An archive of that size, straight into the tables but for its tree."""
    archive = Archive.create(folder / "archive")
    everybody, homes = make_family(people, seed=1)
    write_gedcom(folder / "tree.ged", everybody, homes)
    archive.import_tree(folder / "tree.ged")
    dice = random.Random(1)
    with archive.working("filled") as work:
        ids = {int(code[1:]): i for i, code in work.connection.execute(select(t.person.c.id, t.person.c.code))}
        made = work.insert_many(
            t.photograph,
            ("code", "position", "page", "title", "place", "note", "rights", "maker", "former_number", "indexed"),
            [(f"K{n:05d}", n, 0, "", "", "", "", "", "", SCANNED) for n in range(1, photographs + 1)],
        )
        work.take("photograph.code", photographs)
        seen = [who for photo in made for who in _pictured(photo, dice, homes)]
        known = [(photo, ids[who.number], age) for photo, who, age in seen]
        said = work.insert_many(
            t.appearance,
            ("photograph_id", "person_id", "role", "denied", "why", "said_at", "withdrawn"),
            [(photo, who, "present", 0, "", "", 0) for photo, who, _ in known],
        )
        work.insert_many(
            t.statement,
            ("photograph_id", "appearance_id", "kind", "text", "date_text", "shape", "doubtful", "value", "age_low",
             "age_high", "said_at", "withdrawn"),
            [(photo, seen, "apparent-age", "", "", "flat", 0, "", max(age * 0.95 - 1, 0) // 1, age * 1.05 // 1, "", 0)
             for seen, (photo, _, age) in zip(said, known, strict=True)],
        )  # fmt: skip
    _make_vague(folder / "archive" / "kinphoto.db", dice)
    neighbour = archive.add_person("Jon Tveit").id
    with archive.working("a neighbour in many") as work:
        who = work.connection.scalar(select(t.person.c.id).where(t.person.c.code == neighbour))
        rows = [(photo, who, "present", 0, "", "", 0) for photo in dice.sample(made, min(BUSY, photographs // 2))]
        columns = ("photograph_id", "person_id", "role", "denied", "why", "said_at", "withdrawn")
        work.insert_many(t.appearance, columns, rows)
    return archive


def _pictured(photo: int, dice: random.Random, homes: list[Household]) -> list[tuple[int, Somebody, float]]:
    """One to four of a household, with their ages on a day when they were alive."""
    home = dice.choice(homes)
    day = home.married + dice.randrange(-400, 9000)
    there = [p for p in (home.father, home.mother, *home.children) if p.born < day < p.died]
    return [(photo, p, (day - p.born) / 365.25) for p in dice.sample(there, min(len(there), dice.randrange(1, 5)))]


def _make_vague(database: Path, dice: random.Random) -> None:
    with sqlite3.connect(database) as connection:
        births = [row[0] for row in connection.execute("SELECT id FROM event WHERE tag = 'BIRT'")]
        chosen = dice.sample(births, int(len(births) * VAGUE))
        half = len(chosen) // 2
        connection.executemany("DELETE FROM event WHERE id = ?", [(i,) for i in chosen[:half]])
        widen = "UPDATE event SET first = first - 1826, last = last + 1826 WHERE id = ?"
        connection.executemany(widen, [(i,) for i in chosen[half:]])
    connection.close()


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
        near = [reach(connection, ids[code]) for code in codes]
        rows = [clocked(lambda one=one: bare(database, one)) for one in near]
        rows = [clocked(lambda one=one: bare(database, one)) for one in near]
        gathered = [clocked(lambda code=code: gather_near(connection, ids[code])) for code in codes]
    reached = f"{median(len(n.photographs) for n in near):.0f} photographs, {median(len(n.people) for n in near):.0f}"
    print(f"\n{title}: {len(codes)} of them; reached in the median {reached} people")
    archive.strip(codes[0])  # what is imported and made once
    strips = [clocked(lambda code=code: archive.strip(code)) for code in codes]
    pairs = list(zip(codes, people, strict=True))
    saved = [clocked(lambda c=c, p=p: archive.link(Link(photograph=c, person=p, age="20-30"))) for c, p in pairs]
    dated = [clocked(lambda code=code: archive.date_now([code])) for code in codes]
    told = [clocked(lambda code=code: archive.strip(code, withouts=True)) for code in codes[:5]]
    base = median(rows)
    print(f"{'':46}{'median':>9}{'worst':>9}{'times the bare read':>21}")
    for what, taken in (("rows read with sqlite3 alone", rows), ("evidence gathered", gathered), ("strip", strips),
                        ("appearance saved", saved), ("dated again (date_now)", dated),
                        ("strip with what it would be without each", told)):  # fmt: skip
        print(f"{what:46}{median(taken):6.1f} ms{max(taken):6.1f} ms{median(taken) / base:21.1f}")
    database.close()


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
        saved.append(clocked(lambda link=link: archive.link(link), time.perf_counter))
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
    asked = arguments.parse_args()
    print(f"{platform.machine()}, Python {platform.python_version()}")
    with tempfile.TemporaryDirectory() as name:
        folder = asked.keep or Path(name)
        folder.mkdir(parents=True, exist_ok=True)
        start = time.perf_counter()
        there = (folder / "archive" / "kinphoto.db").exists()
        archive = Archive.open(folder / "archive") if there else build(folder, asked.photographs, asked.people)
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
            measure(archive, title, some, [f"I{dice.randrange(1, asked.people)}" for _ in some])
        if asked.whole:
            some = dice.sample(codes, min(200, len(codes)))
            whole(archive, some, [f"I{dice.randrange(1, asked.people)}" for _ in some])


if __name__ == "__main__":
    main()
