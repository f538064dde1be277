"""The likelihoods of photographs by themselves and by births, a row each, as they are kept of a container
(`one_container`)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from scipy import sparse

from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.soft.common_errors import JUDGE, Sharing

SMALLEST = 1e-6
"""Quarter-years with less than this share of the likeliest one of a row are not kept: they change nothing."""


@dataclass(frozen=True)
class NamedTable:
    """A sparse table, a row for each photograph, with the name of each column."""

    table: sparse.csr_array
    names: tuple[str, ...]

    @classmethod
    def of(cls, table: sparse.csr_array, names: Sequence[str] | range) -> NamedTable:
        """Only the columns that have something in them; their numbers serve as names too."""
        return next(cls.of_parts(table, names, np.array([0, table.shape[0]])))

    @classmethod
    def of_parts(cls, table: sparse.csr_array, names: Sequence[str] | range, ends: Ints) -> Iterator[NamedTable]:
        """As `of`, of the rows from each of these `ends` to the next."""
        part = np.repeat(np.arange(len(ends) - 1), np.diff(table.indptr[ends]))
        used, index = np.unique(part * table.shape[1] + table.indices, return_inverse=True)
        first, column = np.searchsorted(used, np.arange(len(ends)) * table.shape[1]), (used % table.shape[1]).tolist()
        for (begin, end), (low, high) in zip(pairwise(ends.tolist()), pairwise(first.tolist()), strict=True):
            start = table.indptr[begin : end + 1]
            here, shape = slice(start[0], start[-1]), (end - begin, max(high - low, 1))
            some = sparse.csr_array((table.data[here], index[here] - low, start - start[0]), shape)
            yield cls(some, tuple(str(names[k]) for k in column[low:high]))

    def take(self, rows: Ints) -> NamedTable:
        """These rows alone."""
        return NamedTable(self.table[rows], self.names)

    def weights(self, together: Mapping[str, float]) -> Array:
        """What each row counts for in a container whose loads add up to these by name: 1 / (1 + the sum of c_jk)."""
        others = np.array([together.get(name, 0.0) for name in self.names] or [0.0])
        return np.asarray(1 / (1 + self.table @ others))

    def with_rows(self, other: NamedTable) -> NamedTable:
        """The same, with the rows of another one behind its own."""
        number = {name: i for i, name in enumerate(dict.fromkeys((*self.names, *other.names)))}
        index = np.array([number[name] for name in other.names], dtype=np.int64)[other.table.indices]
        start = np.concatenate([self.table.indptr, self.table.indptr[-1] + other.table.indptr[1:]])
        data, indices = np.concatenate([self.table.data, other.table.data]), np.concatenate([self.table.indices, index])
        shape = self.table.shape[0] + other.table.shape[0], max(len(number), 1)
        return NamedTable(sparse.csr_array((data, indices, start), shape), tuple(number))


@dataclass(frozen=True)
class OwnLikelihoods:
    """The likelihoods of photographs by themselves, a row each: the photographs (ids) of one exposure, the likelihood
    of each quarter-year from `first` on (adding up to 1), who with a vague birth is in them, how much their errors load
    on judges and births, and which are frames of one strip of film (`Sharing`)."""

    photographs: tuple[tuple[str, ...], ...]
    first: int
    likelihood: Array
    births: NamedTable
    loads: NamedTable
    strips: NamedTable

    @classmethod
    def of(
        cls, photographs: Sequence[tuple[str, ...]], first: int, likelihood: Array, sharing: Sharing
    ) -> OwnLikelihoods:
        """The likelihoods of these rows."""
        tables = next(tables_of(sharing, np.array([0, len(photographs)])))
        return cls(tuple(photographs), first, likelihood, *tables)

    @cached_property
    def row_of(self) -> dict[str, int]:
        """The row of each photograph."""
        return {p: i for i, some in enumerate(self.photographs) for p in some}

    def on(self, first: int, cells: int) -> Array:
        """The likelihood on `cells` quarter-years from `first` on."""
        found = np.zeros((len(self.likelihood), cells), dtype=np.float32)
        begin, end = max(first, self.first), min(first + cells, self.first + self.likelihood.shape[1])
        if begin < end:
            found[:, begin - first : end - first] = self.likelihood[:, begin - self.first : end - self.first]
        return np.asarray(found / np.maximum(found.sum(axis=1, keepdims=True), SMALLEST))

    def take(self, rows: Ints) -> OwnLikelihoods:
        """These rows alone."""
        return OwnLikelihoods(
            tuple(self.photographs[i] for i in rows.tolist()), self.first, self.likelihood[rows],
            self.births.take(rows), self.loads.take(rows), self.strips.take(rows),
        )  # fmt: skip

    def with_rows(self, other: OwnLikelihoods) -> OwnLikelihoods:
        """The same, with the rows of another one behind its own."""
        likelihood = other.on(self.first, self.likelihood.shape[1])
        return OwnLikelihoods(
            (*self.photographs, *other.photographs), self.first, np.concatenate([self.likelihood, likelihood]),
            self.births.with_rows(other.births), self.loads.with_rows(other.loads), self.strips.with_rows(other.strips),
        )  # fmt: skip

    def sharing(self) -> Sharing:
        """What they have in common, with the judges first."""
        loads, judge = self.loads.table, np.array([name.startswith(JUDGE) for name in self.loads.names], dtype=bool)
        place = np.empty(len(judge), dtype=np.int64)
        place[np.argsort(~judge, kind="stable")] = np.arange(len(judge))
        loads = sparse.csr_array((loads.data, place[loads.indices], loads.indptr), loads.shape)
        return Sharing(self.births.table, loads, self.strips.table if self.strips.names else None, int(judge.sum()))


def tables_of(sharing: Sharing, ends: Ints) -> Iterator[tuple[NamedTable, NamedTable, NamedTable]]:
    """Births, loads and strips of the rows from each of these `ends` to the next."""
    none = sparse.csr_array((sharing.loads.shape[0], 1), dtype=np.float32)
    strips = none if sharing.strips is None else sharing.strips
    named = (sharing.births, sharing.people), (sharing.loads, sharing.names), (strips, range(strips.shape[1]))
    return zip(*(NamedTable.of_parts(table, names, ends) for table, names in named), strict=True)
