"""What is given away against the least that could be done: copies with metadata inside against copying the files, the
pictures of a site against a bare loop that decodes, shrinks and saves them on all cores, and a second run.

    python tests/bench/bench_give.py [SCANS] [SITE]

Scans are JPEG files of noise and shapes, about 2 MB each; the files are in the disk's cache for both sides.
"""

from __future__ import annotations

import io
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.scans.workers import cores

MANY, OF_A_SITE = 1000, 300


def scans(folder: Path, count: int) -> list[Path]:
    """JPEG files as scanners write them, no two the same."""
    folder.mkdir()
    rng = np.random.default_rng(5)
    small = rng.integers(60, 200, (150, 200, 3), dtype=np.uint8)
    whole = np.asarray(Image.fromarray(small).resize((2400, 1800), Image.Resampling.BICUBIC)).astype(np.int16)
    picture = Image.fromarray(np.clip(whole + rng.normal(0, 12, whole.shape), 0, 255).astype(np.uint8))
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=92, dpi=(600, 600))
    data = out.getvalue()
    paths = []
    for number in range(
        count
    ):  # a comment makes each another file; to encode thousands would take longer than all else
        note = f"scan {number}".encode()
        path = folder / f"{number:05}.jpg"
        path.write_bytes(data[:2] + b"\xff\xfe" + (len(note) + 2).to_bytes(2, "big") + note + data[2:])
        paths.append(path)
    return paths


def archive_of(place: Path, folder: Path, count: int) -> Archive:
    """An archive of these scans, with somebody who died long ago on each, dated."""
    archive = Archive.create(place / f"archive{count}")
    archive.people.add("Ada Marsh", "1850", "1940")
    archive.scans.add([folder])
    with (place / "links.csv").open("w") as file:
        file.write("photo,person,left,top,width,height\n")
        file.writelines(f"K{number:05},X1,0.1,0.2,0.3,0.4\n" for number in range(1, count + 1))
    archive.statements.apply_spreadsheet("links", place / "links.csv")
    archive.dates.refresh()
    return archive


def timed(work: Callable[[], object], times: int = 3) -> float:
    """The shortest of a few runs, in seconds."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


def main(many: int, of_a_site: int) -> None:
    """Print the ratios."""
    with tempfile.TemporaryDirectory(prefix="kinphoto-bench-") as name:
        place = Path(name)
        paths = scans(place / "scans", many)
        archive = archive_of(place, place / "scans", many)

        def copy_files() -> None:
            shutil.rmtree(place / "bare", ignore_errors=True)
            (place / "bare").mkdir()
            for path in paths:
                shutil.copyfile(path, place / "bare" / path.name)

        def give_copies() -> None:
            shutil.rmtree(place / "copies", ignore_errors=True)
            archive.give.write_copies(place / "copies", "public", write=True)

        bare, given = timed(copy_files), timed(give_copies)
        print(f"copies of {many} JPEG scans: {given:.2f} s, copying the files {bare:.2f} s, ratio {given / bare:.2f}")
        again = timed(lambda: archive.give.write_copies(place / "copies", "public", write=True))
        print(f"a second run: {again:.2f} s")

        few = scans(place / "few", of_a_site)
        small = archive_of(place, place / "few", of_a_site)

        def shrink(path: Path) -> None:
            with Image.open(path) as image:
                image.draft(None, (2048, 2048))
                image.load()
                image.thumbnail((2048, 2048), Image.Resampling.LANCZOS)
                image.save(place / "shrunk" / path.name, "JPEG", quality=92)

        def bare_pictures() -> None:
            shutil.rmtree(place / "shrunk", ignore_errors=True)
            (place / "shrunk").mkdir()
            with ThreadPoolExecutor(cores()) as pool:
                list(pool.map(shrink, few))

        def site() -> None:
            shutil.rmtree(place / "site", ignore_errors=True)
            small.give.write_site(place / "site", "public", write=True)

        bare, made = timed(bare_pictures, 1), timed(site, 1)
        print(f"a site of {of_a_site}: {made:.1f} s, its pictures by a bare loop {bare:.1f} s, ratio {made / bare:.2f}")
        small.statements.link(Link(photograph="K00001", person="X1", region="0.5,0.5,0.1,0.1", role="likeness"))
        small.dates.refresh()
        again = timed(lambda: small.give.write_site(place / "site", "public", write=True), 1)
        print(f"a second run after one change: {again:.2f} s")
        print(f"memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB at most")
        for one in (archive, small):
            one.close()


if __name__ == "__main__":
    asked = [int(each) for each in sys.argv[1:3]]
    main(*asked, *(MANY, OF_A_SITE)[len(asked) :])
