"""Posteriors against sums over single days, written here in plain arithmetic from the formulas of docs/method.md.

Nothing below imports a likelihood of the project: the day-by-day sums are independent of its cells, convolutions,
quadratures and messages. `distance` is the total variation between the two, in 0 to 1.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from itertools import pairwise
from math import exp, log, pi, prod
from typing import Any

import numpy as np
import pytest
from scipy.special import erf

from kinphoto.reason.hard.hard_bounds import HardBounds
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.lookup import look_up
from kinphoto.reason.model.processes import load
from kinphoto.reason.model.span import SAME_YEAR, Dated, Shape, Span, span_of_years
from kinphoto.reason.model.subjects import Person, Photograph
from kinphoto.reason.soft.appearances import Appearances
from kinphoto.reason.soft.belief import Beliefs
from kinphoto.reason.soft.births import Lives
from kinphoto.reason.soft.grid import Cells
from kinphoto.reason.soft.groups import group_up

YEAR = 365.2425
INDEXED = date(2024, 6, 30).toordinal()
RANGE = INDEXED + 1 - date(1826, 1, 1).toordinal()
T = ev.Trust
WRONG = {T.CERTAIN: 0.0005, T.STRONG: 0.01, T.FAIR: 0.05, T.WEAK: 0.2}


def day(year: int, month: int = 1, of_month: int = 1) -> int:
    return date(year, month, of_month).toordinal()


def exactly(*ymd: int) -> Dated:
    return Dated(Span(day(*ymd), day(*ymd)))


def born(person: str, when: Dated, trust: T = T.STRONG) -> ev.LifeDate:
    return ev.LifeDate(id=f"b{person}", trust=trust, person=person, event=ev.LifeEvent.BIRTH, date=when)


def died(person: str, when: Dated, trust: T = T.STRONG) -> ev.LifeDate:
    return ev.LifeDate(id=f"d{person}", trust=trust, person=person, event=ev.LifeEvent.DEATH, date=when)


def seen(person: str, photograph: str = "K1", trust: T = T.STRONG, **more: object) -> ev.Appearance:
    return ev.Appearance(id=f"a{person}{photograph}", trust=trust, photograph=photograph, person=person, **more)  # type: ignore[arg-type]


def looks(person: str, low: float, high: float, photograph: str = "K1", by: str = "Ada", **more: object) -> ev.Age:
    key = f"g{person}{photograph}{by}"
    return ev.Age(
        id=key,
        trust=T.STRONG,
        appearance=f"a{person}{photograph}",
        low=low,
        high=high,
        informant=by,
        **{"blind": True} | more,  # type: ignore[arg-type]
    )


def lives(statements: Iterable[ev.Statement], photographs: Iterable[str] = ("K1",), **bounds: dict[str, Span]) -> Lives:
    people = tuple(Person(p, p) for p in "pqrstuvw")
    evidence = ev.Evidence(people, tuple(Photograph(x, INDEXED) for x in photographs), tuple(statements))
    return Lives(look_up(evidence), HardBounds(**bounds))


@dataclass
class Belief:
    """One posterior: cells and their probabilities."""

    cells: Cells
    mass: np.ndarray


def believe(here: Lives) -> list[Belief]:
    """The posteriors of all photographs, in their order."""
    groups = group_up(here)
    found: dict[str, Belief] = {}
    for part in Beliefs(groups, here).posteriors(np.arange(len(groups.members))):
        for i, members in enumerate(part.members):
            mass = part.mass[part.cells.start[i] : part.cells.start[i + 1]]
            found.update(dict.fromkeys(members, Belief(part.cells.cells(i), mass)))
    return [found[photograph] for photograph in here.known.photographs]


def belief(statements: Iterable[ev.Statement], first: int, last: int, **bounds: dict[str, Span]) -> Belief:
    here = lives(statements, exposure={"K1": Span(first, last)}, **bounds)
    return believe(here)[0]


def brute(first: int, last: int, *factors: Callable[[float], float]) -> np.ndarray:
    """Probability of each day from `first` to `last`: the product of the factors at its noon."""
    mass = np.array([prod(f(d + 0.5) for f in factors) for d in range(first, last + 1)], dtype=float)
    return mass / mass.sum()


def distance(found: Belief, first: int, mass: np.ndarray) -> float:
    """Total variation between cells and days, on the cells."""
    below = np.concatenate([[0.0], np.cumsum(mass)])
    expected = np.diff(np.interp(found.cells.edges, np.arange(first, first + len(below)), below))
    return 0.5 * float(np.abs(found.mass - expected).sum() + 1 - expected.sum())


# --- the formulas, once more and plainly ------------------------------------------------------------------------------


def g(age: float) -> float:
    return log(age + 2) if age <= 51 else log(53) + (age - 51) / 53


def phi(z: np.ndarray | float) -> np.ndarray:
    return 0.5 * (1 + erf(np.asarray(z) / 2**0.5))


# bias and spread of an informant, by a fine grid over both normals instead of five points
_U = np.linspace(-4, 4, 41)
_B, _K = (m.ravel() for m in np.meshgrid(0.08 * _U, np.exp(0.3 * _U)))
_SD = 0.17 * (0.59 + 0.41 * _K**2) ** 0.5
_W = np.outer(np.exp(-(_U**2) / 2), np.exp(-(_U**2) / 2)).ravel()
_W /= _W.sum()


def careless(age: np.ndarray, low: float, high: float) -> np.ndarray:
    """The likelihood of "low to high" by somebody careless: normal with 12 years about the age, from 0 on."""
    below = [phi((edge - age) / 12) for edge in (0, low, high + 1)]
    return (below[2] - below[1]) / (1 - below[0])


def judged_by(age: float, low: float, high: float) -> np.ndarray:
    """The likelihood of "low to high" for every informant of the fine grid."""
    if age < 0:
        return np.zeros_like(_W)
    upper = phi((g(high + 1) - g(age) - _B) / _SD)
    lower = phi((g(low) - g(age) - _B) / _SD) if low > 0 else 0.0
    return 0.95 * (upper - lower) + 0.05 * careless(np.asarray(age), low, high)


@cache
def _below() -> tuple[np.ndarray, np.ndarray]:
    """How often an informant of the fine grid says less than what is so far above the truth on the scale."""
    above = np.arange(-5, 5, 1e-3)
    return above, np.array([_W @ phi((z - _B) / _SD) for z in above])


def judged(ages: np.ndarray, low: float, high: float) -> np.ndarray:
    """`judged_by`, summed over all informants."""
    true = np.array([g(age) for age in ages])
    upper = np.interp(g(high + 1) - true, *_below())
    lower = np.interp(g(low) - true, *_below()) if low > 0 else 0.0
    return 0.95 * (upper - lower) + 0.05 * careless(ages, low, high)


def table(low: float, high: float) -> Callable[[float], float]:
    """`judged` over ages, tabulated every 2 days so that sums over births are quick."""
    ages = np.arange(0, 110, 2 / YEAR)
    values = judged(ages, low, high)
    return lambda age: float(np.interp(age, ages, values)) if age >= 0 else 0.0


_BETA = log(log(0.18) / log(0.68)) / 20
_MODE = 65 - log(-log(0.68)) / _BETA


def survives(age: float | np.ndarray) -> Any:
    """Gompertz, fitted to 68 % at 65 and 18 % at 85."""
    return np.exp(exp(-_BETA * _MODE) - np.exp(_BETA * (np.maximum(age, 0.0) - _MODE)))


def claimed(first: int, last: int, trust: T) -> Callable[[float], float]:
    q = WRONG[trust]
    return lambda x: (1 - q) * RANGE / (last + 1 - first) * (first <= x < last + 1) + q


def named(trust: T, factor: Callable[[float], float], unknown: float = 1.0) -> Callable[[float], float]:
    """A name that is wrong with chance q."""
    return lambda x: (1 - WRONG[trust]) * factor(x) + WRONG[trust] * unknown


# --- faces ------------------------------------------------------------------------------------------------------------


def test_a_judged_age_of_somebody_whose_birth_is_known() -> None:
    """A girl born on 2 May 1917 looks 6 to 8: against a sum over days and over a grid of informants."""
    first, last, birth = day(1917, 5, 2), day(1946, 11, 9), day(1917, 5, 2)
    found = belief(
        [born("p", exactly(1917, 5, 2)), seen("p"), looks("p", 6, 8)], first, last, birth={"p": Span(birth, birth)}
    )
    age = table(6, 8)
    expected = brute(
        first, last, named(T.STRONG, lambda x: age((x - birth - 0.5) / YEAR) * alive(x, birth, first), 0.03)
    )
    assert distance(found, first, expected) < 0.01


def alive(x: float, birth: float | np.ndarray, known: float) -> Any:
    return 1.0 if x <= known else survives((x - birth - 0.5) / YEAR) / survives((known - birth - 0.5) / YEAR)


def test_a_baby_is_dated_to_the_month() -> None:
    """Four months old: cells are fine enough, though it could be any day of fifty years."""
    first, last, birth = day(1917, 5, 2), day(1967, 11, 9), day(1917, 5, 2)
    found = belief(
        [born("p", exactly(1917, 5, 2)), seen("p"), looks("p", 0, 0)], first, last, birth={"p": Span(birth, birth)}
    )
    age = table(0, 0)
    expected = brute(
        first, last, named(T.STRONG, lambda x: age((x - birth - 0.5) / YEAR) * alive(x, birth, first), 0.01)
    )
    assert distance(found, first, expected) < 0.02


@pytest.mark.parametrize(
    ("dated", "low", "high"),
    [
        (Dated(span_of_years(1900, 1900)), 3, 4),
        (Dated(span_of_years(1898, 1903)), 20, 25),
        (Dated(span_of_years(1890, 1910), Shape.ABOUT, day(1900, 7, 1) + 0.5, 2.5 * YEAR), 30, 40),
    ],
)
def test_a_birth_known_to_within_a_span(dated: Dated, low: int, high: int) -> None:
    """The span enters as a distribution: against a sum over weeks of birth and days of exposure."""
    start, end = dated.span.first or 0, dated.span.last or 0
    first, last = day(1905), day(1949, 12, 31)
    found = belief(
        [born("p", dated), seen("p"), looks("p", low, high)],
        first,
        last,
        birth={"p": dated.span},
        death={"p": Span(last, None)},
    )
    births = np.arange(start, end + 1, 7) + 0.5
    flat = np.full(len(births), 1 / len(births))
    if dated.shape is Shape.ABOUT:
        normal = np.exp(-0.5 * ((births - dated.centre) / dated.spread) ** 2)  # type: ignore[operator]
        flat = 0.95 * normal / normal.sum() + 0.05 * flat
    ages = np.arange(0, 110, 2 / YEAR)
    values = judged(ages, low, high)

    def factor(x: float) -> float:
        return float(flat @ np.interp((x - births) / YEAR, ages, values, left=0.0))

    expected = brute(first, last, named(T.STRONG, factor, (high + 1 - low) / 100))
    assert distance(found, first, expected) < 0.01


def test_a_death_nobody_recorded_is_not_life() -> None:
    """Somebody born in 1850 who is only known to have lived in 1880 fades out by survival, not at 123 years."""
    first, last, birth = day(1880), day(1972, 12, 31), day(1850, 3, 1)
    found = belief(
        [born("p", exactly(1850, 3, 1)), seen("p")],
        first,
        last,
        birth={"p": Span(birth, birth)},
        death={"p": Span(day(1880), None)},
    )
    expected = brute(first, last, named(T.STRONG, lambda x: alive(x, birth, day(1880))))
    assert distance(found, first, expected) < 0.005


def test_an_unrecorded_death_of_somebody_whose_birth_is_vague() -> None:
    """Birth between 1840 and 1860, known alive in 1880: the survival is conditioned for each birth."""
    first, last = day(1880), day(1969, 12, 31)
    vague = Dated(span_of_years(1840, 1860))
    found = belief(
        [born("p", vague), seen("p")], first, last, birth={"p": vague.span}, death={"p": Span(day(1880), None)}
    )
    births = np.arange(day(1840), day(1861), 90)
    days = np.arange(first, last + 1, 20.0)  # floats in arrays, for they are looked up on every day
    fading = np.array([np.mean(alive(d, births, day(1880))) for d in days])
    expected = brute(first, last, named(T.STRONG, lambda x: float(np.interp(x, days, fading))))
    assert distance(found, first, expected) < 0.005


def test_a_death_known_to_the_year_fades_over_that_year() -> None:
    """P(D >= x) falls evenly over the year of death."""
    first, last, birth = day(1900), day(1930, 12, 31), day(1880)
    found = belief(
        [born("p", exactly(1880)), died("p", Dated(span_of_years(1930, 1930)), T.CERTAIN), seen("p", trust=T.CERTAIN)],
        first,
        last,
        birth={"p": Span(birth, birth)},
        death={"p": span_of_years(1930, 1930)},
    )
    expected = brute(first, last, lambda x: 1.0 if x < day(1930) else (day(1931) - x) / 365)
    assert distance(found, first, expected) < 0.005


def test_faces_that_one_informant_judged_share_her_bias() -> None:
    """Three faces by one judge: against a grid over her bias and spread; as three judges they would be surer."""
    first, last = day(1900), day(1959, 12, 31)
    births = {"p": day(1880), "q": day(1885), "r": day(1890)}
    people = [born(p, Dated(Span(b, b))) for p, b in births.items()] + [seen(p, trust=T.CERTAIN) for p in births]
    bounds = {"birth": {p: Span(b, b) for p, b in births.items()}, "death": {p: Span(last, None) for p in births}}
    ages = {"p": 40, "q": 35, "r": 30}
    one = belief(people + [looks(p, a, a + 2) for p, a in ages.items()], first, last, **bounds)
    three = belief(people + [looks(p, a, a + 2, by=p) for p, a in ages.items()], first, last, **bounds)
    q = WRONG[T.CERTAIN]

    def shared(x: float) -> float:
        rows = [(1 - q) * judged_by((x - births[p] - 0.5) / YEAR, a, a + 2) + q * 0.03 for p, a in ages.items()]
        return float(_W @ np.prod(rows, axis=0))

    days = np.arange(first, last + 11, 10) + 0.5
    tenth = np.array([shared(x) for x in days])  # a list would be made an array on every day
    assert distance(one, first, brute(first, last, lambda x: float(np.interp(x, days, tenth)))) < 0.02
    assert _spread(three) < 0.9 * _spread(one)


def _spread(found: Belief) -> float:
    mean = found.mass @ found.cells.middle
    return float(found.mass @ (found.cells.middle - mean) ** 2) ** 0.5


def test_two_judges_of_one_face_see_one_look() -> None:
    """The same person judged by two people is little more exact than judged by one; the centre is between them."""
    first, last = day(1917, 5, 2), day(1946, 11, 9)
    base = [born("p", exactly(1917, 5, 2)), seen("p")]
    bounds = {"birth": {"p": Span(first, first)}, "death": {"p": Span(last, None)}}
    both = belief([*base, looks("p", 6, 6), looks("p", 12, 12, by="Tom")], first, last, **bounds)
    middle = (both.mass @ both.cells.middle - first) / YEAR
    assert 8.0 < middle < 11.5
    assert _spread(both) > 0.9 * _spread(belief([*base, looks("p", 9, 9)], first, last, **bounds))


def test_a_stated_age_dates_within_a_year_or_so() -> None:
    """ "She was seven that summer": 90 % in that year of her life, the rest a year either way."""
    first, last = day(1917, 5, 2), day(1946, 11, 9)
    found = belief(
        [born("p", exactly(1917, 5, 2)), seen("p"), looks("p", 7, 7, basis=ev.AgeBasis.STATED)],
        first,
        last,
        birth={"p": Span(first, first)},
        death={"p": Span(last, None)},
    )

    def factor(x: float) -> float:
        age = (x - first - 0.5) / YEAR
        right = 0.9 * (7 <= age < 8) + 0.1 / 3 * (6 <= age < 9)
        return 0.99 * right + 0.01 / 100 if age >= 0 else 0.0

    assert distance(found, first, brute(first, last, named(T.STRONG, factor, 1 / 100))) < 0.02


def test_rival_names_are_a_mixture_by_trust() -> None:
    """One of two sisters, 15 years apart, strong against fair: odds 99 to 19 to 1 for neither."""
    first, last = day(1910), day(1959, 12, 31)
    births = {"p": day(1900), "q": day(1915)}
    found = belief(
        [
            born("p", exactly(1900)),
            born("q", exactly(1915)),
            seen("p", region="R"),
            seen("q", region="R", trust=T.FAIR),
            looks("p", 20, 24),
        ],
        first,
        last,
        birth={p: Span(b, b) for p, b in births.items()},
        death={p: Span(last, None) for p in births},
    )
    age = table(20, 24)

    def factor(x: float) -> float:
        return sum(odds * age((x - births[p] - 0.5) / YEAR) for p, odds in (("p", 99), ("q", 19))) / 119 + 0.05 / 119

    assert distance(found, first, brute(first, last, factor)) < 0.01


def test_it_is_not_her() -> None:
    """A denied name drops out of its region, and with it her birth as a bound."""
    first, last = day(1890), day(1929, 12, 31)
    bounds = {
        "birth": {"p": Span(day(1900), day(1900)), "q": Span(day(1880), day(1880))},
        "death": {p: Span(last, None) for p in "pq"},
    }
    statements = [born("p", exactly(1900)), born("q", exactly(1880)), seen("q", region="R"), looks("q", 20, 22)]
    denial = ev.Appearance(id="no", trust=T.STRONG, photograph="K1", person="p", region="R", denied=True)
    rivals = belief([*statements, seen("p", region="R"), denial], first, last, **bounds)
    alone = belief(statements, first, last, **bounds)
    assert rivals.mass == pytest.approx(alone.mass)


def test_a_likeness_says_only_that_somebody_had_been_born() -> None:
    """A portrait on the wall: no earlier than the birth, however old it looks, long after the death."""
    first, last = day(1850), day(1939, 12, 31)
    vague = Dated(span_of_years(1860, 1869))
    found = belief(
        [born("p", vague), seen("p", role=ev.Role.LIKENESS), looks("p", 20, 22)],
        first,
        last,
        birth={"p": vague.span},
        death={"p": Span(day(1900), day(1901))},
    )
    expected = brute(first, last, named(T.STRONG, lambda x: min(max((x - day(1860)) / (day(1870) - day(1860)), 0), 1)))
    assert distance(found, first, expected) < 0.005


def test_somebody_laid_out_died_not_long_before() -> None:
    """Within 60 days after the death, known to the month."""
    first, last = day(1895), day(1904, 12, 31)
    month = Dated(Span(day(1900, 3, 1), day(1900, 3, 31)))
    found = belief(
        [born("p", exactly(1840)), died("p", month), seen("p", role=ev.Role.LAID_OUT)],
        first,
        last,
        birth={"p": Span(day(1840), day(1840))},
        death={"p": month.span},
    )

    def factor(x: float) -> float:
        deaths = np.arange(day(1900, 3, 1), day(1900, 4, 1)) + 0.5
        return RANGE / 60 * float(np.mean((deaths <= x) & (x <= deaths + 60)))

    assert distance(found, first, brute(first, last, named(T.STRONG, factor))) < 0.05


@pytest.mark.parametrize("trust", [T.FAIR, T.WEAK])
def test_the_weeks_after_a_death_are_found_however_long_the_cells(trust: T) -> None:
    """Laid out, died on 20 November 1919, and no bound from a name that may be wrong: 1 - q on the 60 days after it.

    Over the whole of photography cells are quarter-years, and those 60 days hold the middle of none.
    """
    first, last, death = day(1840), INDEXED, day(1919, 11, 20)
    found = belief(
        [
            born("p", exactly(1840)),
            died("p", exactly(1919, 11, 20), T.CERTAIN),
            seen("p", trust=trust, role=ev.Role.LAID_OUT),
        ],
        first,
        last,
        birth={"p": Span(first, first)},
        death={"p": Span(death, death)},
    )

    def factor(x: float) -> float:
        gone, late = (min(max(x - since, 0.0), 1.0) for since in (death, death + 60))
        return RANGE / 60 * ((1 - 0.0005) * (gone - late))

    assert distance(found, first, brute(first, last, named(trust, factor))) < 0.01


def test_rivals_for_a_face_live_to_their_last_day() -> None:
    """Two names for one face, who died on 20 February and on 20 May 1911: what is possible ends on those days."""
    first, last = day(1880), INDEXED
    ends = {"p": day(1911, 2, 20), "q": day(1911, 5, 20)}
    statements: list[ev.Statement] = [seen(p, region="R", trust=T.FAIR) for p in ends]
    for p, end in ends.items():
        statements += [born(p, exactly(1870)), died(p, Dated(Span(end, end)), T.CERTAIN)]
    found = belief(
        statements,
        first,
        last,
        birth={p: Span(day(1870), day(1870)) for p in ends},
        death={p: Span(end, end) for p, end in ends.items()},
    )
    late = Belief(found.cells, found.mass).mass[found.cells.middle > day(1911, 5, 22)].sum()
    neither = 1 / 39  # odds 19 for each of two fair names, 1 for neither
    alive = sum(19 / 39 * (end - first) for end in ends.values())
    doubt = neither + 38 / 39 * 0.0005
    expected = doubt * (INDEXED + 1 - day(1911, 5, 22)) / (alive + doubt * (INDEXED + 1 - first))
    assert late == pytest.approx(expected, rel=0.1)
    assert day(1911, 5, 21) in found.cells.edges


def test_somebody_whose_life_is_unknown_says_nothing() -> None:
    """A name without dates leaves the prior as it is."""
    first, last = day(1826), INDEXED
    found = belief([seen("p"), looks("p", 20, 25)], first, last)
    assert distance(found, first, brute(first, last)) < 1e-6


# --- claims -----------------------------------------------------------------------------------------------------------


def says(claim: ev.Claim, when: Dated, trust: T = T.FAIR, photograph: str = "K1") -> ev.DateClaim:
    return ev.DateClaim(
        id=f"{claim}{when.span.first}{when.span.last}", trust=trust, photograph=photograph, claim=claim, date=when
    )


@pytest.mark.parametrize("trust", [T.FAIR, T.WEAK])
def test_a_dated_claim_may_be_wrong(trust: T) -> None:
    """Written "1923" on the back: 1 - q in that year, q anywhere."""
    first, last = day(1850), INDEXED
    found = belief([says(ev.Claim.INSCRIPTION, Dated(span_of_years(1923, 1923)), trust)], first, last)
    assert distance(found, first, brute(first, last, claimed(day(1923), day(1923, 12, 31), trust))) < 1e-4


def test_two_claims_that_differ_share_the_doubt() -> None:
    """Two inscriptions, 1923 and "about 1930"."""
    first, last = day(1850), INDEXED
    about = Dated(span_of_years(1920, 1940), Shape.ABOUT, day(1930, 7, 2) + 0.0, 2.5 * YEAR)
    found = belief(
        [says(ev.Claim.INSCRIPTION, Dated(span_of_years(1923, 1923))), says(ev.Claim.RECOLLECTION, about)], first, last
    )

    def vague(x: float) -> float:
        normal = exp(-0.5 * ((x - day(1930, 7, 2) - 0.5) / (2.5 * YEAR)) ** 2) / (2.5 * YEAR * (2 * pi) ** 0.5)
        flat = (day(1920) <= x < day(1941)) / (day(1941) - day(1920))
        return 0.95 * RANGE * (0.95 * normal + 0.05 * flat) + 0.05

    assert distance(found, first, brute(first, last, claimed(day(1923), day(1923, 12, 31), T.FAIR), vague)) < 0.01


def made(
    first: int | None, last: int | None, common: Span | None = None, original: bool = False, photograph: str = "K1"
) -> ev.Made:
    return ev.Made(
        id=f"m{photograph}",
        trust=T.FAIR,
        photograph=photograph,
        what="process",
        name="square",
        window=span_of_years(first, last),
        common=common,
        original=original,
    )


def over_days(first: int, last: int, value: Callable[[float], float], sharp: Span | None = None) -> np.ndarray:
    """`value` on every day, computed every 30 days, and every day in the `sharp` span."""
    days = np.append(np.arange(first, last, 30), last)
    if sharp is not None:
        days = np.union1d(days, np.arange(sharp.first or 0, (sharp.last or 0) + 1))
    return np.interp(np.arange(first, last + 1), days, [value(d + 0.5) for d in days])


def printed(
    x: float, weight: Callable[[np.ndarray], np.ndarray], share: float = 0.85, prompt: float = YEAR, weeks: float = 0.0
) -> float:
    """The weight of a print's making summed over days P from x to the day it was indexed: single ones for two years,
    then every tenth. Of a `share` that are made soon some are made within 90 days."""
    end = INDEXED + 1.5 - x
    wait = np.concatenate([np.arange(0.5, min(end, 731)), np.arange(735.5, end, 10)])
    later = np.where(wait < 731, 1, 10) * np.exp(-wait / (20 * YEAR)) / (20 * YEAR)
    chance = (share - weeks) * (wait <= prompt) / prompt + weeks * (wait <= 90) / 90 + (1 - share) * later
    return float(chance @ weight(x + wait) / chance.sum())


def test_a_print_is_of_a_picture_taken_for_it() -> None:
    """A square colour print, 1963 to 1998, and nothing said of copying: what is older is of another process."""
    first, last = day(1900), day(2009, 12, 31)
    found = belief([made(1963, 1998)], first, last)
    width = day(1999) - day(1963)

    def window(p: np.ndarray) -> np.ndarray:
        return 0.95 * RANGE / width * ((p >= day(1963)) & (p < day(1999))) + 0.05

    mass = over_days(
        first, last, lambda x: printed(x, window) if x > day(1963) else 0.05, Span(day(1962, 11, 1), day(1963, 2, 1))
    )
    assert distance(found, first, mass / mass.sum()) < 0.005


def test_nothing_leaks_from_a_documented_start() -> None:
    """A carte de visite, known since 1854: before that only the chance of 0.05 that it is none, over 198 years."""
    carte = load()["carte-de-visite"]
    found = belief([replace(made(1854, 1910), window=carte.window, common=carte.common)], day(1826), INDEXED)
    early = found.mass[found.cells.middle < day(1854)].sum()
    assert early == pytest.approx(0.05 * (day(1854) - day(1826)) / RANGE, rel=0.1)


def test_two_starts_and_either_may_be_wrong() -> None:
    """Albumen since 1850 on a carte since 1854: in between, the carte alone is wrong; before, both are."""
    first, last = day(1826), INDEXED
    albumen = replace(made(1850, 1929), id="albumen")
    found = belief([albumen, made(1854, 1910)], first, last)

    def both(p: np.ndarray) -> np.ndarray:
        paper = 0.95 * RANGE / (day(1930) - day(1850)) * ((p >= day(1850)) & (p < day(1930))) + 0.05
        return paper * (0.95 * RANGE / (day(1911) - day(1854)) * ((p >= day(1854)) & (p < day(1911))) + 0.05)

    def paper(p: np.ndarray) -> np.ndarray:
        return 0.05 * (0.95 * RANGE / (day(1930) - day(1850)) * ((p >= day(1850)) & (p < day(1930))) + 0.05)

    def factor(x: float) -> float:
        return printed(x, both) if x > day(1854) else printed(x, paper) if x > day(1850) else 0.05 * 0.05

    mass = over_days(first, last, factor, Span(day(1849, 11, 1), day(1854, 2, 1)))
    assert distance(found, first, mass / mass.sum()) < 0.005


def test_a_later_print_from_the_same_negative_may_be_of_an_old_picture() -> None:
    """Paper made since 1968 and paper made since 1885, from one negative: only the second says that it is not older."""
    first, last = day(1826), INDEXED
    statements = [
        made(1968, None),
        made(1885, None, photograph="K2"),
        related("K1", ev.Related.SAME_NEGATIVE, "K2", T.CERTAIN),
    ]
    span = Span(first, last)
    found = believe(lives(statements, ("K1", "K2"), exposure={"K1": span, "K2": span}))[0]

    def window(since: int) -> Callable[[np.ndarray], np.ndarray]:
        return lambda p: 0.95 * RANGE / (INDEXED + 1 - since) * (p >= since) + 0.05

    def factor(x: float) -> float:
        return printed(x, window(day(1968))) * printed(x, window(day(1885))) if x > day(1885) else 0.05 * 0.05

    mass = over_days(first, last, factor, Span(day(1967), day(1968, 2, 1)))
    assert distance(found, first, mass / mass.sum()) < 0.01


def test_years_of_common_use_shape_a_camera_original() -> None:
    """A slide: 85 % in the years of common use, the rest in the whole window, the exposure itself bounded."""
    first, last = day(1900), INDEXED
    found = belief([made(1935, 2009, span_of_years(1950, 1985), original=True)], first, last)

    def factor(x: float) -> float:
        common = 0.85 * (day(1950) <= x < day(1986)) / (day(1986) - day(1950))
        whole = 0.15 * (day(1935) <= x < day(2010)) / (day(2010) - day(1935))
        return 0.95 * RANGE * (common + whole) + 0.05

    assert distance(found, first, brute(first, last, factor)) < 1e-4


def test_a_stamp_on_the_border_is_the_day_of_the_print() -> None:
    """ "JUL 64" on the border: taken before, half of nine in ten within 90 days, half within 1.5 years."""
    first, last = day(1940), day(2009, 12, 31)
    found = belief([says(ev.Claim.PRINT_STAMP, Dated(Span(day(1964, 7, 1), day(1964, 7, 31))), T.STRONG)], first, last)

    def stamp(p: np.ndarray) -> np.ndarray:
        return 0.99 * RANGE / 31 * ((p >= day(1964, 7, 1)) & (p < day(1964, 8, 1))) + 0.01

    mass = over_days(
        first, last, lambda x: printed(x, stamp, 0.9, 1.5 * YEAR, 0.45), Span(day(1962, 12, 1), day(1964, 9, 1))
    )
    assert distance(found, first, mass / mass.sum()) < 0.01


def before(posted: int, share: float, soon: float, late: float) -> Callable[[np.ndarray], np.ndarray]:
    """The density of P when something happened on the day `posted`, after one of two exponential waits."""

    def density(p: np.ndarray) -> np.ndarray:
        wait = np.maximum(posted + 0.5 - p, 0)
        value = share * np.exp(-wait / soon) / soon + (1 - share) * np.exp(-wait / late) / late
        return value * (p < posted + 1)

    return density


def test_a_postcard_was_printed_not_long_before_it_was_posted() -> None:
    """Posted on 4 March 1911, on a card known from 1903: 70 % after 60 days in the mean, the rest after 3 years."""
    first, last = day(1880), day(1930, 12, 31)
    found = belief([says(ev.Claim.POSTMARK, exactly(1911, 3, 4), T.STRONG), made(1903, None)], first, last)
    since, sent = INDEXED + 1 - day(1903), before(day(1911, 3, 4), 0.7, 60, 3 * YEAR)

    def postmark(p: np.ndarray) -> np.ndarray:
        return 0.99 * RANGE * sent(p) + 0.01

    def card(p: np.ndarray) -> np.ndarray:
        return postmark(p) * (0.95 * RANGE / since * (p >= day(1903)) + 0.05)

    def factor(x: float) -> float:
        return printed(x, card, 0.95, 60) if x > day(1903) else 0.05 * printed(x, postmark, 0.95, 60)

    mass = over_days(first, last, factor, Span(day(1902, 12, 1), day(1911, 4, 1)))
    assert distance(found, first, mass / mass.sum()) < 0.01


def in_years(found: Belief, *between: int) -> float:
    """The probability from the first of these years up to the second."""
    below = np.interp([day(y) for y in between], found.cells.edges, np.concatenate([[0], np.cumsum(found.mass)]))
    return float(below[1] - below[0])


def test_a_postmark_alone_gives_the_years_before_it() -> None:
    """Posted in 1931: nine tenths from 1926 on, and 1931 likelier than any other year. Against a sum over days."""
    first, last = day(1826), day(1931, 12, 31)
    found = belief([says(ev.Claim.POSTMARK, Dated(span_of_years(1931, 1931)), T.STRONG)], first, last)
    on = [before(d, 0.7, 60, 3 * YEAR) for d in range(day(1931), day(1932), 5)]
    days = np.arange(first, INDEXED + 2) + 0.5
    sent = 0.99 * RANGE * np.interp(days, days, np.mean([f(days) for f in on], axis=0)) + 0.01
    mass = over_days(
        first, last, lambda x: printed(x, lambda p: np.interp(p, days, sent), 0.95, 60), Span(day(1929), last)
    )
    assert distance(found, first, mass / mass.sum()) < 0.02
    assert in_years(found, 1926, 1932) == pytest.approx(0.9, abs=0.015)
    years = {y: in_years(found, y, y + 1) for y in range(1900, 1932)}
    assert max(years, key=years.__getitem__) == 1931


@pytest.mark.parametrize("claim", [ev.Claim.POSTMARK, ev.Claim.WRITTEN])
def test_a_postmark_outside_of_photography_says_nothing(claim: ev.Claim) -> None:
    """Before there were photographs, or after this one was scanned: every day is as likely as before."""
    for when in (span_of_years(1790, 1800), span_of_years(2030, 2031)):
        found = belief([says(claim, Dated(when))], day(1850), day(1899, 12, 31))
        assert distance(found, day(1850), brute(day(1850), day(1899, 12, 31))) < 1e-6


def test_what_is_written_is_often_an_heirs() -> None:
    """Written in 1931: half within a year in the mean, half after 25 years, so one in five is older than 1900."""
    first, last = day(1826), INDEXED
    found = belief([says(ev.Claim.WRITTEN, Dated(span_of_years(1931, 1931)))], first, last)
    on = [before(d, 0.5, YEAR, 25 * YEAR) for d in range(day(1931), day(1932), 5)]
    days = np.arange(first, INDEXED + 2) + 0.5
    written = 0.95 * RANGE * np.mean([f(days) for f in on], axis=0) + 0.05
    mass = over_days(
        first, last, lambda x: printed(x, lambda p: np.interp(p, days, written)), Span(day(1929), day(1932, 2, 1))
    )
    assert distance(found, first, mass / mass.sum()) < 0.01
    assert in_years(found, 1826, 1900) == pytest.approx(0.19, abs=0.01)


def test_a_postmark_that_can_hardly_be_read() -> None:
    """ "About 1931": normal with standard deviation 2.5 years, and then the wait, drawn 400,000 times."""
    about = Dated(span_of_years(1921, 1941), Shape.ABOUT, float(day(1931, 7, 2)), 2.5 * YEAR)
    slide = Photograph("K1", INDEXED, printed=False)
    evidence = ev.Evidence((), (slide,), (says(ev.Claim.POSTMARK, about, T.CERTAIN),))
    here = Lives(look_up(evidence), HardBounds(exposure={"K1": Span(day(1826), INDEXED)}))
    (found,) = believe(here)
    dice, many = np.random.default_rng(5), 400_000
    told = np.where(
        dice.random(many) < 0.95,
        dice.normal(day(1931, 7, 2) + 0.5, 2.5 * YEAR, many),
        dice.uniform(day(1921), day(1942), many),
    )
    drawn = told - np.where(dice.random(many) < 0.7, dice.exponential(60, many), dice.exponential(3 * YEAR, many))
    drawn = drawn[(drawn > day(1826)) & (drawn < day(1942))]
    mass = np.histogram(drawn, np.arange(day(1826), INDEXED + 2))[0]
    assert distance(found, day(1826), mass / mass.sum()) < 0.02


def test_a_picture_of_a_wedding_is_of_that_day_or_soon_after() -> None:
    """The day itself 60 %, the eve 5 %, a week 20 %, two months 15 %; 5 % and 1 % that claim or date are wrong."""
    first, last = day(1900), day(1949, 12, 31)
    wedding = ev.EventDate(id="e", trust=T.STRONG, event="F1:MARR", date=exactly(1923, 6, 14))
    shown = ev.EventClaim(id="s", trust=T.FAIR, photograph="K1", event="F1:MARR")
    found = belief([wedding, shown], first, last)
    e = day(1923, 6, 14)

    def factor(x: float) -> float:
        d = x - e
        density = 0.05 * (-1 <= d < 0) + 0.6 * (0 <= d < 1) + 0.2 / 7 * (1 <= d < 8) + 0.15 / 53 * (8 <= d < 61)
        return 0.95 * 0.99 * RANGE * density + 1 - 0.95 * 0.99

    assert distance(found, first, brute(first, last, factor)) < 0.005


def test_a_picture_of_a_wedding_is_not_dated_before_it() -> None:
    """A wedding of 12 June 1923 and nothing else known: the day itself is the best, however long the cells are."""
    first, last = day(1826), INDEXED
    wedding = ev.EventDate(id="e", trust=T.STRONG, event="F1:MARR", date=exactly(1923, 6, 12))
    shown = ev.EventClaim(id="s", trust=T.FAIR, photograph="K1", event="F1:MARR")
    found = belief([wedding, shown], first, last)
    below = np.concatenate([[0], np.cumsum(found.mass)])
    assert day(1923, 6, 12) <= np.interp(0.5, below, found.cells.edges) < day(1923, 6, 13)
    eve = np.diff(np.interp([day(1923, 6, 11), day(1923, 6, 12)], found.cells.edges, below))[0]
    assert eve == pytest.approx(0.05 * 0.95 * 0.99, abs=0.002)


def test_a_wedding_known_to_the_month_may_have_been_on_any_day_of_it() -> None:
    """June 1923: the mean over its thirty days, no days preferred. Against the sum over them."""
    first, last = day(1923, 5, 1), day(1923, 8, 20)
    month = Dated(Span(day(1923, 6, 1), day(1923, 6, 30)))
    wedding = ev.EventDate(id="e", trust=T.STRONG, event="F1:MARR", date=month)
    shown = ev.EventClaim(id="s", trust=T.CERTAIN, photograph="K1", event="F1:MARR")
    found = belief([wedding, shown], first, last)

    def factor(x: float) -> float:
        d = x - np.arange(day(1923, 6, 1), day(1923, 7, 1))
        density = 0.05 * ((d >= -1) & (d < 0)) + 0.6 * ((d >= 0) & (d < 1)) + 0.2 / 7 * ((d >= 1) & (d < 8))
        right = 0.9995 * 0.99
        return float(right * RANGE * np.mean(density + 0.15 / 53 * ((d >= 8) & (d < 61))) + 1 - right)

    assert distance(found, first, brute(first, last, factor)) < 0.03


def by_event(lapse: Span, trust: T = T.FAIR) -> ev.RelativeDate:
    """K1 was taken so many days after the wedding."""
    return ev.RelativeDate(
        id="r", trust=trust, photograph="K1", claim=ev.Claim.RECOLLECTION, event="F1:MARR", lapse=lapse
    )


def test_a_year_after_a_wedding_of_some_day_of_june() -> None:
    """Every day of the month alike, and from each day every day of the lapse. Against the sum over the month's days."""
    first, last = day(1920), day(1930, 12, 31)
    month = Dated(Span(day(1923, 6, 1), day(1923, 6, 30)))
    wedding = ev.EventDate(id="e", trust=T.STRONG, event="F1:MARR", date=month)
    found = belief([wedding, by_event(Span(300, 430))], first, last)

    def factor(x: float) -> float:
        since = int(x) - np.arange(day(1923, 6, 1), day(1923, 7, 1))
        right = 0.95 * 0.99
        return float(right * RANGE * np.mean((since >= 300) & (since <= 430)) / 131 + 1 - right)

    assert distance(found, first, brute(first, last, factor)) < 0.01


