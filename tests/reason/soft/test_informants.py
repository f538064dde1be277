"""What is learned of those who judge ages, against the posterior summed on a fine grid in plain arithmetic."""

from __future__ import annotations

from datetime import date
from math import erf, exp, log

import numpy as np
import pytest
from bench_dating import Judges, draw
from peers import Told, integrated
from scipy.special import ndtr

from kinphoto.reason.dating import date_archive, date_locally
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import perception
from kinphoto.reason.model.findings import Findings, InformantEstimate
from kinphoto.reason.model.span import Dated, Shape, Span, span_of_years, year_of
from kinphoto.reason.model.subjects import Person, Photograph
from kinphoto.reason.soft import informants

SCANNED = date(2024, 6, 30).toordinal()
YEAR = 365.2425
STRONG = ev.Trust.STRONG


def day(year: int) -> int:
    return date(year, 7, 1).toordinal()


def face(person: str, photograph: str, low: int, high: int, *, blind: bool = True) -> list[ev.Statement]:
    """Somebody is in a photograph, and Edda says how old they look, before anything else was seen."""
    name = f"{person}{photograph}"
    seen = ev.Appearance(id=name, trust=STRONG, photograph=photograph, person=person)
    return [
        seen,
        ev.Age(id=f"age{name}", trust=STRONG, appearance=name, low=low, high=high, informant="Edda", blind=blind),
    ]


