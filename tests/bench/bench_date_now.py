"""What `Archive.dates.refresh_photographs` makes of a change, beside dating everything, on archives as families have.

    python tests/bench/bench_date_now.py [--archives 10] [--changes 500] [--photographs N] [--near] [--worst 5]

Each change starts from an archive in which everything is dated. After it `date_now` is called for the photographs that
a page would name; then everything is dated by itself, and nothing of that is kept. A photograph *moves* when its best
date or an end of its likely range moves by more than a month, or it gets one, or loses it. Of those that dating
everything moves at least 95 in 100 must be moved to within a month of the same; of the others 99.5 in 100 must stay.

`--near` tries what is done on a large archive: only what hangs together with the photograph is looked at.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median
from time import monotonic, process_time

import families

from kinphoto.archive import Archive
from kinphoto.archive.dates import whole
from kinphoto.archive.dates.evidence import gather
from kinphoto.errors import KinphotoError
from kinphoto.reason.dating import date_archive
from kinphoto.reason.model.findings import Estimate, State

MONTH = 31


@dataclass
class Score:
    """What came of the changes of one kind."""

    changes: int = 0
    moved: int = 0
    followed: int = 0
    still: int = 0
    stayed: int = 0
    worst: int = 0
    took: list[float] = field(default_factory=list)
    missed: list[str] = field(default_factory=list)

    def count(self, should: int, did: int, off: int) -> None:
        """Count a photograph that everything dated again would move by so many days, that was moved by so many, and is
        so many off then."""
        self.worst = max(self.worst, off)
        if should > MONTH:
            self.moved += 1
            self.followed += off <= MONTH
        else:
            self.still += 1
            self.stayed += did <= MONTH

    def row(self, name: str) -> str:
        """A line of the table."""
        followed, stayed = 100 * self.followed / max(self.moved, 1), 100 * self.stayed / max(self.still, 1)
        took = f"{1000 * median(self.took or [0]):9.0f} ms{1000 * max(self.took, default=0):7.0f} ms"
        return (f"{name:16}{self.changes:8}{self.moved:8}{followed:9.1f} %{self.still:9}{stayed:9.2f} %"
                f"{self.worst:8} days{took}")  # fmt: skip


def apart(one: Estimate | None, other: Estimate | None) -> int:
    """The most days by which two estimates of a photograph differ."""
    if one is None or other is None:
        return 0 if one is other else 99_999
    pairs = [(one.best, other.best), (one.likely_from, other.likely_from), (one.likely_to, other.likely_to)]
    if any((a is None) is not (b is None) for a, b in pairs):
        return 99_999
    return max(abs((a or 0) - (b or 0)) for a, b in pairs)


def kept(archive: Archive) -> dict[str, Estimate]:
    """The estimates as they are kept."""
    return {d.code: d.estimate for d in archive.dates.kept_estimates().photographs}


def try_one(family: families.Family, kind: str, scores: dict[str, Score]) -> None:
    """One change, dated at once and as a whole."""
    archive = family.archive
    archive.dates.refresh()
    before = kept(archive)
    try:
        codes = families.KINDS[kind](family)
    except KinphotoError:
        return  # what cannot be said is refused, and nothing was changed
    start = process_time()
    archive.dates.refresh_photographs(codes)
    took = process_time() - start
    now = kept(archive)
    with archive.reading() as connection:
        whole = {e.photograph: e for e in date_archive(gather(connection)).estimates}
    for score in (scores[kind], scores["all"]):
        score.changes += 1
        score.took.append(took)
    for code in whole.keys() | now.keys():
        should, off = apart(before.get(code), whole.get(code)), apart(now.get(code), whole.get(code))
        did = apart(before.get(code), now.get(code))
        for score in (scores[kind], scores["all"]):
            score.count(should, did, off)
        if off > MONTH:
            disputed = State.DISPUTED in {e.state for e in (before.get(code), whole.get(code)) if e}
            own = "itself" if code in codes else "another"
            scores["all"].missed.append(f"{own}, {'followed not' if should > MONTH else 'moved'}"
                                        f"{', disputed' if disputed else ''}")  # fmt: skip
            scores[kind].missed.append(
                f"{family.folder.name} {kind} {codes} {code}: should {should}, did {did}, off {off}"
            )


def main() -> None:
    """Print the table."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--archives", type=int, default=10)
    arguments.add_argument("--changes", type=int, default=500)
    arguments.add_argument("--photographs", type=int, default=None)
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--minutes", type=float, default=60, help="for all, shared evenly by the archives")
    arguments.add_argument("--near", action="store_true")
    arguments.add_argument("--worst", type=int, default=0)
    given = arguments.parse_args()
    if given.near:
        whole.AT_ONCE = whole.HELD = 0
    scores = {kind: Score() for kind in (*families.KINDS, "all")}
    kinds = list(families.KINDS)
    with tempfile.TemporaryDirectory() as name:
        for seed in range(given.seed, given.seed + given.archives):
            folder = Path(name) / str(seed)
            folder.mkdir()
            family = families.build(folder, seed, given.photographs)
            done, end = 0, monotonic() + 60 * given.minutes / given.archives
            while done < given.changes // given.archives and monotonic() < end:
                try_one(family, kinds[done % len(kinds)], scores)
                done += 1
    print(
        f"{'':16}{'changes':>8}{'moved':>8}{'followed':>11}{'still':>9}{'stayed':>11}{'worst':>13}{'median':>12}{'most':>10}"
    )
    for kind, score in scores.items():
        print(score.row(kind))
    print(Counter(scores["all"].missed).most_common())
    for kind in kinds:
        for line in scores[kind].missed[: given.worst]:
            print(line)


if __name__ == "__main__":
    main()
