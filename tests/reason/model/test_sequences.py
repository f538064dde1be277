"""The order in which photographs lie, against sums over every path, written out plainly.

The sums know nothing of forward and backward: they go through every path of hidden places and add up products.
"""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kinphoto.reason.model.sequences import (
    BY_NUMBER,
    FEW,
    ORDERS,
    SAID,
    SLIP,
    STAY,
    WITH_NUMBERS,
    Order,
    another_order,
    before_seen,
    chances,
    likelier,
    message,
    of_one_series,
    recursion,
    weight,
)
from kinphoto.reason.model.subjects import Arrangement, Number

CELLS, MANY = 4, 4


def weight_of(path: tuple[int, ...], density: np.ndarray, order: Order) -> float:
    """Of one path, as the docstring of the model has it."""
    found = density[path[0]]
    for before, after in pairwise(path):
        may = {Order.BURSTS: True, Order.IN_ORDER: after >= before, Order.BACKWARDS: after <= before}[order]
        found *= STAY * (after == before) + (1 - STAY) * density[after] * may
    return float(found)


@pytest.mark.parametrize("order", [Order.BURSTS, Order.IN_ORDER, Order.BACKWARDS])
@given(seed=st.integers(0, 10_000))
def test_as_the_sum_over_every_path(order: Order, seed: int) -> None:
    """The chance of all photographs together, and of each hidden place given the other photographs."""
    dice = np.random.default_rng(seed)
    seen = dice.gamma(0.7, size=(MANY, CELLS)) + 0.01
    density = dice.dirichlet(np.ones(CELLS)) + 1e-3
    density /= density.sum()
    whole, everything, places = 0.0, 0.0, np.zeros((MANY, CELLS))
    for path in product(range(CELLS), repeat=MANY):
        w = weight_of(path, density, order)
        whole += w
        everything += w * np.prod([seen[k, h] for k, h in enumerate(path)])
        for k, h in enumerate(path):
            places[k, h] += w * np.prod([seen[j, g] for j, g in enumerate(path) if j != k])
    log, found = recursion(seen[None], density[None], order)
    assert log[0] == pytest.approx(np.log(everything / whole))
    assert found[0] == pytest.approx(places / places.sum(axis=1, keepdims=True))


@pytest.mark.parametrize("order", [Order.BURSTS, Order.IN_ORDER])
def test_of_different_lengths_as_each_by_itself(order: Order) -> None:
    """Sequences of different lengths that are worked out together tell what each tells alone, whatever stands behind
    the end of the shorter ones."""
    dice, lengths = np.random.default_rng(6), [9, 6, 6, 1]
    seen, density = dice.gamma(0.7, size=(4, 9, CELLS)), dice.dirichlet(np.ones(CELLS), 4)
    log, found = recursion(seen, density, order, lengths)
    for k, length in enumerate(lengths):
        alone, told_alone = recursion(seen[[k], :length], density[[k]], order)
        assert log[k] == pytest.approx(alone[0])
        assert found[k, :length] == pytest.approx(told_alone[0])


def test_what_somebody_said_of_the_order_counts_for_most() -> None:
    """What was said has 0.95, the others share the rest as they are beforehand; with nothing said they are as ever."""
    assert before_seen(None) == ORDERS
    for said in Arrangement:
        found = before_seen(said)
        assert sum(found.values()) == pytest.approx(1)
        assert found[Order.SHUFFLED] / found[Order.BURSTS] == pytest.approx(
            ORDERS[Order.SHUFFLED] / ORDERS[Order.BURSTS]
        )
    assert before_seen(Arrangement.IN_ORDER)[Order.IN_ORDER] == pytest.approx(SAID)
    assert before_seen(Arrangement.BACKWARDS)[Order.BACKWARDS] == pytest.approx(SAID)
    assert before_seen(Arrangement.NOT_IN_ORDER)[Order.IN_ORDER] == pytest.approx(1 - SAID)


def test_between_two_of_one_year_lies_that_year() -> None:
    """In order, what lies between two pictures of one year is of that year; in bursts it most likely is."""
    seen = np.full((1, 3, 10), 1e-6)
    seen[0, 0, 4] = seen[0, 2, 4] = 1.0
    seen[0, 1] = 1.0
    density = np.full((1, 10), 0.1)
    in_order, in_bursts = (recursion(seen, density, order)[1][0, 1, 4] for order in (Order.IN_ORDER, Order.BURSTS))
    assert in_order > 0.99
    assert 0.8 < in_bursts < in_order


