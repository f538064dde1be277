"""Messages from the order in which photographs lie in a container, and from their numbers where these are another order
(`model/sequences` has the models; `model/sequences.told` is all of this, plain).

What a container tells photograph i if it is shuffled and each photograph is of an occasion of its own, M_i, becomes

    M_i(y) [sum over the models o of P(o) q_o(y) / d(y)]^w + P(shuffled) g_i(y),
    q_o(y) = (1 - SLIP) f_i(y) b_i(y) + SLIP d(y),     q_shuffled = d,

with g_i what i hears besides as it may be of one occasion with others (`soft/occasions`; the other models have
occasions of their own), d the density of the container and f b, adding up to 1, the forward and backward recursion
without i's own likelihood, in which those that are off mostly by the same vague birth as i say nothing. P(o) is the
prior times the marginal likelihood of the whole sequence, that of the shuffled with its occasions
(`model/containers.likelier_by_occasions`). It too is raised to w (`model/sequences.weight`), by births alone: what a
judge gets wrong moves all photographs of the container alike.

Only for speed: the recursion is on `CELLS` cells of a container's own, and in pieces of `LONGEST` photographs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar

import numpy as np

from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.containers import likelier_by_occasions
from kinphoto.reason.model.sequences import BY_NUMBER, FEW, ORDERS, SLIP, Order, chances, recursion, seen_there

_T = TypeVar("_T")
CELLS, LONGEST = 72, 80
"""Cells of the recursion; photographs of a container whose order is looked at together."""
BEYOND = 2e-3
"""Probability of a container's density that may lie outside of its cells, at either end."""
UNLIKELY = 0.02
"""A model with less than this chance is left out."""
_ORDERED = tuple(order for order in Order if order is not Order.SHUFFLED)
NUMBERS = 1 << 21
"""Numbers that are worked out together."""


@dataclass
class _Piece:
    """Photographs that lie one behind the other, on cells of `step` quarter-years from `start` on: their likelihoods
    (n, CELLS), the density of the container, and how far errors in common let order be told."""

    places: Ints
    start: int
    step: int
    like: Array
    density: Array
    trust: float
    sharing: list[tuple[int, ...]]
    """Who shares a vague birth with each, by their places in the piece."""
    prior: Mapping[Order, float]
    by_occasions: float
    """By how much they are likelier to lie shuffled as they may be of one occasion."""
    by_number: Ints
    """The places in the piece of those that have numbers, in their order, where that is another one."""
    odds: dict[Order, float] = field(default_factory=dict)
    factor: Array | None = None
    """The sum over the models but the shuffled one of P(o) f b / d, by photograph (n, CELLS)."""

    def in_order(self, order: Order) -> Ints:
        """The places in the piece as a model has them one behind the other."""
        return self.by_number if order in BY_NUMBER else np.arange(len(self.places))

    @cached_property
    def seen(self) -> Array:
        """What each photograph says of its place in time (n, CELLS); the greatest is 1."""
        seen = seen_there(self.like, self.density)
        seen /= seen.max(axis=1, keepdims=True)
        return np.asarray(seen, dtype=np.float32)

    @cached_property
    def drawn(self) -> Array:
        """The logarithm of the chance of each photograph if its place is drawn by itself."""
        return np.asarray(np.log(self.seen @ self.density.astype(np.float32)))


def in_sequence(
    pieces: Sequence[Ints], likelihood: Array, message: Array, trust: Array, sharing: Mapping[int, Sequence[int]],
    priors: Sequence[Mapping[Order, float]] = (), gained: Array | None = None, by_number: Sequence[Ints | None] = (),
) -> None:  # fmt: skip
    """Multiply each photograph's `message` (rows, quarter-years) by what the order in its piece tells.

    `pieces` are places of rows in the order in which they lie; `trust` is 1 / (1 + sum of c_jk) by row, c by births,
    `sharing` has whoever shares a vague birth with a row, `priors` the prior of each model, by piece (none given:
    `ORDERS`), `gained` what each hears besides where they are shuffled, and `by_number` the places in each piece (of
    `LONGEST` at most) of those that have numbers, in their order, where that is another one.
    """
    every: list[_Piece] = []
    for k, places in enumerate(pieces):
        prior, numbered = priors[k] if priors else ORDERS, by_number[k] if by_number else None
        for part in short_pieces(places):
            if len(part) > 1:
                every.append(_piece(part, likelihood, message, trust, sharing, prior, gained, numbered))
    _weigh(every)
    for order in _ORDERED:
        chosen = [piece for piece in every if piece.odds.get(order, 0.0) > UNLIKELY]
        for length, jobs in _by_length((len(job.piece.in_order(order)), job) for job in _jobs(chosen)):
            for some in _batches(jobs, length):
                _listen(some, order)
    for piece in every:
        _apply(piece, message, gained)


