"""Whether likely ranges are honest, and how far off dates are, on collections in albums, tins and a trunk.

    python tests/bench/bench_collections.py [--archives 100] [--loose]
        [--only kinds|special|strips|printed|themes|numbers]

Collections are drawn by `collections_drawn`, which is not the model. Only photographs on which nobody wrote a year are
counted. For each cell: how many years `best` is off in the mean, the share of true dates that the likely range holds
(promised: 0.90), and how long the range is in the mean, in years; with standard errors taken between archives, since
photographs of one archive share informants, births and containers and are off together.

With `--only strips`, half of the films' strips were recorded, and frames of a strip are counted without that, with
it, and with the order of the frames besides. With `--only printed`, half of the films' prints have a printed date, and
these prints are counted without it, with the date on each for itself, and as kinphoto takes those of one month.

With `--only themes` everything was scanned into folders and named, and photographs are counted without their names,
with them, and with names that say nothing of where they came from; the last for themselves without names too. With
`--only numbers` they are counted without numbers, and with such as `collections_named` draws.

Of births that the tree has vaguely or not at all, and that are of people in eight and more photographs, the second
table tells how often their likely range holds the true day.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from collections_drawn import CARELESS, Collection, Kind, Options, draw
from collections_named import in_folders, numbered, without_themes
from drawn import YEAR

from kinphoto.reason.dating import date_archive
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Dated, Span

Array = np.ndarray
Range = tuple[float, float, float]
"""The best date, the start and the end of the likely range, on the line of days."""
KINDS = (Kind.ALBUMS, Kind.TINS, Kind.TRUNK, Kind.MIXED)
OFTEN = 8
"""Photographs from which on somebody's vague birth is counted."""


@dataclass
class Dates:
    """What a way of dating concludes of a collection, by the ids of photographs and people."""

    photographs: Mapping[str, Range]
    births: Mapping[str, tuple[Range, int]] = field(default_factory=dict)
    """With the number of photographs that somebody is in."""


def each_by_itself(drawn: Collection) -> Dates:
    """What kinphoto concludes if it is told of no container."""
    return together(replace(drawn, evidence=replace(drawn.evidence, containers=())))


def together(drawn: Collection) -> Dates:
    """What kinphoto concludes."""
    found = date_archive(drawn.evidence)
    photographs = {
        e.photograph: (e.best + 0.5, float(e.likely_from or 0), (e.likely_to or 0) + 1.0)
        for e in found.estimates
        if e.best is not None
    }
    births = {b.person: ((b.best + 0.5, float(b.likely_from), b.likely_to + 1.0), b.photographs) for b in found.births}
    return Dates(photographs, births)


Way = Callable[[Collection], Dates]


@dataclass
class Tally:
    """What came of some archives: a row for each undated photograph (archive, faces, years off, held, years of the
    range), and one for each birth of somebody who is in many (archive, held)."""

    photographs: Array
    births: Array
    left_open: int

    def faces(self, number: int) -> Array:
        """The photographs with so many named faces; 4 is four and more."""
        return self.photographs[np.minimum(self.photographs[:, 1], 4) == number]


def collections(options: Options, archives: int, seed: int) -> Iterator[Collection]:
    """The same ones every time."""
    for number in range(archives):
        yield draw(np.random.default_rng([seed, number]), options)


def tally(drawn: Iterator[Collection], way: Way = together) -> Tally:
    """Compare what a way of dating concludes of these with the truth."""
    rows, births, left_open = [], [], 0
    for number, one in enumerate(drawn):
        found = way(one)
        for i in np.flatnonzero(~one.dated).tolist():
            if f"K{i}" not in found.photographs:
                left_open += 1
                continue
            best, start, end = found.photographs[f"K{i}"]
            day = one.days[i]
            rows.append((number, one.faces[i], abs(best - day) / YEAR, start <= day < end, (end - start) / YEAR))
        births += [
            (number, start <= one.births[p] < end)
            for p, ((_, start, end), many) in found.births.items()
            if many >= OFTEN and p in one.vague
        ]
    return Tally(np.array(rows, dtype=float).reshape(-1, 5), np.array(births, dtype=float).reshape(-1, 2), left_open)


def mean(rows: Array, column: int) -> tuple[float, float]:
    """The mean of a column, and its standard error between archives: with r_a the sum over the archive a of what lies
    above the mean, and n rows in all, sqrt(A / (A - 1) sum r_a^2) / n."""
    middle = rows[:, column].mean()
    _, archive = np.unique(rows[:, 0], return_inverse=True)
    above = np.bincount(archive, rows[:, column] - middle)
    many = len(above)
    return float(middle), float((many / max(many - 1, 1) * (above**2).sum()) ** 0.5 / len(rows))


