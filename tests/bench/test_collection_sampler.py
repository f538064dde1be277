"""The sampler of the whole model of containers, against sums over everything, written out plainly.

The sums go through every time of three photographs, every path of hidden places, who follows it and who does not, every
point of centre and width, and every model of order. They know of no filtering, no urn and no weights.
"""

from __future__ import annotations

from itertools import pairwise, permutations, product

import numpy as np
import pytest
from collection_line import Box, Line
from collection_people import State
from collection_sampler import Sampler, sampled
from drawn import ABOUT_SPREAD, SCANNED, YEAR, about
from scipy.stats import norm

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Dated, Span
from kinphoto.reason.model.subjects import Container, Person, Photograph

Array = np.ndarray
CELLS = 4
LINE = Line(first=1900.0, step=4.0, cells=CELLS, widths=(3.0, 9.0), before=(0.5, 0.5))
SLIP, STAY, CHAINS = 0.3, 0.5, 120
ORDERS = {"shuffled": 0.4, "bursts": 0.3, "in order": 0.3}


class _Fixed:
    """People of whom everything is known: photographs bring the same likelihoods for ever, and nothing moves."""

    def __init__(self, likelihood: Array) -> None:
        zero = np.zeros((CHAINS, 1))
        self.now = State(zero, zero, zero, zero, zero, zero)
        self.value = np.tile(likelihood.astype(np.float32), (CHAINS, 1, 1))
        self.said = likelihood

    def likelihood(self) -> Array:
        return self.value

    def update(self, day: Array) -> None:
        """Nothing."""

    def shifted(self, chains: Array, photographs: Array, days: Array) -> State:
        return self.now

    def log_seen(self, day: Array, now: State) -> Array:
        return now.born

    def log_prior(self, now: State) -> Array:
        return now.born

    def lawful(self, now: State) -> Array:
        return now.born

    def alive(self, day: Array, now: State) -> Array:
        return np.ones((CHAINS, 1), dtype=bool)


def _bell(centre: float, sd: float) -> Array:
    mass = np.diff(norm.cdf(LINE.edges, centre, sd))
    return np.asarray(mass / mass.sum())


def _points() -> list[tuple[Array, Array]]:
    """Of each point the density, and the chance by each of the normals of the rate (three, of five years)."""
    found = []
    for s in (3.0, 9.0):
        stride = {3.0: 1, 9.0: 2}[s]
        bells = [_bell(1900 + 4 * (i + stride / 2), s) for i in range(0, CELLS, stride)]
        rates = [_bell(1900 + 2.5 + 5 * k, 5.0) for k in range(3)]
        near = np.array([[float((rate * bell).sum()) for bell in bells] for rate in rates])
        near /= near.sum(axis=1, keepdims=True)
        found += [(0.95 * bell + 0.05 / CELLS, near[:, i] / 2) for i, bell in enumerate(bells)]
    return found


def _together(density: Array, many: int) -> Array:
    """P(x_1, ...) of a shuffled container: each of the time of one before it, or of a new one."""
    found, new = np.zeros((CELLS,) * many), max(many - 2, 1)
    for times in product(range(CELLS), repeat=many):
        found[times] = np.prod([
            (new * density[x] + sum(x == other for other in times[:k])) / (new + k) for k, x in enumerate(times)
        ])  # fmt: skip
    return found


def _in_sequence(order: str, density: Array, many: int) -> Array:
    """The same of bursts and of what is in order."""
    if order == "shuffled":
        return _together(density, many)
    found, whole = np.zeros((CELLS,) * many), 0.0
    for path in product(range(CELLS), repeat=many):
        weight = density[path[0]]
        for a, b in pairwise(path):
            weight *= STAY * (a == b) + (1 - STAY) * density[b] * (order == "bursts" or b >= a)
        whole += weight
        for times in product(range(CELLS), repeat=many):
            follows = [(1 - SLIP) * (x == h) + SLIP * density[x] for x, h in zip(times, path, strict=True)]
            found[times] += weight * np.prod(follows)
    return np.asarray(found / (whole if order == "in order" else 1.0))


def _of_any_order(density: Array, many: int) -> Array:
    return np.asarray(np.sum([share * _in_sequence(name, density, many) for name, share in ORDERS.items()], axis=0))


