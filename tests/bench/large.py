"""Builds one large archive for benchmarks, straight into the tables but for its tree: a family of 50,000 people, a
third of whose births are vague; 100,000 photographs in 500 boxes and some albums; who is in them, at what age and on
which face; words on the back, titles, processes; a neighbour who is in hundreds; and contradictions planted on purpose.

Everything is drawn from a seeded generator, and is true but for what is planted. In each box lies what comes, of all
years; `of_a_time` puts photographs of a time together instead, in boxes of eight to five hundred.
"""

from __future__ import annotations

import os
import random
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from itertools import cycle
from pathlib import Path

from making import Household, Somebody, ged, make_family, make_scans, write_gedcom
from PIL import Image
from sqlalchemy import select

from kinphoto.archive import DATABASE, Archive
from kinphoto.reason.model import processes
from kinphoto.store import tables as t
from kinphoto.store.root_rows import add_roots
from kinphoto.store.session import Work

SCANNED = 738_000
"""The day on which all was scanned."""
SAID_AT = "2021-07-21T10:00:00+00:00"
VAGUE = 0.3
"""Share of births that the tree does not have, or has to within ten years only."""
BUSY = 600
"""Photographs of a neighbour of whom nothing is known."""
IN_A_BOX = 200
OF_A_TIME = (500, 20, 8, 200, 50, 500, 120, 300)
"""How many photographs lie in one box after the other, where those of a time lie together."""
SCATTER = 4 * 365
"""Days (a standard deviation) by which photographs of a time lie out of order."""
PAGES = 250
"""Album pages, with four prints mounted on each."""
PLANTED = 200
"""Photographs that are said to have been taken thirty years after the death of somebody who is in them."""
PICTURES = 20
"""Different image files; each scan is another name of one of them."""
WORDS = """ferry harvest christening veranda regatta sledge orchard lighthouse confirmation threshing piano schoolhouse
 summer meadow launch wedding garden sawmill station market haymaking boathouse jubilee anniversary pier""".split()
"""What is written on the backs."""
TOLD_BY = [f"{who} {name}" for who in ("Aunt", "Uncle", "Cousin", "Grandmother") for name in
           ("Alva", "Birk", "Cora", "Detlef", "Elin", "Folke", "Greta", "Hauke", "Ida", "Jens")]  # fmt: skip

Pictured = tuple[Somebody, float]
"""Somebody in a photograph, and the age."""


def archive(folder: Path, photographs: int, people: int, *, of_a_time: bool = False) -> Archive:
    """The archive in `folder`: the one that was built there before, or a new one."""
    there = folder / "archive"
    return Archive.open(there) if (there / DATABASE).exists() else build(folder, photographs, people, of_a_time)


@dataclass(frozen=True)
class Shown:
    """What a photograph shows: people of a household, with their ages on that day."""

    home: Household
    day: int
    people: list[Pictured]


def drawn(dice: random.Random, homes: Sequence[Household], photographs: int, of_a_time: bool) -> list[Shown]:
    """What each photograph shows, in the order in which they lie."""
    shown = [_pictured(dice, homes) for _ in range(photographs)]
    if of_a_time:
        lying = random.Random(2)
        shown.sort(key=lambda one: one.day + lying.gauss(0, SCATTER))
    return shown


