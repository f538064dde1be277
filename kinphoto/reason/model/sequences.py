"""Models of the order in which photographs lie in a container, in plain numpy. All constants are *ours*.

There is a hidden place in time h_k for each. Photograph k was taken at h_k with the chance 1 - SLIP, and else at any
time with the density d of the container.

- *Shuffled*: every h_k is drawn from d by itself.
- *Bursts*: h_k+1 = h_k with the chance STAY (an occasion leaves several), else it is drawn from d again.
- *In order*: as bursts, given that h_1 <= h_2 <= ... <= h_n. The weight of a path is the product of
  STAY [h_k+1 = h_k] + (1 - STAY) d(h_k+1) [h_k+1 >= h_k], divided by the sum of the weights of all paths.
- *Backwards*: in order from the last to the first, considered only where somebody said so.

They are mixed, each by its prior `ORDERS` times its marginal likelihood, and never selected. What somebody said of the
order has the prior `SAID` instead, and the others share the rest. Forward and backward: Rabiner, "A tutorial on hidden
Markov models", Proceedings of the IEEE 77 (1989).
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.evidence import Arrangement


class Order(StrEnum):
    """How photographs lie."""

    SHUFFLED = "shuffled"
    BURSTS = "bursts"
    IN_ORDER = "in order"
    BACKWARDS = "backwards"


ORDERS: dict[Order, float] = {Order.SHUFFLED: 0.4, Order.BURSTS: 0.3, Order.IN_ORDER: 0.3}
SAID = 0.95
"""Prior of what somebody said of the order: "this album is in order"."""
SLIP, STAY = 0.3, 0.5
FEW = 8
"""Of fewer photographs than this nobody can tell how they lie: the prior rules."""


def before_seen(said: Arrangement | None) -> dict[Order, float]:
    """The prior of each model, given what somebody said."""
    if said is None:
        return ORDERS
    meant = {
        Arrangement.IN_ORDER: (Order.IN_ORDER,),
        Arrangement.BACKWARDS: (Order.BACKWARDS,),
        Arrangement.NOT_IN_ORDER: (Order.SHUFFLED, Order.BURSTS),
    }[said]
    weight = {order: ORDERS.get(order, 1.0) for order in (*ORDERS, *meant)}
    among = sum(weight[order] for order in meant)
    others = sum(weight.values()) - among
    return {o: SAID * w / among if o in meant else (1 - SAID) * w / others for o, w in weight.items()}


def recursion(seen: Array, density: Array, order: Order) -> tuple[Array, Array]:
    """ln P(all photographs), and P(h_k | the others) for each k, of many sequences at once.

    `seen` (sequences, n, cells) is the likelihood of each hidden place, `density` (sequences, cells) is d. The results
    are (sequences,) and (sequences, n, cells), adding up to 1 over the cells.
    """
    if order is Order.BACKWARDS:
        log, told = recursion(seen[:, ::-1], density, Order.IN_ORDER)
        return log, told[:, ::-1]
    many, n, _ = seen.shape
    forward = np.empty_like(seen)
    forward[:, 0] = density
    free, log = density, np.zeros(many)
    for k in range(1, n):
        forward[:, k] = _after(forward[:, k - 1] * seen[:, k - 1], density, order)
        size = forward[:, k].sum(axis=1, keepdims=True)
        forward[:, k] /= size
        log += np.log(size[:, 0])
        if order is Order.IN_ORDER:  # the weight of all paths
            free = _after(free, density, order)
            whole = free.sum(axis=1, keepdims=True)
            free = free / whole
            log -= np.log(whole[:, 0])
    log += np.log((forward[:, -1] * seen[:, -1]).sum(axis=1))
    back = np.ones_like(density)
    for k in range(n - 1, -1, -1):
        here = forward[:, k] * back
        drawn = back * seen[:, k]
        back = _before(drawn, density, order)
        back /= back.max(axis=1, keepdims=True)
        forward[:, k] = here / here.sum(axis=1, keepdims=True)
    return log, forward


def _after(at: Array, density: Array, order: Order) -> Array:
    reached = np.cumsum(at, axis=1) if order is Order.IN_ORDER else at.sum(axis=1, keepdims=True)
    return np.asarray(STAY * at + (1 - STAY) * density * reached)


def _before(at: Array, density: Array, order: Order) -> Array:
    drawn = at * density
    if order is Order.IN_ORDER:
        reached = np.cumsum(drawn[:, ::-1], axis=1)[:, ::-1]
    else:
        reached = drawn.sum(axis=1, keepdims=True)
    return np.asarray(STAY * at + (1 - STAY) * reached)