def test_before_a_wedding_is_as_before_its_day() -> None:
    """What is told by an event of a known day is what a date says: "before 14 June 1923" in its place, all trusts being
    certain."""
    first, last = day(1826), INDEXED
    wedding = ev.EventDate(id="e", trust=T.CERTAIN, event="F1:MARR", date=exactly(1923, 6, 14))
    told = belief([wedding, by_event(Span(None, 0), T.CERTAIN)], first, last)
    date_ = Dated(Span(None, day(1923, 6, 14)), Shape.BEFORE)
    said = belief([says(ev.Claim.RECOLLECTION, date_, T.CERTAIN)], first, last)
    edges = np.arange(first, last + 1, 30.0)
    below = [np.interp(edges, b.cells.edges, np.concatenate([[0], np.cumsum(b.mass)])) for b in (told, said)]
    assert np.abs(below[0] - below[1]).max() < 0.005


def test_a_birth_is_about_a_month_before_the_christening() -> None:
    """Of her at three, who was christened on 1 August 1917 and whose birth nobody knows: about 1920 to 1921."""
    first, last = day(1900), day(1949, 12, 31)
    christened = ev.LifeDate(
        id="c", trust=T.STRONG, person="p", event=ev.LifeEvent.CHRISTENING, date=exactly(1917, 8, 1)
    )
    three = ev.RelativeDate(
        id="r", trust=T.CERTAIN, photograph="K1", claim=ev.Claim.TAKEN, event="p:BIRT", lapse=Span(1093, 1462)
    )
    found = belief([christened, three], first, last, event={"p:BIRT": Span(day(1890), day(1917, 8, 1))})
    below = np.concatenate([[0], np.cumsum(found.mass)])
    low, middle, high = np.interp([0.05, 0.5, 0.95], below, found.cells.edges)
    assert day(1918, 7, 1) < low < day(1920, 3, 1)
    assert day(1920, 2, 1) < middle < day(1920, 9, 1)
    assert high < day(1922, 8, 1)


