"""Who somebody without a name could be."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from scipy.stats import norm

from kinphoto.reason.advice.who import STRANGER, UnnamedFace, of_a_stranger, unnamed, unnamed_face, who
from kinphoto.reason.dating import date_locally
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import perception
from kinphoto.reason.model.span import Dated, Span
from kinphoto.reason.model.subjects import Person, Photograph
from kinphoto.reason.soft.grid import cells
from kinphoto.reason.soft.summary import Posterior

YEAR = 365.2425
INDEXED = date(2020, 1, 1).toordinal()


def day(year: int) -> int:
    """The first day of a year."""
    return date(year, 1, 1).toordinal()


def family(**lives: tuple[int, int]) -> ev.Evidence:
    """People who were born and died on the first days of these years, and a photograph with somebody unnamed in it."""
    statements: list[ev.Statement] = [ev.Appearance(id="A0", trust=ev.Trust.STRONG, photograph="K1", person=None)]
    for person, years in lives.items():
        for event, year in zip((ev.LifeEvent.BIRTH, ev.LifeEvent.DEATH), years, strict=True):
            date_ = Dated(Span(day(year), day(year)))
            statements.append(
                ev.LifeDate(id=f"{person}{event}", trust=ev.Trust.STRONG, person=person, event=event, date=date_)
            )
    people = tuple(Person(p, p) for p in lives)
    return ev.Evidence(people, (Photograph("K1", INDEXED, printed=False),), tuple(statements))


def flat(first: int, last: int) -> Posterior:
    """Taken on any day from the first of one year to the first of another alike."""
    on = cells(day(first), day(last) - 1)
    return Posterior(on.edges, on.width / on.width.sum())


def careful(ages: np.ndarray, low: float, high: float) -> float:
    """The chance that somebody is judged `low` to `high` completed years, the mean over these ages, by a careful judge
    whose bias is N(0, 0.08) and the logarithm of whose spread is N(0, 0.3) (docs/method.md): summed on a fine grid."""

    def scale(a: np.ndarray | float) -> np.ndarray:
        return np.where(np.less_equal(a, 51), np.log(np.add(a, 2)), np.log(53) + np.subtract(a, 51) / 53)

    b = np.linspace(-0.4, 0.4, 81)[:, None, None]
    s = np.linspace(-1.5, 1.5, 61)[None, :, None]
    weight = norm.pdf(b, scale=0.08) * norm.pdf(s, scale=0.3)
    seen = scale(ages) + b
    sd = 0.17 * np.sqrt(0.59 + 0.41 * np.exp(2 * s))
    made = norm.cdf((scale(high + 1) - seen) / sd) - norm.cdf((scale(low) - seen) / sd)
    return float((weight * made).sum() / weight.sum() / len(ages))


def careless(ages: np.ndarray, low: float, high: float) -> float:
    """The mean likelihood of an interval by somebody careless: normal with 12 years about the age, from 0 on."""
    return float(((norm.cdf(high + 1, ages, 12) - norm.cdf(low, ages, 12)) / norm.sf(0, ages, 12)).mean())


def test_against_numerical_integration() -> None:
    """Two sisters and a stranger, a face that looks 10 to 12: the probabilities are those of Bayes' rule, summed on a
    grid with the normal distribution of scipy.stats."""
    lives = date_locally(family(Ada=(1890, 1960), Bea=(1900, 1990)), ["K1"]).lives
    found = who(
        UnnamedFace(judged=(perception.judgement(10, 12),)), {"Ada": 60.0, "Bea": 20.0}, flat(1904, 1914), lives
    )
    ages = {
        "Ada": np.arange(14, 24, 0.25) + 0.125,
        "Bea": np.arange(4, 14, 0.25) + 0.125,
        "else": np.arange(0, 80, 0.5) + 0.25,
    }
    fits = {name: 0.05 * careless(age, 10, 12) + 0.95 * careful(age, 10, 12) for name, age in ages.items()}
    prior = {"Ada": 60.0, "Bea": 20.0, "else": STRANGER}
    total = sum(prior[name] * fits[name] for name in prior)
    got = {g.person: g.probability for g in found.guesses} | {"else": found.somebody_else}
    for name, share in got.items():
        assert share == pytest.approx(prior[name] * fits[name] / total, abs=0.01)
    assert sum(got.values()) == pytest.approx(1.0)


def test_nobody_who_was_dead_or_not_born() -> None:
    """Whoever had died, or was born later, has no chance, however near they are; half a time alive is half a chance."""
    lives = date_locally(family(Ada=(1850, 1899), Bea=(1920, 1990), Cora=(1880, 1905), Dora=(1880, 1980)), ["K1"]).lives
    found = who(UnnamedFace(), {"Ada": 20.0, "Bea": 20.0, "Cora": 1.0, "Dora": 1.0}, flat(1900, 1910), lives)
    assert [g.person for g in found.guesses] == ["Dora", "Cora"]
    dora, cora = (g.probability for g in found.guesses)
    assert cora / dora == pytest.approx(0.5, abs=0.02)
    assert found.somebody_else == pytest.approx(STRANGER / (STRANGER + 1.5), abs=0.001)


def test_how_the_age_suits_is_told() -> None:
    """A child's face suits the child better than anybody, and the mother hardly."""
    lives = date_locally(family(Mum=(1880, 1950), Kid=(1905, 1990)), ["K1"]).lives
    found = who(UnnamedFace(judged=(perception.judgement(5, 6),)), {"Mum": 1.0, "Kid": 1.0}, flat(1910, 1912), lives)
    suits = {g.person: g.suits for g in found.guesses}
    assert suits["Kid"] > 5
    assert suits["Mum"] < 0.2
    assert found.guesses[0].person == "Kid"


