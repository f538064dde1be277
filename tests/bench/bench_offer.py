"""Offering names while somebody types, against the bare SQL that finds people by part of a name in the same file.

    python tests/bench/bench_offer.py [PEOPLE] [PHOTOGRAPHS]

`Archive.asking.name_suggestions` in process (50,000 people, 100,000 photographs in boxes of 200, 265,000 appearances)
for random photographs, with no letters and with one to four of a name, half of them with an age; and the bare
`SELECT ... WHERE folded LIKE` with the same letters through the standard library's sqlite3. Both take turns; a
photograph is named between them now and then, as somebody does who works. Bounds: 40 ms for 95 % of the offers, 5 ms
for `Archive.photographs.faces`. Processor time throughout.
"""

from __future__ import annotations

import random
import sqlite3
import sys
import tempfile
from pathlib import Path
from time import process_time

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))
from making import Household, Somebody, make_family, numeral

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.statements.appearances import Link
from kinphoto.store import tables as t

LIKE = "SELECT person_id, text, folded FROM name WHERE folded LIKE ?"
BOX = 200
RUNS = 400
NAMED_EVERY = 10


def make(folder: Path, people: int, photographs: int) -> tuple[Archive, list[Somebody]]:
    """The archive: each box holds the pictures of a few households."""
    dice = random.Random(5)
    archive = Archive.create(folder)
    everybody, homes = make_family(people, 5)
    with archive.working("everything") as work:
        work.insert(t.person, [{"code": f"I{p.number}", "name": _name(p), "sex": p.sex} for p in everybody])
        work.insert(t.name, [{"person_id": p.number, "text": _name(p), "surname": p.surname, "folded": fold(_name(p))}
                             for p in everybody])  # fmt: skip
        for tag in ("BIRT", "DEAT"):
            days = [(p.number, p.born if tag == "BIRT" else p.died) for p in everybody]
            work.insert(t.event, [{"person_id": id_, "tag": tag, "first": day, "last": day} for id_, day in days])
        work.insert(t.family, [{"code": f"F{h.number}"} for h in homes])
        work.insert(t.partner, [{"family_id": h.number, "person_id": p.number} for h in homes for p in _couple(h)])
        work.insert(t.parent_link, [{"family_id": h.number, "child_id": c.number, "parent_id": p.number}
                                    for h in homes for c in h.children for p in _couple(h)])  # fmt: skip
        work.insert(t.container, [{"name": f"Box {n}"} for n in range(1, photographs // BOX + 2)])
        work.insert(t.photograph, [{"code": f"K{n:05}", "indexed": 739_000, "container_id": n // BOX + 1}
                                   for n in range(1, photographs + 1)])  # fmt: skip
        seen, estimates = [], []
        for box in range(0, photographs + 1, BOX):
            start = dice.randrange(len(homes) - 8)
            for id_ in range(max(box, 1), min(box + BOX, photographs + 1)):
                home = homes[start + dice.randrange(8)]
                day = home.married + dice.randrange(-400, 9000)
                there = [*_couple(home), *home.children]
                seen += [
                    (id_, p.number) for p in dice.sample(there, min(len(there), dice.choices((2, 3, 4), (9, 7, 4))[0]))
                ]
                estimates.append(_estimate(id_, day))
        work.insert(t.appearance, [{"photograph_id": id_, "person_id": who, "said_at": ""} for id_, who in seen])
        work.connection.execute(t.estimate.insert(), estimates)
    print(f"{len(everybody):,} people, {photographs:,} photographs, {len(seen):,} appearances")
    return archive, everybody


def _name(p: Somebody) -> str:
    return f"{p.name} {numeral(p.number)} {p.surname}"


def _couple(home: Household) -> tuple[Somebody, Somebody]:
    return home.father, home.mother


def _estimate(id_: int, day: int) -> dict[str, object]:
    return {"photograph_id": id_, "earliest": day - 4000, "latest": day + 4000, "likely_from": day - 1000,
            "likely_to": day + 1000, "best": day, "edtf": "", "state": "dated"}  # fmt: skip


def main() -> None:
    """Make the archive, take the times, print the ratio."""
    people, photographs = (int(word) for word in (*sys.argv[1:], "50000", "100000")[:2])
    dice = random.Random(8)
    with tempfile.TemporaryDirectory() as folder:
        archive, everybody = make(Path(folder, "archive"), people, photographs)
        connection = sqlite3.connect(archive.folder / "kinphoto.db")
        start = process_time()
        archive.asking.name_suggestions("K1")
        print(f"the first offer, with everybody read: {process_time() - start:.2f} s\n")
        ours: dict[int, list[float]] = {n: [] for n in range(5)}
        bare: dict[int, list[float]] = {n: [] for n in range(5)}
        faces = []
        for run in range(RUNS):
            photo, who = f"K{dice.randrange(1, photographs + 1)}", dice.choice(everybody)
            letters = fold(_name(who))[: run % 5]
            age = dice.choice([None, str(dice.randrange(1, 80))])
            if run % NAMED_EVERY == 0:
                archive.statements.link(Link(photograph=photo, person=f"I{dice.choice(everybody).number}"))
            start = process_time()
            archive.asking.name_suggestions(photo, letters, age=age)
            ours[run % 5].append(1000 * (process_time() - start))
            start = process_time()
            connection.execute(LIKE, (f"%{letters}%",)).fetchall()
            bare[run % 5].append(1000 * (process_time() - start))
            start = process_time()
            archive.photographs.faces(photo)
            faces.append(1000 * (process_time() - start))
        _print(ours, bare, faces)


def _print(ours: dict[int, list[float]], bare: dict[int, list[float]], faces: list[float]) -> None:
    print(f"{'ms':14}{'median':>8}{'95 %':>8}{'bare SQL':>10}{'ratio':>8}")
    for letters, taken in ours.items():
        middle, sql = np.median(taken), np.median(bare[letters])
        print(f"{f'{letters} letters':14}{middle:8.1f}{np.percentile(taken, 95):8.1f}{sql:10.1f}{middle / sql:8.1f}")
    everything, sql = (np.concatenate(list(side.values())) for side in (ours, bare))
    ratio = np.median(everything) / np.median(sql)
    print(
        f"{'all':14}{np.median(everything):8.1f}{np.percentile(everything, 95):8.1f}{np.median(sql):10.1f}{ratio:8.1f}"
    )
    print(f"{'faces':14}{np.median(faces):8.1f}{np.percentile(faces, 95):8.1f}")


if __name__ == "__main__":
    main()