def test_the_year_of_a_wedding_is_that_year() -> None:
    """Every day of it alike, wherever in the year the wedding was."""
    first, last = day(1900), day(1949, 12, 31)
    wedding = ev.EventDate(id="e", trust=T.STRONG, event="F1:MARR", date=exactly(1923, 11, 14))
    found = belief([wedding, by_event(SAME_YEAR)], first, last)

    def factor(x: float) -> float:
        right = 0.95 * 0.99
        return right * RANGE / 365 * (day(1923) <= x < day(1924)) + 1 - right

    assert distance(found, first, brute(first, last, factor)) < 0.005


def test_everything_together_is_the_product() -> None:
    """A child, its father's death, an inscription and a process, in one photograph."""
    first, last, birth = day(1917, 5, 2), day(1926, 11, 9), day(1917, 5, 2)
    found = belief(
        [
            born("p", exactly(1917, 5, 2)),
            seen("p"),
            looks("p", 6, 8),
            died("q", exactly(1926, 11, 9)),
            seen("q"),
            born("q", exactly(1885)),
            says(ev.Claim.INSCRIPTION, Dated(span_of_years(1921, 1925))),
            made(1922, 1960),
        ],
        first,
        last,
        birth={"p": Span(birth, birth), "q": Span(day(1885), day(1885))},
        death={"p": Span(last, None), "q": Span(last, last)},
    )
    age = table(6, 8)
    width = day(1961) - day(1922)

    def window(p: np.ndarray) -> np.ndarray:
        return 0.95 * RANGE / width * ((p >= day(1922)) & (p < day(1961))) + 0.05

    start = day(1922)
    prints = over_days(first, last, lambda x: printed(x, window) if x > start else 0.05, Span(start - 40, start + 30))
    mass = brute(
        first,
        last,
        named(T.STRONG, lambda x: age((x - birth - 0.5) / YEAR), 0.03),
        claimed(day(1921), day(1925, 12, 31), T.FAIR),
        lambda x: prints[int(x) - first],
    )
    assert distance(found, first, mass) < 0.01


