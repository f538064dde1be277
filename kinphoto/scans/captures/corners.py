"""The place of a print in a photograph of it: its four corners, and whether they are sure.

The sides of a print are straight, long, and have the table on one side only (`table.py`). So: the straight lines
through what could be edges (`lines.py`), all quadrilaterals of four of them, and of these the one whose sides show
along all of their length, end at its corners, and part what looks like the table from what does not. Its sides are
then laid through the edge of the paper itself (`edges.py`).

What the picture does not show is not guessed: corners that are unsure say why.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

from kinphoto.scans.captures.edges import Floats, on_edges
from kinphoto.scans.captures.lines import NEAR, straight_lines
from kinphoto.scans.captures.straight import Corners, in_order
from kinphoto.scans.captures.table import OnTable

EDGE, FINE_EDGE = 480, 1600
"""Pixels of the longer edge at which lines are looked for, and at which sides are laid through edges."""

_BESIDE = (3.0, 5.0, 8.0, 11.0)  # pixels beside a side in which table or print are looked at
_SMALLEST = 0.05  # of the picture: a print at least
_SHORTEST = 0.12  # of the longer edge: a side at least
_OUTSIDE = 0.02  # of the picture: how far a corner may be beyond it
_LOOKED_AT = 160
_TOO_SMALL = 60  # pixels: no print is looked for in less
_END = 11  # pixels at each end of a side: a border's width and less
_BEYOND = 0.08  # of the longer edge: how far beyond a corner a line is followed

_OUTER, _AS_CLEAR, _WIDEST = 0.2, 0.04, 1.6
"""By how much the score of the paper's edge may be below that of the picture's inside its border, how much less clearly
its weakest side may show, and how many times as large it may be."""
_NO_TABLE = 0.6
"""Of how much the rest looks like the table: less of it has the white border."""
_CLEAR_ENDS, _ENDS_THERE = 0.9, 0.8
_AGAIN, _GOOD, _CLEARLY = 2, 1.5, 0.1
"""How often fainter edges are looked for, below which score, and by how much better what they give has to be."""
_SUPPORT, _MARGIN, _DIFFERENT = 0.55, 0.05, 0.02
_SURE = 0.95


@dataclass(frozen=True, slots=True)
class PrintCorners:
    """The corners of a print, as shares of the picture; `doubts` say why somebody should look at them."""

    corners: Corners
    doubts: tuple[str, ...] = ()
    score: float = 0.0

    @property
    def sure(self) -> bool:
        """Whether nobody has to look."""
        return not self.doubts


def corners_of(picture: Image.Image) -> PrintCorners | None:
    """The print in a photograph (mode L or RGB, upright or not); None where nothing looks like one."""
    if min(picture.size) < _TOO_SMALL:
        return None
    small = _pixels(picture, EDGE)
    if min(small.shape[:2]) < _TOO_SMALL:
        return None
    look = OnTable(small)
    quads = _best(look)
    for _ in range(_AGAIN):  # on a rough table the edges of a dark print are no stronger than its own
        if quads and quads[0].score >= _GOOD:
            break
        look.step /= 2
        again = _best(look)
        if again and (not quads or again[0].score > quads[0].score + _CLEARLY):
            quads = again
    if not quads:
        return None
    best = quads[0]
    fine = _pixels(picture, FINE_EDGE)
    scale = fine.shape[1] / small.shape[1]
    exact, found = on_edges(fine, best.points * scale)
    rows, columns = fine.shape[:2]
    shares = exact / (columns, rows)
    corners = in_order([(float(x), float(y)) for x, y in shares])
    return PrintCorners(corners, tuple(_doubts(look, quads, shares, found)), best.score)


def _pixels(picture: Image.Image, edge: int) -> Floats:
    share = edge / max(picture.size)
    if share < 1:
        size = max(16, round(picture.width * share)), max(16, round(picture.height * share))
        picture = picture.resize(size, Image.Resampling.BOX, reducing_gap=3.0)
    pixels = np.asarray(picture, dtype=np.float32)
    return pixels if pixels.ndim == 3 else pixels[..., None].repeat(3, axis=2)


# Quadrilaterals ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Quad:
    """Corners in pixels, clockwise; how good it is; how much of an edge its weakest side shows, and the weakest end of
    a side; and how much of one goes on beyond a corner."""

    points: NDArray[np.float64]
    score: float
    weakest: float
    ends: float
    beyond: float


def _best(look: OnTable) -> list[_Quad]:
    """The likeliest quadrilaterals, the best first."""
    lines = straight_lines(look)
    if len(lines) < 4:
        return []
    rows, columns = look.shape
    reach = int(np.ceil(np.hypot(rows, columns) / 2)) + 2
    edge, lower, upper = (np.stack(each) for each in zip(*(_along(look, line, reach) for line in lines), strict=True))
    normals = np.stack([np.cos(lines[:, 0]), np.sin(lines[:, 0])], axis=1)
    directions = np.stack([-normals[:, 1], normals[:, 0]], axis=1)
    apart = np.abs((lines[:, None, 0] - lines[None, :, 0] + np.pi / 2) % np.pi - np.pi / 2)
    # Opposite sides converge, neighbouring ones meet.
    opposite = [(i, j) for i in range(len(lines)) for j in range(i + 1, len(lines)) if apart[i, j] < np.radians(35)]
    pairs = np.array(opposite, dtype=np.intp).reshape(-1, 2)
    tops, sides = np.repeat(np.arange(len(pairs)), len(pairs)), np.tile(np.arange(len(pairs)), len(pairs))
    some = tops < sides
    a, c, b, d = (*pairs[tops[some]].T, *pairs[sides[some]].T)
    meets = np.minimum.reduce([apart[a, b], apart[a, d], apart[c, b], apart[c, d]]) > np.radians(40)
    a, b, c, d = (each[meets] for each in (a, b, c, d))
    if not len(a):
        return []
    crossing = _crossings(lines, normals)
    quads = np.stack([crossing[a, b], crossing[b, c], crossing[c, d], crossing[d, a]], axis=1)
    which = np.stack([b, c, d, a], axis=1)  # the line of the side from each corner to the next
    kept = _possible(quads, look)
    quads, which = quads[kept], which[kept]
    if not len(quads):
        return []
    area = _area(quads)
    turned_round = area < 0
    quads[turned_round] = quads[turned_round][:, ::-1]
    which[turned_round] = which[turned_round][:, [2, 1, 0, 3]]
    middle = quads.mean(axis=1)
    following = np.roll(quads, -1, axis=1)
    start = np.einsum("qsk,qsk->qs", quads, directions[which]) + reach
    end = np.einsum("qsk,qsk->qs", following, directions[which]) + reach
    low, high = np.minimum(start, end), np.maximum(start, end)
    towards = np.einsum("qk,qsk->qs", middle, normals[which]) > lines[which, 1]  # the print is on the upper side
    support = _mean(edge, which, low + 2, high - 2)
    inside = np.where(towards, _mean(upper, which, low + 4, high - 4), _mean(lower, which, low + 4, high - 4))
    outside = np.where(towards, _mean(lower, which, low + 4, high - 4), _mean(upper, which, low + 4, high - 4))
    step = _BEYOND * look.longer
    beyond = np.maximum(_mean(edge, which, low - step, low - 4), _mean(edge, which, high + 4, high + step))
    ends = np.minimum(_mean(edge, which, low + 1, low + _END), _mean(edge, which, high - _END, high - 1)).min(axis=1)
    parted = np.clip(outside - inside, -0.5, 1)
    side = support + 0.5 * parted - 0.15 * beyond
    lengths = high - low
    mean = (side * lengths).sum(axis=1) / lengths.sum(axis=1)
    score = 0.6 * mean + 0.4 * side.min(axis=1) + 0.35 * ends + 0.1 * np.sqrt(np.abs(_area(quads)) / (rows * columns))
    # The edge of a white border on a pale table parts little, but shows all along.
    clearest = np.argsort(-(support.min(axis=1) + ends - 0.3 * beyond.max(axis=1)))[: _LOOKED_AT // 2]
    order = np.union1d(np.argsort(-score)[:_LOOKED_AT], clearest)
    offset = np.array([(columns - 1) / 2, (rows - 1) / 2]) + 0.5
    found = [
        _Quad(
            quads[k] + offset,
            float(score[k]) + 0.6 * _parts(look, quads[k] + offset - 0.5),
            float(support[k].min()),
            float(ends[k]),
            float(beyond[k].max()),
        )
        for k in order
    ]
    return _paper_first(look, sorted(found, key=lambda quad: -quad.score))


def _paper_first(look: OnTable, found: list[_Quad]) -> list[_Quad]:
    """The edge of the paper before that of the picture inside its border: a quadrilateral around the best one that
    shows as clearly on all sides comes first."""
    best = found[0]
    while True:
        around = next(
            (
                each
                for each in found
                if each.score > found[0].score - _OUTER and each.weakest >= best.weakest - _AS_CLEAR
                and each.ends >= best.ends - 4 * _AS_CLEAR
                and 1.02 < _ratio_of_areas(each, best) < _WIDEST and _is_within(best.points, each.points)
                and (_border_of_paper(look, best, each) or (each.ends >= _CLEAR_ENDS and each.beyond <= _ENDS_THERE))
            ),
            None,
        )  # fmt: skip
        if around is None:
            return [best, *(each for each in found if each is not best)]
        best = around


def _ratio_of_areas(one: _Quad, other: _Quad) -> float:
    first, second = (abs(float(_area(each.points[None])[0])) for each in (one, other))
    return first / max(second, 1.0)


def _is_within(inner: NDArray[np.float64], outer: NDArray[np.float64]) -> bool:
    """Whether these corners are inside the other ones, or hardly outside."""
    for start, end in pairwise([*outer, outer[0]]):
        step = (end - start) / max(float(np.hypot(*(end - start))), 1e-6)
        if ((inner - start) @ (-step[1], step[0]) < -NEAR).any():
            return False
    return True


def _along(look: OnTable, line: NDArray[np.float64], reach: int) -> tuple[NDArray[np.float64], ...]:
    rows, columns = look.shape
    theta, distance = line
    normal, along = np.array([np.cos(theta), np.sin(theta)]), np.array([-np.sin(theta), np.cos(theta)])
    steps = np.arange(-reach, reach + 1)
    centre = np.array([(columns - 1) / 2, (rows - 1) / 2])
    points = centre + distance * normal + steps[:, None] * along

    def at(values: Floats, off: float) -> Floats:
        x, y = (points + off * normal).T
        found: Floats = ndimage.map_coordinates(values, (y, x), order=1, mode="constant")
        return found

    offsets = (-1.5, -0.75, 0.0, 0.75, 1.5)
    aligned = np.stack([np.abs(at(look.gx, off) * normal[0] + at(look.gy, off) * normal[1]) for off in offsets])
    length = np.stack([at(look.strength, off) for off in offsets])
    share = np.clip(aligned.max(axis=0) / look.step, 0, 1) * (aligned / np.maximum(length, 1e-6)).max(axis=0)
    inside = (points >= -1).all(axis=1) & (points[:, 0] <= columns) & (points[:, 1] <= rows)
    lower, upper = (np.mean([at(look.table, side * off) for off in _BESIDE], axis=0) for side in (-1, 1))
    return tuple(np.concatenate([[0], np.cumsum(np.where(inside, each, 0))]) for each in (share, lower, upper))


def _mean(
    sums: NDArray[np.float64], which: NDArray[np.intp], low: NDArray[np.float64], high: NDArray[np.float64]
) -> NDArray[np.float64]:
    last = sums.shape[1] - 1
    first, end = (np.clip(np.rint(each), 0, last).astype(np.intp) for each in (low, high))
    found: NDArray[np.float64] = (sums[which, end] - sums[which, first]) / np.maximum(end - first, 1)
    return found


def _crossings(lines: NDArray[np.float64], normals: NDArray[np.float64]) -> NDArray[np.float64]:
    """Where each two lines cross, from the middle of the picture."""
    (cos, sin), distance = normals.T, lines[:, 1]
    det = cos[:, None] * sin[None] - sin[:, None] * cos[None]
    det = np.where(np.abs(det) < 1e-6, 1e-6, det)
    x = (distance[:, None] * sin[None] - sin[:, None] * distance[None]) / det
    y = (cos[:, None] * distance[None] - distance[:, None] * cos[None]) / det
    return np.stack([x, y], axis=-1)


def _area(quads: NDArray[np.float64]) -> NDArray[np.float64]:
    following = np.roll(quads, -1, axis=1)
    found: NDArray[np.float64] = (quads[..., 0] * following[..., 1] - quads[..., 1] * following[..., 0]).sum(axis=1) / 2
    return found


def _possible(quads: NDArray[np.float64], look: OnTable) -> NDArray[np.bool_]:
    """Convex, in the picture, neither tiny nor the picture itself, its opposite sides not too unlike."""
    rows, columns = look.shape
    far = np.abs(quads) - np.array([columns, rows]) / 2
    steps = np.roll(quads, -1, axis=1) - quads
    turns = steps[..., 0] * np.roll(steps[..., 1], -1, axis=1) - steps[..., 1] * np.roll(steps[..., 0], -1, axis=1)
    lengths = np.hypot(steps[..., 0], steps[..., 1])
    area = np.abs(_area(quads))
    alike = np.minimum(lengths[:, :2], lengths[:, 2:]) / np.maximum(np.maximum(lengths[:, :2], lengths[:, 2:]), 1e-6)
    found: NDArray[np.bool_] = (far < _OUTSIDE * look.longer).all(axis=(1, 2))
    found &= (turns > 0).all(axis=1) | (turns < 0).all(axis=1)
    found &= (lengths.min(axis=1) >= _SHORTEST * look.longer) & (alike.min(axis=1) > 0.45)
    found &= (area >= _SMALLEST * rows * columns) & (area <= 0.97 * rows * columns)
    return found


def _parts(look: OnTable, points: NDArray[np.float64]) -> float:
    """How much more the rest of the picture looks like the table than what is inside, -1 to 1."""
    inside, table = _inside(look, points), look.table[1::3, 1::3]
    if not inside.any() or inside.all():
        return -1.0
    return float(table[~inside].mean() - table[inside].mean())


def _border_of_paper(look: OnTable, inner: _Quad, outer: _Quad) -> bool:
    """Whether what is between two quadrilaterals is not table."""
    outside, table = ~_inside(look, outer.points), look.table[1::3, 1::3]
    between = _inside(look, outer.points) & ~_inside(look, inner.points)
    if not between.any() or not outside.any():
        return False
    return float(table[between].mean()) < _NO_TABLE * float(table[outside].mean())


def _inside(look: OnTable, points: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which of every third pixel are inside."""
    rows, columns = look.shape
    y, x = np.mgrid[1:rows:3, 1:columns:3]
    inside = np.ones(x.shape, dtype=bool)
    for one, other in pairwise([*points, points[0]]):
        inside &= (other[0] - one[0]) * (y - one[1]) - (other[1] - one[1]) * (x - one[0]) >= 0
    return inside


# Doubts --------------------------------------------------------------------------------------------------------


def _doubts(look: OnTable, quads: list[_Quad], shares: NDArray[np.float64], found: float) -> list[str]:
    best = quads[0]
    doubts = []
    if (shares < 0).any() or (shares > 1).any():
        doubts.append("the print runs out of the picture")
    if best.score < _SURE or best.weakest < _SUPPORT or found < 0.5:
        doubts.append("not all of its sides show clearly")
    others = [
        other
        for other in quads[1:]
        if other.score > best.score - _MARGIN and np.abs(other.points - best.points).max() > _DIFFERENT * look.longer
    ]
    if others:
        doubts.append("something else in the picture looks like a print too")
    return doubts