def test_the_models_are_all_there_is() -> None:
    """Their prior chances add up to 1; backwards has one only where somebody said so, and what goes by numbers only
    where these are another order."""
    assert sum(ORDERS.values()) == pytest.approx(1)
    assert sum(WITH_NUMBERS.values()) == pytest.approx(1)
    assert set(ORDERS) == set(Order) - {Order.BACKWARDS, *BY_NUMBER}
    assert set(WITH_NUMBERS) == set(Order) - {Order.BACKWARDS}


def test_numbers_given_page_after_page_are_no_other_order() -> None:
    """Numbers of scans of an album, from the front, from behind or in two handfuls, tell no more than how it lies; nor
    do seven numbers of twenty photographs. Those of an album that was taken apart do."""
    as_it_lies = list(range(20))
    assert another_order(as_it_lies) is None
    assert another_order(as_it_lies[::-1]) is None
    assert another_order([*range(10, 20), *range(10)]) is None
    assert another_order([5, 3, 9, 1, 7, 2, 8, *[-1] * 13]) is None
    mixed = [5, -1, 3, 9, 1, 7, 2, 8, 4, -1]
    assert another_order(mixed) == [4, 6, 2, 8, 0, 5, 7, 3]


def test_numbers_of_one_series_are_compared() -> None:
    """The number 12 on a back and that of "scan0007" are numbers of different things: those of which
    there are more count."""
    numbers = [Number("back", 12), None, Number("scan", 7), Number("back", 3)]
    assert of_one_series(numbers) == [12, -1, -1, 3]
    assert of_one_series([None, None]) == [-1, -1]


def test_two_orders_that_are_one_count_once() -> None:
    """If numbers were as things lie, what both orders tell would be what one of them does."""
    dice = np.random.default_rng(3)
    like, density, common = dice.gamma(0.5, size=(9, 12)), np.full(12, 1 / 12), np.zeros((9, 9))
    for i in range(9):
        both = message(i, like, density, WITH_NUMBERS, common, range(9))
        assert both == pytest.approx(message(i, like, density, ORDERS, common))


def test_the_mix_as_the_sum_over_every_path() -> None:
    """Eight photographs of two years, by all paths: the chance of each model, and what they tell one photograph."""
    dice = np.random.default_rng(1)
    like, density = dice.dirichlet(np.ones(2), size=FEW), np.array([0.4, 0.6])
    common = np.zeros((FEW, FEW))
    common[1, 2] = common[2, 1] = 0.5
    seen = (1 - SLIP) * like + SLIP * (like @ density)[:, None]
    whole, places = dict[Order, float](), dict[Order, np.ndarray]()
    for order in (Order.BURSTS, Order.IN_ORDER):
        paths = list(product(range(2), repeat=FEW))
        weights = np.array([weight_of(path, density, order) for path in paths])
        each = np.array([[seen[k, h] for k, h in enumerate(path)] for path in paths])
        whole[order] = float(weights @ each.prod(axis=1) / weights.sum())
        first = np.array([path[0] for path in paths])
        without = weights * each[:, 1:].prod(axis=1)
        places[order] = np.array([without[first == h].sum() for h in range(2)]) / without.sum()
    shuffled = float((seen @ density).prod())
    w = (6 + 2 / 1.5) / 8
    assert weight(common) == pytest.approx(w)
    log = {o: likelier(seen, density, o) for o in ORDERS}
    assert {o: np.exp(log[o]) * shuffled for o in whole} == pytest.approx(whole)
    odds = {o: ORDERS[o] * (chance / shuffled) ** w for o, chance in ({Order.SHUFFLED: shuffled} | whole).items()}
    odds = {o: chance / sum(odds.values()) for o, chance in odds.items()}
    assert chances(log, ORDERS, w) == pytest.approx(odds)
    expected = odds[Order.SHUFFLED] + sum(
        odds[o] * ((1 - SLIP) * places[o] / density + SLIP) for o in (Order.BURSTS, Order.IN_ORDER)
    )
    assert message(0, like, density, ORDERS, common) == pytest.approx(expected**w)
