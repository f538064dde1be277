"""Photographs of one occasion: the fast sums against those of the model."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import sparse

from kinphoto.reason.model.containers import STRAY, with_occasions
from kinphoto.reason.model.sequences import Order
from kinphoto.reason.soft.occasions import Occasions
from kinphoto.reason.soft.sequences import in_sequence
from kinphoto.reason.soft.years import Years

CELLS = 120
"""Thirty years."""
OF = np.array([2] * 5 + [3] + [5] * 7)
"""The containers of thirteen photographs."""
LOADS = np.array([[0.9, 0.0], [0.6, 0.5], [0.0, 0.7], [0.0, 0.0], [0.3, 0.0]], dtype=np.float32)
"""Of the errors of the first five."""


def likelihoods(seed: int, many: int) -> np.ndarray:
    """Of some photographs: bells of different widths here and there."""
    dice = np.random.default_rng(seed)
    at, middle, spread = np.arange(CELLS), dice.uniform(20, 100, many), dice.uniform(1, 20, many)
    found = np.exp(-0.5 * ((at - middle[:, None]) / spread[:, None]) ** 2) + 1e-6
    return np.asarray(found / found.sum(axis=1, keepdims=True), dtype=np.float32)


def drawn(*, silent: bool) -> tuple[Occasions, np.ndarray, np.ndarray]:
    """The photographs of `OF`, the first two of which tell each other nothing if they are `silent`; P(t) of each, which
    differs a little from one to the other; and the density of each container."""
    like, bells = likelihoods(1, len(OF)), Years(CELLS).bells
    rates = np.random.default_rng(2).dirichlet(np.full(CELLS, 9.0), 6).astype(np.float32)
    density = (1 - STRAY) * bells[None] + STRAY * rates[:, None]
    own = np.log(np.einsum("iy,ity->it", like, density[OF]))
    log = np.array([0.4 * own[of == OF].sum(axis=0) for of in OF]) - 0.3 * own
    chance = np.exp(log - log.max(axis=1, keepdims=True))
    chance /= chance.sum(axis=1, keepdims=True)
    loads = np.zeros((len(OF), 2), dtype=np.float32)
    loads[:5] = LOADS
    left = sparse.csr_array((np.array([0.46, 0.46], np.float32), ([0, 1], [1, 0])), (len(OF), len(OF)))
    some = Occasions(OF, like, own, bells, rates, sparse.csr_array(loads), left if silent else None)
    return some, chance.astype(np.float32), density


@pytest.mark.parametrize("silent", [False, True])
@pytest.mark.parametrize("parts", [1, 3])
def test_as_the_plain_sums(parts: int, silent: bool) -> None:
    """What photographs of three containers gain is what the model says less what it says without occasions, however
    many are worked out together: some share judges and births, two are frames of one strip, one lies alone."""
    some, chance, density = drawn(silent=silent)
    common = np.zeros((len(OF), len(OF)))
    common[:5, :5] = LOADS @ LOADS.T
    message = np.einsum("it,ity->iy", chance, density[OF])
    ends = [len(OF) * k // parts for k in range(parts + 1)]
    found = np.concatenate([some.gained(at, chance[at], message[at]) for at in map(slice, ends, ends[1:])])
    for i in range(len(OF)):
        others = np.flatnonzero((OF[i] == OF) & (np.arange(len(OF)) != i))
        apart = (1 - common[i, others]) * ~(silent & (i < 2) & (others < 2))
        told = with_occasions(chance[i], density[OF[i]], some.likelihood[others], apart) if len(others) else message[i]
        assert found[i] == pytest.approx(told - message[i], abs=0.01 * float(message[i].max())), i
    assert abs(found).max() > 0.1 * message.max()
    assert found.sum(axis=1) == pytest.approx(0, abs=1e-5)


def test_occasions_count_where_a_container_is_shuffled() -> None:
    """A shuffled container tells what it would without occasions, and what is gained by them; where five photographs
    are shuffled with the chance 0.4 that counts as often, and not at all where they are in order for certain."""
    like, message = likelihoods(6, 5), np.repeat(likelihoods(7, 1), 5, axis=0)
    gained = np.roll(message, 3, axis=1) - message
    gained *= 0.3

    def told(prior: dict[Order, float], some: np.ndarray | None) -> np.ndarray:
        found = message.copy()
        in_sequence([np.arange(5)], like, found, np.ones(5), {}, [prior], some)
        return found

    assert told({Order.SHUFFLED: 1.0}, gained) == pytest.approx(message + gained, abs=1e-6)
    mixed = {Order.SHUFFLED: 0.4, Order.BURSTS: 0.3, Order.IN_ORDER: 0.3}
    more = told(mixed, gained) - told(mixed, None)
    share = (more * gained).sum(axis=1) / (gained**2).sum(axis=1)
    assert more == pytest.approx(share[:, None] * gained, abs=1e-3 * float(gained.max()))
    assert share == pytest.approx(0.4, abs=0.05)
    in_order = {Order.IN_ORDER: 1.0}
    assert told(in_order, gained) == pytest.approx(told(in_order, None), abs=1e-6)
