"""What questions and hindsight cost beside dating the same archive once, in the processor's time of one run.

Run: python tests/bench/bench_asking.py [--photographs 2000] [--people 3000]
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable

from invented import large

from kinphoto.reason.advice.hindsight import hindsight
from kinphoto.reason.advice.question import Context, questions
from kinphoto.reason.dating import date_archive


def seconds(work: Callable[[], object]) -> tuple[float, object]:
    """Processor time, and what came of it."""
    start = time.process_time()
    found = work()
    return time.process_time() - start, found


def main() -> None:
    """Print the times and their ratios."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--photographs", type=int, default=2000)
    options.add_argument("--people", type=int, default=3000)
    given = options.parse_args()
    evidence = large(given.people, given.photographs, seed=1, careless=0.02)
    codes = [p.id for p in evidence.photographs if not p.page]
    boxes = {code: str(n // 100) for n, code in enumerate(codes)}
    once, _ = seconds(lambda: date_archive(evidence))
    print(f"{len(codes)} photographs, {given.people} people: dating everything once {once:.1f} s")
    for name, work in (
        ("questions", lambda: questions(evidence, codes, Context(boxes))),
        ("hindsight", lambda: hindsight(evidence).rows),
    ):
        took, found = seconds(work)
        print(f"{name} {took:.1f} s, {took / once:.1f} times; {len(found)} found")  # type: ignore[arg-type]


if __name__ == "__main__":
    main()
