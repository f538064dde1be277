"""What lying together tells of dates, against sums over everything, written out plainly for three photographs.

The sums know nothing of recursions or messages: they go through every time of three photographs, every path of hidden
places, who follows it and who does not, every point of centre and width and every model of order, and add up products.
"""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest
from collection_model import Container, Model, Tree

Array = np.ndarray
CELLS = 4
MODEL = Model(edges=np.arange(1900.0, 1900.0 + 4 * CELLS + 1, 4.0), widths=(3.0, 9.0), occasion=1.0)
NOBODY: frozenset[int] = frozenset()
ALONE = [frozenset({i}) for i in range(3)]


def _likelihoods(seed: int) -> tuple[Array, Array]:
    """Of three photographs, and the archive's rate."""
    dice = np.random.default_rng(seed)
    likelihood = dice.gamma(0.7, size=(3, CELLS)) + 0.01
    rate = dice.gamma(2.0, size=CELLS) + 0.05
    return likelihood, rate / rate.sum()


def _path_weight(order: str, path: tuple[int, ...], density: Array, stay: float) -> float:
    """The weight of hidden places, as the docstring of the model has it."""
    if order == "shuffled":
        return float(np.prod([density[h] for h in path]))
    weight = density[path[0]]
    for before, after in pairwise(path):
        may = order == "bursts" or after >= before
        weight *= stay * (after == before) + (1 - stay) * density[after] * may
    return float(weight)


def _chances(model: Model, order: str, density: Array, many: int) -> Array:
    """P(x_1, ..., x_n | t) by summing over every path, and over who follows it."""
    paths = list(product(range(CELLS), repeat=many))
    weights = {path: _path_weight(order, path, density, model.stay) for path in paths}
    whole, found = sum(weights.values()), np.zeros((CELLS,) * many)
    slip = 0.0 if order == "shuffled" else model.slip
    for path, weight in weights.items():
        for times in paths:
            chance = 1.0
            for x, h in zip(times, path, strict=True):
                chance *= (1 - slip) * (x == h) + slip * density[x]
            found[times] += weight / whole * chance
    return found


def _point_prior(model: Model, rate: Array) -> Array:
    """P(t): widths alike, and of one width in proportion to the rate that the bell meets."""
    weight = np.array([sum(r * b for r, b in zip(rate, bell, strict=True)) for bell in model.bells])
    for s in model.widths:
        some = model.points[1] == s
        weight[some] /= weight[some].sum() * len(model.widths)
    return weight


def _density(model: Model, t: int, rate: Array) -> Array:
    return np.array([(1 - model.tail) * b + model.tail * r for b, r in zip(model.bells[t], rate, strict=True)])


def _summed(model: Model, likelihood: Array, rate: Array) -> list[Array]:
    """The posteriors of photographs in one container, over everything."""
    many = len(likelihood)
    joint = np.zeros((CELLS,) * many)
    for t, prior in enumerate(_point_prior(model, rate)):
        for order, share in (model.orders if many > 1 else {"shuffled": 1.0}).items():
            joint += prior * share * _chances(model, order, _density(model, t, rate), many)
    for times in product(range(CELLS), repeat=many):
        joint[times] *= np.prod([likelihood[k, x] for k, x in enumerate(times)])
    return _marginals(joint)


def _marginals(joint: Array) -> list[Array]:
    axes = range(joint.ndim)
    return [joint.sum(axis=tuple(a for a in axes if a != k)) / joint.sum() for k in axes]


def _posteriors(tree: Tree, likelihood: Array) -> Array:
    found = likelihood * tree.messages()
    return np.asarray(found / found.sum(axis=1, keepdims=True))


@pytest.mark.parametrize("seed", range(3))
def test_one_container_is_exact(seed: int) -> None:
    """Centre, width and order are summed out, and each photograph's own evidence counts once."""
    likelihood, rate = _likelihoods(seed)
    found = _posteriors(Tree(MODEL, [Container(np.arange(3))], likelihood, ALONE, rate), likelihood)
    assert found == pytest.approx(np.array(_summed(MODEL, likelihood, rate)), abs=1e-9)