def short_pieces(places: Ints) -> list[Ints]:
    """What lies one behind the other, in about equal pieces of `LONGEST` at most."""
    return np.array_split(places, -(-len(places) // LONGEST))


def _piece(
    places: Ints, likelihood: Array, message: Array, trust: Array, sharing: Mapping[int, Sequence[int]],
    prior: Mapping[Order, float], gained: Array | None, by_number: Ints | None,
) -> _Piece:  # fmt: skip
    mean = message[places].mean(axis=0)
    rising = np.cumsum(mean) / mean.sum()
    start, end = np.searchsorted(rising, [BEYOND, 1 - BEYOND])
    step = max(1, -(-int(end + 1 - start) // CELLS))
    start = int(start)
    here = {place: k for k, place in enumerate(places.tolist())}
    among = [tuple(sorted(here[j] for j in sharing.get(i, ()) if j in here)) for i in here]
    density = _on_cells(mean[None], start, step)[0]
    likelier = 0.0
    if gained is not None:
        likelier = likelier_by_occasions(likelihood[places], message[places], message[places] + gained[places])
    return _Piece(
        places, start, step, _on_cells(likelihood[places], start, step), density / density.sum(),
        float(trust[places].mean()), among, prior, likelier,
        np.zeros(0, dtype=np.int64) if by_number is None else by_number,
    )  # fmt: skip


def _on_cells(values: Array, start: int, step: int) -> Array:
    here = values[:, start : start + step * CELLS]
    over = step * CELLS - here.shape[1]
    padded = np.pad(here, ((0, 0), (0, over))) if over else here
    return np.asarray(padded.reshape(len(values), CELLS, step).sum(axis=2) + 1e-12)


def _weigh(every: Sequence[_Piece]) -> None:
    """P(o) of each model. Below FEW photographs the prior rules."""
    log: list[dict[Order, float]] = [{} for _ in every]
    many = [k for k, piece in enumerate(every) if len(piece.places) >= FEW]
    for order in _ORDERED:
        chosen = [k for k in many if order in every[k].prior]
        for length, some in _by_length((len(every[k].in_order(order)), k) for k in chosen):
            for part in _batches(some, length):
                pieces = [every[k] for k in part]
                seen = np.array([piece.seen[piece.in_order(order)] for piece in pieces])
                density = np.array([piece.density for piece in pieces], dtype=np.float32)
                shuffled = [piece.drawn[piece.in_order(order)].sum() + piece.by_occasions for piece in pieces]
                likelier = recursion(seen, density, BY_NUMBER.get(order, order))[0] - shuffled
                for k, found in zip(part, likelier.tolist(), strict=True):
                    log[k][order] = found
    for piece, found in zip(every, log, strict=True):
        few = len(piece.places) < FEW
        piece.odds = dict(piece.prior) if few else chances({Order.SHUFFLED: 0.0} | found, piece.prior, piece.trust)


@dataclass
class _Job:
    """A piece in which some are silent, and for which photographs (places in the piece) it is worked out."""

    piece: _Piece
    silent: tuple[int, ...]
    wanted: list[int]

    def seen(self) -> Array:
        """What each photograph says of its place in time; 1 of those that say nothing."""
        if not self.silent:
            return self.piece.seen
        seen = self.piece.seen.copy()
        seen[list(self.silent)] = 1.0
        return seen


def _jobs(pieces: Sequence[_Piece]) -> Iterator[_Job]:
    for piece in pieces:
        together: dict[tuple[int, ...], list[int]] = defaultdict(list)
        for k, others in enumerate(piece.sharing):
            together[tuple(sorted((*others, k))) if others else ()].append(k)
        for silent, wanted in together.items():
            yield _Job(piece, silent, wanted)


def _listen(jobs: Sequence[_Job], order: Order) -> None:
    """Add what one model tells to the factors."""
    seen = np.array([job.seen()[job.piece.in_order(order)] for job in jobs])
    density = np.array([job.piece.density for job in jobs], dtype=np.float32)
    _, told = recursion(seen, density, BY_NUMBER.get(order, order))
    for i, job in enumerate(jobs):
        piece = job.piece
        if piece.factor is None:
            piece.factor = np.zeros_like(piece.like)
        if order not in BY_NUMBER:
            piece.factor[job.wanted] += piece.odds[order] * told[i, job.wanted] / piece.density
            continue
        heard = np.ones_like(piece.like)  # those without a number are as if they were shuffled
        heard[piece.by_number] = told[i] / piece.density
        piece.factor[job.wanted] += piece.odds[order] * heard[job.wanted]


def _apply(piece: _Piece, message: Array, gained: Array | None) -> None:
    moved = sum(chance for order, chance in piece.odds.items() if order is not Order.SHUFFLED and chance > UNLIKELY)
    told = message[piece.places]
    if piece.factor is not None:
        always = 1 - moved + moved * SLIP
        until = piece.start + piece.step * CELLS
        whole = np.full(told.shape, always**piece.trust, dtype=np.float32)
        inner = np.repeat((always + (1 - SLIP) * piece.factor) ** piece.trust, piece.step, axis=1)
        whole[:, piece.start : until] = inner[:, : message.shape[1] - piece.start]
        told *= whole
    if gained is not None:
        told += (1 - moved) * gained[piece.places]
    message[piece.places] = told / told.sum(axis=1, keepdims=True)


def _by_length(some: Iterable[tuple[int, _T]]) -> Iterable[tuple[int, list[_T]]]:
    """What is of one length together."""
    found: dict[int, list[_T]] = defaultdict(list)
    for length, one in some:
        found[length].append(one)
    return found.items()


def _batches(some: list[_T], length: int) -> Iterator[list[_T]]:
    many = max(1, NUMBERS // (length * CELLS))
    for first in range(0, len(some), many):
        yield some[first : first + many]