def cells(rows: Array) -> str:
    """The columns of one cell."""
    if not len(rows):
        return "none"
    (off, off_error), (held, held_error), (width, _) = (mean(rows, column) for column in (2, 3, 4))
    return f"{len(rows):7,} | {off:.2f} ({off_error:.2f}) | {100 * held:.1f} ({100 * held_error:.1f}) | {width:.1f}"


HEAD = "photographs | years off (s.e.) | held, % (s.e.) | years of the range"


def by_kind(archives: int, way: Way) -> None:
    """Kind by kind, with and without dates, by the number of named faces."""
    print(f"| kind | dated | faces | {HEAD} |\n| --- | --- | --- | --- | --- | --- | --- |")
    everything = []
    for n, kind in enumerate(KINDS):
        for dated in (0.12, 0.0):
            found = tally(collections(Options(kind, dated=dated), archives, n), way)
            name = f"{kind} | {'12 %' if dated else 'none'}"
            for faces in (1, 2, 3, 4):
                print(f"| {name} | {faces if faces < 4 else '4+'} | {cells(found.faces(faces))} |", flush=True)
            print(f"| {name} | all | {cells(found.photographs)} |", flush=True)
            own = found.photographs.copy()
            own[:, 0] += archives * n  # both of one number share their dice, hence their number
            everything.append(own)
    for name, some in (("12 %", everything[::2]), ("none", everything[1::2]), ("both", everything)):
        print(f"| pooled | {name} | all | {cells(np.concatenate(some))} |", flush=True)


SPECIAL: dict[str, Options] = {
    "births all vague, 12 % dated": Options(Kind.MIXED, vague=1.0),
    "births all vague, none dated": Options(Kind.MIXED, vague=1.0, dated=0.0),
    "births all vague, none dated, albums of 8": Options(Kind.ALBUMS, vague=1.0, dated=0.0, size=8),
    "births all vague, none dated, albums of 20": Options(Kind.ALBUMS, vague=1.0, dated=0.0, size=20),
    "one judge, 12 % dated": Options(Kind.MIXED, judges=1),
    "one judge, none dated": Options(Kind.MIXED, judges=1, dated=0.0),
    "albums of 1": Options(Kind.ALBUMS, size=1),
    "albums of 2": Options(Kind.ALBUMS, size=2),
    "albums of 3": Options(Kind.ALBUMS, size=3),
    "albums of 8": Options(Kind.ALBUMS, size=8),
    "albums of 20": Options(Kind.ALBUMS, size=20),
    "albums of 50": Options(Kind.ALBUMS, size=50),
    "albums of 200": Options(Kind.ALBUMS, size=200),
    "careless: 5 % misnamed, births, ages": replace(Options(Kind.MIXED), **CARELESS),
    "ages fitted to a guessed date, half of them": Options(Kind.MIXED, fitted=1.0),
    "ages fitted to a guessed date, all": Options(Kind.MIXED, fitted=1.0, unseen=0.0),
    "a look of one's own, half of a face's": Options(Kind.MIXED, own_look=0.5),
}


