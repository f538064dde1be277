"""Whether hindsight promises what it keeps: known dates hidden, on archives drawn from the model.

    python tests/bench/bench_hindsight.py [--archives 40]

Archives are those of `bench_dating`. In each, `hindsight` hides 25 known days, one at a time. Their likely ranges hold
the true day as often as those of the 100 photographs whose days nobody told: both as often as they promise. Then
`hindsight` is given the days of all 125, of which it hides five at a time. Beside each share stands its standard
error, from the differences between archives: within one, photographs share informants and births, so they hit or miss
together, and the binomial error would be too small.
"""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np
from bench_dating import CERTAIN, DATED, Drawn, Judges, draw

from kinphoto.reason import evidence as ev
from kinphoto.reason.dating import date_archive
from kinphoto.reason.hindsight import hindsight
from kinphoto.reason.span import Dated, Span


def hidden(evidence: ev.Evidence) -> float:
    """The share of known days that the likely ranges of hindsight hold."""
    found = hindsight(evidence)
    assert not found.undated
    return float(np.mean([row.inside for row in found.rows]))


def never_told(drawn: Drawn) -> float:
    """The share of the other days that likely ranges hold."""
    others = [e for e in date_archive(drawn.evidence).estimates if int(e.photograph[1:]) >= DATED]
    held = [(e.likely_from or 0) <= int(drawn.days[e.photograph]) <= (e.likely_to or 0) for e in others]
    return float(np.mean(held))


def all_told(drawn: Drawn) -> ev.Evidence:
    """The same archive, in which the day of every photograph is known."""
    days = {k: int(day) for k, day in drawn.days.items() if int(k[1:]) >= DATED}
    more = tuple(
        ev.DateClaim(id=f"t{k}", trust=CERTAIN, photograph=k, claim=ev.Claim.TAKEN, date=Dated(Span(day, day)))
        for k, day in days.items()
    )
    return replace(drawn.evidence, statements=(*drawn.evidence.statements, *more))


def main() -> None:
    """Print the shares."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--archives", type=int, default=40)
    archives = arguments.parse_args().archives
    dice = np.random.default_rng(17)
    rows = []
    for _ in range(archives):
        drawn = draw(dice, Judges())
        rows.append((hidden(drawn.evidence), never_told(drawn), hidden(all_told(drawn))))
    of = (DATED, len(drawn.days) - DATED, len(drawn.days))
    names = ("hidden one at a time", "never told", "hidden five at a time")
    for name, many, shares in zip(names, of, np.array(rows).T, strict=True):
        error = shares.std(ddof=1) / archives**0.5
        print(f"{name:24}{archives * many:7,} days, held {shares.mean():.4f} (standard error {error:.4f})")
    apart = np.array(rows)[:, 0] - np.array(rows)[:, 1]
    print(f"one at a time less never told {apart.mean():+.4f} (standard error {apart.std(ddof=1) / archives**0.5:.4f})")


if __name__ == "__main__":
    main()
