"""What the likeness of faces adds to an offer of names, with 6,000 faces compared, while somebody names one after the
other.

    python tests/bench/bench_compared.py [PHOTOGRAPHS]

2,000 photographs with three described faces each, two of three named. Faces are named one after the other; after each
name, names are offered for the next face. Compared are the offer itself without faces, the same with them, and reading
all of the faces anew, as if nothing were kept in memory. Processor time, the median; the descriptions are random, which
costs the same. Bound: an offer takes at most 25 ms more with the faces than without.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from statistics import median
from time import process_time

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))
from bench_offer import make

from kinphoto.archive import Archive
from kinphoto.archive.faces.compared import _Memory
from kinphoto.archive.faces.kept import VERSION, keep_found
from kinphoto.archive.statements.appearances import Link
from kinphoto.store import face_file
from kinphoto.store import tables as t

EACH, TIMES, BOUND = 3, 60, 0.025
BOXES = [[0.1 + 0.3 * n, 0.3, 0.15, 0.2] for n in range(EACH)]


def with_faces(archive: Archive, photographs: int) -> None:
    """Give each photograph a front with three described faces, two of them framed."""
    dice = np.random.default_rng(3)
    ids = range(1, photographs + 1)
    a = t.appearance.c
    with archive.working("fronts") as work:
        common = {"size": 1, "mtime_ns": 1, "file_type": "JPEG", "width": 1000, "height": 800, "indexed_at": ""}
        work.insert(t.scan, [{"photograph_id": n, "path": f"/nowhere/{n}.jpg", "sha256": f"{n:064x}",
                              "first_sha256": f"{n:064x}", **common} for n in ids])  # fmt: skip
        sides = ("left", "top", "width", "height")
        rows = [{"photograph_id": n, **dict(zip(sides, box, strict=True))} for n in ids for box in BOXES[:2]]
        work.insert(t.region, rows)
        seen = work.connection.execute(
            t.appearance.select().with_only_columns(a.id, a.photograph_id).order_by(a.photograph_id, a.id)
        ).all()
        free = {n: [2 * n - 1, 2 * n] for n in ids}
        for id_, n in seen:
            if free[n]:
                work.update(t.appearance, [id_], region_id=free[n].pop(0))
    with face_file.writing(archive.folder) as file:
        for n in ids:
            frames = [{"region": box, "score": 0.9, "points": []} for box in BOXES]
            keep_found(file, (f"{n:064x}", VERSION), {"faces": frames, "turn": 0})
        for (id_,) in file.execute("SELECT id FROM face").fetchall():
            numbers = dice.normal(size=128)
            packed = (numbers / np.linalg.norm(numbers)).astype("<f4").tobytes()
            file.execute("UPDATE face SET descriptor = ? WHERE id = ?", [packed, id_])


def seconds(archive: Archive, first: int, people: list[str]) -> tuple[float, float]:
    """Of an offer just after a name was given, and of reading all faces anew (0 where there are none)."""
    offers, anew = [], []
    on = archive.faces.state().on
    for number in range(first, first + TIMES):
        archive.statements.link(
            Link(photograph=f"K{number:05}", person=people[number], region=",".join(map(str, BOXES[2])))
        )
        start = process_time()
        archive.asking.name_suggestions(f"K{number + 1:05}", region=",".join(map(str, BOXES[2])))
        offers.append(process_time() - start)
        if on and number % 10 == 0:
            with archive.reading() as rows:
                start = process_time()
                found = _Memory().brought_up_to_date(rows)
                anew.append(process_time() - start)
            assert len(found.faces) > EACH * 1000
    return median(offers), median(anew or [0.0])


def main(photographs: int = 2000) -> int:
    """Print the times; 1 where the bound is missed."""
    with tempfile.TemporaryDirectory() as folder:
        archive, everybody = make(Path(folder) / "archive", 5000, photographs)
        people = [f"I{somebody.number}" for somebody in everybody]
        archive.faces.turn_on("bench", living=True)
        with_faces(archive, photographs)
        archive.asking.name_suggestions("K00001")
        with_it, anew = seconds(archive, 100, people)
        archive.faces.turn_off()
        archive.asking.name_suggestions("K00001")
        without, _ = seconds(archive, 500, people)
        archive.close()
    print(
        f"{EACH * photographs:,} faces; an offer after a name: {1000 * with_it:.1f} ms, without faces "
        f"{1000 * without:.1f} ms; reading all faces anew {1000 * anew:.0f} ms"
    )
    good = with_it - without <= BOUND
    print("within the bound" if good else "OUTSIDE THE BOUND")
    return 0 if good else 1


if __name__ == "__main__":
    raise SystemExit(main(*(int(word) for word in sys.argv[1:])))
