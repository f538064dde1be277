"""Births, deaths and events before any photograph is looked at, against scipy's distributions and plain sums."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import trapezoid  # NumPy has it only from 2.0 on

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.density import before, of_date
from kinphoto.reason.model.lookup import Lookup, look_up
from kinphoto.reason.model.prior import Birth, birth, death, event_day, relatives
from kinphoto.reason.model.span import Dated, Shape, Span, span_of_years
from kinphoto.reason.model.subjects import Person, Photograph
from kinphoto.reason.model.survival import survival

YEAR = 365.2425
T = ev.Trust


def day(year: int, month: int = 1, of_month: int = 1) -> int:
    return date(year, month, of_month).toordinal()


def exactly(*ymd: int) -> Dated:
    return Dated(Span(day(*ymd), day(*ymd)))


def life(person: str, event: ev.LifeEvent, when: Dated, trust: T = T.STRONG) -> ev.LifeDate:
    return ev.LifeDate(id=f"{event}{person}", trust=trust, person=person, event=event, date=when)


def born(person: str, when: Dated, trust: T = T.STRONG) -> ev.LifeDate:
    return life(person, ev.LifeEvent.BIRTH, when, trust)


def child(person: str, parent: str, sex: str) -> ev.ParentLink:
    return ev.ParentLink(id=f"{person}{parent}", trust=T.CERTAIN, child=person, parent=parent, parent_sex=sex)


def known(statements: Iterable[ev.Statement], **sexes: str) -> Lookup:
    people = tuple(Person(p, p, sexes.get(p, "U")) for p in "mfcdegw")
    return look_up(ev.Evidence(people, (Photograph("K1", day(2024)),), tuple(statements)))


def moments(found: Birth) -> tuple[float, float]:
    """Mean and standard deviation, in days."""
    assert found.weight.sum() == pytest.approx(1)
    mean = float(found.weight @ found.days)
    return mean, float(found.weight @ (found.days - mean) ** 2) ** 0.5


def test_a_year_is_flat() -> None:
    """Every day of 1900 alike: scipy's uniform distribution."""
    at = np.linspace(day(1899), day(1902), 1000)
    expected = stats.uniform(day(1900), 365).cdf(at)
    assert before(at, of_date(Dated(span_of_years(1900, 1900)), 0, 1e6)) == pytest.approx(expected)


def test_about_is_normal_and_a_little_flat() -> None:
    """ABT 1900: 95 % normal about the middle of the year with sd 2.5 years, 5 % flat over 1890 to 1910."""
    centre = day(1900, 7, 2)
    dated = Dated(span_of_years(1890, 1910), Shape.ABOUT, float(centre), 2.5 * YEAR)
    at = np.linspace(day(1889), day(1912), 1000)
    flat = stats.uniform(day(1890), day(1911) - day(1890)).cdf(at)
    normal = stats.norm(centre + 0.5, 2.5 * YEAR).cdf(at)
    assert before(at, of_date(dated, 0, 1e6)) == pytest.approx(0.95 * normal + 0.05 * flat)


def test_an_open_date_is_cut_by_what_is_possible() -> None:
    """BEF 1900, possible from 1850: flat in between, and nothing after."""
    at = np.array([day(1850), day(1875, 7, 1), day(1901)])
    found = before(at, of_date(Dated(span_of_years(None, 1899), Shape.BEFORE), day(1850), day(1950)))
    assert found == pytest.approx([0, (day(1875, 7, 1) - day(1850)) / (day(1900) - day(1850)), 1])


def test_a_birth_before_a_christening() -> None:
    """80 % within 60 days before, the rest earlier with a mean of five years."""
    end = day(1900, 5, 21)
    christened = life("c", ev.LifeEvent.CHRISTENING, exactly(1900, 5, 20))
    found = birth("c", known([christened]), Span(day(1830), end - 1))
    weight, days = found.weight, found.days
    soon = days > end - 61
    assert weight[soon].sum() == pytest.approx(0.8, abs=0.005)
    wait = (weight[~soon] @ (end - days[~soon])) / weight[~soon].sum()
    assert wait == pytest.approx(60 + 5 * YEAR, rel=0.02)