# --- groups and orders ------------------------------------------------------------------------------------------------


def related(one: str, how: ev.Related, other: str, trust: T = T.FAIR) -> ev.Relation:
    return ev.Relation(id=f"{one}{how}{other}", trust=trust, photograph=one, related=how, other=other)


def _claim(x: np.ndarray, first: int, last: int, q: float) -> np.ndarray:
    return (1 - q) * RANGE / (last + 1 - first) * ((x >= first) & (x < last + 1)) + q


def doubted(q: float, both: np.ndarray, one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """The posterior of the first of two photographs that share an exposure unless that is wrong, which it is with the
    chance q: from what is said of both, of the first, and of the other, in units in which nothing is 1, day by day."""
    right, wrong = (1 - q) * both.sum() / RANGE, q * one.sum() / RANGE * other.sum() / RANGE
    mass = right * both / both.sum() + wrong * one / one.sum()
    return np.asarray(mass / mass.sum())


@pytest.mark.parametrize("trust", list(T))
def test_a_copy_shares_the_exposure_and_has_a_print_of_its_own(trust: T) -> None:
    """An inscription on the copy dates the picture; the copy's process says that the picture is not later than the
    copy, and nothing of how much earlier. It may be no copy of this, and then its process dates it too."""
    first, last = day(1826), INDEXED
    statements = [
        related("K2", ev.Related.COPY_OF, "K1", trust),
        says(ev.Claim.INSCRIPTION, Dated(span_of_years(1890, 1899)), photograph="K2"),
        made(1963, 1998, photograph="K2"),
    ]
    here = lives(statements, ("K1", "K2"), exposure={"K1": Span(first, last), "K2": Span(first, last)})
    (members,) = group_up(here).members
    assert set(members) == {"K1", "K2"}
    days = np.arange(first, last + 1) + 0.5
    window = _claim(days, day(1963), day(1998, 12, 31), 0.05)
    written = _claim(days, day(1890), day(1899, 12, 31), 0.05)
    copied = np.cumsum(window[::-1])[::-1] / RANGE + 0.05 * (1 - (last + 1 - days) / RANGE)
    apart = over_days(
        first, last, lambda x: printed(x, lambda p: np.interp(p, days, window)) if x > day(1963) else 0.05,
        Span(day(1962, 12, 1), day(1963, 2, 1)),
    )  # fmt: skip
    original, copy = believe(here)
    nothing = np.ones(len(days))
    q = WRONG[trust]
    assert distance(original, first, doubted(q, written * copied, nothing, written * apart)) < 0.005
    assert distance(copy, first, doubted(q, written * copied, written * apart, nothing)) < 0.005


def test_a_late_copy_does_not_drag_its_original() -> None:
    """Taken between 1880 and 1920, copied on paper made since 1968: the middle of those years stays the middle."""
    statements = [
        says(ev.Claim.RECOLLECTION, Dated(span_of_years(1880, 1920)), T.STRONG),
        related("K2", ev.Related.COPY_OF, "K1", T.STRONG),
        made(1968, None, photograph="K2"),
    ]
    span = Span(day(1880), day(1920, 12, 31))
    original = believe(lives(statements, ("K1", "K2"), exposure={"K1": span, "K2": span}))[0]
    assert in_years(original, 1880, 1900) == pytest.approx(20 / 41, abs=0.002)


@pytest.mark.parametrize("trust", list(T))
@pytest.mark.parametrize("how", [ev.Related.SAME_NEGATIVE, ev.Related.SAME_OCCASION, ev.Related.COPY_OF])
def test_the_trust_of_a_relation_counts(how: ev.Related, trust: T) -> None:
    """Remembered as of 1880 to 1920, and inscribed 1919 to 1925: together 1919 or 1920, the less the relation is
    trusted the less so. Against sums over days."""
    first, last = day(1826), INDEXED
    statements = [
        says(ev.Claim.RECOLLECTION, Dated(span_of_years(1880, 1920))),
        says(ev.Claim.INSCRIPTION, Dated(span_of_years(1919, 1925)), photograph="K2"),
        related("K2", how, "K1", trust),
    ]
    one, other = believe(lives(statements, ("K1", "K2"), exposure={"K1": Span(first, last), "K2": Span(first, last)}))
    days = np.arange(first, last + 1) + 0.5
    told = _claim(days, day(1880), day(1920, 12, 31), 0.05)
    written = _claim(days, day(1919), day(1925, 12, 31), 0.05)
    assert distance(one, first, doubted(WRONG[trust], told * written, told, written)) < 1e-3
    assert distance(other, first, doubted(WRONG[trust], told * written, written, told)) < 1e-3


@pytest.mark.parametrize("how", [ev.Related.SAME_NEGATIVE, ev.Related.SAME_OCCASION])
def test_one_exposure_is_one_variable(how: ev.Related) -> None:
    """What is said of either photograph bears on both, and a person in both is one body: whoever judges it twice is no
    surer."""
    statements = [
        related("K1", how, "K2", T.CERTAIN),
        born("p", exactly(1900)),
        seen("p"),
        seen("p", "K2"),
        looks("p", 20, 24),
        looks("p", 20, 24, "K2", by="Ada"),
    ]
    span = Span(day(1905), day(1960))
    bounds = {"birth": {"p": Span(day(1900), day(1900))}, "death": {"p": Span(day(1970), None)}}
    here = lives(statements, ("K1", "K2"), exposure={"K1": span, "K2": span}, **bounds)
    assert len(Appearances(group_up(here), here).known_faces) == 1
    alone = belief(statements[1:3] + statements[4:5], span.first or 0, span.last or 0, **bounds)
    both = believe(here)[0]
    days = np.arange(span.first or 0, (span.last or 0) + 2)
    rising = [np.interp(days, b.cells.edges, np.concatenate([[0], np.cumsum(b.mass)])) for b in (both, alone)]
    assert rising[0] == pytest.approx(rising[1], abs=1e-3)


def test_several_photographs_of_one_occasion_where_one_does_not_belong() -> None:
    """Three of 1905 and one of 1950, all of one occasion: the three keep their date. Of the fourth the inscription is
    wrong, odds 0.05, or the relation, odds 0.05 / 0.95, and then the inscription is right with 0.95."""
    statements: list[ev.Statement] = []
    for i, year in enumerate((1905, 1905, 1905, 1950), 1):
        statements += [says(ev.Claim.INSCRIPTION, Dated(span_of_years(year - 2, year + 2)), photograph=f"K{i}")]
        statements += [related(f"K{i}", ev.Related.SAME_OCCASION, "K1")] if i > 1 else []
    names = ("K1", "K2", "K3", "K4")
    *three, fourth = believe(lives(statements, names, exposure={k: Span(day(1826), INDEXED) for k in names}))
    assert min(in_years(found, 1903, 1908) for found in three) > 0.95
    assert in_years(fourth, 1948, 1953) == pytest.approx(0.95 * (0.05 / 0.95) / (0.05 / 0.95 + 0.05), abs=0.01)


# Orders, day by day: a photograph tells the next how well the best day of its own goes that is not later.


def told_by(belief: np.ndarray, later: bool) -> np.ndarray:
    """The message of an order whose other end is believed so, to the later or to the earlier one."""
    reach = np.maximum.accumulate(belief) if later else np.maximum.accumulate(belief[::-1])[::-1]
    return np.asarray(reach / reach.max())


def of_orders(messages: list[np.ndarray], q: float) -> np.ndarray:
    """L of `orders`: all are right, or one of them, any alike, is not."""
    right = (1 - q) ** len(messages)
    h = np.prod(messages, axis=0)
    one_wrong = [np.prod([m for m in messages if m is not out] or [np.ones_like(h)], axis=0) for out in messages]
    return np.asarray(right * h / h.mean() + (1 - right) * np.mean([w / w.mean() for w in one_wrong], axis=0))


def _ordered(ties: list[tuple[str, str]], claims: dict[str, tuple[int, int]], first: int, last: int) -> list[float]:
    """Distances between messages and the same by plain recursion over single days, along ties that close no ring."""
    names = sorted({x for tie in ties for x in tie})
    statements: list[ev.Statement] = [related(a, ev.Related.BEFORE, b) for a, b in ties]
    statements += [says(ev.Claim.INSCRIPTION, Dated(span_of_years(*years)), T.WEAK, x) for x, years in claims.items()]
    found = believe(lives(statements, names, exposure={x: Span(first, last) for x in names}))
    days = np.arange(first, last + 1) + 0.5
    own = {
        x: _claim(days, day(claims[x][0]), day(claims[x][1], 12, 31), 0.2) if x in claims else np.ones(len(days))
        for x in names
    }

    def messages(x: str, without: str = "") -> list[np.ndarray]:
        near = [(a, True) for a, b in ties if b == x] + [(b, False) for a, b in ties if a == x]
        return [
            told_by(own[other] * np.prod([np.ones(len(days)), *messages(other, x)], axis=0), later)
            for other, later in near
            if other != without
        ]

    result = []
    for i, x in enumerate(names):
        mass = own[x] * of_orders(messages(x), 0.05)
        result.append(distance(found[i], first, mass / mass.sum()))
    return result


def test_one_photograph_before_another() -> None:
    """Two photographs, one dated."""
    assert max(_ordered([("K1", "K2")], {"K2": (1905, 1909)}, day(1900), day(1919, 12, 31))) < 0.02


def test_a_row_of_photographs_on_an_album_page() -> None:
    """K1 before K2 before K3, the ends dated."""
    ties = list(pairwise(["K1", "K2", "K3"]))
    assert max(_ordered(ties, {"K1": (1904, 1906), "K3": (1909, 1911)}, day(1900), day(1919, 12, 31))) < 0.02


def test_photographs_that_meet_in_one() -> None:
    """K1 and K2 before K3, K3 before K4: four photographs, three of them dated."""
    ties = [("K1", "K3"), ("K2", "K3"), ("K3", "K4")]
    claims = {"K1": (1903, 1905), "K2": (1906, 1908), "K4": (1912, 1915)}
    assert max(_ordered(ties, claims, day(1900), day(1919, 12, 31))) < 0.02


def test_a_long_row_stays_between_its_ends() -> None:
    """Thirty photographs of which the first is of 1920 and the last of 1930, in orders that are fairly trusted: each
    between the two with the chance that both its orders are right, or one of them and a tenth of what is left."""
    names = [f"K{i:02}" for i in range(30)]
    statements: list[ev.Statement] = [related(a, ev.Related.BEFORE, b) for a, b in pairwise(names)]
    statements += [
        says(ev.Claim.INSCRIPTION, Dated(span_of_years(y, y)), photograph=k) for k, y in (("K00", 1920), ("K29", 1930))
    ]
    found = believe(lives(statements, names, exposure={x: Span(day(1826), INDEXED) for x in names}))
    between = [in_years(one, 1920, 1931) for one in found[1:-1]]
    left, right = 11 / (2024.5 - 1920), 11 / (1931 - 1826)
    expected = 0.95**2 + (1 - 0.95**2) * (left + right) / 2
    assert between == pytest.approx([expected] * 28, abs=0.01)


def test_orders_that_close_a_ring() -> None:
    """K1 before K2 before K3 and K1 before K3: what runs round a ring makes nothing narrower than its ends do."""
    names, span = ("K1", "K2", "K3"), Span(day(1826), INDEXED)
    ties = [("K1", "K2"), ("K2", "K3"), ("K1", "K3")]
    statements: list[ev.Statement] = [related(a, ev.Related.BEFORE, b) for a, b in ties]
    statements += [
        says(ev.Claim.INSCRIPTION, Dated(span_of_years(y, y)), photograph=k) for k, y in (("K1", 1920), ("K3", 1930))
    ]
    first, second, third = believe(lives(statements, names, exposure=dict.fromkeys(names, span)))
    assert in_years(first, 1920, 1921) > 0.95
    assert in_years(third, 1930, 1931) > 0.95
    assert in_years(second, 1920, 1931) == pytest.approx(0.91, abs=0.01)
    years = [in_years(second, y, y + 1) for y in range(1920, 1931)]
    assert max(years) - min(years) < 0.01


def test_an_order_that_speaks_against_what_is_seen_gives_way() -> None:
    """Two people of known births, who look as in 1935, and two as in 1895: that the first was before the second is then
    likely wrong, and both keep their dates."""
    births = {"p": day(1905), "q": day(1908), "r": day(1865), "s": day(1868)}
    statements: list[ev.Statement] = [born(p, Dated(Span(b, b))) for p, b in births.items()]
    statements += [seen("p"), looks("p", 30, 31), seen("q"), looks("q", 27, 28, by="Tom")]
    statements += [seen("r", "K2"), looks("r", 30, 31, "K2"), seen("s", "K2"), looks("s", 27, 28, "K2", by="Tom")]
    bounds = {"birth": {p: Span(b, b) for p, b in births.items()}, "death": {p: Span(day(1960), None) for p in births}}
    spans = {"exposure": {"K1": Span(day(1908), day(1960)), "K2": Span(day(1868), day(1960))}}
    apart = believe(lives(statements, ("K1", "K2"), **spans, **bounds))
    ordered = believe(lives([*statements, related("K1", ev.Related.BEFORE, "K2")], ("K1", "K2"), **spans, **bounds))
    for i, years in enumerate(((1925, 1946), (1885, 1906))):
        assert in_years(apart[i], *years) > 0.9
        assert in_years(ordered[i], *years) > 0.9


# --- judged ages that do not belong ----------------------------------------------------------------------------------


def test_a_wrong_face_shows_as_an_unlikely_age() -> None:
    """Four children fit; the fifth "child" was born 40 years earlier. Against the leave-one-out sum over days."""
    first, last = day(1920), day(1959, 12, 31)
    births = {p: day(1917 + i) for i, p in enumerate("pqrs")} | {"t": day(1880)}
    statements: list[ev.Statement] = [born(p, Dated(Span(b, b))) for p, b in births.items()]
    statements += [seen(p) for p in births] + [looks(p, 8, 10, by=p) for p in births]
    here = lives(
        statements,
        exposure={"K1": Span(first, last)},
        birth={p: Span(b, b) for p, b in births.items()},
        death={p: Span(last, None) for p in births},
    )
    beliefs = Beliefs(group_up(here), here)
    found = {doubt.person: doubt for part in beliefs.posteriors(np.array([0]), 0.0) for doubt in part.doubts}
    age, days = table(8, 10), np.arange(first, last + 1)
    seen_as = {p: np.array([age((d - b) / YEAR) for d in days]) for p, b in births.items()}
    slips = {p: 0.05 * careless(np.maximum(days - b, 0) / YEAR, 8, 10) for p, b in births.items()}
    full = {p: 0.99 * c + 0.01 * 0.03 for p, c in seen_as.items()}
    for p, unlikely in found.items():
        rest = np.prod([f for q, f in full.items() if q != p], axis=0)
        assert unlikely.probability == pytest.approx(rest @ slips[p] / (rest @ seen_as[p]), abs=0.02)
        assert unlikely.age.id == f"g{p}K1{p}"
    assert found["t"].probability > 0.9
    assert max(found[p].probability for p in "pqrs") < 0.1


def test_likely_ranges_hold_nine_tenths_on_photographs_drawn_from_the_model() -> None:
    """600 pictures drawn from the priors; 90 % within three standard errors (Talts et al. 2018, arXiv:1804.06788)."""
    from kinphoto.reason.soft.summary import Posterior, shortest

    rng = np.random.default_rng(20)
    start, end = day(1900), day(1949, 12, 31)
    inside = 0
    for _ in range(600):
        x = rng.uniform(start, end + 1)
        births = [int(x - rng.uniform(0, 60) * YEAR) for _ in range(rng.integers(1, 5))]
        bias, spread = rng.normal(0, 0.08), exp(rng.normal(0, 0.3))
        statements: list[ev.Statement] = []
        for p, b in zip("pqrs", births, strict=False):
            true = g((x - b) / YEAR) + bias + (0.59 + 0.41 * spread**2) ** 0.5 * 0.17 * rng.normal()
            age = exp(true) - 2 if true < log(53) else 51 + 53 * (true - log(53))
            low = max(0, int(age)) if rng.random() > 0.05 else int(rng.uniform(0, 100))
            statements += [born(p, Dated(Span(b, b))), seen(p, trust=T.CERTAIN), looks(p, low, low)]
        bounds = {
            "birth": {p: Span(b, b) for p, b in zip("pqrs", births, strict=False)},
            "death": {p: Span(end, None) for p in "pqrs"},
        }
        found = belief(statements, max(start, *births, start), end, **bounds)
        low_end, high_end = shortest(Posterior(found.cells.edges, found.mass))
        inside += low_end <= x <= high_end
    assert abs(inside / 600 - 0.9) < 3 * (0.9 * 0.1 / 600) ** 0.5


# --- ages that may suit a date that somebody guessed ------------------------------------------------------------------

START, END = day(1905), day(1950, 12, 31)
OF_1900 = {
    "birth": {p: Span(day(1900), day(1900)) for p in "pq"},
    "death": {p: Span(END, None) for p in "pq"},
}
TWO_OF_1900 = [born(p, exactly(1900)) for p in "pq"] + [seen(p, trust=T.CERTAIN) for p in "pq"]


Says = Callable[[float], float]
Face = tuple[Says, Says]
"""What an age says of a day as it is, and what it says of the date that it was fitted to."""


def suiting(*faces: Face, first: int = START, last: int = END, share: float = 0.25) -> Says:
    """1 - `share` of the likelihood as it is, the rest about the date it was fitted to, normal with five years, every
    tenth day."""
    days = np.arange(first, last + 1, 10) + 0.5
    of = np.array([prod(close(x) for _, close in faces) for x in days])

    def mixed(x: float) -> float:
        bell = np.exp(-0.5 * ((days - x) / (5 * YEAR)) ** 2)
        return (1 - share) * prod(by_eye(x) for by_eye, _ in faces) + share * float(bell @ of / bell.sum())

    return mixed


def looking(low: int, high: int) -> Face:
    """One face of somebody born in 1900."""
    ages = np.arange(0, 60, 0.05)
    nobody = 0.01 * (high + 1 - low)

    def of(table: np.ndarray) -> Says:
        return named(T.CERTAIN, lambda x: float(np.interp((x - day(1900) - 0.5) / YEAR, ages, table)), nobody)

    return of(judged(ages, low, high)), of(to_a_date(ages, low, high))


def to_a_date(ages: np.ndarray, low: float, high: float) -> np.ndarray:
    """`judged` of an age that was fitted to a date: no bias, and 0.3 times the error."""
    true = np.array([g(age) for age in ages])
    upper, lower = (phi((g(edge) - true) / (0.3 * 0.17)) for edge in (high + 1, low))
    return 0.95 * (upper - (lower if low > 0 else 0.0)) + 0.05 * careless(ages, low, high)


def by_tens(factor: Callable[[float], float]) -> np.ndarray:
    """The posterior of each day, worked out every tenth."""
    days = np.arange(START, END + 11, 10)
    value = np.interp(np.arange(START, END + 1) + 0.5, days + 0.5, [factor(x + 0.5) for x in days])
    return value / value.sum()


def test_faces_of_a_photograph_share_one_shift() -> None:
    """Two people look 30 and 28 to two judges who may have known the date: both suit it, or neither."""
    said = [*TWO_OF_1900, looks("p", 30, 32, blind=False), looks("q", 26, 30, by="Tom", blind=False)]
    found = belief(said, START, END, **OF_1900)
    assert distance(found, START, by_tens(suiting(looking(30, 32), looking(26, 30)))) < 0.02


def test_what_else_is_known_of_the_date_is_not_shifted() -> None:
    """An inscription of 1934 besides: the ages may suit another date, the inscription means the date itself."""
    written = ev.DateClaim(
        id="c", trust=T.FAIR, photograph="K1", claim=ev.Claim.INSCRIPTION, date=Dated(span_of_years(1934, 1934))
    )
    found = belief([*TWO_OF_1900, looks("p", 25, 27, blind=False), written], START, END, **OF_1900)
    said, ages = claimed(day(1934), day(1934, 12, 31), T.FAIR), suiting(looking(25, 27))
    days = np.arange(START, END + 1) + 0.5
    expected = np.array([said(x) for x in days]) * by_tens(ages)
    assert distance(found, START, expected / expected.sum()) < 0.02


def test_having_lived_counts_once() -> None:
    """Somebody born in 1900, whose death nobody recorded, looks 70 to 79: they lived when the picture was taken and on
    the day that the age suits, and where that is the same day it counts once."""
    first, last, birth = day(1950), day(2000, 12, 31), day(1900)
    found = belief(
        [born("p", exactly(1900)), seen("p"), looks("p", 70, 79, blind=False)], first, last,
        birth={"p": Span(birth, birth)},
    )  # fmt: skip
    ages = np.arange(0, 110, 2 / YEAR)
    there = named(T.STRONG, lambda x: alive(x, birth, first))

    def of(table: np.ndarray) -> Says:
        return named(
            T.STRONG, lambda x: float(np.interp((x - birth - 0.5) / YEAR, ages, table)) * alive(x, birth, first), 0.1
        )

    as_it_is, close = of(judged(ages, 70, 79)), of(to_a_date(ages, 70, 79))
    days = np.arange(first, last + 1, 10) + 0.5
    suit = np.array([close(x) for x in days])

    def mixed(x: float) -> float:
        bell = np.exp(-0.5 * ((days - x) / (5 * YEAR)) ** 2)
        return 0.75 * as_it_is(x) + 0.25 * there(x) * float(bell @ suit / bell.sum())

    assert distance(found, first, brute(first, last, mixed)) < 0.02


def test_an_age_given_unseen_is_taken_as_it_is() -> None:
    """Judged before anything was seen, the same age has no shift, and is the only one that counts on that face."""
    alone = belief([*TWO_OF_1900, looks("p", 30, 32)], START, END, **OF_1900)
    assert distance(alone, START, by_tens(looking(30, 32)[0])) < 0.02
    both = belief([*TWO_OF_1900, looks("p", 30, 32), looks("p", 40, 40, by="Tom", blind=False)], START, END, **OF_1900)
    assert both.mass == pytest.approx(alone.mass)


@pytest.mark.parametrize("blind", [True, False])
def test_a_birth_hears_of_the_date_that_the_ages_suit(blind: bool) -> None:
    """Born between 1890 and 1930, looks 20 in a picture of 1 July 1935: against a sum over births and dates."""
    statements = [
        born("p", Dated(span_of_years(1890, 1930))), seen("p", trust=T.CERTAIN),
        looks("p", 20, 20, blind=blind),
        ev.DateClaim(id="c", trust=T.CERTAIN, photograph="K1", claim=ev.Claim.TAKEN, date=exactly(1935, 7, 1)),
    ]  # fmt: skip
    taken = day(1935, 7, 1)
    here = lives(
        statements, exposure={"K1": Span(day(1930), day(1940))},
        birth={"p": Span(day(1890), day(1930, 12, 31))}, death={"p": Span(day(1945), None)},
    )  # fmt: skip
    found = Beliefs(group_up(here), here).neighbours
    births, mean, variance = found.birth_moments()
    assert births == ("p",)
    ages = np.arange(0, 60, 0.05)
    table = judged(ages, 20, 20)
    dates = np.arange(day(1930), day(1941), 30) + 15.0
    bell = np.array([exp(-0.5 * ((z - taken) / (5 * YEAR)) ** 2) for z in dates])
    weight, middle = [], []
    for b in np.arange(day(1890), day(1931), 30) + 15.0:

        def age(z: np.ndarray | float, b: float = b) -> np.ndarray:
            return np.where(np.asarray(z) >= b, np.interp((np.asarray(z) - b) / YEAR, ages, table), 0.0)

        of = float(age(taken)) if blind else 0.75 * float(age(taken)) + 0.25 * float(bell @ age(dates) / bell.sum())
        weight.append(of)
        middle.append(b)
    share = np.array(weight) / sum(weight)
    expected = float(share @ middle)
    assert mean[0] == pytest.approx(expected, abs=80)
    assert variance[0] ** 0.5 == pytest.approx(
        float(share @ (np.array(middle) - expected) ** 2) ** 0.5 / YEAR, rel=0.06
    )
