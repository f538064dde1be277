"""The order in which photographs lie, against sums over every path, written out plainly.

The sums know nothing of forward and backward: they go through every path of hidden places and add up products.
"""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kinphoto.reason.model.evidence import Arrangement
from kinphoto.reason.model.sequences import (
    BY_NUMBER,
    ORDERS,
    SAID,
    STAY,
    WITH_NUMBERS,
    Order,
    before_seen,
    recursion,
)

CELLS, MANY = 4, 4


def weight(path: tuple[int, ...], density: np.ndarray, order: Order) -> float:
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
        w = weight(path, density, order)
        whole += w
        everything += w * np.prod([seen[k, h] for k, h in enumerate(path)])
        for k, h in enumerate(path):
            places[k, h] += w * np.prod([seen[j, g] for j, g in enumerate(path) if j != k])
    log, found = recursion(seen[None], density[None], order)
    assert log[0] == pytest.approx(np.log(everything / whole))
    assert found[0] == pytest.approx(places / places.sum(axis=1, keepdims=True))


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
    """Their prior chances add up to 1; backwards has one only where somebody said so, and what goes by numbers only where
    these are another order."""
    assert sum(ORDERS.values()) == pytest.approx(1)
    assert sum(WITH_NUMBERS.values()) == pytest.approx(1)
    assert set(ORDERS) == set(Order) - {Order.BACKWARDS, *BY_NUMBER}
    assert set(WITH_NUMBERS) == set(Order) - {Order.BACKWARDS}