def test_nobody_near_is_somebody_else() -> None:
    """Without anybody to think of it is somebody else."""
    lives = date_locally(family(Ada=(1850, 1899)), ["K1"]).lives
    assert who(UnnamedFace(), {"Ada": 1.0}, flat(1950, 1951), lives).somebody_else == 1.0


def test_who_has_no_name() -> None:
    """A face with a name, or one that was denied, is not asked about; two notes of one face are one body."""
    base = {"trust": ev.Trust.STRONG, "photograph": "K1"}
    evidence = ev.Evidence(
        (Person("Ada", "Ada"),), (Photograph("K1", INDEXED),),
        (
            ev.Appearance(id="A1", person=None, region="R1", **base),
            ev.Appearance(id="A2", person=None, region="R2", **base),
            ev.Appearance(id="A3", person="Ada", region="R2", **base),
            ev.Appearance(id="A4", person=None, region="R1", **base),
            ev.Appearance(id="A5", person=None, **base),
            ev.Appearance(id="A6", person="Ada", region="R1", denied=True, **base),
            ev.Age(id="S1", trust=ev.Trust.FAIR, appearance="A4", low=7, high=7),
        ),
    )  # fmt: skip
    from kinphoto.reason.model.lookup import look_up

    known = look_up(evidence)
    found = unnamed("K1", known)
    assert {key: [a.id for a in seen] for key, seen in found.items()} == {"R1": ["A1", "A4"], "A5": ["A5"]}
    assert unnamed_face(found["R1"], known).judged == (perception.judgement(7, 7, 0.05),)
    assert unnamed_face(found["A5"], known) == UnnamedFace()


def test_a_stranger_is_of_any_age() -> None:
    """The mean over 0 to 80 years of judging seven, against numerical integration; without an age 1."""
    ages = np.arange(0, 80, 0.5) + 0.25
    expected = 0.05 * careless(ages, 7, 7) + 0.95 * careful(ages, 7, 7)
    assert of_a_stranger(UnnamedFace(judged=(perception.judgement(7, 7),))) == pytest.approx(expected, rel=0.02)
    assert of_a_stranger(UnnamedFace()) == 1.0
