"""Writing a tree of 100,000 people with 5,000 photographs in it, against importing it.

    python tests/bench/bench_tree_write.py [PEOPLE]

Each side runs in a process of its own, in one run of this script; seconds are the processor's. Estimates count as made:
they are another matter.
Bound: at most the time of the import.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from bench_tree import IMPORT, run, write

PHOTOGRAPHS = 5000

NAME = """
import resource, sys, time
from pathlib import Path
from kinphoto.archive import Archive
from kinphoto.archive.dates.stored import keep_all
from kinphoto.archive.catalogue.freshness import stamp
from kinphoto.archive.words.conflict_stories import StoryBook
from kinphoto.reason.model.findings import Findings
from kinphoto.store import tables as t
archive, photographs, people = Archive.open(Path(sys.argv[1])), int(sys.argv[2]), int(sys.argv[3])
start = time.process_time()
with archive.working("named") as work:
    codes = [f"K{n:05d}" for n in range(1, photographs + 1)]
    ids = work.insert(t.photograph, [dict(code=code, indexed=739_000, title=f"Picture {code}") for code in codes])
    scan = dict(size=1, mtime_ns=1, file_type="JPEG", width=2000, height=1500, indexed_at="", first_sha256="0")
    work.insert(t.scan, [dict(scan, photograph_id=i, path=f"/box/{i}.jpg", sha256=str(i)) for i in ids])
    frame = dict(left=0.2, top=0.2, width=0.1, height=0.2)
    regions = work.insert(t.region, [dict(frame, photograph_id=i) for i in ids])
    for k in range(3):
        seen = [
            dict(photograph_id=i, person_id=people * 6 // 10 + (i * 7 + k) % (people // 4), region_id=r, said_at="")
            for i, r in zip(ids, regions if k == 0 else [None] * photographs, strict=True)
        ]
        work.insert(t.appearance, seen)
with archive.reading() as connection:
    moment = stamp(connection)
keep_all(archive.engine, Findings((), (), (), (), 0.0), StoryBook((), (), (), 0.0), moment)
print(time.process_time() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""
WRITE = """
import resource, sys, time
from pathlib import Path
from kinphoto.archive import Archive
archive = Archive.open(Path(sys.argv[1]))
start = time.process_time()
done = archive.tree.write_file(Path(sys.argv[2]), sys.argv[3] or None)
assert done.photographs > 1000, done
print(time.process_time() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def main() -> None:
    """Import, name, write; print the ratios."""
    people = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory() as folder:
        tree, archive = Path(folder, "tree.ged"), Path(folder, "archive")
        write(tree, people)
        print(f"{people:,} people, {tree.stat().st_size / 1e6:.0f} MB, {PHOTOGRAPHS:,} photographs of 3 people each")
        [(brought, brought_mb)] = run(IMPORT, tree, archive)
        run(NAME, archive, PHOTOGRAPHS, people)
        [(same, same_mb)] = run(WRITE, archive, Path(folder, "out.ged"), "")
        [(other, other_mb)] = run(WRITE, archive, Path(folder, "seven.ged"), "7.0")
    print(f"{'':24}{'seconds':>10}{'peak MB':>10}{'ratio':>10}")
    print(f"{'import':24}{brought:10.1f}{brought_mb:10.0f}")
    print(f"{'write (bound 1)':24}{same:10.1f}{same_mb:10.0f}{same / brought:10.2f}")
    print(f"{'write as 7.0':24}{other:10.1f}{other_mb:10.0f}{other / brought:10.2f}")


if __name__ == "__main__":
    main()