def _marginals(joint: Array) -> Array:
    axes = range(joint.ndim)
    marginals = [joint.sum(axis=tuple(a for a in axes if a != k)) for k in axes]
    return np.asarray(np.array(marginals) / joint.sum())


def _likelihood(seed: int) -> Array:
    like = np.random.default_rng(seed).gamma(0.7, size=(3, CELLS)) + 0.01
    return np.asarray(like / like.max(axis=1, keepdims=True))


def _run(likelihood: Array, boxes: list[Box], line: Line = LINE) -> Array:
    sampler = Sampler(line, boxes, _Fixed(likelihood), CHAINS, np.random.default_rng(1))
    halves = sampler.run(20, 150)
    assert np.abs(halves[0] - halves[1]).max() < 0.02
    return np.asarray(halves.mean(axis=0))


@pytest.mark.parametrize("order", [*ORDERS, "mixed"])
def test_one_container_against_sums(order: str) -> None:
    """Centre, width, order and dates of three photographs."""
    likelihood = _likelihood(3)
    orders = ORDERS if order == "mixed" else {order: 1.0}
    line = Line(first=1900.0, step=4.0, cells=CELLS, widths=(3.0, 9.0), before=(0.5, 0.5), orders=orders)
    joint = np.zeros((CELLS,) * 3)
    for density, chance in _points():
        for name, share in orders.items():
            joint += share * chance.mean() * _in_sequence(name, density, 3)
    joint *= np.einsum("a,b,c->abc", *likelihood)
    assert _run(likelihood, [Box(np.arange(3))], line) == pytest.approx(_marginals(joint), abs=0.01)


def test_two_containers_learn_from_each_other() -> None:
    """Two photographs in one and one in another: both of one width with the chance 3/4 beforehand (Jeffreys's prior of
    two shares), and of one normal of the rate with the chance (1 + 1) / (1 + 3)."""
    likelihood = _likelihood(5)
    joint = np.zeros((CELLS,) * 3)
    for (i, (one, by_one)), (k, (other, by_other)) in product(enumerate(_points()), repeat=2):
        alike = (i < CELLS) == (k < CELLS)
        width = 0.75 if alike else 0.25
        near = sum(by_one[a] * by_other[b] * (1 + (a == b)) / 4 for a, b in product(range(3), repeat=2)) / 3
        pair = _of_any_order(one, 2)
        joint += 2 * width * near * pair[:, :, None] * other
    joint *= np.einsum("a,b,c->abc", *likelihood)
    boxes = [Box(np.arange(2)), Box(np.array([2]))]
    assert _run(likelihood, boxes) == pytest.approx(_marginals(joint), abs=0.01)


def test_one_container_within_another() -> None:
    """The inner one has its prior from the density of the outer one."""
    likelihood = _likelihood(6)
    joint = np.zeros((CELLS,) * 3)
    bells = [(density - 0.05 / CELLS) / 0.95 for density, _ in _points()]
    for outer, chance in _points():
        near = np.array([float((outer * bell).sum()) for bell in bells])
        for some in (slice(0, CELLS), slice(CELLS, None)):
            near[some] /= near[some].sum() * 2
        inner = sum(p * (0.95 * bell + 0.05 / CELLS) for p, bell in zip(near, bells, strict=True))
        pair = _of_any_order(outer, 2)
        joint += chance.mean() * pair[:, :, None] * inner
    joint *= np.einsum("a,b,c->abc", *likelihood)
    boxes = [Box(np.arange(2)), Box(np.array([2]), inside=0)]
    assert _run(likelihood, boxes) == pytest.approx(_marginals(joint), abs=0.01)


def test_occasions_do_not_depend_on_who_comes_first() -> None:
    """Times of a shuffled container are exchangeable, and two of eight are of one occasion with the chance 1/7."""
    density = np.full(CELLS, 1 / CELLS)
    joint = _together(density, 3)
    for turn in permutations(range(3)):
        assert joint == pytest.approx(joint.transpose(turn), abs=1e-12)
    assert 7 * 1 / (1 + max(8 - 2, 1)) == pytest.approx(1.0)