def special(archives: int, way: Way) -> None:
    """What is unusual, and births of people who are in many photographs."""
    print(f"| what | {HEAD} | births in {OFTEN}+ photographs | held, % (s.e.) |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for n, (name, options) in enumerate(SPECIAL.items()):
        found = tally(collections(options, archives, 100 + n), way)
        births = ""
        if len(found.births):
            held, error = mean(found.births, 1)
            births = f"{len(found.births):,} | {100 * held:.1f} ({100 * error:.1f})"
        print(f"| {name} | {cells(found.photographs)} | {births or 'none |'} |", flush=True)
        if options.fitted == 1:
            three = found.photographs[found.photographs[:, 1] >= 3]
            print(f"| {name}, 3+ faces | {cells(three)} | | |", flush=True)


def of_frames(drawn: Iterator[Collection], told: str) -> Iterator[Collection]:
    """Collections in which only frames of strips count, without anybody having said that they are ("not told"), with
    that ("told"), and with the order of the frames ("in order")."""
    for one in drawn:
        ties = [s for s in one.evidence.statements if isinstance(s, ev.Relation) and s.kind == ev.Related.SAME_STRIP]
        evidence = one.evidence.without({s.id for s in ties} if told == "not told" else set())
        if told == "in order":
            orders = (replace(s, id=f"{s.id} order", related=ev.Related.BEFORE) for s in ties)
            evidence = replace(evidence, statements=(*evidence.statements, *orders))
        yield replace(one, evidence=evidence, dated=one.dated | ~one.on_strip)


Told = Callable[[Iterator[Collection], str], Iterator[Collection]]


def by_ways(archives: int, way: Way, options: Options, of: Told, ways: Sequence[str], seed: int) -> None:
    """Kind by kind, by what is told of the photographs that count."""
    print(f"| kind | dated | what is told | {HEAD} |\n| --- | --- | --- | --- | --- | --- | --- |")
    everything: dict[str, list[Array]] = {told: [] for told in ways}
    for n, kind in enumerate(KINDS):
        for dated in (0.12, 0.0):
            for told, own in everything.items():
                drawn = collections(replace(options, kind=kind, dated=dated), archives, seed + n)
                found = tally(of(drawn, told), way).photographs
                name = f"{kind} | {'12 %' if dated else 'none'} | {told}"
                print(f"| {name} | {cells(found)} |", flush=True)
                found[:, 0] += archives * n
                own.append(found)
    for told, own in everything.items():
        print(f"| pooled | both | {told} | {cells(np.concatenate(own))} |", flush=True)


def strips(archives: int, way: Way) -> None:
    """Kind by kind, frames of strips by what is told of them."""
    by_ways(archives, way, Options(strips=0.5), of_frames, ("not told", "told", "in order"), 200)


def of_prints(drawn: Iterator[Collection], told: str) -> Iterator[Collection]:
    """Collections in which only prints with a printed date count, without that ("not told"), with it on each for itself
    ("by itself": a day longer than a month, so that none was printed together with another), and as it is ("told")."""
    for one in drawn:
        evidence = one.evidence
        stamps = {
            s.id: s for s in evidence.statements if isinstance(s, ev.DateClaim) and s.kind == ev.Claim.PRINT_STAMP
        }
        if told != "told":
            evidence = evidence.without(stamps.keys())
        if told == "by itself":
            spans = {name: Span((s.date.span.first or 0) - 4, s.date.span.last) for name, s in stamps.items()}
            longer = (replace(s, date=Dated(spans[name])) for name, s in stamps.items())
            evidence = replace(evidence, statements=(*evidence.statements, *longer))
        yield replace(one, evidence=evidence, dated=one.dated | ~one.printed)


def printed(archives: int, way: Way) -> None:
    """Kind by kind, prints with a printed date by what is told of it."""
    by_ways(archives, way, Options(printed=0.5), of_prints, ("not told", "by itself", "told"), 300)


def of_themes(drawn: Iterator[Collection], told: str) -> Iterator[Collection]:
    """Collections in folders, by what their names are and whether anybody reads them."""
    for n, one in enumerate(drawn):
        named = in_folders(np.random.default_rng([400, n]), one, topics="topics" in told)
        yield without_themes(named) if told.startswith("no ") else named


def themes(archives: int, way: Way) -> None:
    """Kind by kind, folders by what the names in them tell."""
    by_ways(archives, way, Options(), of_themes, ("no themes", "themes", "no topics", "topics"), 400)


def of_numbers(drawn: Iterator[Collection], told: str) -> Iterator[Collection]:
    """Collections with numbers, or none."""
    for n, one in enumerate(drawn):
        yield one if told == "none" else numbered(np.random.default_rng([500, n]), one, told)


def numbers(archives: int, way: Way) -> None:
    """Kind by kind, photographs by what their numbers are."""
    by_ways(archives, way, Options(), of_numbers, ("none", "in time", "as they lie", "at random"), 500)


def main() -> None:
    """Print the tables."""
    ways = {"strips": strips, "printed": printed, "themes": themes, "numbers": numbers}
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--archives", type=int, default=100)
    arguments.add_argument("--only", choices=("kinds", "special", *ways))
    arguments.add_argument("--loose", action="store_true", help="without containers: each photograph by itself")
    given = arguments.parse_args()
    way = each_by_itself if given.loose else together
    print(f"{given.archives} archives in each row")
    if given.only in (None, "kinds"):
        by_kind(given.archives, way)
        print()
    if given.only in (None, "special"):
        special(given.archives, way)
    if given.only in ways:
        ways[given.only](given.archives, way)


if __name__ == "__main__":
    main()
