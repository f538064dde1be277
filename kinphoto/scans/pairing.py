"""Which scans are fronts and backs of one print, for a whole folder at once.

Each back is compared with each front by what is independent of what was written on it: its size in millimetres where
the resolution is known, the outline of the paper mirrored (torn corners, deckled edges), and its place in the order of
scanning. A print was followed by its back; or all backs came last, in the same order or from the bottom of the pile.
Evidence is counted as a logarithm of odds, and counts for as much as it distinguishes in this folder: that two prints
are of one size means little where all are. A pair is sure when it is clearly a front with clearly a back, and every way
in which it could be otherwise is much less likely.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageFilter

if TYPE_CHECKING:
    from numpy.typing import NDArray

CLEAR_BACK, CLEAR_FRONT = 0.03, 0.07
"""Shares of broad tone (`likeness.tone`) up to which a scan is clearly a back, and from which it is clearly a front."""
SAME_SIZE = 0.025
"""By how much, at most, the sides of one print differ between the scans of its front and back."""
SIDES = 24
"""Places along each side at which the outline of the paper is measured."""
SURE = 6.0
"""The logarithm of the odds from which a pair is sure: 400 to 1."""

SAME_OUTLINE = 0.75
"""The correlation from which two outlines are taken to be one."""

# By how much the two scans of one print differ in length, as standard deviations of the logarithm, each with its share:
# the paper was measured on the bed both times (0.1 % on drawn scans), or one scan was cut to it by hand.
_SPREADS = ((0.0015, 0.7), (0.008, 0.3))
_MISSED = 0.02  # that one print was measured as two sizes, or its outline as two
_LOST_BACK, _LOST_FRONT = -5.0, -3.0  # a back without a front, and a front without a back where every one has one
_SHIFT = 2.0  # asked more of backs that were scanned last: where one is out of place, all up to the next gap are
_NO_BACK = -0.2  # a front without a back where backs follow their fronts: many prints have nothing on them


class ScanOrder(StrEnum):
    """How fronts and backs follow each other in a folder."""

    ALTERNATING = "alternating"
    LAST = "last"
    REVERSED = "reversed"


@dataclass(frozen=True, slots=True)
class Side:
    """One scan, as it is compared. `size` is its width and height, in millimetres or at least of one scale (None when
    unknown), `paper` that of the print where it shows on the bed; `tone` its share of broad tone; `outline` that of the
    paper, None where the scan is cut to it."""

    size: tuple[float, float] | None
    tone: float
    outline: NDArray[np.float32] | None = None
    paper: tuple[float, float] | None = None

    @property
    def is_back(self) -> bool:
        """Whether it looks more like a back than like a front."""
        return self.tone < (CLEAR_BACK + CLEAR_FRONT) / 2

    @property
    def is_clear(self) -> bool:
        """Whether there is no doubt about that."""
        return self.tone <= CLEAR_BACK or self.tone >= CLEAR_FRONT


@dataclass(frozen=True, slots=True)
class Pair:
    """A front and a back, by their places among the scans, with the logarithm of the odds that they belong together."""

    front: int
    back: int
    odds: float
    order: ScanOrder
    same_size: bool | None
    same_outline: bool

    @property
    def sure(self) -> bool:
        """Whether it may be joined together with others, without a look at each."""
        return self.odds >= SURE


def paired(sides: Sequence[Side]) -> list[Pair]:
    """The likeliest pairs among scans in the order they were made."""
    fronts = [at for at, side in enumerate(sides) if not side.is_back]
    backs = [at for at, side in enumerate(sides) if side.is_back]
    if not fronts or not backs:
        return []
    evidence = _evidence(sides, fronts, backs)
    found = [(_follows(fronts, backs, evidence), ScanOrder.ALTERNATING)]
    before = set(fronts)
    if 2 * sum(back - 1 in before for back in backs) < len(backs):
        found += [(_aligned(evidence), ScanOrder.LAST), (_aligned(evidence, backwards=True), ScanOrder.REVERSED)]
    found.sort(key=lambda each: -each[0][0])
    (best, links), order = found[0]
    lead = best - found[1][0][0] if len(found) > 1 else math.inf
    pairs = []
    for front, back, margin in links:
        one, other = sides[fronts[front]], sides[backs[back]]
        odds = min(margin, lead)
        if order is not ScanOrder.ALTERNATING:
            odds -= _SHIFT
        if not (one.is_clear and other.is_clear) or same_size(one, other) is False:
            odds = min(odds, 0.0)
        pairs.append(
            Pair(fronts[front], backs[back], odds, order, same_size(one, other), same_outline(one, other) is True)
        )
    return sorted(pairs, key=lambda pair: pair.back)


def same_size(one: Side, other: Side) -> bool | None:
    """Whether two scans are of one size, perhaps turned by a quarter; None when that is unknown. Papers are compared
    where both show, otherwise the scans: a scan with its bed is larger than the paper on another."""
    with_bed = one.paper is not None and other.paper is not None
    size, others = (one.paper, other.paper) if with_bed else (one.size, other.size)
    if size is None or others is None:
        return None
    sizes = np.log(np.sort(size)) - np.log(np.sort(others))
    return bool(np.abs(sizes).max() <= SAME_SIZE)


def same_outline(front: Side, back: Side) -> bool | None:
    """Whether the outline of a back is that of the front, mirrored and turned in any way; None when one has none."""
    if front.outline is None or back.outline is None:
        return None
    return bool(max(_correlated(front.outline, way) for way in _mirrored(back.outline)) >= SAME_OUTLINE)


def outline(picture: Image.Image) -> NDArray[np.float32] | None:
    """How far the paper is from the frame of a scan at places along its sides: top, right, bottom, left, clockwise.

    None where no bed shows around the paper, or the paper's edge is straight and so no help.
    """
    small = picture.convert("L").filter(ImageFilter.MedianFilter(3))
    grey = np.asarray(small, dtype=np.float32)
    frame = np.concatenate([grey[0], grey[-1], grey[:, 0], grey[:, -1]])
    bed = float(np.median(frame))
    if np.mean(np.abs(frame - bed) < 12) < 0.7:  # pictures reach the frame
        return None
    paper = np.abs(grey - bed) > 24
    sides = []
    for turned in (paper, np.rot90(paper), np.rot90(paper, 2), np.rot90(paper, 3)):
        first = np.where(turned.any(axis=0), turned.argmax(axis=0), -1).astype(np.float32)
        columns = np.array_split(first, SIDES)
        sides.append([float(np.median(part[part >= 0])) if (part >= 0).any() else -1.0 for part in columns])
    found = np.array(sides, dtype=np.float32)[[0, 3, 2, 1]]  # rot90 turns to the left: the right side comes to the top
    found[found < 0] = np.nan
    found = found - np.nanmedian(found, axis=1, keepdims=True)
    found = np.nan_to_num(found / max(grey.shape), nan=0.0)
    return found.ravel() if float(np.abs(found).max()) > 0.015 else None


def _mirrored(sides: NDArray[np.float32]) -> list[NDArray[np.float32]]:
    """The outline seen from the other side of the paper, in each of the four ways to lay it down."""
    four = sides.reshape(4, SIDES)
    mirrored = four[[0, 3, 2, 1], ::-1]
    return [np.roll(mirrored, quarter, axis=0).ravel() for quarter in range(4)]


def _correlated(one: NDArray[np.float32], other: NDArray[np.float32]) -> float:
    size = float(np.linalg.norm(one) * np.linalg.norm(other))
    return float(one @ other) / size if size else 0.0


def _evidence(sides: Sequence[Side], fronts: list[int], backs: list[int]) -> NDArray[np.float64]:
    """The logarithm of the odds by looks that each back belongs to each front, rows for fronts."""
    total = np.zeros((len(fronts), len(backs)))
    far, with_bed = (_squares([side.size for side in sides], fronts, backs),
                     _squares([side.paper for side in sides], fronts, backs))  # fmt: skip
    far = np.where(np.isnan(with_bed), far, with_bed)
    total += _weighed(_same_paper(far), _MISSED * float(_same_paper(np.zeros(1), narrow=False)[0]))
    with_outline = [at for at, front in enumerate(fronts) if sides[front].outline is not None]
    backs_with = [at for at, back in enumerate(backs) if sides[back].outline is not None]
    if with_outline and backs_with:
        rows = np.array([sides[fronts[at]].outline for at in with_outline])
        rows /= np.linalg.norm(rows, axis=1, keepdims=True)
        best = np.full((len(with_outline), len(backs_with)), -1.0)
        ways = [np.array(way) for way in zip(*(_mirrored(_known(sides[backs[at]])) for at in backs_with), strict=True)]
        for way in ways:
            best = np.maximum(best, rows @ (way / np.linalg.norm(way, axis=1, keepdims=True)).T)
        same = np.full(total.shape, np.nan)
        same[np.ix_(with_outline, backs_with)] = best >= SAME_OUTLINE
        total += _weighed(same)
    return total


def _squares(sizes: Sequence[tuple[float, float] | None], fronts: list[int], backs: list[int]) -> NDArray[np.float64]:
    """The square of how far each front and each back differ in their lengths, NaN where one is unknown."""
    lengths = np.array([np.log(np.sort(size)) if size else (np.nan, np.nan) for size in sizes])
    apart: NDArray[np.float64] = ((lengths[fronts][:, None] - lengths[backs][None]) ** 2).sum(axis=2)
    return apart


def _same_paper(far: NDArray[np.float64], *, narrow: bool = True) -> NDArray[np.float64]:
    """How likely two scans of one print differ this much (its square) in their lengths, 1 for not at all; without
    `narrow` only as far as a scan was cut by hand."""
    (fine, _), _ = _SPREADS
    weights = [(spread, share / spread**2) for spread, share in _SPREADS]
    found = sum(weight * np.exp(-far / (2 * spread**2)) for spread, weight in weights if narrow or spread != fine)
    return np.asarray(found / sum(weight for _, weight in weights), dtype=np.float64)


def _known(side: Side) -> NDArray[np.float32]:
    if side.outline is None:
        raise ValueError("it has no outline")
    return side.outline


def _weighed(alike: NDArray[np.float64], missed: float = _MISSED) -> NDArray[np.float64]:
    """The evidence of a likeness from 0 to 1: how much more of it there is than the fronts on average have for this
    back. One in fifty is measured wrong, and may then look `missed` like any. What is unknown (NaN) is no evidence."""
    known = ~np.isnan(alike)
    chance = np.where(known, (1 - missed) * np.nan_to_num(alike) + missed, 0.0)
    common = chance.sum(axis=0, keepdims=True) / np.maximum(known.sum(axis=0, keepdims=True), 1)
    return np.where(known, np.log(np.where(known, chance, 1.0) / np.where(common > 0, common, 1.0)), 0.0)


def _follows(
    fronts: list[int], backs: list[int], evidence: NDArray[np.float64]
) -> tuple[float, list[tuple[int, int, float]]]:
    """Each back belongs to the front right before it, if it is the first after that. The margin of a pair is the
    evidence of its looks and its place together, less what the next best front near by would have."""
    before = {front: at for at, front in enumerate(fronts)}
    score, links, used = 0.0, [], set()
    for at, back in enumerate(backs):
        front = before.get(back - 1)
        if front is None:
            score += _LOST_BACK
            continue
        used.add(front)
        rivals = [near for near in (front - 1, front + 1) if 0 <= near < len(fronts)]
        instead = max((float(evidence[near, at]) for near in rivals), default=-math.inf)
        follows_again = back + 1 in set(
            backs[at + 1 : at + 2]
        )  # two backs in a row: one is a rescan, or a front was lost
        margin = float(evidence[front, at]) - max(instead, 0.0) + (1.0 if follows_again else 9.0)
        score += float(evidence[front, at])
        links.append((front, at, margin))
    return score + _NO_BACK * (len(fronts) - len(used)), links


def _aligned(evidence: NDArray[np.float64], *, backwards: bool = False) -> tuple[float, list[tuple[int, int, float]]]:
    """The best way to lay the backs beside the fronts in order, with gaps on either side. The margin of a pair is by
    how much the whole is better than the best way without that pair."""
    table = evidence[:, ::-1] if backwards else evidence
    rows, columns = table.shape
    ahead, behind = _best(table), _best(table[::-1, ::-1])[::-1, ::-1]
    best = float(ahead[rows, columns])
    through = ahead[:-1, :-1] + table + behind[1:, 1:]
    links = []
    row = column = 0
    while row < rows and column < columns:
        here = float(behind[row, column])
        if abs(table[row, column] + behind[row + 1, column + 1] - here) < 1e-9:
            links.append((row, columns - 1 - column if backwards else column, _margin(through, row, column, best, ahead,
                                                                                     behind)))  # fmt: skip
            row, column = row + 1, column + 1
        elif abs(_LOST_FRONT + behind[row + 1, column] - here) < 1e-9:
            row += 1
        else:
            column += 1
    return best, links


def _margin(
    through: NDArray[np.float64], row: int, column: int, best: float, ahead: NDArray[np.float64],
    behind: NDArray[np.float64],
) -> float:  # fmt: skip
    """The best of all ways, less the best in which this back is another front's or nobody's."""
    others = np.delete(through[:, column], row)
    nobody = float((ahead[:, column] + _LOST_BACK + behind[:, column + 1]).max())
    return best - max(float(others.max(initial=-math.inf)), nobody)


def _best(table: NDArray[np.float64]) -> NDArray[np.float64]:
    """The best score of the first rows with the first columns, for each number of both."""
    rows, columns = table.shape
    found = np.zeros((rows + 1, columns + 1))
    found[0] = np.arange(columns + 1) * _LOST_BACK
    steps = np.arange(columns + 1) * _LOST_BACK
    for row in range(1, rows + 1):
        ready = np.empty(columns + 1)
        ready[0] = found[row - 1, 0] + _LOST_FRONT
        ready[1:] = np.maximum(found[row - 1, :-1] + table[row - 1], found[row - 1, 1:] + _LOST_FRONT)
        found[row] = np.maximum.accumulate(ready - steps) + steps  # backs without a front, in one go
    return found