def born(person: str, first: int, last: int, shape: Shape = Shape.FLAT) -> ev.LifeDate:
    span = Span(day(first), day(last)) if first == last else span_of_years(first, last)
    about = {"centre": float(day((first + last) // 2)), "spread": 2.5 * YEAR} if shape is Shape.ABOUT else {}
    dated = Dated(span, shape, **about)
    return ev.LifeDate(id=f"b{person}", trust=STRONG, person=person, event=ev.LifeEvent.BIRTH, date=dated)


def taken(photograph: str, year: int) -> ev.DateClaim:
    dated = Dated(Span(day(year), day(year)))
    return ev.DateClaim(id=f"t{photograph}", trust=STRONG, photograph=photograph, claim=ev.Claim.TAKEN, date=dated)


def archive(statements: list[ev.Statement]) -> ev.Evidence:
    people = {s.person for s in statements if isinstance(s, ev.LifeDate | ev.Appearance) and s.person}
    photographs = {s.photograph for s in statements if isinstance(s, ev.Appearance)}
    return ev.Evidence(
        tuple(Person(p, p) for p in sorted(people)),
        tuple(Photograph(x, SCANNED) for x in sorted(photographs)),
        tuple(statements),
    )


def school(ages: list[tuple[int, int]]) -> list[ev.Statement]:
    """Pupils born in 1900, photographed on known days; `ages` are how old they were and how old Edda says they look."""
    statements: list[ev.Statement] = []
    for i, (true, seen) in enumerate(ages):
        statements += [born(f"p{i}", 1900, 1900), taken(f"K{i}", 1900 + true), *face(f"p{i}", f"K{i}", seen, seen)]
    return statements


def g(age: float) -> float:
    return log(age + 2) if age <= 51 else log(53) + (age - 51) / 53


def phi(z: float) -> float:
    return 0.5 * (1 + erf(z / 2**0.5))


def careless(age: float, seen: float) -> float:
    """A careless judge: normal with 12 years about the age, from 0 on."""
    return (phi((seen + 1 - age) / 12) - phi((seen - age) / 12)) / phi(age / 12)


def plainly(ages: list[tuple[int, int]]) -> tuple[float, float, float, float]:
    """Mean and standard deviation of bias and of ln k, on a grid of 81 by 61."""
    bias, spread = np.linspace(-0.32, 0.32, 81), np.linspace(-1.2, 1.2, 61)
    weight = np.exp(-0.5 * (bias[:, None] / 0.08) ** 2 - 0.5 * (spread[None] / 0.3) ** 2)
    for true, seen in ages:
        for i, b in enumerate(bias):
            for j, s in enumerate(spread):
                sd = 0.17 * (0.59 + 0.41 * exp(2 * s)) ** 0.5
                careful = phi((g(seen + 1) - g(true) - b) / sd) - phi((g(seen) - g(true) - b) / sd)
                weight[i, j] *= 0.99 * (0.05 * careless(true + 0.5, seen) + 0.95 * careful) + 0.01 * 0.01
    weight /= weight.sum()
    return *moments(weight.sum(axis=1), bias), *moments(weight.sum(axis=0), spread)


def moments(weight: np.ndarray, at: np.ndarray) -> tuple[float, float]:
    mean = float(weight @ at)
    return mean, float(weight @ (at - mean) ** 2) ** 0.5


@pytest.mark.parametrize("ages", [[(10, 13), (12, 15), (20, 22)], [(8, 5)] * 6, [(15, 15), (16, 40), (30, 31)]])
def test_an_informant_is_learned_where_the_truth_is_known(ages: list[tuple[int, int]]) -> None:
    """Mean and standard deviation of bias and spread agree with the plain sum."""
    (learned,) = date_archive(archive(school(ages))).informants
    assert (learned.informant, learned.judgements) == ("Edda", len(ages))
    found = learned.bias, learned.bias_sd, learned.log_spread, learned.log_spread_sd
    assert found == pytest.approx(plainly(ages), abs=0.004)


def middle(findings: Findings, photograph: str) -> int:
    return next(e.best for e in findings.estimates if e.photograph == photograph) or 0


def width(findings: Findings, photograph: str) -> int:
    return next((e.likely_to or 0) - (e.likely_from or 0) for e in findings.estimates if e.photograph == photograph)


def test_somebody_who_sees_everybody_older_is_allowed_for() -> None:
    """Twenty pupils of 10 "look 13"; an undated one who "looks 13" was about 10, and the range is narrower for it."""
    undated = [born("girl", 1920, 1920), *face("girl", "X", 13, 13)]
    alone, taught = (date_archive(archive([*undated, *more])) for more in ([], school([(10, 13)] * 20)))
    assert year_of(middle(alone, "X")) in (1932, 1933, 1934)
    assert year_of(middle(taught, "X")) in (1930, 1931)
    assert width(taught, "X") < 0.9 * width(alone, "X")


def test_ages_that_were_not_given_unseen_teach_nothing_of_their_judge() -> None:
    """Whoever knew the date gives ages that suit it: of twenty pupils of 10 who "look 10", nothing is learned."""
    known = [
        s for i in range(20)
        for s in (born(f"q{i}", 1900, 1900), taken(f"L{i}", 1910), *face(f"q{i}", f"L{i}", 10, 10, blind=False))
    ]  # fmt: skip
    assert date_archive(archive(known)).informants == ()
    (learned,) = date_archive(archive([*known, *school([(10, 13)])])).informants
    assert learned.judgements == 1


def pulled(young: int, old: int) -> list[tuple[int, int]]:
    """Ages of so many young and old people, as somebody sees them who draws a fifth of the way to 30."""
    ages = [*([6, 8, 10, 13] * young)[:young], *([50, 60, 70, 80] * old)[:old]]
    middle = log(32)
    return [(age, round(float(perception.age_at(g(age) - 0.2 * (g(age) - middle))))) for age in ages]


def test_a_pull_towards_the_middle_is_learned_from_both_sides() -> None:
    """Ten young and ten old people drawn a fifth of the way to 30: nearly that is learned. With nine of either nothing
    is, and all of it counts as bias."""
    (learned,) = date_archive(archive(school(pulled(10, 10)))).informants
    assert learned.pull == pytest.approx(0.2, abs=0.08)
    assert 0 < learned.pull_sd < 0.06
    for few in (pulled(9, 30), pulled(30, 9)):
        (learned,) = date_archive(archive(school(few))).informants
        assert (learned.pull, learned.pull_sd) == (0.0, 0.0)


def test_of_many_judgements_bias_spread_and_pull_are_those_of_a_plain_sum_over_all_three() -> None:
    """Of 400 people of 5 to 80 years, judged with a bias of 0.05, a spread of 0.8 and a pull of 0.12, the means and
    standard deviations are those of a sum over 41 x 37 x 51 values of the three."""
    dice = np.random.default_rng(7)
    true = dice.integers(5, 80, 400)
    place = np.array([g(age + 0.0) for age in true])
    looks = place + 0.05 - 0.12 * (place - log(32)) + 0.17 * (0.59 + 0.41 * 0.8**2) ** 0.5 * dice.normal(size=400)
    seen = np.maximum(perception.age_at(looks).astype(int), 0)
    (learned,) = date_archive(archive(school(list(zip(true.tolist(), seen.tolist(), strict=True))))).informants
    first = np.argsort([f"K{i}" for i in range(400)])[:300]  # no more than 300 count
    bias, spread, pull = (np.ravel(axis) for axis in np.meshgrid(
        np.linspace(-0.02, 0.12, 41), np.linspace(-1.5, 0.3, 37), np.linspace(0.0, 0.24, 51)))  # fmt: skip
    log_weight = -((bias / 0.08) ** 2 + (spread / 0.3) ** 2 + (pull / 0.1) ** 2) / 2
    for at, age in zip(place[first].tolist(), seen[first].tolist(), strict=True):
        sd = 0.17 * (0.59 + 0.41 * np.exp(2 * spread)) ** 0.5
        low, high = ((g(edge) - at - bias + pull * (at - log(32))) / sd for edge in (age, age + 1))
        careful = ndtr(high) - (ndtr(low) if age else 0.0)
        slip = careless(float(perception.age_at(at)), age)
        log_weight += np.log(0.99 * (0.05 * slip + 0.95 * careful) + 0.01 * 0.01)
    weight = np.exp(log_weight - log_weight.max())
    expected = [value for axis in (bias, spread, pull) for value in moments(weight / weight.sum(), axis)]
    found = [learned.bias, learned.bias_sd, learned.log_spread, learned.log_spread_sd, learned.pull, learned.pull_sd]
    assert found == pytest.approx(expected, rel=0.01, abs=0.0005)


def test_what_the_archive_taught_holds_for_a_part_of_it() -> None:
    """A photograph looked at by itself knows of Edda what the whole archive taught."""
    undated = [born("girl", 1920, 1920), *face("girl", "X", 13, 13)]
    whole = date_archive(archive([*undated, *school([(10, 13)] * 20)]))
    near = date_locally(archive(undated), ["X"], whole.informants).dated_exposures["X"].estimate
    assert near.best == pytest.approx(middle(whole, "X"), abs=3)
    nobody: list[InformantEstimate] = []
    assert year_of(date_locally(archive(undated), ["X"], nobody).dated_exposures["X"].estimate.best or 0) >= 1932


def test_photographs_date_people_too() -> None:
    """Born between 1895 and 1940, looks 7 in 1923 and 20 in 1936: born about 1916, and that dates a third picture."""
    statements = [taken("K1", 1923), *face("ada", "K1", 7, 7), taken("K2", 1936), *face("ada", "K2", 20, 20)]
    statements += [born("ada", 1895, 1940), *face("ada", "K3", 3, 3)]
    findings = date_archive(archive(statements))
    (birth,) = findings.births
    assert (birth.person, birth.photographs) == ("ada", 3)
    assert year_of(birth.best) in (1914, 1915, 1916)
    assert birth.likely_to - birth.likely_from < 7 * YEAR  # she may look young or old for her age in all of them
    assert year_of(middle(findings, "K3")) in (1917, 1918, 1919, 1920)


def test_a_birth_about_a_year_is_narrowed() -> None:
    """ "About 1916" with two dated photographs: narrower than the tree alone, and never before its span."""
    statements = [born("ada", 1906, 1926, Shape.ABOUT), taken("K1", 1923), *face("ada", "K1", 4, 5)]
    (birth,) = date_archive(archive(statements)).births
    assert year_of(birth.best) in (1917, 1918)
    assert birth.likely_from >= date(1906, 1, 1).toordinal()


def test_a_birth_is_never_told_outside_what_is_possible() -> None:
    """Born before 17 May 1909, looks one in 1911: the quarter-year that holds the bound does not lead past it."""
    bound = date(1909, 5, 16).toordinal()
    before = Dated(Span(None, bound), Shape.BEFORE)
    birth_date = ev.LifeDate(id="bada", trust=STRONG, person="ada", event=ev.LifeEvent.BIRTH, date=before)
    (birth,) = date_archive(archive([birth_date, taken("K1", 1911), *face("ada", "K1", 1, 1)])).births
    assert birth.best <= birth.likely_to == bound


def test_dates_are_those_of_integration_over_days_and_informants(monkeypatch: pytest.MonkeyPatch) -> None:
    """On an archive drawn from the model in which all births are known, the best dates and likely ranges of the hundred
    photographs that nobody dated are those of summing days, biases and spreads out on fine grids (`peers`, which knows
    of no pull towards the middle)."""
    monkeypatch.setattr(informants, "BOTH_SIDES", 10_000)
    drawn = draw(np.random.default_rng(2), Judges(), vague=0)
    ours = {e.photograph: e for e in date_archive(drawn.evidence).estimates}
    apart = []
    for photograph, (expected, _) in integrated(Told.of(drawn.evidence)).items():
        e, (first, last) = ours[photograph], expected.shortest
        days = (e.best or 0) + 0.5 - float(expected.at(np.array(0.5))), (e.likely_from or 0) - first
        apart.append([abs(day) / (last - first) for day in (*days, (e.likely_to or 0) + 1 - last)])
    assert len(apart) == 100
    assert max(np.mean(apart, axis=0)) < 0.01
    assert np.max(apart, axis=0)[0] < 0.05
