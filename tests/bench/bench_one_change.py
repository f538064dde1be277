"""One change in a large archive, its container included: how long it takes until the dates it moves are kept, and how
often these are what dating everything makes of it.

    python tests/bench/bench_one_change.py [--photographs 100000] [--people 50000] [--changes 100] [--keep DIR]

The archive is `large` with photographs of a time together, in boxes of eight to five hundred. Each change is of another
photograph, chosen by lot, and is one of five: another one of the household is named with an age, a date is told, a
process, an age or a name is no longer used. What is measured is `Archive.dates.refresh_photographs`, in the
processor's time; 95 in 100 must take less than 150 ms. When all changes were made everything is dated once. Of the
photographs that this moves by more than a month (their best date or an end of the likely range) 99 in 100 must have
been moved to within a month of it, and of the others 99.5 in 100 must have stayed. Photographs that conflicts concern
before or after are counted apart.

What is learned for the whole archive stays as of the last full dating until the next. So everything is dated twice:
with all of that learned anew, and with how informants judge, how often ages are fitted to a date and how wide
containers are as they were. Both tables are printed.
"""

from __future__ import annotations

import argparse
import gc
import random
import shutil
import tempfile
from collections import Counter, defaultdict
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter, process_time
from unittest.mock import patch

import large
from bench_date_now import MONTH, Score, apart, kept
from making import make_family
from sqlalchemy import select

from kinphoto.archive import DATABASE, Archive
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.errors import KinphotoError
from kinphoto.reason.dating import Inference, date_archive
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.containers import learned as learned_widths
from kinphoto.reason.model.findings import Estimate, State
from kinphoto.store import tables as t

_LEARNED = "kinphoto.reason.soft.containers.learned"
"""Where full dating learns how wide containers are."""
Change = Callable[[Archive, random.Random, str, large.Shown], bool]


def named(archive: Archive, dice: random.Random, code: str, shown: large.Shown) -> bool:
    """Another one of the household is named, with an age that somebody judged."""
    home, there = shown.home, {who.number for who, _ in shown.people}
    others = [p for p in (home.father, home.mother, *home.children)
              if p.number not in there and p.born < shown.day < p.died]  # fmt: skip
    if not others:
        return False
    who = dice.choice(others)
    age = (shown.day - who.born) / 365.25
    low, high = int(max(age * 0.95 - 1, 0)), int(age * 1.05)
    archive.statements.link(Link(photograph=code, person=f"I{who.number}", age=f"{low}-{high}"))
    return True


def told(archive: Archive, dice: random.Random, code: str, shown: large.Shown) -> bool:
    """Somebody tells the year, or nearly."""
    year = date.fromordinal(shown.day).year
    when = dice.choice((str(year), f"about {year + dice.randrange(-2, 3)}"))
    archive.statements.record(NewClaim(photograph=code, kind="taken", date=when))
    return True


def made(archive: Archive, dice: random.Random, code: str, shown: large.Shown) -> bool:
    """It is a paper of after 1900, if it is."""
    if date.fromordinal(shown.day).year < 1905:
        return False
    archive.statements.record_making(code, "process", "gelatin-silver")
    return True


def withdrawn(archive: Archive, dice: random.Random, code: str, shown: large.Shown) -> bool:
    """An age is no longer used."""
    return _withdraw(archive, dice, code, "S")


def nameless(archive: Archive, dice: random.Random, code: str, shown: large.Shown) -> bool:
    """A name is no longer used."""
    return _withdraw(archive, dice, code, "A")


def _withdraw(archive: Archive, dice: random.Random, code: str, letter: str) -> bool:
    table = t.statement if letter == "S" else t.appearance
    with archive.reading() as connection:
        query = select(table.c.id).join(t.photograph, t.photograph.c.id == table.c.photograph_id)
        query = query.where(t.photograph.c.code == code, table.c.withdrawn == 0)
        if letter == "S":
            query = query.where(table.c.kind == "apparent-age")
        found = list(connection.scalars(query.order_by(table.c.id)))
    if not found:
        return False
    archive.statements.withdraw(f"{letter}{dice.choice(found)}")
    return True


CHANGES: dict[str, Change] = {
    "named": named, "told": told, "process": made, "age not used": withdrawn, "name not used": nameless,
}  # fmt: skip


