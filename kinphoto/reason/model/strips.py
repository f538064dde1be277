"""Frames of one strip of film, in plain numpy. All constants are *ours*.

A film is finished within days to a year or two. Its frames were taken about a centre m within a width s, both unknown;
before anything is seen all centres are alike, and P(m, s) ~ FILMS[s].

The message of its container to a frame j, without the others of its strip, is M_j(y), adding up to 1 over Y cells. If
it is a frame of the strip at all, the strip belongs there as well: that makes m and s likelier by

    G_j(m, s) = [Y * the sum over y of M_j(y) N(y; m, s^2)]^(1 / k),

where k frames of the strip are in that container, so that each container counts once. But with the chance q_j that it
was stated wrongly, j is not a frame of the strip, and only its container counts. So with l_j the likelihood of j by
itself (adding up to 1)

    e_j = (1 - q_j) G_j * the sum over y of l_j(y) N(y; m, s^2) + q_j * the sum over y of l_j(y) M_j(y),
    g_j = (1 - q_j) G_j / Y + q_j / Y,

the second where nothing is known of j by itself. The message to frame i is

    M'_i(y) ~ (1 - q_i) * the sum over m, s of P_i(m, s) G_i(m, s) N(y; m, s^2) + q_i M_i(y),
    P_i(m, s) ~ P(m, s) * the product over the others of g_j (e_j / g_j)^w_j,

with w_j what errors in common leave of a frame, and 0 for those that share a vague birth with i, whose
information i has already. P_i adds up to 1, and neither m nor s is ever plugged in.

**Their order.** Where frame a was said to be before b, which is wrong with the chance p, and both are of the strip,
their years have the factor

    (1 - p) 2 H(y_b - y_a) + p,      H = 0, 1/2, 1 below, at and above 0,

divided by its mean under m and s, so that no time and no width gains by the order itself. Let S(m, s, y) be the sum
over the years of all other frames, and over who of them is of the strip, of everything above with these factors, and S'
the same without them. The message to i has the factor S(m, s, y) / sum of S, and P_i the factor (sum of S / S')^w
with w the mean of all w_j; where i is not a frame of the strip, likewise.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Sequence

import numpy as np

from kinphoto.reason.model.arrays import SMALLEST, Array
from kinphoto.reason.model.batches import PrintedDate, film_printed
from kinphoto.reason.model.containers import WIDTHS, Width, density

FILMS: tuple[float, ...] = (0.5, 0.35, 0.15, 0.0, 0.0, 0.0)
"""How likely each of the `WIDTHS` is for a film: some weeks, a summer or a year, two or three years at most."""


Order = tuple[int, int, float]
"""A frame, one that was said to be later, and the chance that this is wrong."""


def message_to_frame(
    frame: int, likelihood: Array, message: Array, containers: Sequence[str | None], wrong: Array, weight: Array,
    silent: Collection[int] = (), orders: Sequence[Order] = (), printed: PrintedDate | None = None,
) -> Array:  # fmt: skip
    """M' of one frame of a strip, adding up to 1: (quarter-years,). `likelihood` (l_j) and `message` (M_j) have a row
    for each frame; `silent` are those that share a vague birth with it. M' of a print of a batch has its date in it
    (`printed`)."""
    many, cells = likelihood.shape
    widths = [Width(s) for s in WIDTHS]
    tables, often = [density(width, cells) for width in widths], Counter(containers)
    table = np.concatenate(tables)
    flat = [np.full(len(some), 1 / len(some)) for some in tables]
    centres = flat if printed is None else [film_printed(width, printed) for width in widths]
    chance = np.concatenate([p * some for p, some in zip(FILMS, centres, strict=True)])
    belongs = np.array(
        [(cells * table @ row) ** (1 / often[where]) for row, where in zip(message, containers, strict=True)]
    )
    of_strip = (1 - wrong)[:, None, None] * belongs[:, :, None] * table
    if printed is not None:
        message = cells * printed.density * message
    known = cells * likelihood
    known[[frame, *silent]] = 1.0
    away = wrong * message.sum(axis=1)
    here = of_strip * known[:, None]
    elsewhere = np.repeat((wrong * (message * known).sum(axis=1))[:, None], len(table), 1)
    nothing = (1 - wrong)[:, None] * belongs + away[:, None]
    for j in set(range(many)) - {frame}:
        chance = chance * nothing[j] * ((here[j].sum(axis=1) + elsewhere[j]) / nothing[j]) ** weight[j]
    tree = tied(many, orders)
    mean = mean_factor(of_strip, away, tree)
    share, less = in_order(frame, here, elsewhere, mean, tree, float(weight.mean()))
    chance = chance / chance.sum()
    found = (1 - wrong[frame]) * (chance * belongs[frame]) @ share + wrong[frame] * message[frame] * (chance @ less)
    return np.asarray(found / found.sum())


def tied(many: int, orders: Sequence[Order]) -> list[Order]:
    """A tree of `many` frames: their orders, but for those that follow from others or close a ring, and where no order
    ties two parts of it, one that is wrong for certain and so carries no information."""
    later: dict[int, set[int]] = defaultdict(set)
    for one, other, _ in orders:
        later[one].add(other)

    def follows(one: int, other: int) -> bool:
        edge = seen = later[one] - {other}
        while edge:
            edge = set().union(*(later[k] for k in edge)) - seen
            seen = seen | edge
        return other in seen

    part, found = list(range(many)), list[Order]()
    for order in (*(o for o in orders if not follows(*o[:2])), *((0, k, 1.0) for k in range(1, many))):
        one, other = (part[k] for k in order[:2])
        if one != other:
            part = [one if k == other else k for k in part]
            found.append(order)
    return found


def in_order(
    frame: int, here: Array, elsewhere: Array, mean: Array, tree: Sequence[Order], weight: float
) -> tuple[Array, Array]:
    """The message of the order of all frames of a strip to one: where it is of the strip, the chance of its years at
    each point (m, s) times (sum of S / S')^w, (points, cells); and that power where it is not, (points,).

    `here` (frames, points, cells) and `elsewhere` (frames, points) are the weights of the years of each frame, where it
    is of the strip and where it is not, without what is known of this frame itself.
    """
    years, without = _summed(here, elsewhere, tree, frame)
    usual = np.prod(np.delete(here.sum(axis=2) + elsewhere, frame, axis=0), axis=0) * mean + SMALLEST
    inside, outside = years.sum(axis=1), without / (elsewhere[frame] * usual)
    by_order = (inside / (here[frame].sum(axis=1) * usual)) ** weight
    return np.asarray(years * (by_order / (inside + SMALLEST))[:, None]), np.asarray(outside**weight)


def mean_factor(of_strip: Array, away: Array, tree: Sequence[Order]) -> Array:
    """The mean of all orders' factors under m and s, where nothing is known of any frame: (points,). `away` is the
    weight of each where it is not of the strip."""
    elsewhere = np.repeat(away[:, None], of_strip.shape[1], axis=1)
    years, without = _summed(of_strip, elsewhere, tree, 0)
    return np.asarray((years.sum(axis=1) + without) / np.prod(of_strip.sum(axis=2) + elsewhere, axis=0))


def _summed(here: Array, elsewhere: Array, tree: Sequence[Order], frame: int, last: int = -1) -> tuple[Array, Array]:
    """The weights of one frame times the sum over all frames that the tree ties to it but through the `last`."""
    years, without = here[frame], elsewhere[frame]
    for earlier, later, wrong in tree:
        other = later if frame == earlier else earlier
        if frame in (earlier, later) and other != last:
            theirs, away = _summed(here, elsewhere, tree, other, frame)
            whole = theirs.sum(axis=1) + away
            until = np.cumsum(theirs, axis=1) - theirs / 2
            fitting = until if other == earlier else theirs.sum(axis=1)[:, None] - until
            years = years * (2 * (1 - wrong) * fitting + (wrong * (whole - away) + away)[:, None])
            without = without * whole
    return years, without