def build(folder: Path, photographs: int, people: int, of_a_time: bool = False) -> Archive:
    """An archive of that size in `folder`/archive, with the files of its scans beside it."""
    folder.mkdir(parents=True, exist_ok=True)
    archive = Archive.create(folder / "archive")
    everybody, homes = make_family(people, seed=1)
    write_gedcom(folder / "tree.ged", everybody, homes)
    archive.tree.import_file(folder / "tree.ged")
    dice = random.Random(1)
    add_roots(archive.engine, [str(folder / "scans")])
    with archive.working("filled") as work:
        places = _places(photographs, of_a_time)
        made = _photographs(work, places)
        _scans(work, folder, made, places)
        seen = [one.people for one in drawn(dice, homes, photographs, of_a_time)]
        _appearances(work, made, seen)
        _written(work, made, seen, dice)
        _albums(work, made)
    _make_vague(folder / "archive" / DATABASE, dice)
    neighbour = archive.people.add("Jon Tveit").id
    with archive.working("a neighbour in many") as work:
        who = work.connection.scalar(select(t.person.c.id).where(t.person.c.code == neighbour))
        rows = [(photo, who, "present", 0, "", SAID_AT, 0) for photo in dice.sample(made, min(BUSY, photographs // 2))]
        columns = ("photograph_id", "person_id", "role", "denied", "why", "said_at", "withdrawn")
        work.insert_many(t.appearance, columns, rows)
    return archive


def _places(photographs: int, of_a_time: bool) -> list[tuple[int, int]]:
    """The box of each photograph and its place in it, both counted from 1."""
    found: list[tuple[int, int]] = []
    for box, size in enumerate(cycle(OF_A_TIME if of_a_time else (IN_A_BOX,)), 1):
        found += [(box, n) for n in range(1, min(size, photographs - len(found)) + 1)]
        if len(found) == photographs:
            return found
    raise AssertionError


def _photographs(work: Work, places: Sequence[tuple[int, int]]) -> Sequence[int]:
    """The photographs in their boxes, which stand for folders."""
    root = work.insert_one(t.container, name="scans", folder="/made/scans")
    boxes = [
        work.insert_one(t.container, name=f"box {n}", folder=f"/made/scans/box_{n:03d}", parent_id=root)
        for n in range(1, places[-1][0] + 1)
    ]
    work.take("photograph.code", len(places))
    titles = [f"The {WORDS[n % len(WORDS)]}" if n % 9 == 0 else "" for n in range(len(places))]
    return _insert_photographs(
        work, [(f"K{n + 1:05d}", boxes[places[n][0] - 1], places[n][1], 0, title) for n, title in enumerate(titles)]
    )


def _insert_photographs(work: Work, rows: Sequence[tuple[str, int, int, int, str]]) -> Sequence[int]:
    columns = ("code", "container_id", "position", "page", "title", "place", "note", "rights", "maker",
               "former_number", "indexed")  # fmt: skip
    return work.insert_many(t.photograph, columns, [(*row, "", "", "", "", "", SCANNED) for row in rows])


def _scans(work: Work, folder: Path, made: Sequence[int], places: Sequence[tuple[int, int]]) -> None:
    """A front for each photograph, and a back for every fifth."""
    files = []
    for path in make_scans(folder / "pictures", PICTURES, seed=1):
        with Image.open(path) as small:
            small.resize((900, 640)).save(path, quality=80)
        files.append((path, sha256(path.read_bytes()).hexdigest(), path.stat()))
    rows = []
    for n, photo in enumerate(made):
        number, place = places[n]
        box = folder / "scans" / f"box_{number:03d}"
        box.mkdir(parents=True, exist_ok=True)
        for side in ("recto", "verso") if n % 5 == 0 else ("recto",):
            file, digest, facts = files[(n + (side == "verso")) % PICTURES]
            path = box / f"print_{place:04d}{'_back' if side == 'verso' else ''}.jpg"
            os.link(file, path)
            rows.append((photo, str(path), digest, facts.st_size, facts.st_mtime_ns, side, int(side == "verso"),
                         "JPEG", 900, 640, 300.0, 8, "RGB", 1, 1, SAID_AT, digest, "", 0))  # fmt: skip
    columns = ("photograph_id", "path", "sha256", "size", "mtime_ns", "side", "position", "file_type", "width",
               "height", "ppi", "bits", "mode", "pages", "orientation", "indexed_at", "first_sha256", "first_code",
               "missing")  # fmt: skip
    work.insert_many(t.scan, columns, rows)


def _pictured(dice: random.Random, homes: Sequence[Household]) -> Shown:
    """Some of a household, with their ages on a day when they were alive."""
    home = dice.choice(homes)
    day = home.married + dice.randrange(-400, 9000)
    there = [p for p in (home.father, home.mother, *home.children) if p.born < day < p.died]
    some = dice.sample(there, min(len(there), dice.randrange(1, 6)))
    return Shown(home, day, [(p, (day - p.born) / 365.25) for p in some])


def _appearances(work: Work, made: Sequence[int], seen: Sequence[list[Pictured]]) -> None:
    """Everybody on a face of their own, with an age as somebody judged it."""
    ids = {int(code[1:]): i for i, code in work.connection.execute(select(t.person.c.id, t.person.c.code))}
    tellers = [work.insert_one(t.informant, name=name, note="") for name in TOLD_BY]
    known = [(photo, n, who, age) for photo, some in zip(made, seen, strict=True) for n, (who, age) in enumerate(some)]
    regions = work.insert_many(
        t.region, ("photograph_id", "left", "top", "width", "height"),
        [(photo, round(0.05 + 0.18 * n, 2), 0.3, 0.12, 0.2) for photo, n, _, _ in known],
    )  # fmt: skip
    said = work.insert_many(
        t.appearance,
        ("photograph_id", "person_id", "region_id", "role", "denied", "informant_id", "why", "said_at", "withdrawn"),
        [(photo, ids[who.number], region, "present", 0, tellers[photo % 40], "", SAID_AT, 0)
         for region, (photo, _, who, _) in zip(regions, known, strict=True)],
    )  # fmt: skip
    ages = [
        (photo, one, "apparent-age", "", "", None, None, "", None, max(age * 0.95 - 1, 0) // 1, age * 1.05 // 1)
        for one, (photo, _, _, age) in zip(said, known, strict=True)
    ]
    _state(work, ages)


def _state(work: Work, rows: Sequence[tuple[object, ...]]) -> None:
    columns = ("photograph_id", "appearance_id", "kind", "text", "date_text", "first", "last", "value", "other_id",
               "age_low", "age_high", "shape", "doubtful", "said_at", "withdrawn")  # fmt: skip
    work.insert_many(t.statement, columns, [(*row, "flat", 0, SAID_AT, 0) for row in rows])


def _written(work: Work, made: Sequence[int], seen: Sequence[list[Pictured]], dice: random.Random) -> None:
    """Words on the backs, some with the true year; processes; and what is planted."""
    rows: list[tuple[object, ...]] = []
    old = [name for name, process in processes.load().items() if process.kind == "process" and not process.original]
    for photo, some in zip(made, seen, strict=True):
        if dice.random() < 0.08:
            words = f"{dice.choice(WORDS)} and {dice.choice(WORDS)}"
            rows.append((photo, None, "inscription", words, "", None, None, "", None, None, None))
        if some and dice.random() < 0.05:
            day = int(some[0][0].born + 365.25 * some[0][1])
            rows.append((photo, None, "taken", "", f"about {ged(day)}", day - 500, day + 500, "", None, None, None))
        if some and dice.random() < 0.02 and some[0][0].born > 700_000:
            made_as = "gelatin-silver" if "gelatin-silver" in old else old[0]
            rows.append((photo, None, "process", "", "", None, None, made_as, None, None, None))
    for at in dice.sample(range(len(made)), min(PLANTED, len(made) // 10)):
        if seen[at]:
            late = seen[at][0][0].died + 30 * 365
            rows.append((made[at], None, "taken", "", ged(late), late, late, "", None, None, None))
    _state(work, rows)


def _albums(work: Work, made: Sequence[int]) -> None:
    """Album pages, each with four of the prints."""
    pages = min(PAGES, len(made) // 8)
    album = work.insert_one(t.container, name="Blue album")
    numbers = work.take("photograph.code", pages)
    rows = [(f"K{n:05d}", album, at + 1, 1, f"Page {at + 1}") for at, n in enumerate(numbers)]
    mounted = zip(_insert_photographs(work, rows), _fours(made), strict=False)
    _state(work, [
        (photo, None, "part-of", "", "", None, None, "", page, None, None) for page, four in mounted for photo in four
    ])  # fmt: skip


def _fours(made: Sequence[int]) -> Iterator[Sequence[int]]:
    return (made[at : at + 4] for at in range(0, len(made), 4))


def _make_vague(database: Path, dice: random.Random) -> None:
    with sqlite3.connect(database) as connection:
        births = [row[0] for row in connection.execute("SELECT id FROM event WHERE tag = 'BIRT'")]
        chosen = dice.sample(births, int(len(births) * VAGUE))
        half = len(chosen) // 2
        connection.executemany("DELETE FROM event WHERE id = ?", [(i,) for i in chosen[:half]])
        widen = "UPDATE event SET first = first - 1826, last = last + 1826 WHERE id = ?"
        connection.executemany(widen, [(i,) for i in chosen[half:]])
    connection.close()
