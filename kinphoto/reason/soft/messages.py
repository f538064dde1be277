"""Loopy belief propagation between vague births and exposures.

Somebody with a vague birth looks older in each of their photographs by the same unknown amount, so the birth is a
latent variable that joins these photographs. A face is a factor between birth b and exposure x,

    f(x, b) = share * K(x - b) alive(x | b) + rest,

with K of `kernels.by_quarters`. Both variables are on quarter-years, so the two messages of a face are

    to x:  share * alive (K * p)(x) + rest,       to b:  share * (K~ * alive q)(b) + rest,

where p and q are the cavities (the beliefs of b and of x without this face's own message), * is a convolution by FFT,
and K~ is K reversed. An unrecorded death depends on the birth: after L, the last day on which somebody is known to have
lived, K S replaces K and p / S(L - b) replaces p, with S of `survival`.

Only what a changed message reaches is computed again. Rounds stop when no belief moves by more than 0.003 (total
variation); they are damped after 15 and given up after 40. `orders` between photographs take part in the same rounds.
Sources: docs/method.md.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import fft

from kinphoto.reason.model.arrays import Array, Ints, entries, ranges, starts
from kinphoto.reason.soft.grid import QuarterRows, distances, normalised
from kinphoto.reason.soft.orders import LEAST_MESSAGE, Orders
from kinphoto.reason.soft.workers import parallel_map

ROUNDS, DAMPED_FROM, DAMPING, TOLERANCE = 40, 15, 0.3, 0.003
"""The most rounds; the first damped one and by how much; the change of a belief below which a message has converged."""
TOGETHER = 1 << 19
"""Numbers that are transformed at a time."""
FEW_CELLS = 1 << 18
"""Numbers to be transformed that are not worth the threads, as for a single photograph."""


@dataclass(frozen=True)
class VagueFaces:
    """The faces of people with vague births. Face e is of birth `birth[e]` in photograph `photo[e]`; `kernel[e]` is a
    row of `kernels` (n, LAGS + 1), by lag in quarter-years.

    `alive` is what does not depend on the birth, for each quarter-year of the photograph, one face behind the other.
    Where `lasting[e]` is not -1, it is the row of the kernel that holds after the quarter-year `until[e]`.
    """

    birth: Ints
    photo: Ints
    kernel: Ints
    kernels: Array
    share: Array
    rest: Array
    alive: Array
    late_kernel: Ints
    until: Ints


@dataclass(frozen=True)
class Converged:
    """`births`: the probabilities of all births; `photos`: the logarithms of what came in from births and orders, by
    photograph. `unconverged` photographs still moved at the end."""

    births: Array
    photos: Array
    unconverged: Ints


class PaddedKernels:
    """Kernels one behind the other, with `longest` zeros between, so that any piece of one can be taken as it is."""

    def __init__(self, kernels: Array, longest: int) -> None:
        self.longest, self.every = longest, kernels.shape[1] + longest
        padded_kernels = np.pad(kernels, ((0, 0), (0, longest))).ravel()
        self.values = np.concatenate([np.zeros(longest, dtype=padded_kernels.dtype), padded_kernels])

    def from_lag(self, kernel: Ints, lag: Ints, length: int) -> Array:
        """`length` values of each of these kernels from its `lag` on; 0 outside a kernel."""
        pieces = np.lib.stride_tricks.sliding_window_view(self.values, length)
        lag = np.clip(lag, -length, self.every - self.longest)
        return np.asarray(pieces[self.longest + kernel * self.every + lag])


class BeliefPropagation:
    """Messages along all faces and orders. `prior` (probabilities) belongs to `births`, `unary` (logarithms of masses)
    to `photos`; photographs in an order have further cells of their own, see `Orders`."""

    def __init__(
        self, faces: VagueFaces, births: QuarterRows, prior: Array, photos: QuarterRows, unary: Array,
        orders: Orders | None = None, precision: Any = np.float32, tolerance: float = TOLERANCE,
    ) -> None:  # fmt: skip
        self.faces, self.births, self.photos, self.orders = faces, births, photos, orders
        self.precision, self.tolerance = precision, tolerance
        self.to_photo = QuarterRows(*_lists(photos, faces.photo))
        self.to_birth = QuarterRows(*_lists(births, faces.birth))
        self.in_photo = np.zeros(self.to_photo.start[-1], dtype=precision)
        self.in_birth = np.zeros(self.to_birth.start[-1], dtype=precision)
        self.log_birth = np.log(np.maximum(prior, 1e-30)).astype(precision)
        self.unary = unary.astype(precision)
        self.log_photo = self.unary.copy()
        self.given = self._by_length()
        self.padded_kernels = PaddedKernels(faces.kernels.astype(precision), max((n for n, _ in self.given), default=0))
        self.early = np.ones(len(prior), dtype=precision)  # 1 / S(L - b), where the death is not recorded
        self.unrecorded = faces.late_kernel >= 0

    def run(self, chance_of_life: Array | None = None) -> Converged:
        """Pass messages until they converge. `chance_of_life`: S(L - b) for each entry of `births`."""
        if chance_of_life is not None:
            self.early = (1 / np.maximum(chance_of_life, 1e-6)).astype(self.precision)
        f = self.faces
        births = np.ones(len(self.births.first), dtype=bool)
        photos = np.ones(len(self.photos.first), dtype=bool)  # at first everybody sends
        for number in range(ROUNDS):
            keep = DAMPING if number >= DAMPED_FROM else 0.0
            photos[f.photo[self._send(births, keep, to_photo=True)]] = True
            ordered = np.zeros_like(photos)
            if self.orders is not None and (number == 0 or photos[self.orders.groups].any()):
                ordered = self.orders.update(self.photos, self.unary, self.log_photo, keep, self.tolerance)
            births = np.zeros_like(births)
            births[f.birth[self._send(photos | ordered, keep, to_photo=False)]] = True
            last, photos = photos | ordered, ordered
            if not births.any() and not ordered.any():
                last[:] = False
                break
        posteriors = normalised(self.log_birth, self.births.start)
        return Converged(posteriors, self.log_photo - self.unary, np.flatnonzero(last))

    def _send(self, moved: Array, keep: float, *, to_photo: bool) -> Ints:
        """Work out the messages of the faces whose other end has `moved`; the faces whose message moved."""
        f, message = self.faces, self._to_photo if to_photo else self._to_birth
        source, target = (f.birth, f.photo) if to_photo else (f.photo, f.birth)
        rows, log = (self.photos, self.log_photo) if to_photo else (self.births, self.log_birth)
        into, lists = (self.in_photo, self.to_photo) if to_photo else (self.in_birth, self.to_birth)
        found = [np.zeros(0, dtype=np.int64)]
        jobs = [(chosen, n) for n, some in self.given for chosen in _batches(some[moved[source[some]]], n)]
        spread = parallel_map if sum(len(chosen) * n for chosen, n in jobs) > FEW_CELLS else map
        for (chosen, _), (new, begin) in zip(jobs, spread(lambda job: message(*job), jobs), strict=True):
            here, _ = lists.of(chosen)
            new /= np.repeat(np.maximum.reduceat(new, begin[:-1]), np.diff(begin))
            np.maximum(new, LEAST_MESSAGE, out=new)
            before = into[here]
            old = np.exp(before)
            if keep:
                new = keep * old + (1 - keep) * new
            there, _ = rows.of(target[chosen])
            by = distances(normalised(log[there], begin), new / old, begin)
            into[here] = np.log(new)
            np.add.at(log, there, into[here] - before)
            found.append(chosen[by > self.tolerance])
        return np.concatenate(found)

    def left_out(self, chosen: Ints, blank: Ints, blank_lasting: Ints, kernels: Array) -> tuple[Array, Array]:
        """s0 and s1 of `known_faces` for these faces; `blank`: their kernels without the judged age, in `kernels`."""
        self.padded_kernels = PaddedKernels(kernels.astype(self.precision), self.padded_kernels.longest)
        s0, s1 = np.zeros(len(chosen)), np.zeros(len(chosen))
        length = np.zeros(len(self.faces.birth), dtype=np.int64)
        for n, some in self.given:
            length[some] = n
        lengths = length[chosen]
        jobs = [(batch, int(n)) for n in np.unique(lengths) for batch in _batches(np.flatnonzero(lengths == n), int(n))]

        def of(batch: Ints, n: int) -> None:
            some = chosen[batch]
            seen, _ = self._means(some, n, self.faces.kernel[some], self.faces.late_kernel[some])
            there_at_all, _ = self._means(some, n, blank[batch], blank_lasting[batch])
            at, begin = self.photos.of(self.faces.photo[some])
            sizes = np.diff(begin)
            share, rest = (np.repeat(v[some], sizes) for v in (self.faces.share, self.faces.rest))
            others = normalised(self.log_photo[at], begin) / np.maximum(share * seen + rest, 1e-30)
            s0[batch] = np.add.reduceat(others * there_at_all, begin[:-1])
            s1[batch] = np.add.reduceat(others * seen, begin[:-1])

        for _ in parallel_map(lambda job: of(*job), jobs):
            pass
        return s0, s1

    def _to_photo(self, chosen: Ints, length: int) -> tuple[Array, Ints]:
        """The messages of these faces to their photographs, not yet scaled."""
        f = self.faces
        seen, begin = self._means(chosen, length, f.kernel[chosen], f.late_kernel[chosen])
        share, rest = (np.repeat(v[chosen], np.diff(begin)).astype(self.precision) for v in (f.share, f.rest))
        return share * seen + rest, begin

    def _means(self, chosen: Ints, length: int, kernel: Ints, late_kernel: Ints) -> tuple[Array, Ints]:
        """The mean of these kernels and of life over the births, in each quarter-year of the faces' photographs."""
        at, begin = self.births.of(self.faces.birth[chosen])
        own, _ = self.to_birth.of(chosen)
        cavity = normalised(self.log_birth[at] - self.in_birth[own], begin)
        sizes = np.diff(begin)
        here, there = self.to_photo.of(chosen)
        out = np.diff(there)
        plain = self._convolved(chosen, cavity, sizes, out, length, kernel)
        last = np.flatnonzero(late_kernel >= 0)
        if len(last):
            some, where = entries(begin, last)[0], entries(there, last)[0]
            gone = cavity[some] * self.early[at[some]]
            late = self._convolved(chosen[last], gone, sizes[last], out[last], length, late_kernel[last])
            plain[where] = np.where(self._after(chosen[last], out[last]), late, plain[where])
        return self.faces.alive[here] * plain, there

    def _to_birth(self, chosen: Ints, length: int) -> tuple[Array, Ints]:
        """The messages of these faces to their births, not yet scaled."""
        f = self.faces
        at, begin = self.photos.of(f.photo[chosen])
        own, _ = self.to_photo.of(chosen)
        cavity = normalised(self.log_photo[at] - self.in_photo[own], begin)
        sizes = np.diff(begin)
        _, there = self.to_birth.of(chosen)
        out = np.diff(there)
        weight = cavity * f.alive[own]
        after = self._after(chosen, sizes) & np.repeat(self.unrecorded[chosen], sizes)
        plain = self._convolved(chosen, np.where(after, 0, weight), sizes, out, length, f.kernel[chosen], turned=True)
        late = np.flatnonzero(self.unrecorded[chosen])
        if len(late):
            some, where = entries(begin, late)[0], entries(there, late)[0]
            gone = np.where(after[some], weight[some], 0)
            faces = chosen[late]
            birth, _ = self.births.of(f.birth[faces])
            more = self._convolved(faces, gone, sizes[late], out[late], length, f.late_kernel[faces], turned=True)
            plain[where] += self.early[birth] * more
        share, rest = (np.repeat(v[chosen], out).astype(self.precision) for v in (f.share, f.rest))
        return share * plain + rest, there

    def _convolved(
        self, chosen: Ints, values: Array, sizes: Ints, out: Ints, length: int, kernel: Ints, *, turned: bool = False
    ) -> Array:
        """`values` (lists of `sizes`) convolved with the faces' kernels, as lists of `out`."""
        f, rows = self.faces, len(chosen)
        births = out if turned else sizes
        padded = np.zeros(rows * length, dtype=self.precision)
        padded[ranges(np.arange(rows) * length, sizes)] = values
        lag = self.photos.first[f.photo[chosen]] - self.births.first[f.birth[chosen]] - births + 1
        spectrum = fft.rfft(padded.reshape(rows, length), axis=1)
        if turned:
            np.conj(spectrum, out=spectrum)
        spectrum *= fft.rfft(self.padded_kernels.from_lag(kernel, lag, length), axis=1)
        found = fft.irfft(spectrum, length, axis=1).ravel()
        at = ranges(np.arange(rows) * length + births - 1, out, -1 if turned else 1)
        return np.asarray(np.maximum(found[at], 0))

    def _after(self, chosen: Ints, sizes: Ints) -> Array:
        """For each quarter-year of these faces' photographs, whether the person's life is not certain any more."""
        f = self.faces
        return np.asarray(ranges(self.photos.first[f.photo[chosen]] - f.until[chosen], sizes) > 0)

    def _by_length(self) -> list[tuple[int, Ints]]:
        """The faces by the length of their transforms; a few of them in one batch, which is quicker."""
        need = np.diff(self.to_photo.start) + np.diff(self.to_birth.start)
        longest = fft.next_fast_len(int(need.max(initial=1)), real=True)
        if len(need) * longest <= FEW_CELLS:
            return [(longest, np.arange(len(need)))] if len(need) else []
        length = np.array([fft.next_fast_len(int(n), real=True) for n in range(int(need.max()) + 1)])
        length = 32 * np.ceil(length[need] / 32).astype(np.int64)
        return [(fft.next_fast_len(int(n), real=True), np.flatnonzero(length == n)) for n in np.unique(length)]


def _batches(faces: Ints, length: int) -> Iterator[Ints]:
    many = max(1, TOGETHER // length)
    for first in range(0, len(faces), many):
        yield faces[first : first + many]


def _lists(rows: QuarterRows, which: Ints) -> tuple[Ints, Ints]:
    return starts(rows.start[which + 1] - rows.start[which]), rows.first[which]
