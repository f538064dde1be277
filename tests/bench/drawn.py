"""Archives drawn from the model of docs/method.md, with their true dates: for speed, accuracy and calibration.

Nothing here imports a likelihood of the project: ages are judged by the formulas of the method, written once more.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from math import exp, log

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Dated, Shape, Span, span_of_years
from kinphoto.reason.model.subjects import Person, Photograph

YEAR = 365.2425
FIRST, SCANNED = date(1826, 1, 1).toordinal(), date(2025, 6, 1).toordinal()
ABOUT_SPREAD, ABOUT_EITHER_WAY = 2.5 * YEAR, int(10 * YEAR)


@dataclass
class Archive:
    """Evidence with the truth behind it: days of exposures and births, biases of informants, and ages that were drawn
    to be judged carelessly (`wrong`, ids of statements)."""

    people: list[Person] = field(default_factory=list)
    photographs: list[Photograph] = field(default_factory=list)
    said: list[ev.Statement] = field(default_factory=list)
    exposures: dict[str, float] = field(default_factory=dict)
    births: dict[str, float] = field(default_factory=dict)
    judges: dict[str, tuple[float, float]] = field(default_factory=dict)
    wrong: set[str] = field(default_factory=set)

    @property
    def evidence(self) -> ev.Evidence:
        """What the reasoner is told."""
        return ev.Evidence(tuple(self.people), tuple(self.photographs), tuple(self.said))

    def name(self) -> str:
        """The id of the next statement."""
        return f"S{len(self.said)}"


def scale(age: float) -> float:
    """g of the method."""
    return log(age + 2) if age <= 51 else log(53) + (age - 51) / 53


def age_at(place: float) -> float:
    """The age at a place on the scale."""
    return exp(place) - 2 if place <= log(53) else 51 + 53 * (place - log(53))


def careless(dice: np.random.Generator, years: float) -> float:
    """An age judged carelessly: normal with 12 years about the true one, from 0 on."""
    seen = -1.0
    while seen < 0:
        seen = years + 12 * dice.normal()
    return seen


def judge(
    dice: np.random.Generator, years: float, bias: float, spread: float, slips: float = 0.05
) -> tuple[int, int, bool]:
    """An age judged as the method has it: from, to, and whether the judge was careless."""
    width, wrong, years = int(dice.integers(0, 3)), bool(dice.random() < slips), max(years, 0.0)
    at = careless(dice, years) if wrong else age_at(scale(years) + bias + spread * 0.17 * dice.normal())
    seen = max(0, int(at))
    # "6 to 8" is any of the intervals of that length that hold what was seen
    low = max(0, seen - int(dice.integers(0, width + 1)))
    return low, low + width, wrong


def judges(dice: np.random.Generator, number: int) -> dict[str, tuple[float, float]]:
    """Informants with their bias and spread."""
    return {f"teller {n}": (0.08 * dice.normal(), exp(0.3 * dice.normal())) for n in range(number)}


def family(photographs: int, people: int, seed: int, vague: float = 0.3, tellers: int = 12) -> Archive:
    """Households over 150 years, about `people` persons, and their photographs: 2.65 people in each, five ages in six
    judged, three photographs in ten dated by something written, a tenth of a known process."""
    dice = np.random.default_rng(seed)
    found = Archive(judges=judges(dice, tellers))
    names = list(found.judges)
    homes = [_household(found, dice, vague) for _ in range(people // 6)]
    deaths = found_deaths(homes)
    for n in range(photographs):
        home = homes[int(dice.integers(len(homes)))]
        base = home.base
        day = min(base + dice.uniform(-8, 45) * YEAR, SCANNED - 1.0)
        there = [p for p in home.people if found.births[p] < day - 30 < deaths[p] - 60]
        many = min(len(there), 1 + int(dice.poisson(1.85)))
        seen = [there[i] for i in dice.permutation(len(there))[:many]]
        teller = names[int(dice.integers(len(names)))]
        picture(found, dice, f"K{n}", day, seen, teller)
    return found


@dataclass
class Home:
    """A household: its people, when it began, and when each died."""

    base: float
    people: list[str]
    died: dict[str, float]


def found_deaths(homes: list[Home]) -> dict[str, float]:
    """Deaths of everybody."""
    return {p: day for home in homes for p, day in home.died.items()}


def _household(found: Archive, dice: np.random.Generator, vague: float) -> Home:
    base = date(1850, 1, 1).toordinal() + dice.uniform(0, 130) * YEAR
    born = [base - dice.normal(30, 5) * YEAR, base - dice.normal(27, 4.5) * YEAR]
    born += [base + (3 * k + dice.uniform(0, 2)) * YEAR for k in range(4)]
    home = Home(base, [], {})
    for k, day in enumerate(born):
        person = f"I{len(found.people)}"
        found.people.append(Person(person, person, "MF"[k] if k < 2 else "MF"[int(dice.integers(2))]))
        found.births[person] = float(np.floor(day)) + 0.5
        home.died[person] = day + max(62 if k < 2 else 1, min(dice.normal(68, 15), 100)) * YEAR
        home.people.append(person)
        _birth(found, dice, person, int(day), vague)
        if home.died[person] < SCANNED and dice.random() < 0.75:
            known = Dated(Span(int(home.died[person]), int(home.died[person])))
            found.said.append(ev.LifeDate(
                id=found.name(), trust=ev.Trust.STRONG, person=person, event=ev.LifeEvent.DEATH, date=known
            ))  # fmt: skip
        if k >= 2:
            for parent, sex in zip(home.people[:2], "MF", strict=True):
                found.said.append(ev.ParentLink(
                    id=found.name(), trust=ev.Trust.CERTAIN, child=person, parent=parent, parent_sex=sex))  # fmt: skip
    return home


def _birth(found: Archive, dice: np.random.Generator, person: str, day: int, vague: float) -> None:
    """A birth told exactly, or (a share of `vague`) about, between, or not at all."""
    drawn = dice.random() / vague if vague else 1.0
    if drawn < 1 / 3:
        return
    if drawn < 2 / 3:
        date_ = about(day + ABOUT_SPREAD * float(np.clip(dice.normal(), -3, 3)))
    elif drawn < 1:
        early, late = (int(dice.uniform(1, 9) * YEAR) for _ in range(2))
        date_ = Dated(Span(day - early, day + late))
    else:
        date_ = Dated(Span(day, day))
    found.said.append(ev.LifeDate(
        id=found.name(), trust=ev.Trust.STRONG, person=person, event=ev.LifeEvent.BIRTH, date=date_))  # fmt: skip


def about(centre: float) -> Dated:
    """ "ABT": ten years either way, mostly within a few."""
    span = Span(int(centre) - ABOUT_EITHER_WAY, int(centre) + ABOUT_EITHER_WAY)
    return Dated(span, Shape.ABOUT, float(int(centre)), ABOUT_SPREAD)


def picture(found: Archive, dice: np.random.Generator, name: str, day: float, seen: list[str], teller: str) -> None:
    """A photograph of these people, whose ages one informant judged."""
    found.photographs.append(Photograph(name, SCANNED, printed=bool(dice.random() < 0.8)))
    found.exposures[name] = day
    for person in seen:
        face = ev.Appearance(id=found.name(), trust=ev.Trust.STRONG, photograph=name, person=person)
        found.said.append(face)
        if dice.random() < 5 / 6:
            low, high, wrong = judge(dice, (day - found.births[person]) / YEAR, *found.judges[teller])
            if wrong:
                found.wrong.add(found.name())
            found.said.append(ev.Age(
                id=found.name(), trust=ev.Trust.STRONG, appearance=face.id, low=low, high=high, informant=teller,
                blind=True,
            ))  # fmt: skip
    drawn = dice.random()
    if drawn < 0.3:
        year = date.fromordinal(int(day)).year
        claim, trust = (ev.Claim.INSCRIPTION, ev.Trust.FAIR) if drawn < 0.2 else (ev.Claim.TAKEN, ev.Trust.STRONG)
        found.said.append(ev.DateClaim(
            id=found.name(), trust=trust, photograph=name, claim=claim, date=Dated(span_of_years(year, year)),
        ))  # fmt: skip
    elif drawn < 0.4:
        first = date.fromordinal(int(day)).year - int(dice.integers(1, 20))
        found.said.append(ev.Made(
            id=found.name(), trust=ev.Trust.FAIR, photograph=name, what="process", name="any",
            window=span_of_years(first, first + 60)))  # fmt: skip