def main() -> None:
    """Print the tables."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--photographs", type=int, default=100_000)
    arguments.add_argument("--people", type=int, default=50_000)
    arguments.add_argument("--changes", type=int, default=100)
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--keep", type=Path)
    arguments.add_argument("--worst", type=int, default=0, help="print so many that were missed")
    asked = arguments.parse_args()
    with tempfile.TemporaryDirectory() as name:
        built = large.archive(asked.keep or Path(name) / "made", asked.photographs, asked.people, of_a_time=True)
        built.dates.refresh()
        built.close()
        (Path(name) / "copy").mkdir()
        shutil.copyfile(built.folder / DATABASE, Path(name) / "copy" / DATABASE)
        measure(Archive.open(Path(name) / "copy"), asked)


def measure(archive: Archive, asked: argparse.Namespace) -> None:
    """Make the changes, date everything, and compare."""
    _, homes = make_family(asked.people, seed=1)
    shown = large.drawn(random.Random(1), homes, asked.photographs, of_a_time=True)
    before, dice = kept(archive), random.Random(asked.seed)
    sizes = _sizes(archive)
    with archive.reading() as connection:
        learned = Learned(gather(connection))
    took, by_kind, changed = defaultdict[int, list[float]](list), defaultdict[str, list[float]](list), set[str]()
    clock = []
    gc.collect()
    gc.freeze()  # what this script holds of the family is not to be looked through while something is measured
    for n in dice.sample(range(len(shown)), len(shown)):
        if len(changed) == asked.changes:
            break
        code, kind = f"K{n + 1:05d}", list(CHANGES)[len(changed) % len(CHANGES)]
        try:
            if not CHANGES[kind](archive, dice, code, shown[n]):
                continue
        except KinphotoError:
            continue
        wall, start = perf_counter(), process_time()
        archive.dates.refresh_photographs([code])
        passed = 1000 * (process_time() - start)
        clock.append(1000 * (perf_counter() - wall))
        took[sizes[code]].append(passed)
        by_kind[kind].append(passed)
        changed.add(code)
    print(f"{asked.photographs:,} photographs, {len(changed)} changes; milliseconds of the processor, and 95 % below")
    every = [passed for some in took.values() for passed in some]
    for title, some in (*by_kind.items(), *((f"in {size}", took[size]) for size in sorted(took)),
                        ("up to 500", every), ("by the clock", clock)):  # fmt: skip
        print(
            f"{title:16}{len(some):5}{median(some):9.1f}{quantiles([*some, *some], n=20)[-1]:9.1f}{max(some):9.1f}",
            flush=True,
        )
    now = kept(archive)
    with archive.reading() as connection:
        evidence = gather(connection)
    whole = {e.photograph: e for e in date_archive(evidence).estimates}
    print("everything that is learned for the archive learned anew")
    compare(before, now, whole, changed, _boxes(archive), asked.worst)
    print("as of the last full dating")
    compare(before, now, learned.date_again(evidence), changed, _boxes(archive), asked.worst)


class Learned:
    """What is learned for an archive as a whole, and everything dated again with that as it was."""

    def __init__(self, evidence: ev.Evidence) -> None:
        self._widths: list[Array] = []

        def noted(told: Array, counts: Array) -> Array:
            self._widths.append(learned_widths(told, counts))
            return self._widths[-1]

        with patch(_LEARNED, noted):
            self._findings = date_archive(evidence)

    def date_again(self, evidence: ev.Evidence) -> dict[str, Estimate]:
        """The estimates of this evidence, which has the same containers."""
        assert self._findings.fitted is not None
        widths = iter(self._widths)
        with patch(_LEARNED, lambda told, counts: next(widths)):
            again = Inference(
                replace(evidence, fitted=self._findings.fitted.share), self._findings.informants, lasting=True
            )
        return {e.photograph: e for e in again.findings().estimates}


def compare(
    before: Mapping[str, Estimate], now: Mapping[str, Estimate], whole: Mapping[str, Estimate], changed: set[str],
    boxes: Mapping[str, int], worst: int,
) -> None:  # fmt: skip
    """Print how far what was moved since `before` is what dating the `whole` makes of it."""
    scores = defaultdict[str, Score](Score)
    touched = {boxes[code] for code in changed}
    missed = []
    for code in whole.keys() | now.keys():
        should, off = apart(before.get(code), whole.get(code)), apart(now.get(code), whole.get(code))
        did = apart(before.get(code), now.get(code))
        disputed = State.DISPUTED in {e.state for e in (before.get(code), whole.get(code)) if e}
        where = "itself" if code in changed else "in its box" if boxes[code] in touched else "elsewhere"
        names = ("disputed",) if disputed else (where, "all")
        for score in (scores[name] for name in names):
            score.count(should, did, off)
        if not disputed and (off > MONTH if should > MONTH else did > MONTH):
            missed.append((where, code, should, did, off))
    print(f"{'':16}{'moved':>8}{'followed':>11}{'still':>9}{'stayed':>11}{'worst':>13}")
    for name in ("itself", "in its box", "elsewhere", "all", "disputed"):
        score = scores[name]
        print(f"{name:16}{score.moved:8}{100 * score.followed / max(score.moved, 1):9.1f} %"
              f"{score.still:9}{100 * score.stayed / max(score.still, 1):9.2f} %{score.worst:8} days")  # fmt: skip
    print(dict(Counter(where for where, *_ in missed)))
    for line in sorted(missed, key=lambda one: -one[-1])[:worst]:
        print(*line)


def _boxes(archive: Archive) -> dict[str, int]:
    with archive.reading() as connection:
        p = t.photograph.c
        return dict(connection.execute(select(p.code, p.container_id)).all())


def _sizes(archive: Archive) -> dict[str, int]:
    boxes = _boxes(archive)
    many = Counter(boxes.values())
    return {code: many[box] for code, box in boxes.items()}


if __name__ == "__main__":
    main()
