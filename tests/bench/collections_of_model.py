"""Archives drawn from the model that `collection_sampler` samples, with their true dates: for calibration.

Nothing here filters or weighs. What is in order is drawn as bursts until it does not fall. So that nothing needs to be
said of who is in a picture, a place in the family is always taken by one person: somebody is born (known to the day,
or about then) when the one before them dies, and a picture shows any of those who are alive.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from bench_dating import BETA, MODE
from collection_line import Line
from collection_people import FACE, JUDGE, OWN_LOOK, WRITTEN_WRONG, WRONG_NAME
from drawn import ABOUT_EITHER_WAY, ABOUT_SPREAD, YEAR, about, age_at, careless, scale
from peers import BIAS, CARELESS, SPREAD

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.containers import FLAT, STRAY
from kinphoto.reason.model.sequences import ORDERS, SLIP, STAY, Order
from kinphoto.reason.model.span import Dated, Span, span_of_years
from kinphoto.reason.model.subjects import Container, Person, Photograph

Array = np.ndarray
PLACES, JUDGES, DATED, VAGUE = 10, 3, 0.12, 0.4
BY_ANOTHER = 1 / 8
"""Share of faces that a second person judges."""


@dataclass
class Drawn:
    """Statements, and the day on which each photograph was taken."""

    evidence: ev.Evidence
    days: Array


def draw(dice: np.random.Generator, line: Line, sizes: tuple[int, ...]) -> Drawn:
    """One archive, of containers of so many photographs."""
    cells = [cell for box in _containers(dice, line, sizes) for cell in box]
    days = line.days[cells] + (dice.random(len(cells)) - 0.5) * line.step * YEAR
    told = _Told(dice, line)
    for k, day in enumerate(line.days[cells].tolist()):
        told.picture(f"K{k}", day)
    places = [(c, i) for c, n in enumerate(sizes) for i in range(n)]
    last = int(line.days[-1] + line.step * YEAR / 2)
    evidence = ev.Evidence(
        tuple(Person(p, p) for p in told.born),
        tuple(Photograph(f"K{k}", last, container=f"box {c}", position=i) for k, (c, i) in enumerate(places)),
        tuple(told.said),
        tuple(Container(f"box {c}") for c in range(len(sizes))),
    )
    return Drawn(evidence, days)


def _containers(dice: np.random.Generator, line: Line, sizes: tuple[int, ...]) -> list[list[int]]:
    """The cells of each, by unknown shares of widths and an unknown rate."""
    width = dice.dirichlet(line.before)
    normals = len(line.by_base)
    rate = dice.dirichlet(np.full(normals, FLAT / normals))
    found = []
    for n in sizes:
        k = int(dice.choice(len(width), p=width))
        weight = (rate @ line.by_base) * (line.points[1] == k)
        point = int(dice.choice(len(weight), p=weight / weight.sum()))
        density = (1 - STRAY) * line.bells[point] + STRAY / line.cells
        order = str(dice.choice(list(ORDERS), p=list(ORDERS.values()))) if n > 1 else Order.SHUFFLED
        found.append(_shuffled(dice, density, n) if order == Order.SHUFFLED else _followed(dice, density, n, order))
    return found


def _shuffled(dice: np.random.Generator, density: Array, n: int) -> list[int]:
    new, found = max(n - 2, 1), []
    for k in range(n):
        alone = dice.random() * (new + k) < new
        found.append(int(dice.choice(len(density), p=density)) if alone else found[int(dice.integers(k))])
    return found


def _followed(dice: np.random.Generator, density: Array, n: int, order: str) -> list[int]:
    while True:
        drawn = dice.choice(len(density), size=2 * n, p=density).tolist()
        path = drawn[:1]
        for cell in drawn[1:n]:
            path.append(path[-1] if dice.random() < STAY else cell)
        if order == Order.BURSTS or path == sorted(path):
            return [drawn[n + k] if dice.random() < SLIP else cell for k, cell in enumerate(path)]


class _Told:
    """People, and what is said of them and of pictures."""

    def __init__(self, dice: np.random.Generator, line: Line) -> None:
        self.dice = dice
        self.said: list[ev.Statement] = []
        self.born: dict[str, float] = {}
        self.died: dict[str, float] = {}
        self.look: dict[str, float] = {}
        self.bias, self.spread = BIAS * dice.normal(size=JUDGES), np.exp(SPREAD * dice.normal(size=JUDGES))
        self.years = int(line.edges[0]), int(line.edges[-1])
        for _ in range(PLACES):
            day = line.days[0] - dice.uniform(0, 60) * YEAR
            while day < line.days[-1]:
                end = day + dice.uniform(45, 75) * YEAR
                self._person(float(np.floor(day)) + 0.5, float(np.floor(end)) + 1.0)
                day = end

    def _id(self) -> str:
        return f"S{len(self.said)}"

    def _person(self, centre: float, died: float) -> None:
        """Born on that day, or about then: of births about a year those fit better after which people live long."""
        dice, name = self.dice, f"I{len(self.born)}"
        self.look[name], self.died[name], self.born[name] = OWN_LOOK * dice.normal(), died, centre
        said = Dated(Span(int(centre), int(centre)))
        if dice.random() < VAGUE:
            at = np.linspace(-ABOUT_EITHER_WAY, ABOUT_EITHER_WAY, 2001)
            weight = 0.95 * np.exp(-0.5 * (at / ABOUT_SPREAD) ** 2) / (ABOUT_SPREAD * (2 * np.pi) ** 0.5)
            weight += 0.05 / (2 * ABOUT_EITHER_WAY + 1)
            age = (died - centre - at) / YEAR
            weight *= np.exp(BETA * (age - MODE) - np.exp(BETA * (age - MODE)))
            self.born[name] += float(dice.choice(at, p=weight / weight.sum()))
            said = about(centre)
        death = Dated(Span(int(died) - 1, int(died) - 1))
        for event, when in ((ev.LifeEvent.BIRTH, said), (ev.LifeEvent.DEATH, death)):
            self.said.append(ev.LifeDate(id=self._id(), trust=ev.Trust.STRONG, person=name, event=event, date=when))

    def picture(self, name: str, day: float) -> None:
        """Names, ages given unseen, and perhaps a year."""
        dice = self.dice
        there = [p for p in self.born if self.born[p] <= day < self.died[p]]
        many = min(len(there), int(dice.choice([1, 2, 3, 4], p=[0.4, 0.3, 0.2, 0.1])))
        judge = int(dice.integers(JUDGES))
        for i in dice.choice(len(there), many, replace=False):
            face = ev.Appearance(id=self._id(), trust=ev.Trust.STRONG, photograph=name, person=there[i])
            self.said.append(face)
            age = (day - self.born[there[i]]) / YEAR
            place = scale(age) + self.look[there[i]] + FACE * dice.normal()
            if dice.random() < 5 / 6:
                self._age(face.id, age, place, judge)
            if dice.random() < BY_ANOTHER:
                self._age(face.id, age, place, (judge + 1) % JUDGES)
        if dice.random() < DATED:
            year = date.fromordinal(int(day)).year
            year = int(dice.integers(*self.years)) if dice.random() < WRITTEN_WRONG else year
            self.said.append(ev.DateClaim(
                id=self._id(), trust=ev.Trust.FAIR, photograph=name, claim=ev.Claim.INSCRIPTION,
                date=Dated(span_of_years(year, year))))  # fmt: skip

    def _age(self, face: str, age: float, place: float, judge: int) -> None:
        dice, width = self.dice, int(self.dice.integers(0, 3))
        seen = age_at(place + self.bias[judge] + JUDGE * self.spread[judge] * dice.normal())
        if dice.random() < CARELESS:
            seen = careless(dice, age)
        low = max(0, int(max(seen, 0.0)) - int(dice.integers(0, width + 1)))
        if dice.random() < WRONG_NAME:
            low = int(dice.integers(0, 100 - width))
        self.said.append(ev.Age(
            id=self._id(), trust=ev.Trust.FAIR, appearance=face, low=low, high=low + width, informant=f"judge {judge}",
            blind=True))  # fmt: skip
