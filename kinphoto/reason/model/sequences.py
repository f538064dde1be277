"""Models of the order of photographs in a container, in plain numpy. All constants are *ours*.

There is a hidden place in time h_k for each. Photograph k was taken at h_k with the chance 1 - SLIP, and else at any
time with the density d of the container.

- *Shuffled*: every h_k is drawn from d by itself.
- *Bursts*: h_k+1 = h_k with the chance STAY (an occasion leaves several), else it is drawn from d again.
- *In order*: as bursts, given that h_1 <= h_2 <= ... <= h_n. The weight of a path is the product of
  STAY [h_k+1 = h_k] + (1 - STAY) d(h_k+1) [h_k+1 >= h_k], divided by the sum of the weights of all paths.
- *Backwards*: in order from the last to the first, considered only where somebody said so.
- *By number*: bursts and in order once more, of the photographs that have numbers as these have them, where that is
  another order (`another_order`). The rest are as if they were shuffled.

They are mixed (`chances`), each by its prior `ORDERS` (or `WITH_NUMBERS`) times its marginal likelihood, and never
selected. So two orders may both count, and what they have in common counts once: they are two explanations of the same
photographs, not two witnesses. What somebody said of the order in a container has the prior `SAID` instead, and the
others share the rest. Forward and backward: Rabiner, "A tutorial on hidden Markov models", Proceedings of the IEEE 77
(1989).

**What errors have in common** looks like order: pictures of one person are kept together, and where that birth is off
all of them are. So marginal likelihoods, and the messages of the order, are raised to the `weight` w = the mean over
the photographs of 1 / (1 + sum of c_jk), with c the correlation of the errors of j and k by births.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from enum import StrEnum

import numpy as np

from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.subjects import Arrangement, Number


class Order(StrEnum):
    """How photographs are ordered."""

    SHUFFLED = "shuffled"
    BURSTS = "bursts"
    IN_ORDER = "in order"
    BACKWARDS = "backwards"
    BURSTS_BY_NUMBER = "bursts by number"
    IN_ORDER_BY_NUMBER = "in order by number"


BY_NUMBER = {Order.BURSTS_BY_NUMBER: Order.BURSTS, Order.IN_ORDER_BY_NUMBER: Order.IN_ORDER}
"""What the models of numbers are, of photographs in the order of these."""
ORDERS: dict[Order, float] = {Order.SHUFFLED: 0.4, Order.BURSTS: 0.3, Order.IN_ORDER: 0.3}
"""How likely each order is before anything is known of a container (judgements of the project)."""
WITH_NUMBERS: dict[Order, float] = {
    Order.SHUFFLED: 0.4, Order.BURSTS: 0.2, Order.IN_ORDER: 0.2,
    Order.BURSTS_BY_NUMBER: 0.1, Order.IN_ORDER_BY_NUMBER: 0.1,
}  # fmt: skip
"""The same where numbers are another order: the order of things is mostly how they were kept, numbers may be of
anything."""
SAID = 0.95
"""Prior of what somebody said of the order: "this album is in order"."""
SLIP, STAY = 0.3, 0.5
"""Chance that a photograph was put in from anywhere, and that one is of the same time as the one before it (judgements
of the project)."""
FEW = 8
"""Fewer photographs than this do not show how they are ordered: the prior rules."""


SAME_ORDER = 0.5
"""Numbers do not count as another order where more than this share of neighbours by number are neighbours in the
container."""


def before_seen(said: Arrangement | None, *, by_number: bool = False) -> dict[Order, float]:
    """The prior of each model, given what somebody said; with `by_number`, where numbers are another order."""
    usual = WITH_NUMBERS if by_number else ORDERS
    if said is None:
        return usual
    apart = (*BY_NUMBER,) if by_number else ()
    meant = {
        Arrangement.IN_ORDER: (Order.IN_ORDER,),
        Arrangement.BACKWARDS: (Order.BACKWARDS,),
        Arrangement.NOT_IN_ORDER: (Order.SHUFFLED, Order.BURSTS, *apart),  # as they are ordered in the container
    }[said]
    weight = {order: usual.get(order, 1.0) for order in (*usual, *meant)}
    among = sum(weight[order] for order in meant)
    others = sum(weight.values()) - among
    return {o: SAID * w / among if o in meant else (1 - SAID) * w / others for o, w in weight.items()}


def of_one_series(numbers: Sequence[Number | None]) -> list[int]:
    """The numbers of a container's photographs in the most frequent series; -1 for those in no series or another."""
    often = Counter(number.series for number in numbers if number is not None)
    most = max(often, key=lambda series: often[series], default=None)
    return [-1 if number is None or number.series != most else number.value for number in numbers]


def another_order(numbers: Sequence[int]) -> list[int] | None:
    """The places of photographs that have a number, in the order of these, where that is not their order in the
    container; None where it is, or fewer than `FEW` have one. `numbers` are in the order of the container, -1 for none.

    An album that was scanned page after page has numbers without further information, also where it was scanned from
    behind or in handfuls; so it is neighbours that are compared, and not ranks.
    """
    having = [place for place, number in enumerate(numbers) if number >= 0]
    if len(having) < FEW:
        return None
    at = np.argsort([numbers[place] for place in having], kind="stable")
    together = float(np.mean(np.abs(np.diff(at)) == 1))
    return None if together > SAME_ORDER else [having[k] for k in at.tolist()]


def weight(common: Array) -> float:
    """w, of photographs whose errors correlate by births as in `common` (n, n; its diagonal does not matter)."""
    others = common.sum(axis=1) - np.diag(common)
    return float((1 / (1 + others)).mean())


