"""Frames of one strip of film, in plain numpy. All constants are *ours*.

A film is finished within days to a year or two. Its frames were taken about a centre m within a width s, both unknown;
before anything is seen all centres are alike, and P(m, s) ~ FILMS[s].

What the container of a frame j tells it, without the others of its strip, is M_j(y), adding up to 1 over Y cells. If it
is a frame of the strip at all, the strip belongs there as well: that makes m and s likelier by

    G_j(m, s) = [Y * the sum over y of M_j(y) N(y; m, s^2)]^(1 / k),

where k frames of the strip lie in that container, so that each container counts once. But with the chance q_j that it
was stated wrongly, j is no frame of the strip, and its container is all there is. So with l_j the likelihood of j by
itself (adding up to 1)

    e_j = (1 - q_j) G_j * the sum over y of l_j(y) N(y; m, s^2) + q_j * the sum over y of l_j(y) M_j(y),
    g_j = (1 - q_j) G_j / Y + q_j / Y,

the second where nothing is known of j by itself. What the strip tells frame i is

    M'_i(y) ~ (1 - q_i) * the sum over m, s of P_i(m, s) G_i(m, s) N(y; m, s^2) + q_i M_i(y),
    P_i(m, s) ~ P(m, s) * the product over the others of g_j (e_j / g_j)^w_j,

with w_j what errors in common leave of a frame, and 0 for those that share a vague birth with i: they have told each
other already. P_i adds up to 1, and neither m nor s is ever plugged in.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence

import numpy as np

from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.containers import WIDTHS, Width, density

FILMS: tuple[float, ...] = (0.5, 0.35, 0.15, 0.0, 0.0, 0.0)
"""How likely each of the `WIDTHS` is for a film: some weeks, a summer or a year, two or three years; no more."""


def told_to_frame(
    frame: int, likelihood: Array, told: Array, containers: Sequence[str | None], wrong: Array, weight: Array,
    silent: Collection[int] = (),
) -> Array:  # fmt: skip
    """M' of one frame of a strip, adding up to 1: (quarter-years,). `likelihood` (l_j) and `told` (M_j) have a row for
    each frame; `silent` are those that share a vague birth with it."""
    cells = likelihood.shape[1]
    tables = [density(Width(s), cells) for s in WIDTHS]
    chance = np.concatenate([np.full(len(some), p / len(some)) for p, some in zip(FILMS, tables, strict=True)])
    table, many = np.concatenate(tables), Counter(containers)
    belongs = [(cells * table @ row) ** (1 / many[where]) for row, where in zip(told, containers, strict=True)]
    for j in range(len(likelihood)):
        if j != frame:
            nothing = ((1 - wrong[j]) * belongs[j] + wrong[j]) / cells
            known = (1 - wrong[j]) * belongs[j] * (table @ likelihood[j]) + wrong[j] * (told[j] @ likelihood[j])
            chance = chance * nothing * (known / nothing) ** (0.0 if j in silent else weight[j])
    chance = chance / chance.sum() * belongs[frame]
    found = (1 - wrong[frame]) * chance @ table + wrong[frame] * told[frame]
    return np.asarray(found / found.sum())
