"""How much an answer about one photograph informs about the others in its container, in whole years.

With t the centre and width of the container (`model/containers`), P(t) what all its photographs make of them, and l_j
the likelihood of photograph j,

    P(t, x_j) ~ P(t) l_j(x_j) p(x_j | t) / (sum over x of l_j(x) p(x | t)),

and an answer about photograph i depends on j by t alone: P(a | t) = sum over x_i of P(a | x_i) P(x_i | t). As when
containers are dated, one photograph is not an independent sample of its occasion: P(a | t) / P(a) is raised to

    w = 1 / (1 + (OCCASION - 1) a),    a the mean over t of s^2 / (s^2 + v),

with v what is left of the variance of x_i after the answer. And both may be of one occasion, and so of one time, with
the chance q (`model/containers.same_occasion`). If j is of the year x that has the odds q r(x) to 1 - q, with r(x) =
sum over t of P(t | x_j = x) P(x_i = x | t) / p(x | t), and then P(a | x_i = x) takes the place of P(a | t). The message
of the order in the container is left out here. For frames of one strip of film it is the same, with w = 1 and q = 0: a
film is one occasion or a few.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from functools import cached_property

import numpy as np

from kinphoto.reason.advice.information import information
from kinphoto.reason.dating import Inference
from kinphoto.reason.model.arrays import SMALLEST, Array, Ints
from kinphoto.reason.model.containers import OCCASION, STRAY, WIDTHS, density, same_occasion
from kinphoto.reason.soft import joint_years
from kinphoto.reason.soft.container_messages import Boxes

QUARTERS_FROM = 1500
"""The year in which the numbering of quarter-years begins (`grid.QUARTERS`)."""
SAMPLED = 12
"""Photographs of a container that an answer is followed to; they stand for all of them, as they are spread over all
lengths of the ranges."""
KEPT, POINTS = 0.999, 300
"""The share of P(t) that is kept, and at most how many points."""
INFORMS = 0.02
"""Bits from which on an answer informs about another photograph."""


class LyingTogether:
    """The photographs that are asked about (by number), by the container that they are in."""

    def __init__(
        self, inference: Inference, photographs: Sequence[str], exposures: Sequence[joint_years.YearChances],
        dated: Sequence[bool], *, on_strips: bool = False,
    ) -> None:  # fmt: skip
        """`exposures` are what is known of each; those that are not `dated` have nothing of their own. `on_strips`: the
        strips of film, in place of containers."""
        self.exposures = exposures
        self.occasion = 1.0 if on_strips else OCCASION
        self._many = Counter[int]()
        self._members: dict[int, list[int]] = defaultdict(list)
        self._of: dict[int, int] = {}
        self._given: dict[int, Array] = {}
        incoming = inference.beliefs.incoming
        boxes = inference.beliefs.strips if on_strips else None if incoming is None else incoming.boxes
        self.boxes: Boxes | None = boxes
        if incoming is None or boxes is None:
            return
        self.quarters = boxes.first + np.arange(boxes.years.cells)
        number = {name: c for c, name in enumerate(boxes.names) if name}
        known, groups = inference.lives.known.photographs, inference.groups.of
        if not on_strips:
            self._many.update(number[c] for p in known.values() if (c := p.container or "") in number)
        strips = inference.strip_of
        place = {row: k for k, row in enumerate(incoming.rows.tolist())}
        for i, name in enumerate(photographs):
            lies_in = strips.get(groups.get(name, -1)) if on_strips else number.get(known[name].container or "")
            if lies_in is not None:
                self._of[i] = lies_in
                self._members[lies_in].append(i)
                row = groups[name] if dated[i] else -1
                if row not in place:
                    self._given[i] = np.ones(len(exposures[i].chance))
                else:
                    message = incoming.between(np.array([row]), boxes.first, boxes.years.cells)[0]
                    message = self._by_year(message)[self._at(i)]
                    self._given[i] = exposures[i].chance / np.maximum(message, SMALLEST)

    def others(self, photograph: int) -> list[int]:
        """The others in its container, those with the longest ranges first."""
        found = self._members[self._of[photograph]] if photograph in self._of else []
        return sorted((i for i in found if i != photograph), key=lambda i: -len(self.exposures[i].chance))

    def information(self, photograph: int, answers: Array, others: Sequence[int]) -> tuple[float, int]:
        """The bits that an answer about one (`answers` (years, answers) is P(a | x)) gives about these others in its
        container, and how many of them it informs about."""
        if not others:
            return 0.0, 0
        chosen = [others[k] for k in np.unique(np.linspace(0, len(others) - 1, min(SAMPLED, len(others))).astype(int))]
        message = self._answers_at(photograph, answers)
        bits = []
        for i in chosen:
            bits.append(information(self._joint(i)[0], self._answers_given(i, photograph, answers, message)))
        share = len(others) / len(chosen)
        return sum(bits) * share, round(sum(b >= INFORMS for b in bits) * share)

    def _answers_at(self, photograph: int, answers: Array) -> Array:
        """P(a | t), raised to w: (points, answers)."""
        chance, points = self._joint(photograph)
        odds, widths = self._points(self._of[photograph])[:2]
        by_point = points.T * chance / np.maximum(odds, SMALLEST)[:, None]  # P(x | t)
        overall = np.maximum(chance @ answers, SMALLEST)
        left = chance[:, None] * answers / overall
        at = self.exposures[photograph].at.astype(float)
        variance = float(overall @ np.maximum(at**2 @ left - (at @ left) ** 2, 1 / 12))
        of_years = float(odds @ (widths**2 / (widths**2 + variance)))
        weight = 1 / (1 + (self.occasion - 1) * of_years)
        message = overall * (np.maximum(by_point @ answers, SMALLEST) / overall) ** weight
        return np.asarray(message / message.sum(axis=1, keepdims=True))

    def _answers_given(self, other: int, photograph: int, answers: Array, message: Array) -> Array:
        """P(a | x) of the years x of another: by the container (`message`), or as both are of one time."""
        (_, points), (chance, given) = self._joint(other), self._joint(photograph)
        found = points @ message
        if (many := self._many[self._of[photograph]]) < 2:
            return np.asarray(found)
        odds, _, by_year = self._points(self._of[photograph])
        _, mine, theirs = np.intersect1d(self._at(photograph), self._at(other), return_indices=True)
        here = given[mine] * chance[mine, None] / np.maximum(odds, SMALLEST)  # P(x_i = x | t)
        ratio = (points[theirs] * here / by_year[:, self._at(photograph)[mine]].T).sum(axis=1)
        each = same_occasion(many)
        share = (each * ratio / (1 - each + each * ratio))[:, None]
        found[theirs] = (1 - share) * found[theirs] + share * answers[mine]
        return np.asarray(found)

    def _joint(self, photograph: int) -> tuple[Array, Array]:
        """P(x), and P(t | x) (years, points), of one photograph."""
        if photograph not in self._joints:
            odds, _, by_year = self._points(self._of[photograph])
            both = by_year[:, self._at(photograph)] * self._given[photograph]
            both *= (odds / np.maximum(both.sum(axis=1), SMALLEST))[:, None]
            chance = both.sum(axis=0)
            self._joints[photograph] = chance / chance.sum(), (both / np.maximum(chance, SMALLEST)).T
        return self._joints[photograph]

    @cached_property
    def _joints(self) -> dict[int, tuple[Array, Array]]:
        return {}

    def _points(self, container: int) -> tuple[Array, Array, Array]:
        """P(t), the width and the density by year of the points that matter in a container."""
        if container not in self._known:
            assert self.boxes is not None
            widths, by_year, first = self._densities
            log = self.boxes.log[container].astype(float)
            chance = np.add.reduceat(np.exp(log - log.max()), first)
            chance /= chance.sum()
            best = np.argsort(-chance)[:POINTS]
            best = best[: int(np.searchsorted(np.cumsum(chance[best]), KEPT)) + 1]
            odds = chance[best] / chance[best].sum()
            rate = self._by_year(self.boxes.rate[container])
            self._known[container] = odds, widths[best], (1 - STRAY) * by_year[best] + STRAY * rate
        return self._known[container]

    @cached_property
    def _known(self) -> dict[int, tuple[Array, Array, Array]]:
        return {}

    @cached_property
    def _densities(self) -> tuple[Array, Array, Ints]:
        """Of all points the width, and the density by year; where centres are less than a year apart, those of one year
        are taken together, and the last array has the first of each."""
        assert self.boxes is not None
        widths, tables, first, before = [], [], [], 0
        for width, s in zip(self.boxes.years.widths, WIDTHS, strict=True):
            table = self._by_year(density(width, self.boxes.years.cells))
            starts = np.arange(0, len(table), max(1, 4 // width.stride))
            many = np.diff(starts, append=len(table))
            tables.append(np.add.reduceat(table, starts) / many[:, None])
            widths.append(np.full(len(starts), s))
            first.append(before + starts)
            before += len(table)
        return np.concatenate(widths), np.concatenate(tables), np.concatenate(first)

    def _by_year(self, by_quarter: Array) -> Array:
        """The last axis summed over quarter-years, on all years of the tables."""
        years = self.quarters // 4 + QUARTERS_FROM - joint_years.FIRST
        first = np.flatnonzero(np.diff(years, prepend=years[0] - 1))
        found = np.full((*by_quarter.shape[:-1], len(joint_years.MIDDLES)), SMALLEST)
        found[..., years[first]] += np.add.reduceat(by_quarter, first, axis=-1)
        return found

    def _at(self, photograph: int) -> Array:
        return np.asarray(self.exposures[photograph].at)