@pytest.mark.parametrize(("sex", "age", "sd"), [("F", 28, 6.5), ("M", 32, 7.5)])
def test_a_childs_birth_tells_when_a_parent_was_born(sex: str, age: float, sd: float) -> None:
    """A mother is 28 +- 6.5 years older, a father 32 +- 7.5, cut by the bounds: scipy's truncated normal."""
    bounds = Span(day(1825), day(1890))
    found = birth("m", known([born("c", exactly(1900)), child("c", "m", sex)]), bounds)
    centre, wide = day(1900) + 0.5 - age * YEAR, sd * YEAR
    cut = stats.truncnorm((day(1825) - centre) / wide, (day(1890) + 1 - centre) / wide, centre, wide)
    assert moments(found) == pytest.approx((cut.mean(), cut.std()), rel=1e-2, abs=20)
    assert found.informative


def test_a_parents_birth_tells_when_a_child_was_born() -> None:
    """Both parents: two normal factors, forwards."""
    statements = [born("m", exactly(1870)), born("f", exactly(1868)), child("c", "m", "F"), child("c", "f", "M")]
    centres = sorted((day(1870) + 0.5 + 28 * YEAR, day(1868) + 0.5 + 32 * YEAR))
    assert sorted(mean for mean, _ in relatives("c", known(statements))) == pytest.approx(centres)


def test_children_of_one_mother_are_not_strangers() -> None:
    """Four children narrow her birth, but less than by half: 0.4 of the variance is common to all."""
    statements: list[ev.Statement] = [born(c, exactly(1890 + 2 * i)) for i, c in enumerate("cdeg")]
    statements += [child(c, "m", "F") for c in "cdeg"]
    ((mean, sd),) = relatives("m", known(statements))
    assert mean == pytest.approx(day(1893) - 28 * YEAR, abs=2)
    assert sd == pytest.approx(6.5 * YEAR * (0.4 + 0.6 / 4) ** 0.5)


def test_a_marriage_speaks_where_no_child_is_known() -> None:
    """A bride is 25 +- 6; with a known child the child speaks instead."""
    wedding = [
        ev.Marriage(id="w", trust=T.CERTAIN, event="F1:MARR", spouses=("m", "f")),
        ev.EventDate(id="wd", trust=T.STRONG, event="F1:MARR", date=exactly(1900)),
    ]
    assert relatives("m", known(wedding, m="F")) == [pytest.approx((day(1900) + 0.5 - 25 * YEAR, 6 * YEAR))]
    more = [*wedding, born("c", exactly(1901)), child("c", "m", "F")]
    assert relatives("m", known(more, m="F")) == [pytest.approx((day(1901) + 0.5 - 28 * YEAR, 6.5 * YEAR))]


def test_a_vague_relative_enters_by_bounds_only() -> None:
    """A child born some time in sixty years gives no factor."""
    statements = [born("c", Dated(span_of_years(1850, 1910))), child("c", "m", "F")]
    assert relatives("m", known(statements)) == []


def test_a_known_death_is_an_ordinary_lifespan_after_the_birth() -> None:
    """Died in 1950, nothing else: the mean of Gompertz's law before it, by numerical integration of S."""
    died = life("m", ev.LifeEvent.DEATH, exactly(1950))
    found = birth("m", known([died]), Span(day(1950) - int(123 * YEAR), day(1950)))
    ages = np.linspace(0, 123, 12_301)
    assert day(1950) - moments(found)[0] == pytest.approx(YEAR * trapezoid(survival(ages), ages), rel=0.01)


def test_a_doubtful_birth_leaves_room_beside_it() -> None:
    """A fair date is wrong with chance 5 % before anything else is known."""
    found = birth("c", known([born("c", exactly(1900), T.FAIR)]), Span(day(1703), day(2023)))
    exact, rest = sorted(found.parts, key=lambda p: len(p.weight))
    assert exact.weight.sum() == pytest.approx(0.95, abs=0.002)
    assert rest.weight.sum() == pytest.approx(0.05, abs=0.002)


