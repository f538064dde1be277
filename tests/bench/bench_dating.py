"""Whether likely ranges are honest, and how far off the dates are, on archives drawn from the model itself.

    python tests/bench/bench_dating.py [--archives 200]

Each archive has 12 people (four of them born "about" a year, all deaths known), three informants with biases of their
own, 25 photographs of a known day and 100 undated ones. Births and exposures are drawn together by Gibbs sampling from
the prior of docs/method.md: flat days while everybody in the picture is alive, births as "about" has them times an
ordinary lifespan. Ages are judged by the formulas of the method, one in twenty carelessly.

**Honest** (Talts et al., "Validating Bayesian inference algorithms with simulation-based calibration", arXiv:1804.06788
(2018)): the ranges hold the truth as often as they say, and the rank of the truth in its posterior is uniform. Ranks
within one archive hang together, by its informants and births, so whether they are uniform is tested on one photograph
of each archive, chosen by lot: the test of Kolmogorov and Smirnov, and chi-square over tenths. Exposures are drawn as
moments within a day, so no two ranks are equal. The same is printed for judges twice as noisy, and five years off, as
nothing in the model expects them.

**Off by** the mean of absolute errors in years, against what somebody would do by hand: the middle of the years in
which all were alive; birth and age of the youngest face; the mean of birth and age over all faces.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from dataclasses import dataclass, field
from math import exp, log

import numpy as np
from drawn import ABOUT_EITHER_WAY, ABOUT_SPREAD, FIRST, SCANNED, YEAR, about, age_at, careless, scale
from scipy.stats import chisquare, kstest

from kinphoto.reason.hard.conflict import settle
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.lookup import look_up
from kinphoto.reason.model.span import Dated, Span
from kinphoto.reason.model.subjects import Person, Photograph
from kinphoto.reason.soft.belief import Beliefs
from kinphoto.reason.soft.births import Lives
from kinphoto.reason.soft.groups import group_up
from kinphoto.reason.soft.summary import posterior, shortest

CERTAIN = ev.Trust.CERTAIN
PEOPLE, VAGUE, DATED, UNDATED, TELLERS, SWEEPS = 12, 4, 25, 100, 3, 40
BETA = log(log(0.18) / log(0.68)) / 20
MODE = 65 - log(-log(0.68)) / BETA


@dataclass
class Judges:
    """How ages are judged: `noise` times as loosely as the model has it, `years` too old."""

    noise: float = 1.0
    years: float = 0.0
    careless: float = 0.05

    def judge(self, dice: np.random.Generator, age: float, bias: float, spread: float) -> tuple[int, int, bool]:
        """From, to (in parts of life that do not overlap), and whether the judge was careless."""
        width = int(dice.integers(1, 4))
        wrong = bool(dice.random() < self.careless)
        place = scale(age) + bias + self.noise * (0.59 + 0.41 * spread**2) ** 0.5 * 0.17 * dice.normal()
        seen = careless(dice, age) if wrong else max(age_at(place) + self.years, 0.0)
        low = int(seen) // width * width
        return low, low + width - 1, wrong


@dataclass
class Drawn:
    """One archive and its truth."""

    evidence: ev.Evidence
    births: dict[str, float]
    deaths: dict[str, float]
    days: dict[str, float]
    stated: dict[str, float]
    """The birth as the tree has it, or its middle."""
    faces: dict[str, list[tuple[str, int, int]]] = field(default_factory=lambda: defaultdict(list))
    wrong: dict[str, float] = field(default_factory=dict)
    """By how much careless ages are off, on the scale, by statement."""


def draw(dice: np.random.Generator, judges: Judges, vague: int = VAGUE, ages: tuple[int, int] = (45, 90)) -> Drawn:
    """An archive from the model, in which so many births are vague, and people die at these ages."""
    base = dice.uniform(FIRST + 30 * YEAR, SCANNED - (ages[1] + 30) * YEAR)
    names = [f"p{i}" for i in range(PEOPLE)]
    stated = {p: float(int(base + dice.uniform(0, 40) * YEAR)) for p in names}
    deaths = {p: min(stated[p] + float(int(dice.uniform(*ages) * YEAR)), SCANNED - 1.0) for p in names}
    births = {p: stated[p] + 0.5 for p in names}
    pictures = {f"K{i}": _company(dice, names, births, deaths) for i in range(DATED + UNDATED)}
    days = {
        k: np.mean([max(births[p] for p in who) + 9000, min(deaths[p] for p in who)]) for k, who in pictures.items()
    }
    prior = {p: _prior(stated[p], deaths[p]) for p in names[:vague]}
    for _ in range(SWEEPS):
        for k, who in pictures.items():
            days[k] = dice.uniform(max(births[p] for p in who), min(deaths[p] for p in who) + 1)
        for p, (grid, weight) in prior.items():
            first = min((days[k] for k, who in pictures.items() if p in who), default=np.inf)
            mass = weight * (grid <= first)
            births[p] = float(dice.choice(grid, p=mass / mass.sum()))
    return _told(dice, judges, names, vague, stated, births, deaths, pictures, days)


def _company(
    dice: np.random.Generator, names: list[str], births: dict[str, float], deaths: dict[str, float]
) -> list[str]:
    """One to five people whose lives overlap by thirty years."""
    many = int(dice.integers(1, 6))
    found: list[str] = []
    for p in dice.permutation(names).tolist():
        who = [*found, p]
        if len(found) < many and min(deaths[q] for q in who) - max(births[q] for q in who) > 30 * YEAR:
            found = who
    return found


def _prior(centre: float, died: float) -> tuple[np.ndarray, np.ndarray]:
    """A birth about a year, given the day of death: every fifth day of its span, and what it weighs."""
    grid = np.arange(centre - ABOUT_EITHER_WAY, centre + ABOUT_EITHER_WAY, 5) + 0.5
    normal = np.exp(-0.5 * ((grid - centre - 0.5) / ABOUT_SPREAD) ** 2)
    age = (died - grid) / YEAR
    life = np.exp(BETA * (age - MODE) + exp(-BETA * MODE) - np.exp(BETA * (age - MODE)))
    return grid, (0.95 * normal / normal.sum() + 0.05 / len(grid)) * life


def _told(
    dice: np.random.Generator, judges: Judges, names: list[str], vague: int, stated: dict[str, float],
    births: dict[str, float], deaths: dict[str, float], pictures: dict[str, list[str]], days: dict[str, float],
) -> Drawn:  # fmt: skip
    said: list[ev.Statement] = []
    for i, p in enumerate(names):
        when = about(stated[p]) if i < vague else Dated(Span(int(stated[p]), int(stated[p])))
        end = Dated(Span(int(deaths[p]), int(deaths[p])))
        said.append(ev.LifeDate(id=f"b{p}", trust=CERTAIN, person=p, event=ev.LifeEvent.BIRTH, date=when))
        said.append(ev.LifeDate(id=f"d{p}", trust=CERTAIN, person=p, event=ev.LifeEvent.DEATH, date=end))
    found = Drawn(ev.Evidence(), births, deaths, days, stated)
    tellers = [(0.08 * dice.normal(), exp(0.3 * dice.normal())) for _ in range(TELLERS)]
    for n, (k, who) in enumerate(pictures.items()):
        teller = int(dice.integers(TELLERS))
        for p in who:
            name = f"{p}{k}"
            said.append(ev.Appearance(id=name, trust=CERTAIN, photograph=k, person=p))
            true = (days[k] - births[p]) / YEAR
            low, high, wrong = judges.judge(dice, true, *tellers[teller])
            found.faces[k].append((p, low, high))
            if wrong:
                found.wrong[f"g{name}"] = abs(scale((low + high + 1) / 2) - scale(true))
            said.append(ev.Age(
                id=f"g{name}", trust=CERTAIN, appearance=name, low=low, high=high, informant=f"teller {teller}",
                blind=True,
            ))  # fmt: skip
        if n < DATED:
            day = Dated(Span(int(days[k]), int(days[k])))
            said.append(ev.DateClaim(id=f"t{k}", trust=CERTAIN, photograph=k, claim=ev.Claim.TAKEN, date=day))
    people, photographs = tuple(Person(p, p) for p in names), tuple(Photograph(k, SCANNED) for k in pictures)
    found.evidence = ev.Evidence(people, photographs, tuple(said))
    return found


@dataclass
class Tally:
    """What came of many archives: held and promised in each of them, all ranks, and those of one photograph each."""

    held: list[float] = field(default_factory=list)
    promised: list[float] = field(default_factory=list)
    ranks: list[float] = field(default_factory=list)
    chosen: list[float] = field(default_factory=list)
    off: dict[int, list[tuple[float, ...]]] = field(default_factory=lambda: defaultdict(list))
    reported: int = 0
    false: int = 0
    expected: float = 0.0
    gross: int = 0
    caught: int = 0


def tally(judges: Judges, archives: int, seed: int) -> Tally:
    """Draw archives and compare what is concluded with the truth."""
    dice, lots, found = np.random.default_rng(seed), np.random.default_rng(seed + 1), Tally()
    for _ in range(archives):
        ranks = _compare(draw(dice, judges), found)
        found.ranks += ranks
        found.chosen.append(ranks[int(lots.integers(len(ranks)))])
    return found


def _compare(drawn: Drawn, found: Tally) -> list[float]:
    """Count one archive; the rank of the truth in each posterior."""
    settled = settle(drawn.evidence)
    lives = Lives(look_up(drawn.evidence.without(frozenset(settled.aside))), settled.bounds)
    groups = group_up(lives)
    beliefs = Beliefs(groups, lives)
    doubts = beliefs.neighbours.doubts(0.9)
    held, promised, ranks = [], [], {}
    for part in beliefs.posteriors(np.arange(len(groups.members)), 0.9):
        doubts += part.doubts
        for i, row in enumerate(part.rows.tolist()):
            (k,) = groups.members[row]
            if int(k[1:]) >= DATED:
                here, true = posterior(part.cells, part.mass, i), drawn.days[k]
                first, last = shortest(here)
                held.append(first <= true < last)
                promised.append(here.holds(first, last))
                ranks[k] = here.holds(float(here.edges[0]), true)
                found.off[min(len(drawn.faces[k]), 4)].append(_off(drawn, k, here.quantile(0.5)))
    gross = {s for s, by in drawn.wrong.items() if by > 3 * 0.17}
    found.gross += len(gross)
    found.caught += sum(d.age.id in gross for d in doubts)
    found.reported += len(doubts)
    found.false += sum(d.age.id not in drawn.wrong for d in doubts)
    found.expected += sum(1 - d.probability for d in doubts)
    found.held.append(float(np.mean(held)))
    found.promised.append(float(np.mean(promised)))
    return [ranks[k] for k in sorted(ranks)]


def _off(drawn: Drawn, k: str, best: float) -> tuple[float, ...]:
    """Years by which the median and the three ways by hand are off."""
    faces = drawn.faces[k]
    first, last = max(drawn.stated[p] for p, *_ in faces), min(drawn.deaths[p] for p, *_ in faces)
    guesses = [drawn.stated[p] + (low + high + 1) / 2 * YEAR for p, low, high in faces]
    youngest = min(range(len(faces)), key=lambda i: faces[i][1])
    ways = (best, (first + last) / 2, guesses[youngest], float(np.mean(guesses)))
    return tuple(abs(way - drawn.days[k]) / YEAR for way in ways)


def _uniform(found: Tally) -> None:
    """Print how far the ranges hold less or more than they promise, and whether ranks are uniform."""
    short = np.array(found.held) - np.array(found.promised)
    error = short.std(ddof=1) / len(short) ** 0.5
    tenths = np.histogram(found.chosen, 10, (0, 1))[0]
    print(
        f"    held - promised {short.mean():+.4f} (standard error {error:.4f}); {len(found.chosen)} ranks, one an"
        f" archive: in the first tenth {tenths[0] / tenths.sum():.3f}, in the last {tenths[-1] / tenths.sum():.3f},"
        f" p = {kstest(found.chosen, 'uniform').pvalue:.3f} (Kolmogorov-Smirnov),"
        f" {chisquare(tenths).pvalue:.3f} (chi-square over tenths)"
    )


def main() -> None:
    """Print the tables."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--archives", type=int, default=200)
    archives = arguments.parse_args().archives
    print(f"{archives} archives, {archives * UNDATED:,} undated photographs each time")
    print(f"{'judges':34}{'held':>8}{'promised':>10}   share of ranks in each tenth")
    for name, judges, many in (
        ("as the model has them", Judges(), archives),
        ("twice as noisy", Judges(noise=2.0), archives // 4),
        ("five years too old", Judges(years=5.0), archives // 4),
    ):
        found = tally(judges, max(many, 1), seed=7)
        tenths = np.histogram(found.ranks, 10, (0, 1))[0] / len(found.ranks)
        shares = " ".join(f"{share:.3f}" for share in tenths)
        print(f"{name:34}{np.mean(found.held):8.3f}{np.mean(found.promised):10.3f}   {shares}")
        _uniform(found)
        if judges == Judges():
            first = found
    print(f"\n{'faces':>6}{'photographs':>13}{'kinphoto':>10}{'overlap':>10}{'youngest':>10}{'mean face':>11}")
    for faces, rows in sorted(first.off.items()):
        means = "".join(f"{value:10.2f}" for value in np.mean(rows, axis=0))
        print(f"{faces if faces < 4 else '4+':>6}{len(rows):13,}{means}")
    print(f"\n{first.caught} of {first.gross} gross errors (three standard deviations) reported, with {first.false} "
          f"false alarms ({first.expected:.1f} expected) among {first.reported}")  # fmt: skip


if __name__ == "__main__":
    main()