def chances(log: Mapping[Order, float], prior: Mapping[Order, float], weight: float) -> dict[Order, float]:
    """P(o) of each model that has a `prior`, given `log`, by how much the photographs are likelier under each than
    shuffled (as a logarithm; 0 for `Order.SHUFFLED`)."""
    most = max(log[order] for order in prior)
    found = {order: p * float(np.exp(weight * (log[order] - most))) for order, p in prior.items()}
    whole = sum(found.values())
    return {order: p / whole for order, p in found.items()}


def seen_there(likelihood: Array, density: Array) -> Array:
    """The likelihoods of photographs (n, cells) at their hidden places: with the chance `SLIP` each was put in from
    elsewhere."""
    return np.asarray((1 - SLIP) * likelihood + SLIP * (likelihood @ density)[:, None])


def likelier(seen: Array, density: Array, order: Order, by_number: Sequence[int] = ()) -> float:
    """By how much photographs (as `seen_there`, n x cells, in the order of the container) are likelier in an order than
    shuffled, as a logarithm; `by_number` are the places of those that have numbers, in their order."""
    if order is Order.SHUFFLED:
        return 0.0
    if order in BY_NUMBER:
        seen, order = seen[list(by_number)], BY_NUMBER[order]
    return float(recursion(seen[None], density[None], order)[0][0] - np.log(seen @ density).sum())


def message(
    photograph: int, likelihood: Array, density: Array, prior: Mapping[Order, float], common: Array,
    by_number: Sequence[int] = (), silent: Collection[int] = (), by_occasions: float = 0.0,
) -> Array:  # fmt: skip
    """The message of the order to one photograph, by cell: [sum over the models o of P(o) q_o / d]^w.

    `likelihood` (n, cells) are the photographs in the order of the container and `density` is d, adding up to 1. Under
    a model it is of q_o = (1 - SLIP) P(h | the others) + SLIP d, and q_shuffled = d; those that are `silent` do not
    count for it. `by_occasions` (`containers.likelier_by_occasions`) is how much likelier they are to be shuffled.
    Below `FEW` the prior rules.
    """
    seen, w = seen_there(likelihood, density), weight(common)
    log = {o: likelier(seen, density, o, by_number) - (0 if o is Order.SHUFFLED else by_occasions) for o in prior}
    odds = chances(log, prior, w) if len(likelihood) >= FEW else prior
    others = seen.copy()
    others[[photograph, *silent]] = 1.0
    found = np.full(len(density), odds[Order.SHUFFLED])
    for order in odds.keys() - {Order.SHUFFLED}:
        places = list(by_number) if order in BY_NUMBER else list(range(len(seen)))
        hidden = np.ones(len(density))
        if photograph in places:
            after = recursion(others[None, places], density[None], BY_NUMBER.get(order, order))[1][0]
            hidden = after[places.index(photograph)] / density
        found += odds[order] * ((1 - SLIP) * hidden + SLIP)
    return np.asarray(found**w)


def recursion(seen: Array, density: Array, order: Order, lengths: Sequence[int] = ()) -> tuple[Array, Array]:
    """ln P(all photographs), and P(h_k | the others) for each k, of many sequences at once.

    `seen` (sequences, n, cells) is the likelihood of each hidden place, `density` (sequences, cells) is d. The results
    are (sequences,) and (sequences, n, cells), adding up to 1 over the cells. Where some have fewer than n photographs,
    `lengths` has how many each has, the longest first; what follows the last one of a sequence does not matter,
    and none is looked at backwards.
    """
    if order is Order.BACKWARDS:
        log, message = recursion(seen[:, ::-1], density, Order.IN_ORDER)
        return log, message[:, ::-1]
    many, n, _ = seen.shape
    ends = np.array(lengths or [n] * many)
    there = (ends[:, None] > np.arange(n)).sum(axis=0).tolist()  # how many sequences are that long
    forward, size = np.ones_like(seen), np.ones((2, many, n))
    forward[:, 0] = density
    at = np.stack([density, density] if order is Order.IN_ORDER else [density])  # the second: the weight of all paths
    for k in range(1, n):
        some = slice(there[k])
        at = at[:, some]
        at[0] *= seen[some, k - 1]
        at = _after(at, density[some], order)
        whole = at.sum(axis=-1, keepdims=True)
        at /= whole
        size[: len(at), some, k] = whole[..., 0]
        forward[some, k] = at[0]
    every, last = np.arange(many), ends - 1
    log = np.log(size).sum(axis=2)
    log[0] += np.log((forward[every, last] * seen[every, last]).sum(axis=1))
    back = np.ones_like(density)
    for k in range(n - 1, -1, -1):
        some = slice(there[k])
        forward[some, k] *= back[some]
        before = _before(back[some] * seen[some, k], density[some], order)
        back[some] = before / before.max(axis=-1, keepdims=True)
    forward /= forward.sum(axis=2, keepdims=True)
    return log[0] - log[1], forward


def _after(at: Array, density: Array, order: Order) -> Array:
    reached = np.cumsum(at, axis=-1) if order is Order.IN_ORDER else at.sum(axis=-1, keepdims=True)
    return np.asarray(STAY * at + (1 - STAY) * density * reached)


def _before(at: Array, density: Array, order: Order) -> Array:
    drawn = at * density
    if order is Order.IN_ORDER:
        reached = np.cumsum(drawn[:, ::-1], axis=1)[:, ::-1]
    else:
        reached = drawn.sum(axis=1, keepdims=True)
    return np.asarray(STAY * at + (1 - STAY) * reached)
