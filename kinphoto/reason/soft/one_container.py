"""Only for speed: one container by itself, from what was kept of it when everything was dated.

A change of one photograph moves the others of its container too. Their likelihoods of its parameters (`containers`) do
not change, so what these follow from is kept: the likelihood of each by quarter-year, what their errors have in common,
the density around the container and what is expected of its width. With the new likelihood of the changed photograph in
place of the old one, the messages to everything in it are worked out as in `containers`, for this container alone. Its
messages to other containers, the archive's rate and the widths of others is left until everything is dated again.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
from scipy import sparse

from kinphoto.reason.model.arrays import Array, Ints, ranges, starts
from kinphoto.reason.model.subjects import Arrangement
from kinphoto.reason.model.themes import box_of
from kinphoto.reason.soft.container_messages import ContainerMessages, in_steps
from kinphoto.reason.soft.containers import Lying, Trees
from kinphoto.reason.soft.grid import Grid
from kinphoto.reason.soft.own_likelihoods import SMALLEST, NamedTable, OwnLikelihoods, tables_of
from kinphoto.reason.soft.summary import days, summaries
from kinphoto.reason.soft.years import Years

LEAST_LOG = -60.0
"""The least logarithm of a density that is kept; the greatest is 0."""
UNLIKELY = 30.0
"""Centres and widths of a container are left out that are less likely than the likeliest by this (logarithm). With one
photograph left out they may be likelier, by about 20 at most, as any may be a stray."""
MANY, CHANGES = 100, 100.0
"""Of a container of more photographs than this is kept which centres and widths may become likely by changes: those
that are less likely by what is left out and this (logarithm), or five times what one may make of them."""
STILL = 1e-3
"""By how much the message to a photograph must move its posterior (total variation) for its date to be read again: days
in a range of ten years."""


def each_by_itself(trees: Trees, first: int, members: Sequence[tuple[str, ...]]) -> dict[str, bytes]:
    """Each container with several photographs, packed, by its id, and behind it the themes in it that have several;
    `members` are those of each row of `Groups`."""
    lying, found = trees.lying, defaultdict[str, bytes](bytes)
    number = np.full(len(lying.of), -1) if lying.number is None else lying.number
    order = np.argsort(lying.of, kind="stable")
    ends = np.searchsorted(lying.of[order], np.arange(len(lying.parent) + 1))
    tables = tables_of(trees.sharing.take(order), ends)
    for i, (name, of) in enumerate(zip(lying.names, tables, strict=True)):
        rows = order[ends[i] : ends[i + 1]]
        if name and len(rows) > 1:
            photographs = tuple(members[row] for row in lying.rows[rows].tolist())
            there = OwnLikelihoods(photographs, first, trees.likelihood[rows], *of)
            kept = OneContainer(
                there, lying.position[rows], trees.tail[i], trees.around[i], trees.widths[i], lying.said.get(i),
                number[rows], _possible(trees.before[i] + trees.evidence[i], len(rows)),
            )  # fmt: skip
            found[box_of(name)] += kept.packed()
    return dict(found)


def with_themes_apart(kept: bytes) -> Iterator[tuple[frozenset[str], bytes]]:
    """What was kept of a container: its own photographs (ids) and those of each theme in it, each with what is packed
    of these alone."""
    while kept:
        head, at = _head(kept)
        end = at + sum(size * np.dtype(kind).itemsize for size, kind in zip(head["sizes"], _KINDS, strict=True))
        yield frozenset(p for some in head["photographs"] for p in some), kept[:end]
        kept = kept[end:]


def message_without_number(kept: bytes, photograph: str) -> bytes | None:
    """The message of a container (as it was kept) to a photograph (id) without the number of that; None where it is not
    in there, or no number of it counts."""
    for there, part in with_themes_apart(kept):
        if photograph in there:
            one = OneContainer.unpacked(part)
            row = one.own.row_of[photograph]
            if one.number[row] < 0:
                return None
            messages = one.without_numbers([photograph]).messages()
            return next(messages.packed(np.array([row], dtype=np.int64)))
    return None


@dataclass(frozen=True)
class OneContainer:
    """One container: the likelihoods of its photographs, the place of each, the archive's rate and the density around
    it on the same quarter-years, what is expected of its width, what was said of its order, the number of each
    photograph (-1: none), and which centres and widths are not next to impossible (none of them: all)."""

    own: OwnLikelihoods
    position: Ints
    rate: Array
    around: Array
    widths: Array
    arrangement: Arrangement | None
    number: Ints
    possible: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))

    def changed(self, by: OwnLikelihoods, position: Mapping[str, int], gone: Collection[str]) -> OneContainer:
        """The same with other likelihoods of these photographs (all of them are here, at these places), and without
        others (`gone`)."""
        other, known = by.row_of.keys() | set(gone), self.own.row_of
        stay = np.array([i for i, some in enumerate(self.own.photographs) if other.isdisjoint(some)], dtype=np.int64)
        at = np.array([known.get(some[0], len(known)) for some in by.photographs], dtype=np.int64)
        order = np.argsort(np.concatenate([stay, at]), kind="stable")  # as they lay, if nobody said where
        places = np.array([position[some[0]] for some in by.photographs], dtype=np.int64)
        return replace(
            self, own=self.own.take(stay).with_rows(by).take(order),
            position=np.concatenate([self.position[stay], places])[order],
            number=np.concatenate([self.number, [-1]])[np.concatenate([stay, at])][order],  # of a new one nobody knows
        )  # fmt: skip

    def without_numbers(self, photographs: Collection[str]) -> OneContainer:
        """The same without the numbers of these photographs."""
        row_of = self.own.row_of
        number = self.number.copy()
        number[[row_of[p] for p in photographs if p in row_of]] = -1
        return replace(self, number=number)

    def messages(self) -> ContainerMessages:
        """The message to each row now."""
        many = len(self.position)
        lying = Lying(
            np.arange(many), np.ones(many, dtype=np.int64), self.position, np.array([-1, -1]), np.array([0, 1]),
            ("", ""), {} if self.arrangement is None else {1: self.arrangement}, self.number,
        )  # fmt: skip
        trees = Trees(lying, self.own.likelihood, np.stack([self.rate, self.rate]), self.own.sharing())
        if len(self.possible):
            _keep(trees, self.possible)
        trees.keep_log_e()
        trees.gather(np.arange(many))
        trees.lies(1, self.around, self.widths)
        _leave_out(trees, UNLIKELY)
        steps = np.zeros(self.own.likelihood.shape, dtype=np.uint8)
        for part, messages in trees.messages():
            steps[part] = in_steps(messages)
        return ContainerMessages(lying.rows, self.own.first, steps)

    def moved(self, then: ContainerMessages, now: ContainerMessages) -> Ints:
        """The rows whose message changed, but for those whose posterior that hardly moves (`STILL`)."""
        begin, end = _inside(self.own.likelihood)
        here = slice(int(begin.min()), int(end.max()))  # beyond, nobody can be
        like, first = self.own.likelihood[:, here], self.own.first + here.start
        rows, cells = np.arange(len(like)), like.shape[1]
        before, after = (like * messages.between(rows, first, cells) for messages in (then, now))
        for mass in (before, after):
            mass /= mass.sum(axis=1, keepdims=True)
        return np.flatnonzero(np.abs(after - before).sum(axis=1) / 2 > STILL)

    # --- as bytes -------------------------------------------------------------------------------------------------

    def packed(self) -> bytes:
        """All of it in some dozen bytes a photograph: a line of JSON, and numbers."""
        begin, end = _inside(self.own.likelihood)
        top = self.own.likelihood.max(axis=1, keepdims=True)
        within = np.repeat(np.arange(len(begin)), end - begin), ranges(begin, end - begin)
        tables = (self.own.births, self.own.loads, self.own.strips)
        parts = [
            begin, end, self.own.likelihood[within] / top[within[0], 0], self.position, _log(self.rate),
            _log(self.around), self.widths, self.own.loads.table.data,
        ]  # fmt: skip
        parts += (part for of in tables for part in (of.table.indptr, of.table.indices))
        parts = [np.asarray(values).astype(kind) for values, kind in zip(parts, _KINDS, strict=True)]
        head = {
            "photographs": self.own.photographs, "first": self.own.first, "arrangement": self.arrangement,
            "names": [of.names for of in tables], "sizes": [len(part) for part in parts],
            "numbers": self.number.tolist() if np.any(self.number >= 0) else [], "possible": self.possible.tolist(),
        }  # fmt: skip
        line = json.dumps(head, separators=(",", ":")).encode()
        return b"".join([len(line).to_bytes(4, "big"), line, *(part.tobytes() for part in parts)])

    @classmethod
    def unpacked(cls, kept: bytes) -> OneContainer:
        """From `packed`."""
        head, parts = _read(kept)
        begin, _, _, position, rate, around, widths = parts[:7]
        like = _likelihood(parts, np.arange(len(begin)), len(rate))
        tables = [_table(parts, k, names) for k, names in enumerate(head["names"])]
        photographs = tuple(tuple(some) for some in head["photographs"])
        arrangement = None if head["arrangement"] is None else Arrangement(head["arrangement"])
        return cls(
            OwnLikelihoods(photographs, head["first"], like, *tables), position.astype(np.int64), _density(rate),
            _density(around), widths.astype(float), arrangement,
            np.array(head.get("numbers") or [-1] * len(begin), dtype=np.int64),
            np.array(head.get("possible", ()), dtype=np.int64),
        )  # fmt: skip


def moved_by(kept: bytes, by: OwnLikelihoods, gone: Collection[str]) -> float:
    """By how much these likelihoods move the messages to the others of a container (packed): the total variation of
    their likelihoods, or what errors in common make of their weights. 1 where one is new, or one of them is `gone`."""
    head, parts = _read(kept)
    row_of = {p: i for i, some in enumerate(head["photographs"]) for p in some}
    rows = np.array([row_of.get(some[0], -1) for some in by.photographs], dtype=np.int64)
    if np.any(rows < 0) or not row_of.keys().isdisjoint(gone):
        return 1.0
    likelihood = _likelihood(parts, rows, len(parts[4]))
    moved = np.abs(by.on(head["first"], likelihood.shape[1]) - likelihood).sum(axis=1) / 2
    then = _table(parts, 1, head["names"][1])
    together = dict(zip(then.names, then.table.sum(axis=0).tolist(), strict=False))
    weights = np.abs(by.loads.weights(together) - then.take(rows).weights(together))
    return float(np.maximum(moved, weights).max(initial=0.0))


@lru_cache(maxsize=2)  # asked whether a container is moved at all, and then worked out
def _read(kept: bytes) -> tuple[dict[str, Any], list[Array]]:
    """The line of JSON in front, and the numbers of each kind that follow."""
    head, at = _head(kept)
    parts = list[Array]()
    for size, kind in zip(head["sizes"], _KINDS, strict=True):
        parts.append(np.frombuffer(kept, kind, size, at))
        at += parts[-1].nbytes
    return head, parts


@lru_cache(maxsize=2)
def _head(kept: bytes) -> tuple[dict[str, Any], int]:
    """The line of JSON in front, and where the numbers begin."""
    at = 4 + int.from_bytes(kept[:4], "big")
    return json.loads(kept[4:at]), at


def _table(parts: Sequence[Array], k: int, names: Sequence[str]) -> NamedTable:
    """The table of births (0), loads (1) or strips (2)."""
    start, index = parts[8 + 2 * k : 10 + 2 * k]
    data = parts[7].astype(np.float32) if k == 1 else np.ones(len(index), dtype=np.float32)
    return NamedTable(sparse.csr_array((data, index, start), (len(start) - 1, max(len(names), 1))), tuple(names))


def _likelihood(parts: Sequence[Array], rows: Ints, cells: int) -> Array:
    """The likelihoods of these rows, adding up to 1, from what is packed."""
    begin, end, mass = parts[:3]
    sizes = end.astype(np.int64) - begin
    found = np.zeros((len(rows), cells), dtype=np.float32)
    at = np.repeat(np.arange(len(rows)), sizes[rows]), ranges(begin[rows].astype(np.int64), sizes[rows])
    found[at] = mass[ranges(starts(sizes)[rows], sizes[rows])]
    return np.asarray(found / found.sum(axis=1, keepdims=True))


_KINDS = (
    np.uint16, np.uint16, np.float16, np.int32, np.float16, np.float16, np.float32, np.float16,
    np.int32, np.int32, np.int32, np.int32, np.int32, np.int32,
)  # fmt: skip
"""The kinds of numbers of what is packed, in their order."""


class _Points(Years):
    """Some of the points of others alone."""

    def __init__(self, years: Years, chosen: Ints) -> None:
        self.every: Years = years.every if isinstance(years, _Points) else years
        self.chosen: Ints = years.chosen[chosen] if isinstance(years, _Points) else chosen
        self.cells, self.points = years.cells, len(chosen)
        these = np.zeros((self.points, self.every.points), dtype=np.float32)
        these[np.arange(self.points), self.chosen] = 1.0
        self.bells = self.every.spread(these)

    def at_points(self, values: Array) -> Array:
        return np.asarray(self.every.at_points(values)[..., self.chosen])

    def by_width(self, chance: Array) -> Array:
        found = np.zeros((len(chance), self.every.points), dtype=chance.dtype)
        found[:, self.chosen] = chance
        return np.asarray(self.every.by_width(found))

    def prior(self, rate: Array) -> Array:
        return np.asarray(self.every.prior(rate)[:, self.chosen])

    def seen(self, likelihood: Array) -> Array:
        return np.asarray(likelihood @ self.bells.T)

    def spread(self, weight: Array) -> Array:
        return np.asarray(weight @ self.bells)


def _keep(trees: Trees, chosen: Ints) -> None:
    """Go on with these points alone."""
    trees.years = _Points(trees.years, chosen)
    trees.prior, trees.before, trees.evidence = (of[:, chosen] for of in (trees.prior, trees.before, trees.evidence))
    trees.log_e = None if trees.log_e is None else trees.log_e[:, chosen]


def _leave_out(trees: Trees, by: float) -> None:
    """Go on without the points of the one container that are so much less likely than the likeliest (logarithm)."""
    _keep(trees, _likely(trees.before[1] + trees.evidence[1], by))


def _likely(log: Array, by: float) -> Ints:
    return np.flatnonzero(log > log.max() - by)


def _possible(log: Array, photographs: int) -> Ints:
    """The points to go on with when photographs of a container are changed; none of them where few are to be looked at
    anyway."""
    return _likely(log, UNLIKELY + CHANGES) if photographs > MANY else np.zeros(0, dtype=np.int64)


def _inside(mass: Array) -> tuple[Ints, Ints]:
    """Where what counts of each row begins and ends."""
    keep = mass > SMALLEST * mass.max(axis=1, keepdims=True)
    return keep.argmax(axis=1), mass.shape[1] - keep[:, ::-1].argmax(axis=1)


def _log(density: Array) -> Array:
    return np.asarray(np.log(np.maximum(density / density.max(), SMALLEST)))


def _density(log: Array) -> Array:
    found = np.exp(log.astype(np.float32))
    return np.asarray(found / found.sum())


def packed_alone(cells: Grid, mass: Array, messages: Array) -> Iterator[bytes]:
    """Each row of posteriors without its message (`messages`, logarithms), in four bytes a cell: edges in days, and the
    logarithm of the density."""
    log = np.log(np.maximum(mass, 1e-300) / cells.width) - messages
    log = np.maximum(log - np.repeat(cells.per_row(log, np.maximum), cells.sizes), LEAST_LOG).astype("<f2")
    first = np.rint(cells.left[cells.start[:-1]]).astype("<i4")
    edges = np.clip(np.rint(cells.right) - np.repeat(first, cells.sizes), 0, 65_535).astype("<u2")
    start, edge, level = first.tobytes(), edges.tobytes(), log.tobytes()  # bytes are cut apart faster than arrays
    for i, (begin, end) in enumerate(pairwise(cells.start.tolist())):
        yield start[4 * i : 4 * i + 4] + edge[2 * begin : 2 * end] + level[2 * begin : 2 * end]


def dates_from(alone: Sequence[bytes], rows: Ints, messages: ContainerMessages) -> list[tuple[int, int, int]]:
    """Best date, first and last day of the likely range, from `packed_alone` and the messages to these rows."""
    if not alone:
        return []
    sizes = np.array([len(one) // 4 - 1 for one in alone], dtype=np.int64)
    first = np.array([int.from_bytes(one[:4], "little") for one in alone], dtype=np.int64)
    edges = np.concatenate([np.frombuffer(one, "<u2", n, 4) for one, n in zip(alone, sizes.tolist(), strict=True)])
    log = np.concatenate(
        [np.frombuffer(one, "<f2", n, 4 + 2 * n) for one, n in zip(alone, sizes.tolist(), strict=True)]
    )
    row, right = np.repeat(np.arange(len(alone)), sizes), edges + np.repeat(first, sizes).astype(float)
    begin = starts(sizes)[:-1]
    left = np.concatenate([right[:1], right[:-1]])
    left[begin] = first
    some = np.flatnonzero(right > left)
    cells = Grid(starts(np.bincount(row[some], minlength=len(alone))), left[some], right[some])
    middle, start, end = summaries(cells, cells.masses(log[some].astype(float) + messages.on(rows, cells)))
    return [
        (int(best), *days(*ends)) for best, *ends in zip(middle.tolist(), start.tolist(), end.tolist(), strict=True)
    ]
