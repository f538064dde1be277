"""Mutates the small trees of the corpus and reads what comes of it: nothing may fail, hang, or fill the memory.

    PYTHONPATH=tests/tree python tests/bench/fuzz_tree.py [FILES] [SEED]

It is guided by coverage: every so often the lines of `kinphoto/tree` that a file leads through are noted, one after
which other, and a file that leads where none has led joins those that are mutated. Each file is read, and some are
imported, one over the other. Allowed are an answer, or an error of this program in one
line; not allowed are any other exception, more than five seconds of the processor for one file, or more than a gigabyte
of memory. The counts are printed, and the files that did what is not allowed are kept and named.
"""

from __future__ import annotations

import random
import resource
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

import corpus

from kinphoto.archive import Archive
from kinphoto.errors import KinphotoError
from kinphoto.gedcom import decode, read
from kinphoto.gedcom.records import Warnings

SECONDS, MEGABYTES = 5, 1024
PART = 5_000
"""Files after which a fresh archive is begun and the progress told."""
READERS = str(Path(read.__file__).parent)
GUIDED_EVERY, GUIDED = 3, 20_000
"""One file in so many is looked at for where it leads, if it has no more bytes than that."""
INTERESTING = (
    b"0", b"1 ", b"99 ", b"\n", b"\r", b"\0", b"@", b"@@", b"@I1@", b"@VOID@", b"\xff\xfe", b"\xef\xbb\xbf", b"\xe2",
    b"\n0 ", b"\n1 DATE ", b"\n2 DATE ", b" BET ", b"-1", b"/", b"99999999999999999999", b"CONC ", b"CONT ",
    b"0 HEAD\n", b"0 TRLR\n", b"1 CHAR ANSEL\n", b"1 CHAR UNICODE\n", b"@#DHEBREW@ ", b" AND ", b"\t", b"\xc2\xa0",
    b"PK\x03\x04", b"\x0c", b"\xe2\x80\xa8",
)  # fmt: skip


