"""Whether hindsight promises what it keeps: known dates hidden, on archives drawn from the model.

    python tests/bench/bench_hindsight.py [--archives 40]

Archives are those of `bench_dating`. In each, `hindsight` hides 25 known days, one at a time. Their likely ranges hold
the true day as often as those of the 100 photographs whose days nobody told: both as often as they promise. Then
`hindsight` is given the days of all 125, of which it hides five at a time. Beside each share stands its standard
error, from the differences between archives: within one, photographs share informants and births, so they hit or miss
together, and the binomial error would be too small.

The same of households (`drawn`), where births are also told between years or not at all, most dates are a year written
on a print, and prints are later than exposures: archives of 400 photographs, about 118 of a known year or day.

Last, what nothing in the model expects: everybody lives to 95, no death is recorded, and people are photographed up
to their end. There survival takes the oldest for dead.
"""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np
from bench_dating import CERTAIN, DATED, Drawn, Judges, draw
from drawn import YEAR, family

from kinphoto.reason.advice.hindsight import hindsight
from kinphoto.reason.dating import date_archive
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Dated, Span


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


def household(seed: int) -> tuple[int, float, int, float]:
    """Of one archive of households: how many days hindsight hid, and what share of them the likely ranges held; and the
    same of those never told."""
    drawn = family(400, 240, seed, tellers=4)
    found = hindsight(drawn.evidence)
    known = {*found.undated, *(row.photograph for row in found.rows)}
    others = [e for e in date_archive(drawn.evidence).estimates if e.photograph not in known and e.best is not None]
    held = [(e.likely_from or 0) <= int(drawn.exposures[e.photograph]) <= (e.likely_to or 0) for e in others]
    return len(found.rows), float(np.mean([row.inside for row in found.rows])), len(others), float(np.mean(held))


def living_on(dice: np.random.Generator) -> list[tuple[float, float]]:
    """The age of the oldest on each photograph of a known day, and whether hindsight's likely range holds that day, in
    an archive in which everybody lives long and no death is recorded."""
    drawn = draw(dice, Judges(), vague=0, ages=(95, 100))
    deaths = {s.id for s in drawn.evidence.statements if isinstance(s, ev.LifeDate) and s.event is ev.LifeEvent.DEATH}
    return [
        (max(drawn.days[row.photograph] - drawn.births[p] for p, *_ in drawn.faces[row.photograph]) / YEAR, row.inside)
        for row in hindsight(drawn.evidence.without(frozenset(deaths))).rows
    ]


def _print(name: str, days: int, shares: np.ndarray) -> None:
    """The mean share of some archives, and its standard error."""
    error = shares.std(ddof=1) / len(shares) ** 0.5
    print(f"{name:24}{days:7,} days, held {shares.mean():.4f} (standard error {error:.4f})")


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
        _print(name, archives * many, shares)
    apart = np.array(rows)[:, 0] - np.array(rows)[:, 1]
    print(f"one at a time less never told {apart.mean():+.4f} (standard error {apart.std(ddof=1) / archives**0.5:.4f})")
    homes = np.array([household(seed) for seed in range(100, 100 + archives // 5)])
    for name, many, shares in (("households, hidden", *homes.T[:2]), ("households, never told", *homes.T[2:])):
        _print(name, int(many.sum()), shares)
    dice = np.random.default_rng(19)
    long = [living_on(dice) for _ in range(archives // 2)]
    for name, first, last in (("no deaths, under 80", 0, 80), ("no deaths, 80 and older", 80, 100)):
        of_each = [[inside for oldest, inside in found if first <= oldest < last] for found in long]
        shares = np.array([np.mean(insides) for insides in of_each if insides])
        _print(name, sum(map(len, of_each)), shares)


if __name__ == "__main__":
    main()
