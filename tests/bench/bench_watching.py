"""How long after its file is complete a scan is said to be there, in an archive of many scans.

    python tests/bench/bench_watching.py [SCANS_THERE [FILES]]

Files are JPEGs of a scanner's size (8 megapixels), written in pieces as a scanner does. What counts is the time from
the last byte to the line that says the scan is indexed; the bound is two seconds.
"""

from __future__ import annotations

import io
import statistics
import sys
import tempfile
import time
from pathlib import Path
from queue import Queue
from threading import Event, Thread

import numpy as np
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.settings import keep_setting
from kinphoto.archive.collection.reading_inside import READ_TO
from kinphoto.archive.collection.watching import WatchEvent, WatchEventKind
from kinphoto.store import tables as t


def fill(archive: Archive, count: int) -> None:
    """So many scans that are somewhere else, of which is known what their files say, as of all that were added."""
    with archive.working("scans of other boxes") as work:
        ids = work.insert(t.photograph, [{"code": f"K{at:06}", "indexed": 739_000} for at in range(1, count + 1)])
        work.take("photograph.code", count)
        work.insert(
            t.scan,
            [
                {
                    "photograph_id": id_, "path": f"/elsewhere/{at // 400}/box-{at // 400}_{at % 400 + 1:04}.jpg",
                    "sha256": f"{at:064x}", "size": 5_000_000 + at, "mtime_ns": 1, "file_type": "JPEG", "width": 3000,
                    "height": 2000, "indexed_at": "2026-01-01T12:00:00+00:00", "first_sha256": f"{at:064x}",
                    "phash": f"{at:016x}",
                }
                for at, id_ in enumerate(ids)
            ],
        )  # fmt: skip
        keep_setting(work.connection, READ_TO, str(count))


def scan(seed: int) -> bytes:
    """A JPEG of 8 megapixels."""
    small = np.random.default_rng(seed).integers(0, 255, (90, 120, 3), dtype=np.uint8)
    file = io.BytesIO()
    Image.fromarray(small).resize((3300, 2480), Image.Resampling.BICUBIC).save(file, "JPEG", quality=90)
    return file.getvalue()


def main(there: int, files: int) -> None:
    """Print the times."""
    with tempfile.TemporaryDirectory() as place:
        archive, folder = Archive.create(Path(place, "archive")), Path(place, "tin")
        folder.mkdir()
        fill(archive, there)
        happened: Queue[tuple[float, WatchEvent]] = Queue()
        stop = Event()
        thread = Thread(target=archive.scans.watch, args=(folder, lambda s: happened.put((time.monotonic(), s)), stop))
        thread.start()
        happened.get()
        waits = []
        for number in range(1, files + 1):
            data = scan(number)
            with (folder / f"tin_{number:04}.jpg").open("wb") as file:
                for start in range(0, len(data), len(data) // 4 + 1):
                    file.write(data[start : start + len(data) // 4 + 1])
                    file.flush()
                    time.sleep(0.1)
            complete = time.monotonic()
            said, seen = happened.get(timeout=60)
            assert seen.what is WatchEventKind.SCAN, seen
            waits.append(said - complete)
            time.sleep(0.5)
        stop.set()
        thread.join()
        archive.close()
    waits.sort()
    print(f"{files} scans into an archive of {there:,}:")
    print(f"median {statistics.median(waits):.2f} s, longest {waits[-1]:.2f} s")


if __name__ == "__main__":
    main(*(int(word) for word in (sys.argv[1:] + ["100000", "30"][len(sys.argv) - 1 :])))