def mutated(dice: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """A file with one to eight things done to it."""
    for _ in range(dice.choice((1, 1, 2, 3, 8))):
        data = dice.choice(WAYS)(dice, data, others)
    return data[: 1 << 20]


def _at(dice: random.Random, data: bytes) -> int:
    return dice.randrange(len(data) + 1)


def _flip(dice: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Change one byte."""
    at = _at(dice, data)
    return data[:at] + bytes([dice.randrange(256)]) + data[at + 1 :]


def _cut(dice: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Leave a part out."""
    one, other = sorted((_at(dice, data), _at(dice, data)))
    return data[:one] + data[min(other, one + 200) :]


def _end(dice: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """End early."""
    return data[: _at(dice, data)]


def _insert(dice: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Put in something that means something, once or very often."""
    at = _at(dice, data)
    return data[:at] + dice.choice(INTERESTING) * dice.choice((1, 1, 1, 2, 300)) + data[at:]


def _double(dice: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Repeat a part, now and then a thousand times."""
    one, other = sorted((_at(dice, data), _at(dice, data)))
    part = data[one : min(other, one + 120)]
    return data[:other] + part * dice.choice((1, 1, 1, 1000)) + data[other:]


def _lines(dice: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Shuffle some lines."""
    lines = data.split(b"\n")
    one, other = sorted((dice.randrange(len(lines)), dice.randrange(len(lines))))
    some = lines[one : other + 1]
    dice.shuffle(some)
    return b"\n".join([*lines[:one], *some, *lines[other + 1 :]])


def _levels(dice: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Give a line another level."""
    lines = data.split(b"\n")
    at = dice.randrange(len(lines))
    lines[at] = str(dice.choice((0, 1, 2, 3, 9, 50, 99, 100, 12345))).encode() + lines[at].lstrip(b"0123456789")
    return b"\n".join(lines)


def _join(dice: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Go on as another file."""
    other = dice.choice(others)
    return data[: _at(dice, data)] + other[_at(dice, other) :]


def _recode(dice: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """Write it in another encoding than it says."""
    return data.decode("latin-1").encode(dice.choice(("utf-8", "utf-16", "utf-16-le", "utf-16-be", "utf-8-sig")))


WAYS: tuple[Callable[[random.Random, bytes, list[bytes]], bytes], ...] = (
    _flip, _flip, _cut, _end, _insert, _insert, _double, _lines, _levels, _join, _recode,
)  # fmt: skip


class TooLongError(Exception):
    """A file took longer than it may."""


def _alarm(*_: object) -> None:
    raise TooLongError


def outcome(read_it: Callable[[], object]) -> str:
    """What came of it: "read", "refused", or what is not allowed."""
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    try:
        read_it()
    except KinphotoError as problem:
        return "refused" if "\n" not in str(problem) else "an error of several lines"
    except TooLongError:
        return f"longer than {SECONDS} seconds"
    except Exception as problem:
        where = traceback.extract_tb(problem.__traceback__)[-1]
        return f"{type(problem).__name__} in {Path(where.filename).name}:{where.lineno}"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    return "read"


def read_it(path: Path) -> None:
    """Read all records of a file."""
    for _ in read.read_tree(decode.examine(path), Warnings()):
        pass


class Pool:
    """The files that are mutated: at first the small trees of the corpus, which are read once in `folder`. `steps` are
    those from line to line, in the modules that read trees, that were ever taken."""

    def __init__(self, folder: Path) -> None:
        self.trees = [(name, data) for name, data in corpus.trees().items() if len(data) < 1 << 17]
        self.contents = [data for _, data in self.trees]
        self.steps: set[tuple[str, int, int]] = set()
        for name, data in self.trees:
            (folder / name).write_bytes(data)
            self.leads_anew(folder / name)

    def add(self, name: str, data: bytes) -> None:
        """One that leads where none has led."""
        self.trees.append((name, data))
        self.contents.append(data)

    def leads_anew(self, path: Path) -> bool:
        """Whether reading a file takes steps that were never taken before; whatever else comes of it."""
        known = len(self.steps)
        sys.settrace(self._enter)
        try:
            outcome(lambda: read_it(path))
        finally:
            sys.settrace(None)
        return len(self.steps) > known

    def _enter(self, frame: FrameType, event: str, arg: object) -> Callable[..., Any] | None:
        file, before = frame.f_code.co_filename, 0
        if not file.startswith(READERS):
            return None

        def step(frame: FrameType, event: str, arg: object) -> Callable[..., Any]:
            nonlocal before
            if event == "line":
                self.steps.add((file, before, frame.f_lineno))
                before = frame.f_lineno
            return step

        return step


def fuzz(
    files: int, seed: int, folder: Path, import_every: int = 25, pool: Pool | None = None
) -> Counter[str]:  # fmt: skip
    """Read so many mutated files; every so often one is imported as well, over what was there before, and one is looked
    at for where it leads. `pool` are the files that are mutated, to which others are added."""
    dice = random.Random(seed)
    pool = pool or Pool(folder)
    archive = Archive.create(folder / "archive")
    counts: Counter[str] = Counter()
    before = signal.signal(signal.SIGPROF, _alarm)
    for number in range(files):
        name, tree = dice.choice(pool.trees)
        path, data = folder / name, mutated(dice, tree, pool.contents)
        path.write_bytes(data)
        found = outcome(lambda path=path: read_it(path))
        if number % GUIDED_EVERY == 0 and len(data) < GUIDED and pool.leads_anew(path):
            pool.add(name, data)
        if found == "read" and number % import_every == 0:
            found = outcome(lambda path=path: archive.tree.import_file(path)).replace("read", "imported")
        counts[found] += 1
        if found not in ("read", "refused", "imported"):
            path.rename(folder / f"bad-{number}-{name}")
    signal.signal(signal.SIGPROF, before)
    return counts


def main() -> None:
    """Run it and print the counts."""
    files = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    folder = Path(tempfile.mkdtemp(prefix="fuzz-tree-"))
    start = time.perf_counter()
    counts: Counter[str] = Counter()
    pool = Pool(folder)
    own = len(pool.trees)
    for part in range(0, files, PART):
        place = folder / str(part)
        place.mkdir()
        counts += fuzz(min(PART, files - part), seed + part // PART, place, 100, pool)
        print(f"{part + PART:,} files, {time.perf_counter() - start:.0f} s", file=sys.stderr, flush=True)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    for what, count in counts.most_common():
        print(f"{count:8,}  {what}")
    print(f"{files:,} files in {time.perf_counter() - start:.0f} s, peak {peak:.0f} MB (bound {MEGABYTES} MB)")
    print(f"{len(pool.trees) - own} of them led where none of the {own} trees of the corpus leads: mutated further")
    bad = sorted(folder.glob("*/bad-*"))
    print(f"not allowed: {len(bad)}" + "".join(f"\n  {path}" for path in bad[:20]))
    sys.exit(bool(bad) or peak > MEGABYTES)


if __name__ == "__main__":
    main()
