"""Loopy belief propagation between vague births and exposures.

Somebody with a vague birth looks older in each of their photographs by the same unknown amount, so the birth is a
latent variable that joins these photographs. A face is a factor between birth b and exposure x,

    f(x, b) = share * K(x - b) alive(x | b) + rest,

with K of `kernels.by_quarters`. Both variables are on quarter-years, so the two messages of a face are

    to x:  share * alive (K * p)(x) + rest,       to b:  share * (K~ * alive q)(b) + rest,

where p and q are the cavities (the beliefs of b and of x without this face's own message), * is a convolution by FFT,
and K~ is K reversed. An unrecorded death depends on the birth: after L, the last day on which somebody is known to have
lived, K S replaces K and p / S(L - b) replaces p, with S of `survival`.

What is the same in all pictures of somebody (how old they look for their age, the bias of whoever mostly judged them)
is summed out together with b: p is over b and a few *looks*, and K depends on the look.

Only what a changed message reaches is computed again. Rounds stop when no belief moves by more than 0.003 (total
variation); they are damped after 15 and given up after 40. `orders` between photographs take part in the same rounds.
Sources: docs/method.md.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
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
AT_MOST = 1.01
"""A mean of a kernel is at most as much as its greatest value, but for rounding."""
NEARLY = 0.5
"""Share of the chance that counts from which a face is worked out in full (`doubted`), as far as its last messages
alone show it (`may_be_careless`)."""
FEW_CELLS = 1 << 18
"""Numbers to be transformed that are not worth the threads, as for a single photograph."""


@dataclass(frozen=True)
class VagueFaces:
    """The faces of people with vague births. Face e is of birth `birth[e]` in photograph `photo[e]`; `kernel` names a
    row of `kernels` (n, LAGS + 1), by lag in quarter-years, for each face and each look of its person, the looks of one
    face behind each other. Birth b has `looks[b]` of them, one or as many as `look_weights`.

    `alive` is what does not depend on the birth, for each quarter-year of the photograph, one face behind the other.
    Where `late_kernel` is not -1, it is the row of the kernel that holds after the quarter-year `until[e]`.
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
    looks: Ints
    look_weights: Array


@dataclass(frozen=True)
class Looks:
    """Births times looks, as rows: those of birth b are from `begin[b]` on; `of` is the birth of each. The rows of a
    face, one for each look of its person, are from `face[e]` on; `row` is the row of births that each is with."""

    begin: Ints
    of: Ints
    face: Ints
    row: Ints

    @classmethod
    def read(cls, faces: VagueFaces) -> Looks:
        """Those of these faces."""
        begin, face = starts(faces.looks), starts(faces.looks[faces.birth])
        row = ranges(begin[faces.birth], np.diff(face))
        return cls(begin, np.repeat(np.arange(len(faces.looks)), faces.looks), face, row)


@dataclass(frozen=True)
class Converged:
    """`births`: the probabilities of all births; `photos`: the logarithms of what came in from births and orders, by
    photograph. `unconverged` photographs still moved at the end."""

    births: Array
    photos: Array
    unconverged: Ints


