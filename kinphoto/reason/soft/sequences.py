"""Messages from the order in which photographs lie in a container (`model/sequences` has the three models of it).

What a container tells photograph i if it is shuffled and each photograph is of an occasion of its own, M_i, becomes

    M_i(y) [sum over the models o of P(o) q_o(y) / d(y)]^w + P(shuffled) g_i(y),
    q_o(y) = (1 - SLIP) f_i(y) b_i(y) + SLIP d(y),     q_shuffled = d,

with g_i what i hears besides as it may be of one occasion with others (`soft/occasions`; the other models have
occasions of their own), d the density of the container and f b, adding up to 1, the forward and backward recursion
without i's own likelihood, in which those that are off mostly by the same vague birth as i say nothing. P(o) is the
prior times the marginal likelihood of the whole sequence, that of the shuffled with its occasions
(`model/containers.likelier_by_occasions`). It too is raised to w, the mean of 1 / (1 + sum of c_jk), c by births alone.
Pictures of one person lie together, and where that birth is off all of them are, which looks like order; what a judge
gets wrong moves all photographs of the container alike.

Only for speed: the recursion is on `CELLS` cells of a container's own, and in pieces of `LONGEST` photographs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np

from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.containers import likelier_by_occasions
from kinphoto.reason.model.sequences import FEW, ORDERS, SLIP, Order, recursion

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
    odds: dict[Order, float] = field(default_factory=dict)
    told: dict[Order, Array] = field(default_factory=dict)
    """f b of each model where nobody is silent, by photograph (n, CELLS)."""
    factor: Array | None = None
    """The sum over the models but the shuffled one of P(o) f b / d, by photograph (n, CELLS)."""


def in_sequence(
    pieces: Sequence[Ints], likelihood: Array, message: Array, trust: Array, sharing: Mapping[int, Sequence[int]],
    priors: Sequence[Mapping[Order, float]] = (), gained: Array | None = None,
) -> None:  # fmt: skip
    """Multiply each photograph's `message` (rows, quarter-years) by what the order in its piece tells.

    `pieces` are places of rows in the order in which they lie; `trust` is 1 / (1 + sum of c_jk) by row, c by births,
    `sharing` has whoever shares a vague birth with a row, `priors` the prior of each model, by piece (none given:
    `ORDERS`), and `gained` what each hears besides where they are shuffled.
    """
    by_length: dict[int, list[_Piece]] = defaultdict(list)
    for places, prior in zip(pieces, priors or [ORDERS] * len(pieces), strict=True):
        for part in short_pieces(places):
            if len(part) > 1:
                by_length[len(part)].append(_piece(part, likelihood, message, trust, sharing, prior, gained))
    for length, some in by_length.items():
        _weigh(some, length)
        for order in _ORDERED:
            jobs = list(_jobs([piece for piece in some if piece.odds.get(order, 0.0) > UNLIKELY]))
            for job in jobs:
                if job.is_whole and order in job.piece.told:
                    job.hears(order, job.piece.told[order])
            for left in _batches([j for j in jobs if not (j.is_whole and order in j.piece.told)], length):
                _listen(left, order)
        for piece in some:
            _apply(piece, message, gained)


def short_pieces(places: Ints) -> list[Ints]:
    """What lies one behind the other, in about equal pieces of `LONGEST` at most."""
    return np.array_split(places, -(-len(places) // LONGEST))


def _piece(
    places: Ints, likelihood: Array, message: Array, trust: Array, sharing: Mapping[int, Sequence[int]],
    prior: Mapping[Order, float], gained: Array | None,
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
    )  # fmt: skip


def _on_cells(values: Array, start: int, step: int) -> Array:
    here = values[:, start : start + step * CELLS]
    over = step * CELLS - here.shape[1]
    padded = np.pad(here, ((0, 0), (0, over))) if over else here
    return np.asarray(padded.reshape(len(values), CELLS, step).sum(axis=2) + 1e-12)


def _seen(piece: _Piece, silent: Sequence[int] = ()) -> Array:
    """What each photograph says of its place in time; 1 of those that say nothing."""
    stray = piece.like @ piece.density  # as if it was put in from elsewhere
    seen = (1 - SLIP) * piece.like + SLIP * stray[:, None]
    seen /= seen.max(axis=1, keepdims=True)
    seen[list(silent)] = 1.0
    return np.asarray(seen, dtype=np.float32)


def _weigh(some: Sequence[_Piece], length: int) -> None:
    """P(o) of each model, for pieces of one length. Below FEW photographs the prior rules."""
    if length < FEW:
        for piece in some:
            piece.odds = dict(piece.prior)
        return
    for pieces in _batches(list(some), length):
        seen = np.array([_seen(piece) for piece in pieces])
        density = np.array([piece.density for piece in pieces], dtype=np.float32)
        shuffled = np.log((seen * density[:, None]).sum(axis=2)).sum(axis=1)
        shuffled += [piece.by_occasions for piece in pieces]
        trust = np.array([piece.trust for piece in pieces])
        log = {Order.SHUFFLED: np.zeros(len(pieces))}
        for order in _ORDERED:
            if any(order in piece.prior for piece in pieces):
                all_of_them, told = recursion(seen, density, order)
                log[order] = trust * (all_of_them - shuffled)
                for piece, one in zip(pieces, told, strict=True):
                    piece.told[order] = one
        for i, piece in enumerate(pieces):
            most = max(log[order][i] for order in piece.prior)
            weight = {order: prior * float(np.exp(log[order][i] - most)) for order, prior in piece.prior.items()}
            whole = sum(weight.values())
            piece.odds = {order: w / whole for order, w in weight.items()}


@dataclass
class _Job:
    """A piece in which some are silent, and for which photographs (places in the piece) it is worked out."""

    piece: _Piece
    silent: tuple[int, ...]
    wanted: list[int]

    @property
    def is_whole(self) -> bool:
        """Whether nobody is silent."""
        return not self.silent

    def hears(self, order: Order, told: Array) -> None:
        """Add what one model tells (n, CELLS) to the factors."""
        piece = self.piece
        if piece.factor is None:
            piece.factor = np.zeros_like(piece.like)
        piece.factor[self.wanted] += piece.odds[order] * told[self.wanted] / piece.density


def _jobs(pieces: Sequence[_Piece]) -> Iterator[_Job]:
    for piece in pieces:
        together: dict[tuple[int, ...], list[int]] = defaultdict(list)
        for k, others in enumerate(piece.sharing):
            together[tuple(sorted((*others, k))) if others else ()].append(k)
        for silent, wanted in together.items():
            yield _Job(piece, silent, wanted)


def _listen(jobs: Sequence[_Job], order: Order) -> None:
    """Add what one model tells to the factors."""
    seen = np.array([_seen(job.piece, job.silent) for job in jobs])
    density = np.array([job.piece.density for job in jobs], dtype=np.float32)
    _, told = recursion(seen, density, order)
    for job, one in zip(jobs, told, strict=True):
        job.hears(order, one)


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


def _batches(some: list[_T], length: int) -> Iterator[list[_T]]:
    many = max(1, NUMBERS // (length * CELLS))
    for first in range(0, len(some), many):
        yield some[first : first + many]
