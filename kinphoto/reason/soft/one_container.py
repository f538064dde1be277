"""Only for speed: one container by itself, from what was kept of it when everything was dated.

A change of one photograph moves the others of its container too. What these told of the container (`containers`) did
not change, so it is kept: the likelihood of each by quarter-year, what their errors have in common, the density around the
container and what is expected of its width. With the new likelihood of the changed photograph in place of the old one,
what everybody in it hears is worked out as in `containers`, for this container alone. What its change tells other
containers, the archive's rate and the widths of others is left until everything is dated again.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy import sparse

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Array, Ints, ranges, starts
from kinphoto.reason.soft.common_errors import Sharing
from kinphoto.reason.soft.containers import Heard, Lying, Trees, in_steps
from kinphoto.reason.soft.grid import QUARTERS, Grid
from kinphoto.reason.soft.summary import summaries

SMALLEST = 1e-6
"""Quarter-years with less than this share of the likeliest one of a row are not kept: they tell nothing."""
STILL = 1e-3
"""By how much what a photograph hears must move its posterior (total variation) for its date to be read again: days in
a range of ten years."""
JUDGE, BIRTH, REST = "judge", "birth", "rest"
"""Kinds of what errors have in common: columns of loadings in this order."""
Column = tuple[str, str]
"""What a column is of: its kind, and a name."""


@dataclass(frozen=True)
class Said:
    """What photographs tell by themselves, a row each: the photographs (ids) of one exposure, the likelihood of each
    quarter-year from `first` on (adding up to 1), and how much their errors load on what: by column, of the vague
    births and of everything (`Sharing`). `strips` has the strip of film of each row that is a frame."""

    photographs: tuple[tuple[str, ...], ...]
    first: int
    likelihood: Array
    births: Sequence[frozenset[str]]
    loads: Sequence[Mapping[Column, float]]
    strips: Mapping[int, int]

    @cached_property
    def row_of(self) -> dict[str, int]:
        """The row of each photograph."""
        return {p: i for i, some in enumerate(self.photographs) for p in some}

    def on(self, first: int, cells: int) -> Array:
        """The likelihood on so many quarter-years from another one on."""
        found = np.zeros((len(self.likelihood), cells), dtype=np.float32)
        begin, end = max(first, self.first), min(first + cells, self.first + self.likelihood.shape[1])
        if begin < end:
            found[:, begin - first : end - first] = self.likelihood[:, begin - self.first : end - self.first]
        return np.asarray(found / np.maximum(found.sum(axis=1, keepdims=True), SMALLEST))

    def take(self, rows: Sequence[int]) -> Said:
        """These rows alone."""
        strips = {k: self.strips[i] for k, i in enumerate(rows) if i in self.strips}
        return Said(
            tuple(self.photographs[i] for i in rows), self.first, self.likelihood[list(rows)],
            [self.births[i] for i in rows], [self.loads[i] for i in rows], strips,
        )  # fmt: skip


def columns_of(sharing: Sharing) -> list[Column]:
    """What the columns of loadings are of."""
    people = set(sharing.people)
    return [
        (JUDGE if k < sharing.judges else BIRTH if name in people else REST, name)
        for k, name in enumerate(sharing.names)
    ]


def said(
    photographs: Sequence[tuple[str, ...]], first: int, likelihood: Array, sharing: Sharing, columns: Sequence[Column]
) -> Said:
    """What these rows tell, with names for the columns of what they share."""
    births = [frozenset(sharing.people[k] for k in row) for row in _columns(sharing.births)]
    loads = sharing.loads
    each = [
        {columns[k]: float(loads.data[at]) for at, k in enumerate(loads.indices[begin:end].tolist(), begin)}
        for begin, end in zip(loads.indptr[:-1].tolist(), loads.indptr[1:].tolist(), strict=True)
    ]
    strips = {} if sharing.strips is None else {i: row[0] for i, row in enumerate(_columns(sharing.strips)) if row}
    return Said(tuple(photographs), first, likelihood, births, each, strips)


def _columns(of: sparse.csr_array) -> list[list[int]]:
    return [of.indices[a:b].tolist() for a, b in zip(of.indptr[:-1], of.indptr[1:], strict=True)]


def each_by_itself(trees: Trees, first: int, members: Sequence[tuple[str, ...]]) -> dict[str, bytes]:
    """Each container with several photographs, packed, by its id; `members` are those of each row of `Groups`."""
    lying, columns, found = trees.lying, columns_of(trees.sharing), {}
    order = np.argsort(lying.of, kind="stable")
    ends = np.searchsorted(lying.of[order], np.arange(len(lying.parent) + 1))
    for i, name in enumerate(lying.names):
        rows = order[ends[i] : ends[i + 1]]
        if name and len(rows) > 1:
            sharing = trees.sharing.take(rows)
            photographs = [members[row] for row in lying.rows[rows].tolist()]
            there = said(photographs, first, trees.likelihood[rows], sharing, columns)
            kept = OneContainer(
                there, lying.position[rows], trees.tail[i], trees.around[i], trees.widths[i], lying.said.get(i)
            )
            found[name] = kept.packed()
    return found


@dataclass(frozen=True)
class OneContainer:
    """One container: what its photographs say, where each lies, the archive's rate and the density around it on the
    same quarter-years, what is expected of its width, and what was said of its order."""

    said: Said
    position: Ints
    rate: Array
    around: Array
    widths: Array
    arrangement: ev.Arrangement | None = None

    def changed(
        self, by: Said, position: Mapping[str, int], gone: Collection[str], least: float
    ) -> OneContainer | None:
        """The same where these photographs say something else (all of them lie here, at these places), and others
        (`gone`) nothing any more; None where no likelihood is moved by more than `least` (total variation)."""
        likelihood = by.on(self.said.first, len(self.rate))
        other = by.row_of.keys() | set(gone)
        stay = [i for i, some in enumerate(self.said.photographs) if other.isdisjoint(some)]
        if len(stay) + len(by.photographs) == len(self.said.photographs):
            at = [self.said.row_of.get(some[0], -1) for some in by.photographs]
            before = self.said.likelihood[np.array(at, dtype=np.int64)]
            if min(at, default=0) >= 0 and np.abs(likelihood - before).sum(axis=1).max(initial=0) / 2 <= least:
                return None
        kept = self.said.take(stay)
        together = Said(
            (*kept.photographs, *by.photographs), self.said.first, np.concatenate([kept.likelihood, likelihood]),
            [*kept.births, *by.births], [*kept.loads, *by.loads], kept.strips,
        )  # fmt: skip
        places = np.array([position[some[0]] for some in by.photographs], dtype=np.int64)
        return replace(self, said=together, position=np.concatenate([self.position[stay], places]))

    def heard(self) -> Heard:
        """What each row hears now."""
        many = len(self.position)
        lying = Lying(
            np.arange(many), np.ones(many, dtype=np.int64), self.position, np.array([-1, -1]), np.array([0, 1]),
            ("", ""), {} if self.arrangement is None else {1: self.arrangement},
        )  # fmt: skip
        trees = _Alone(lying, self.said.likelihood, np.stack([self.rate, self.rate]), _sharing(self.said))
        trees.gather(np.arange(many))
        trees.lies(1, self.around, self.widths)
        steps = np.zeros(self.said.likelihood.shape, dtype=np.uint8)
        for part, told in trees.messages():
            steps[part] = in_steps(told)
        return Heard(lying.rows, self.said.first, steps)

    def moved(self, then: Heard, now: Heard) -> dict[int, tuple[int, ...]]:
        """By how many days the best date, and start and end of the likely range, of each row move when it hears
        something else; without those that this moves next to nothing (`STILL`)."""
        like, first = self.said.likelihood, self.said.first
        rows, cells = np.arange(len(like)), like.shape[1]
        before, after = (like * heard.between(rows, first, cells) for heard in (then, now))
        for mass in (before, after):
            mass /= mass.sum(axis=1, keepdims=True)
        some = np.flatnonzero(np.abs(after - before).sum(axis=1) / 2 > STILL)
        if not len(some):
            return {}
        days = np.array(_summaries(after[some], first)) - np.array(_summaries(before[some], first))
        return dict(zip(some.tolist(), map(tuple, days.T.round().astype(int).tolist()), strict=True))

    # --- as bytes -------------------------------------------------------------------------------------------------

    def packed(self) -> bytes:
        """All of it in some dozen bytes a photograph: a line of JSON, and numbers."""
        like = self.said.likelihood
        keep = like > SMALLEST * like.max(axis=1, keepdims=True)
        begin, end = keep.argmax(axis=1), like.shape[1] - keep[:, ::-1].argmax(axis=1)
        at = ranges(begin, end - begin)
        row = np.repeat(np.arange(len(like)), end - begin)
        top = like.max(axis=1)
        columns = sorted({name for some in self.said.loads for name in some})
        number = {name: i for i, name in enumerate(columns)}
        people = sorted({name for some in self.said.births for name in some})
        person = {name: i for i, name in enumerate(people)}
        used = [sorted(number[name] for name in some) for some in self.said.loads]
        names = {
            "photographs": self.said.photographs, "columns": columns, "people": people,
            "births": [sorted(person[name] for name in some) for some in self.said.births],
            "loads": used,
            "strips": list(self.said.strips.items()), "first": self.said.first, "arrangement": self.arrangement,
        }  # fmt: skip
        loads = [some[columns[k]] for some, of in zip(self.said.loads, used, strict=True) for k in of]
        numbers = (
            (begin, np.uint16), (end, np.uint16), (like[row, at] / top[row], np.float16), (self.position, np.int32),
            (loads, np.float16), (_log(self.rate), np.float16), (_log(self.around), np.float16),
            (self.widths, np.float32),
        )  # fmt: skip
        parts = [np.asarray(values).astype(kind) for values, kind in numbers]
        head = json.dumps(names | {"sizes": [len(part) for part in parts]}, separators=(",", ":")).encode()
        return b"".join([len(head).to_bytes(4, "big"), head, *(part.tobytes() for part in parts)])

    @classmethod
    def unpacked(cls, kept: bytes) -> OneContainer:
        """From `packed`."""
        at = 4 + int.from_bytes(kept[:4], "big")
        names, parts = json.loads(kept[4:at]), []
        kinds = (np.uint16, np.uint16, np.float16, np.int32, np.float16, np.float16, np.float16, np.float32)
        for size, kind in zip(names["sizes"], kinds, strict=True):
            parts.append(np.frombuffer(kept, kind, size, at))
            at += parts[-1].nbytes
        begin, end, mass, position, loads, rate, around, widths = parts
        sizes = end.astype(np.int64) - begin
        like = np.zeros((len(begin), len(rate)), dtype=np.float32)
        like[np.repeat(np.arange(len(begin)), sizes), ranges(begin.astype(np.int64), sizes)] = mass
        like /= like.sum(axis=1, keepdims=True)
        columns = [(kind, name) for kind, name in names["columns"]]
        from_ = starts(np.array([len(of) for of in names["loads"]], dtype=np.int64)).tolist()
        value = loads.astype(float).tolist()
        each = [
            {columns[k]: value[j] for j, k in enumerate(of, begin)}
            for of, begin in zip(names["loads"], from_[:-1], strict=True)
        ]
        found = Said(
            tuple(tuple(some) for some in names["photographs"]), names["first"], like,
            [frozenset(names["people"][k] for k in of) for of in names["births"]], each,
            dict(names["strips"]),
        )  # fmt: skip
        arrangement = None if names["arrangement"] is None else ev.Arrangement(names["arrangement"])
        return cls(
            found, position.astype(np.int64), _density(rate), _density(around), widths.astype(float), arrangement
        )


class _Alone(Trees):
    """One container, in which what each photograph tells is asked for twice and worked out once."""

    _told: Array | None = None

    def _log(self, likelihood: Array, tail: Array) -> Array:
        if self._told is None or len(self._told) != len(likelihood):
            self._told = super()._log(likelihood, tail)
        return self._told.copy()


def _summaries(mass: Array, first: int) -> tuple[Array, Array, Array]:
    """Median, and start and end of the likely range, of each row."""
    keep = mass > SMALLEST * mass.max(axis=1, keepdims=True)
    begin, end = keep.argmax(axis=1), mass.shape[1] - keep[:, ::-1].argmax(axis=1)
    at, sizes = ranges(begin, end - begin), end - begin
    cells = Grid(starts(sizes), QUARTERS[first + at], QUARTERS[first + at + 1])
    inside = mass[np.repeat(np.arange(len(mass)), sizes), at].astype(float)
    return summaries(cells, inside / np.repeat(cells.per_row(inside), sizes))


def _log(density: Array) -> Array:
    return np.asarray(np.log(np.maximum(density / density.max(), SMALLEST)))


def _density(log: Array) -> Array:
    found = np.exp(log.astype(np.float32))
    return np.asarray(found / found.sum())


def _sharing(of: Said) -> Sharing:
    """What the rows share, as arrays: judges first, and then births."""
    rank = {JUDGE: 0, BIRTH: 1, REST: 2}
    columns = sorted({name for some in of.loads for name in some}, key=lambda one: (rank[one[0]], one[1]))
    people = sorted({name for some in of.births for name in some})
    number, person = {name: i for i, name in enumerate(columns)}, {name: i for i, name in enumerate(people)}
    births = _array([[(person[name], 1.0) for name in some] for some in of.births], len(people))
    loads = _array([[(number[name], load) for name, load in some.items()] for some in of.loads], len(columns))
    strips = None
    if of.strips:
        strips = _array([[(of.strips[i], 1.0)] if i in of.strips else [] for i in range(len(of.births))],
                        max(of.strips.values()) + 1)  # fmt: skip
    return Sharing(births, loads, strips, sum(kind == JUDGE for kind, _ in columns))


def _array(rows: Sequence[Sequence[tuple[int, float]]], columns: int) -> sparse.csr_array:
    start = starts(np.array([len(row) for row in rows], dtype=np.int64))
    entries = [one for row in rows for one in row]
    index, value = (
        np.array([k for k, _ in entries], dtype=np.int64),
        np.array([v for _, v in entries], dtype=np.float32),
    )
    return sparse.csr_array((value, index, start), (len(rows), max(columns, 1)))