@pytest.mark.parametrize("order", ["shuffled", "bursts", "in order"])
def test_each_order_is_exact(order: str) -> None:
    """With one model of order alone."""
    likelihood, rate = _likelihoods(7)
    model = Model(edges=MODEL.edges, widths=MODEL.widths, occasion=1.0, orders={order: 1.0})
    found = _posteriors(Tree(model, [Container(np.arange(3))], likelihood, ALONE, rate), likelihood)
    assert found == pytest.approx(np.array(_summed(model, likelihood, rate)), abs=1e-9)


def test_it_lies_in_an_order() -> None:
    """The one between two that are well dated is dated between them, if the container is in order and wide."""
    likelihood = np.full((3, CELLS), 1e-6)
    likelihood[0, 1] = likelihood[2, 2] = 1.0
    likelihood[1] = 1.0
    orders = {"in order": 1.0}
    model = Model(edges=MODEL.edges, widths=(9.0,), occasion=1.0, orders=orders, slip=0.2, stay=0.6)
    rate = np.full(CELLS, 1 / CELLS)
    between = _posteriors(Tree(model, [Container(np.arange(3))], likelihood, ALONE, rate), likelihood)[1]
    after = _posteriors(Tree(model, [Container(np.array([0, 2, 1]))], likelihood, ALONE, rate), likelihood)[1]
    assert between[1] + between[2] > 0.85
    assert after[2] + after[3] > 0.7


def test_who_shares_a_birth_is_left_out() -> None:
    """What the first hears is what it would hear if the second were not known, and the third hears of both."""
    likelihood, rate = _likelihoods(4)
    pair = frozenset({0, 1})
    box = [Container(np.arange(3))]
    told = Tree(MODEL, box, likelihood, [pair, pair, ALONE[2]], rate).messages()
    for one, other in ((0, 1), (1, 0)):
        silent = likelihood.copy()
        silent[other] = 1.0
        assert told[one] == pytest.approx(Tree(MODEL, box, silent, ALONE, rate).messages()[one], abs=1e-12)
    assert told[2] == pytest.approx(Tree(MODEL, box, likelihood, ALONE, rate).messages()[2], abs=1e-12)


def test_containers_within_one_another_are_exact() -> None:
    """Two photographs in a tin and one in an envelope within it, whose prior is the tin's density."""
    likelihood, rate = _likelihoods(5)
    model = Model(edges=MODEL.edges, widths=(3.0, 9.0), occasion=1.0)
    boxes = [Container(np.array([0, 2])), Container(np.array([1]), inside=0)]
    joint = np.zeros((CELLS,) * 3)
    for t, prior in enumerate(_point_prior(model, rate)):
        density = _density(model, t, rate)
        inner = sum(p * _density(model, u, rate) for u, p in enumerate(_point_prior(model, density)))
        outer = sum(share * _chances(model, order, density, 2) for order, share in model.orders.items())
        joint += prior * np.einsum("ac,b->abc", outer, inner)
    joint *= np.einsum("a,b,c->abc", *likelihood)
    found = _posteriors(Tree(model, boxes, likelihood, ALONE, rate), likelihood)
    assert found == pytest.approx(np.array(_marginals(joint)), abs=1e-9)


def test_errors_in_common_count_once() -> None:
    """Three photographs that err all together tell a container's years as one of them does."""
    dice = np.random.default_rng(3)
    like = dice.gamma(0.7, size=CELLS) + 0.01
    likelihood, rate = np.array([like, like, like, np.ones(CELLS)]), np.full(CELLS, 1 / CELLS)
    model = Model(edges=MODEL.edges, widths=MODEL.widths, occasion=1.0, orders={"shuffled": 1.0})
    alone = [frozenset({i}) for i in range(4)]
    together = np.eye(4)
    together[:3, :3] = 1.0
    found = Tree(model, [Container(np.arange(4))], likelihood, alone, rate, together).messages()[3]
    of_one = Tree(model, [Container(np.array([0, 3]))], likelihood, alone, rate).messages()[3]
    assert found == pytest.approx(of_one, abs=1e-12)