def test_family_weighs_a_doubtful_date_against_the_rest() -> None:
    """A weak date 40 years off what the mother's age allows loses to the family: the product, day by day."""
    statements = [born("c", Dated(span_of_years(1940, 1943)), T.WEAK), born("m", exactly(1870)), child("c", "m", "F")]
    found = birth("c", known(statements), Span(day(1880), day(1979, 12, 31)))
    days = np.arange(day(1880), day(1980)) + 0.5
    family = stats.norm(day(1870) + 0.5 + 28 * YEAR, 6.5 * YEAR).pdf(days)
    inside = (days >= day(1940)) & (days < day(1944))
    density = family * (0.8 * inside / inside.sum() + 0.2 / (323 * YEAR))
    assert moments(found)[0] == pytest.approx((density @ days) / density.sum(), abs=20)


def test_a_strong_birth_is_a_wall() -> None:
    """Inside its bounds the date is right: one part, on that day."""
    found = birth("c", known([born("c", exactly(1900))]), Span(day(1900), day(1900)))
    assert [(p.first, p.weight.tolist()) for p in found.parts] == [(day(1900) + 0.5, [1.0])]


def test_quarters_hold_what_months_held() -> None:
    """Mean and total are kept when a birth is put on coarser cells."""
    (part,) = birth("c", known([born("c", Dated(span_of_years(1900, 1904)))]), span_of_years(1900, 1904)).parts
    coarse = part.in_quarters()
    assert coarse.weight.sum() == pytest.approx(1)
    assert coarse.weight @ coarse.days == pytest.approx(part.weight @ part.days, abs=1)


def test_an_unrecorded_death_follows_survival() -> None:
    """Alive at 40 for certain: P(alive at 80) is S(80) / S(40)."""
    found = death("m", known([]), Span(day(1890), day(1850) + int(124 * YEAR)))
    alive = found.alive(np.array([day(1889), day(1930)]) + 0.0, day(1850) + 0.0)
    expected = (survival(np.array([80.0])) / survival(np.array([40.0])))[0]
    assert alive == pytest.approx([1.0, expected], abs=0.002)


def test_a_death_before_a_known_day_is_conditioned_on_it() -> None:
    """BEF 1900, alive in 1880, born in 1820: nobody is left after it, and 1880 is certain."""
    statements = life("m", ev.LifeEvent.DEATH, Dated(span_of_years(None, 1899), Shape.BEFORE))
    found = death("m", known([statements]), Span(day(1880), day(1899, 12, 31)))
    days = np.array([day(1880), day(1890), day(1900)]) + 0.0
    s = survival((days - day(1820)) / YEAR)
    assert found.alive(days, day(1820) + 0.0) == pytest.approx([1, (s[1] - s[2]) / (s[0] - s[2]), 0], abs=1e-6)


def test_a_burial_stands_in_for_a_death() -> None:
    """Buried on 20 May 1900: dead then, alive two weeks before (common practice)."""
    statements = life("m", ev.LifeEvent.BURIAL, exactly(1900, 5, 20), T.CERTAIN)
    found = death("m", known([statements]), Span(day(1880), day(1900, 5, 20)))
    alive = found.recorded(np.array([day(1900, 5, 5), day(1900, 5, 21)]) + 0.5)
    assert alive == pytest.approx([1, 0])


def test_an_undated_wedding_is_dated_by_the_couple() -> None:
    """Bride born in 1880, groom in 1875: the product of two normals, 25 +- 6 and 28 +- 7 years later."""
    wedding = ev.Marriage(id="w", trust=T.CERTAIN, event="F1:MARR", spouses=("m", "f"))
    statements = [wedding, born("m", exactly(1880)), born("f", exactly(1875))]
    found = event_day("F1:MARR", known(statements, m="F", f="M"), Span(day(1890), day(1990)))
    assert found is not None
    weights = np.array([6.0**-2, 7.0**-2])
    centre = (weights @ [1880 + 25, 1875 + 28]) / weights.sum()
    assert found.weight @ found.days == pytest.approx(day(1880) + (centre - 1880) * YEAR, abs=40)


def test_an_event_nobody_dated_says_nothing() -> None:
    """No date, no couple."""
    assert event_day("F1:MARR", known([]), Span(day(1890), day(1990))) is None