def test_a_birth_that_two_photographs_share() -> None:
    """A child born about 1920 is judged to be four, and eleven in a photograph that lies with one of 1928: that dates
    the birth and, by it, the first photograph, which lies by itself."""
    line = Line(
        first=1912.0, step=0.5, cells=60, widths=(4.0,), before=(0.5,), orders={"shuffled": 1.0}, occasions=False
    )
    evidence = _of_a_child()
    halves = sampled(evidence, 3, line, chains=120).run(40, 120)
    assert np.abs(np.cumsum(halves[0] - halves[1], axis=1)).max() < 0.05
    density, normals = line.density.astype(float), len(line.by_base)
    alike = (np.eye(normals) + 3 / normals) / 4 / normals
    prior = line.by_base.T @ alike @ line.by_base  # of both containers
    exact = np.zeros((3, line.cells))
    written = ((line.edges[:-1] >= 1928) & (line.edges[:-1] < 1929)).astype(float)
    for look in np.linspace(-3, 3, 13):
        for born in np.arange(_day(1910.0), _day(1930.0), YEAR / 4):
            weight = 0.95 * norm.pdf(born, _day(1920.0) + 0.5, ABOUT_SPREAD) + 0.05 / (20 * YEAR)
            weight *= norm.pdf(look)
            age = (line.days - born) / YEAR
            like = np.array([_judged(age, 4, look), _judged(age, 11, look), written])
            one, other, year = like @ density.T
            exact[0] += weight * like[0] * ((prior @ (other * year)) @ density)
            exact[1] += weight * like[1] * ((one @ prior * year) @ density)
            exact[2] += weight * like[2] * ((one @ prior * other) @ density)
    exact /= exact.sum(axis=1, keepdims=True)
    assert np.abs(np.cumsum(halves.mean(axis=0) - exact, axis=1)).max() < 0.03


def _day(year: float) -> float:
    return (year - 1) * YEAR + 1


def _of_a_child() -> ev.Evidence:
    people = Person("child", "child"), Person("aunt", "aunt")
    places = {"K0": "alone", "K1": "album", "K2": "album"}
    whole = Dated(Span(int(_day(1928.0)), int(_day(1929.0)) - 1))
    strong, birth = ev.Trust.STRONG, ev.LifeEvent.BIRTH
    faces = {"K0": "child", "K1": "child", "K2": "aunt"}
    ages = {"K0": 4, "K1": 11}
    return ev.Evidence(
        people,
        tuple(Photograph(p, SCANNED, container=box, position=int(p == "K2")) for p, box in places.items()),
        (
            ev.LifeDate(id="b", trust=strong, person="child", event=birth, date=about(_day(1920.0))),
            ev.LifeDate(id="a", trust=strong, person="aunt", event=birth, date=Dated(Span(690_000, 690_000))),
            ev.DateClaim(id="y", trust=strong, photograph="K2", claim=ev.Claim.TAKEN, date=whole),
            *(ev.Appearance(id=f"face {k}", trust=strong, photograph=k, person=p) for k, p in faces.items()),
            *(
                ev.Age(id=f"age {k}", trust=strong, appearance=f"face {k}", low=years, high=years, informant=k)
                for k, years in ages.items()
            ),
        ),
        (Container("alone"), Container("album")),
    )


def _judged(age: Array, years: int, look: float) -> Array:
    """What a judge says of a face, with bias, spread and the face's own look summed out on a grid."""
    total, own = np.zeros_like(age), 0.17 * (0.59 * 0.25) ** 0.5 * look
    true = np.maximum(age, 0)
    careless = (norm.cdf(years + 1, true, 12) - norm.cdf(years, true, 12)) / norm.sf(0, true, 12)
    for log in np.linspace(-0.9, 0.9, 13):
        sd = (0.17**2 * (0.41 * np.exp(2 * log) + 0.59 * 0.75) + 0.08**2) ** 0.5
        at = np.log(np.maximum(age, 0) + 2) + own
        careful = norm.cdf((np.log(years + 3) - at) / sd) - norm.cdf((np.log(years + 2) - at) / sd)
        total += norm.pdf(log, 0, 0.3) * (0.99 * (0.95 * careful + 0.05 * careless) + 0.01 * 0.01)
    return np.where(age >= 0, total / norm.pdf(np.linspace(-0.9, 0.9, 13), 0, 0.3).sum(), 0.0)