class PaddedKernels:
    """Kernels concatenated, with `longest` zeros between, so that any piece of one can be taken unchanged;
    `plain` is without these."""

    def __init__(self, kernels: Array, longest: int) -> None:
        self.longest, self.every = longest, kernels.shape[1] + longest
        self.values = np.zeros(longest + len(kernels) * self.every, dtype=kernels.dtype)
        self.plain = self.values[longest:].reshape(len(kernels), self.every)[:, : kernels.shape[1]]
        self.plain[:] = kernels

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
        self.photos, self.orders, self.faces = photos, orders, faces
        self.precision, self.tolerance = precision, tolerance
        self.looks = Looks.read(faces)
        self.births = QuarterRows(*_lists(births, self.looks.of))
        prior = prior[births.of(self.looks.of)[0]]
        several = np.repeat(faces.looks[self.looks.of], np.diff(self.births.start)) > 1
        which = np.arange(len(self.looks.of)) - self.looks.begin[self.looks.of]
        prior = prior * np.where(several, faces.look_weights[np.repeat(which, np.diff(self.births.start))], 1.0)
        self.to_photo = QuarterRows(*_lists(photos, faces.photo))
        self.to_birth = QuarterRows(*_lists(self.births, self.looks.row))
        self.in_photo = np.zeros(self.to_photo.start[-1], dtype=precision)
        self.in_birth = np.zeros(self.to_birth.start[-1], dtype=precision)
        self.log_birth = np.log(np.maximum(prior, 1e-30)).astype(precision)
        self.greatest = np.ones(len(faces.birth), dtype=precision)
        """Of each face, by how much its message to the photograph was divided, so that it is 1 at most."""
        self.unary = unary.astype(precision, copy=False)
        self.log_photo = self.unary.copy()
        self.given = self._by_length()
        longest = max((n for n, _ in self.given), default=0)
        self.padded_kernels = PaddedKernels(faces.kernels.astype(precision, copy=False), longest)
        self.faces = replace(faces, kernels=self.padded_kernels.plain)  # once is enough
        self.early = np.ones(len(prior), dtype=precision)  # 1 / S(L - b), where the death is not recorded
        self.unrecorded = faces.late_kernel[self.looks.face[:-1]] >= 0

    def run(self, chance_of_life: Array | None = None) -> Converged:
        """Pass messages until they converge. `chance_of_life`: S(L - b) for each entry of the births."""
        whole, sizes = self._of_births()
        if chance_of_life is not None:
            chance = chance_of_life[entries(starts(sizes), self.looks.of)[0]]
            self.early = (1 / np.maximum(chance, 1e-6)).astype(self.precision)
        f = self.faces
        births = np.ones(len(f.looks), dtype=bool)
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
        joint = normalised(self.log_birth, whole)
        posteriors = joint[self.births.of(self.looks.begin[:-1])[0]]
        for k in range(1, int(f.looks.max(initial=1))):
            more = np.flatnonzero(f.looks > k)
            posteriors[entries(starts(sizes), more)[0]] += joint[self.births.of(self.looks.begin[more] + k)[0]]
        return Converged(posteriors, self.log_photo - self.unary, np.flatnonzero(last))

    def _of_births(self) -> tuple[Ints, Ints]:
        """Where the entries of each birth begin, all its looks together; and how many one look of it has."""
        return self.births.start[self.looks.begin], np.diff(self.births.start)[self.looks.begin[:-1]]

    def _rows(self, chosen: Ints) -> tuple[Ints, int]:
        """The rows of these faces, which have the same number of looks; and that number."""
        many = int(self.faces.looks[self.faces.birth[chosen[0]]])
        return (self.looks.face[chosen][:, None] + np.arange(many)).ravel(), many

    def _send(self, moved: Array, keep: float, *, to_photo: bool) -> Ints:
        """Work out the messages of the faces whose other end has `moved`; the faces whose message moved."""
        f, message = self.faces, self._to_photo if to_photo else self._to_birth
        source = f.birth if to_photo else f.photo
        rows, log = (self.photos, self.log_photo) if to_photo else (self.births, self.log_birth)
        into, lists = (self.in_photo, self.to_photo) if to_photo else (self.in_birth, self.to_birth)
        found = [np.zeros(0, dtype=np.int64)]
        jobs = [(chosen, n) for n, some in self.given for chosen in _batches(some[moved[source[some]]], n)]
        spread = parallel_map if sum(len(chosen) * n for chosen, n in jobs) > FEW_CELLS else map
        for (chosen, _), (new, begin) in zip(jobs, spread(lambda job: message(*job), jobs), strict=True):
            own, many = (chosen, 1) if to_photo else self._rows(chosen)
            here, _ = lists.of(own)
            begin = begin[::many]
            greatest = np.maximum.reduceat(new, begin[:-1])
            new /= np.repeat(greatest, np.diff(begin))
            if to_photo:
                self.greatest[chosen] = greatest
            np.maximum(new, LEAST_MESSAGE, out=new)
            before = into[here]
            old = np.exp(before)
            if keep:
                new = keep * old + (1 - keep) * new
            there, _ = rows.of(f.photo[own] if to_photo else self.looks.row[own])
            by = distances(normalised(log[there], begin), new / old, begin)
            into[here] = np.log(new)
            _add_lists(log, there[begin[:-1]], into[here] - before, begin)
            found.append(chosen[by > self.tolerance])
        return np.concatenate(found)

    def may_be_careless(self, chosen: Ints, careless: Ints, careless_lasting: Ints, least: Array | float) -> Ints:
        """The places of those of these faces for which s0 may be `least` times s1 (as in `doubted`), from their last
        messages alone: with m the message and q the belief of a photograph, s1 is (1 - rest sum of q / m) / share, and
        s0 at most the greatest careless mean times the sum of q / m."""
        f, greatest = self.faces, AT_MOST * self.padded_kernels.plain.max(axis=1)
        least = np.broadcast_to(least, len(chosen))
        found = [np.zeros(0, dtype=np.int64)]
        for places in _batches(np.arange(len(chosen)), int(np.diff(self.births.start).max())):
            some = chosen[places]
            at, begin = self.photos.of(f.photo[some])
            others = normalised(self.log_photo[at], begin) * np.exp(-self.in_photo[self.to_photo.of(some)[0]])
            others = np.add.reduceat(others, begin[:-1]) / self.greatest[some]
            s0, s1 = greatest[careless[places]] * others, (1 - f.rest[some] * others) / f.share[some]
            late = np.flatnonzero(careless_lasting[places] >= 0)
            if len(late):
                rows, lists = entries(self.looks.face, some[late])
                at, begin = self.births.of(self.looks.row[rows])
                begin = begin[lists]
                cavity = normalised(self.log_birth[at] - self.in_birth[self.to_birth.of(rows)[0]], begin)
                s0[late] *= np.maximum(np.add.reduceat(cavity * self.early[at], begin[:-1]), 1.0)
            found.append(places[s0 > NEARLY * least[places] * s1])
        return np.concatenate(found)

    def doubted(
        self, chosen: Ints, careless: Ints, careless_lasting: Ints, least: Array | float = 0.0
    ) -> tuple[Array, Array]:
        """s0 and s1 of `known_faces` for these faces; `careless`: their kernels if the judge was careless. Where s0
        cannot be more than `least` times s1 it is 0."""
        least = np.broadcast_to(least, len(chosen))
        s0, s1 = np.zeros(len(chosen)), np.zeros(len(chosen))
        length = np.zeros(len(self.faces.birth), dtype=np.int64)
        for n, some in self.given:
            length[some] = n
        lengths = length[chosen]
        looks = self.faces.looks[self.faces.birth[chosen]]
        jobs = [
            (batch, int(n))
            for n in np.unique(lengths)
            for many in np.unique(looks)
            for batch in _batches(np.flatnonzero((lengths == n) & (looks == many)), int(n) * int(many))
        ]

        def of(batch: Ints, n: int) -> None:
            some = chosen[batch]
            rows, many = self._rows(some)
            seen, _ = self._means(some, n, self.faces.kernel[rows], self.faces.late_kernel[rows])
            at, begin = self.photos.of(self.faces.photo[some])
            sizes = np.diff(begin)
            share, rest = (np.repeat(v[some], sizes) for v in (self.faces.share, self.faces.rest))
            others = normalised(self.log_photo[at], begin) / np.maximum(share * seen + rest, 1e-30)
            s1[batch] = np.add.reduceat(others * seen, begin[:-1])
            there = np.add.reduceat(others * self.faces.alive[self.to_photo.of(some)[0]], begin[:-1])
            most = AT_MOST * self.padded_kernels.plain[careless[batch]].max(axis=1) * there
            most[careless_lasting[batch] >= 0] = np.inf  # how many lived so long does not bound them
            more = np.flatnonzero(most > least[batch] * s1[batch])
            if len(more):
                slips = (np.repeat(kernel[batch[more]], many) for kernel in (careless, careless_lasting))
                slipped, begin = self._means(some[more], n, *slips)
                here = np.flatnonzero(np.repeat(np.isin(np.arange(len(some)), more), sizes))
                s0[batch[more]] = np.add.reduceat(others[here] * slipped, begin[:-1])

        for _ in parallel_map(lambda job: of(*job), jobs):
            pass
        return s0, s1

    def _to_photo(self, chosen: Ints, length: int) -> tuple[Array, Ints]:
        """The messages of these faces to their photographs, not yet scaled."""
        f, (rows, _) = self.faces, self._rows(chosen)
        seen, begin = self._means(chosen, length, f.kernel[rows], f.late_kernel[rows])
        share, rest = (np.repeat(v[chosen].astype(self.precision), np.diff(begin)) for v in (f.share, f.rest))
        seen *= share
        seen += rest
        return seen, begin

    def _means(self, chosen: Ints, length: int, kernel: Ints, late_kernel: Ints) -> tuple[Array, Ints]:
        """The mean of these kernels and of life over births and looks, in each quarter-year of the photographs."""
        rows, many = self._rows(chosen)
        at, begin = self.births.of(self.looks.row[rows])
        own, _ = self.to_birth.of(rows)
        cavity = normalised(self.log_birth[at] - self.in_birth[own], begin[::many])
        sizes = np.diff(begin)
        here, there = self.to_photo.of(chosen)
        out = np.diff(there)
        total = self._convolved(chosen, cavity, sizes, out, length, kernel)
        last = np.flatnonzero(late_kernel[::many] >= 0)
        if len(last):
            lists = (last[:, None] * many + np.arange(many)).ravel()
            some, where = entries(begin, lists)[0], entries(there, last)[0]
            gone = cavity[some] * self.early[at[some]]
            late = self._convolved(chosen[last], gone, sizes[lists], out[last], length, late_kernel[lists])
            total[where] = np.where(self._after(chosen[last], out[last]), late, total[where])
        total *= self.faces.alive[here]
        return total, there

    def _to_birth(self, chosen: Ints, length: int) -> tuple[Array, Ints]:
        """The messages of these faces to their births, not yet scaled."""
        f = self.faces
        at, begin = self.photos.of(f.photo[chosen])
        own, _ = self.to_photo.of(chosen)
        cavity = normalised(self.log_photo[at] - self.in_photo[own], begin)
        weight = cavity * f.alive[own]
        rows, many = self._rows(chosen)
        sizes = np.diff(begin)
        _, there = self.to_birth.of(rows)
        out = np.diff(there)
        after = self._after(chosen, sizes) & np.repeat(self.unrecorded[chosen], sizes)
        plain = self._convolved(chosen, np.where(after, 0, weight), sizes, out, length, f.kernel[rows], turned=True)
        late = np.flatnonzero(self.unrecorded[chosen])
        if len(late):
            lists = (late[:, None] * many + np.arange(many)).ravel()
            some, where = entries(begin, late)[0], entries(there, lists)[0]
            gone = np.where(after[some], weight[some], 0)
            birth, _ = self.births.of(self.looks.row[rows[lists]])
            kernel = f.late_kernel[rows[lists]]
            more = self._convolved(chosen[late], gone, sizes[late], out[lists], length, kernel, turned=True)
            plain[where] += self.early[birth] * more
        share, rest = (np.repeat(np.repeat(v[chosen].astype(self.precision), many), out) for v in (f.share, f.rest))
        plain *= share
        plain += rest
        return plain, there

    def _convolved(
        self, chosen: Ints, values: Array, sizes: Ints, out: Ints, length: int, kernel: Ints, *, turned: bool = False
    ) -> Array:
        """`values` (lists of `sizes`, one for each look of each face) convolved with the kernels of the looks and added
        up, as lists of `out`, one for each face; if `turned`, from a list for each face to one for each look."""
        f, faces, many = self.faces, len(chosen), len(kernel) // len(chosen)
        padded = np.zeros(len(sizes) * length, dtype=self.precision)
        padded[ranges(np.arange(len(sizes)) * length, sizes)] = values
        births = (out if turned else sizes)[::many]
        begin = self.births.first[self.looks.begin[f.birth[chosen]]]
        lag = self.photos.first[f.photo[chosen]] - begin - births + 1
        spectrum = fft.rfft(padded.reshape(faces, -1, length), axis=2)
        if turned:
            np.conj(spectrum, out=spectrum)
        pieces = self.padded_kernels.from_lag(kernel, np.repeat(lag, many), length)
        kernels = fft.rfft(pieces, axis=1, overwrite_x=True)
        both = kernels.reshape(faces, many, -1)
        np.multiply(spectrum, both, out=both)
        if not turned:
            both = both[:, 0] if many == 1 else both.sum(axis=1)
        found = fft.irfft(both, length, axis=-1, overwrite_x=True).ravel()
        first = np.arange(len(out)) * length + (out if turned else births) - 1
        at = ranges(first, out, -1 if turned else 1)
        values = found[at]
        return np.asarray(np.maximum(values, 0, out=values))

    def _after(self, chosen: Ints, sizes: Ints) -> Array:
        """For each quarter-year of these faces' photographs, whether the person's life is not certain any more."""
        f = self.faces
        return np.asarray(ranges(self.photos.first[f.photo[chosen]] - f.until[chosen], sizes) > 0)

    def _by_length(self) -> list[tuple[int, Ints]]:
        """The faces by the length of their transforms; a few of them in one batch, which is quicker."""
        need = np.diff(self.to_photo.start) + np.diff(self.to_birth.start)[self.looks.face[:-1]]
        looks = self.faces.looks[self.faces.birth]
        longest = fft.next_fast_len(int(need.max(initial=1)), real=True)
        if len(need) * longest <= FEW_CELLS:
            return [(longest, np.flatnonzero(looks == many)) for many in np.unique(looks)]
        length = np.array([fft.next_fast_len(int(n), real=True) for n in range(int(need.max()) + 1)])
        length = 32 * np.ceil(length[need] / 32).astype(np.int64)
        return [
            (fft.next_fast_len(int(n), real=True), some)
            for n in np.unique(length) for many in np.unique(looks)
            if len(some := np.flatnonzero((length == n) & (looks == many)))
        ]  # fmt: skip


def _add_lists(to: Array, first: Ints, values: Array, begin: Ints) -> None:
    """Add lists of `values`, each beginning at its `begin`, to consecutive places from `first` on, one after the
    other, since several may be added to the same places."""
    ends = begin.tolist()
    for at, start, end in zip(first.tolist(), ends, ends[1:], strict=False):
        to[at : at + end - start] += values[start:end]


def _batches(faces: Ints, length: int) -> Iterator[Ints]:
    many = max(1, TOGETHER // length)
    for first in range(0, len(faces), many):
        yield faces[first : first + many]


def _lists(rows: QuarterRows, which: Ints) -> tuple[Ints, Ints]:
    return starts(rows.start[which + 1] - rows.start[which]), rows.first[which]
