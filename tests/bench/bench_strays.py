"""Whether `conflicts` names the photographs that do not belong where they lie, and leaves the others alone.

    python tests/bench/bench_strays.py [--archives 20]

Collections are drawn by `collections_drawn`. In each, eight photographs are moved into a container that covers six
years or less (one, in the rows of one summer) of another time, half of them with a year written on them. Printed is, by
the kind of collection, how many of the photographs that lie where they belong are named, and how many of those moved by
5 to 10, 10 to 20, and more years. Photographs that the generator put in as strays or later prints are counted apart.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np
from collections_drawn import CARELESS, Collection, Kind, Options, draw
from drawn import YEAR

from kinphoto.reason.dating import date_archive
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Dated, span_of_years

Array = np.ndarray
MOVED, LONGEST, SUMMER = 8, 6.0, 1.0
"""Photographs moved in each collection; years that a container covers into which one is moved, at most."""
FAR = (5.0, 10.0, 20.0, np.inf)
CELLS: dict[str, Options] = {
    "albums, 12 % dated": Options(Kind.ALBUMS),
    "albums, 12 % dated, moved into those of one summer": Options(Kind.ALBUMS),
    "albums, none dated": Options(Kind.ALBUMS, dated=0.0),
    "tins, 12 % dated": Options(Kind.TINS),
    "trunk, 12 % dated": Options(Kind.TRUNK),
    "mixed, 12 % dated": Options(Kind.MIXED),
    "mixed, careless": replace(Options(Kind.MIXED), **CARELESS),
}


def planted(
    dice: np.random.Generator, drawn: Collection, longest: float = LONGEST
) -> tuple[ev.Evidence, dict[int, float], set[int]]:
    """The evidence after some were moved; by how many years each of these is away from what lies there, and which of
    them have a year written on them."""
    inside: dict[str, list[int]] = defaultdict(list)
    for i, path in enumerate(drawn.paths):
        inside["/".join(path)].append(i)
    years = drawn.days / YEAR
    narrow = {
        box: (years[there].min(), years[there].max())
        for box, all_ in inside.items()
        if len(there := [i for i in all_ if not drawn.odd[i]]) >= 6 and np.ptp(years[there]) <= longest
    }
    moved: dict[int, float] = {}
    photographs, statements = list(drawn.evidence.photographs), list(drawn.evidence.statements)
    for i in dice.permutation(np.flatnonzero(~drawn.odd)).tolist():
        if len(moved) == MOVED:
            break
        away = {box: max(a - years[i], years[i] - b) for box, (a, b) in narrow.items()}
        far = [box for box, d in away.items() if d > FAR[0]]
        if far:
            box = far[int(dice.integers(len(far)))]
            moved[i] = away[box]
            photographs[i] = replace(photographs[i], container=box, position=int(dice.integers(len(inside[box]))))
    written = set(list(moved)[::2])
    for i in written:
        if not drawn.dated[i]:
            year = round(years[i] - 0.5)
            date = Dated(span_of_years(year, year))
            statements.append(ev.DateClaim(
                id=f"W{i}", trust=ev.Trust.FAIR, photograph=f"K{i}", claim=ev.Claim.INSCRIPTION, date=date
            ))  # fmt: skip
    found = replace(drawn.evidence, photographs=tuple(photographs), statements=tuple(statements))
    return found, moved, written


def counted(options: Options, archives: int, seed: int, longest: float) -> Iterator[tuple[str, bool]]:
    """What each photograph is, and whether it was named."""
    for number in range(archives):
        dice = np.random.default_rng([seed, number])
        drawn = draw(dice, options)
        evidence, moved, written = planted(dice, drawn, longest)
        named = {one.photograph for one in date_archive(evidence).out_of_place}
        for i, photograph in enumerate(evidence.photographs):
            what = "odd" if drawn.odd[i] else "right"
            if i in moved:
                low, high = next((a, b) for a, b in pairwise(FAR) if a < moved[i] <= b)
                what = f"{low:.0f}-{high:.0f} {'written' if i in written else 'faces'}"
            yield what, photograph.id in named


def main() -> None:
    """Print the table."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--archives", type=int, default=20)
    given = arguments.parse_args()
    far = [f"{a:.0f}-{b:.0f} {how}" for how in ("written", "faces") for a, b in pairwise(FAR)]
    print(f"{given.archives} archives in each row; named, % (of how many)")
    print(f"| what | where it belongs | strays of the generator | {' | '.join(far)} |")
    for n, (name, options) in enumerate(CELLS.items()):
        rows = list(counted(options, given.archives, n, SUMMER if "summer" in name else LONGEST))
        cells = []
        for kind in ("right", "odd", *far):
            some = [named for what, named in rows if what == kind]
            cells.append(f"{100 * np.mean(some):.1f} ({len(some):,})" if some else "none")
        print(f"| {name} | {' | '.join(cells)} |", flush=True)


if __name__ == "__main__":
    main()
