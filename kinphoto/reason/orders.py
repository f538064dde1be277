"""Orders between photographs: "this one was taken before that one", as messages.

An order between groups i and j has the factor

    f(x_i, x_j) = a   if x_i <= x_j,   c   otherwise,

with a = 1 - q and c = q for one statement, products for several. A message is a cumulative sum: with F the distribution
function of what i believes apart from j,

    m(x_j) = a F(x_j) + c (1 - F(x_j)),        m(x_i) = a (1 - G(x_i)) + c G(x_i)       the other way.

On a tree, one sweep to the root and one back are exact. On loops the sweeps are repeated, damped after a while, until
no message moves any more (Murphy, Weiss and Jordan, "Loopy belief propagation for approximate inference", UAI 1999).
"""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from kinphoto.reason import evidence as ev
from kinphoto.reason.grid import Array, Cells
from kinphoto.reason.lookup import Lookup

SWEEPS, DAMPED_FROM, DAMPING, SETTLED = 40, 15, 0.3, 0.003
"""At most so many sweeps; damped from one on, by this much; done when no message moves by more."""
SMALLEST = 1e-12

Pair = tuple[int, int]


def orders(of_group: dict[str, int], known: Lookup) -> dict[Pair, tuple[float, float]]:
    """(a, c) for every ordered pair of groups, the smaller number first."""
    found: dict[Pair, tuple[float, float]] = {}
    for r in known.relations:
        if r.related not in (ev.Related.BEFORE, ev.Related.AFTER):
            continue
        one, other = of_group.get(r.photograph), of_group.get(r.other)
        if one is None or other is None or one == other:
            continue
        first, second = (one, other) if r.related is ev.Related.BEFORE else (other, one)
        q = ev.CHANCE_WRONG[r.trust]
        pair, (a, c) = ((first, second), (1 - q, q)) if first < second else ((second, first), (q, 1 - q))
        before = found.get(pair, (1.0, 1.0))
        found[pair] = (before[0] * a, before[1] * c)
    return found


def pass_messages(
    cells: dict[int, Cells], unary: dict[int, Array], pairs: dict[Pair, tuple[float, float]]
) -> dict[int, Array]:
    """The logarithms of the beliefs of all groups that `pairs` names, after their messages have settled.

    `unary`: the logarithm of each group's unary factors on its `cells`.
    """
    near: dict[int, list[int]] = defaultdict(list)
    for i, j in pairs:
        near[i].append(j)
        near[j].append(i)
    found: dict[int, Array] = {}
    for start in near:
        if start not in found:
            found |= _component(start, near, cells, unary, pairs)
    return found


def _component(
    start: int,
    near: dict[int, list[int]],
    cells: dict[int, Cells],
    unary: dict[int, Array],
    pairs: dict[Pair, tuple[float, float]],
) -> dict[int, Array]:
    order = _breadth_first(start, near)
    arrived: dict[int, dict[int, Array]] = {i: {} for i in order}
    edges = sum(len(near[i]) for i in order) // 2
    sweeps = 1 if edges == len(order) - 1 else SWEEPS
    for sweep in range(sweeps):
        keep = DAMPING if sweep >= DAMPED_FROM else 0.0
        moved = 0.0
        for i in [*reversed(order), *order]:
            for j in near[i]:
                message = _message(i, j, unary[i], arrived[i], cells, pairs)
                before = arrived[j].get(i)
                if before is not None:
                    message = keep * before + (1 - keep) * message
                    moved = max(moved, float(np.abs(message - before).max()))
                else:
                    moved = 1.0
                arrived[j][i] = message
        if moved < SETTLED:
            break
    return {i: unary[i] + sum(np.log(m) for m in arrived[i].values()) for i in order}


def _message(
    i: int,
    j: int,
    unary: Array,
    arrived: dict[int, Array],
    cells: dict[int, Cells],
    pairs: dict[Pair, tuple[float, float]],
) -> Array:
    """What i tells j, on the cells of j."""
    log = unary + sum((np.log(m) for k, m in arrived.items() if k != j), np.zeros_like(unary))
    weight = np.exp(log - log.max()) * cells[i].width
    rising = np.concatenate([[0.0], np.cumsum(weight)]) / weight.sum()
    before = np.interp(cells[j].middle, cells[i].edges, rising)  # P(x_i <= x_j)
    a, c = pairs[(i, j)] if i < j else pairs[(j, i)]
    message = a * before + c * (1 - before) if i < j else a * (1 - before) + c * before
    return np.asarray(np.maximum(message / message.max(), SMALLEST))


def _breadth_first(start: int, near: dict[int, list[int]]) -> list[int]:
    order, seen = [start], {start}
    for node in order:
        for other in near[node]:
            if other not in seen:
                seen.add(other)
                order.append(other)
    return order
