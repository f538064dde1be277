"""Messages from the order of photographs in a container, and from their numbers where these are another order
(`model/sequences` has the models; `model/sequences.message` is all of this, plain).

The message of a container to photograph i if it is shuffled and each photograph is of an occasion of its own, M_i,
becomes

    M_i(y) [sum over the models o of P(o) q_o(y) / d(y)]^w + P(shuffled) g_i(y),
    q_o(y) = (1 - SLIP) f_i(y) b_i(y) + SLIP d(y),     q_shuffled = d,

with g_i what its message gains as it may be of one occasion with others (`soft/occasions`; the other models have
occasions of their own), d the density of the container and f b, adding up to 1, the forward and backward recursion
without i's own likelihood, in which those that are off mostly by the same vague birth as i say nothing. P(o) is the
prior times the marginal likelihood of the whole sequence, that of the shuffled with its occasions
(`model/containers.likelier_by_occasions`). It too is raised to w (`model/sequences.weight`), by births alone: what a
judge gets wrong moves all photographs of the container alike.

Only for speed: the recursion is on `CELLS` cells of a container's own, and in pieces of `LONGEST` photographs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.containers import likelier_by_occasions
from kinphoto.reason.model.sequences import BY_NUMBER, FEW, ORDERS, SLIP, Order, chances, recursion, seen_there

CELLS, LONGEST = 72, 80
"""Cells of the recursion; photographs of a container whose order is looked at together."""
BEYOND = 2e-3
"""Probability of a container's density that may be outside of its cells, at either end."""
UNLIKELY = 0.02
"""A model with less than this chance is left out."""
_ORDERED = tuple(order for order in Order if order is not Order.SHUFFLED)
_PLAIN = {**BY_NUMBER, Order.BACKWARDS: Order.IN_ORDER}
"""The model that another one is, with the photographs in that order."""
NUMBERS = 1 << 21
"""Numbers that are worked out together."""


@dataclass
class _Piece:
    """Consecutive photographs, on cells of `step` quarter-years from `start` on: their likelihoods
    (n, CELLS), the density of the container, and how far errors in common let order count."""

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
    """By how much they are likelier to be shuffled as they may be of one occasion."""
    by_number: Ints
    """The places in the piece of those that have numbers, in their order, where that is another one."""
    received: dict[Order, Array] = field(default_factory=dict)
    """The message to each photograph from all others under each model (n, CELLS), in the order of that, where it was
    worked out."""
    odds: dict[Order, float] = field(default_factory=dict)
    factor: Array | None = None
    """The sum over the models but the shuffled one of P(o) f b / d, by photograph (n, CELLS)."""

    def in_order(self, order: Order) -> Ints:
        """The places in the piece in the order that a model has them."""
        as_they_lie = np.arange(len(self.places))
        return self.by_number if order in BY_NUMBER else as_they_lie[:: -1 if order is Order.BACKWARDS else 1]

    @cached_property
    def seen(self) -> Array:
        """The likelihood of each photograph at its place in time (n, CELLS); the greatest is 1."""
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
    """Multiply each photograph's `message` (rows, quarter-years) by the message of the order in its piece.

    `pieces` are places of rows in the order of their container; `trust` is 1 / (1 + sum of c_jk) by row, c by births,
    `sharing` has whoever shares a vague birth with a row, `priors` the prior of each model, by piece (none given:
    `ORDERS`), `gained` what the message to each gains where they are shuffled, and `by_number` the places in each piece
    (of `LONGEST` at most) of those that have numbers, in their order, where that is another one.
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
        _listen([job for piece in chosen for job in _jobs(piece)], order)
    for piece in every:
        _apply(piece, message, gained)


def short_pieces(places: Ints) -> list[Ints]:
    """Consecutive photographs, in about equal pieces of `LONGEST` at most."""
    return np.array_split(places, -(-len(places) // LONGEST))


def _piece(
    places: Ints, likelihood: Array, message: Array, trust: Array, sharing: Mapping[int, Sequence[int]],
    prior: Mapping[Order, float], gained: Array | None, by_number: Ints | None,
) -> _Piece:  # fmt: skip
    like, received = likelihood[places], message[places]
    mean = received.mean(axis=0)
    rising = np.cumsum(mean) / mean.sum()
    start, end = np.searchsorted(rising, [BEYOND, 1 - BEYOND])
    step = max(1, -(-int(end + 1 - start) // CELLS))
    start = int(start)
    here = {place: k for k, place in enumerate(places.tolist())}
    among = [tuple(sorted(here[j] for j in sharing.get(i, ()) if j in here)) for i in here]
    density = _on_cells(mean[None], start, step)[0]
    likelier = 0.0
    if gained is not None:
        likelier = likelier_by_occasions(like, received, received + gained[places])
    return _Piece(
        places, start, step, _on_cells(like, start, step), density / density.sum(),
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
    for piece in every:
        piece.odds = {Order.SHUFFLED: 0.0}
    for order in _ORDERED:
        jobs = [_Job(piece, (), []) for piece in every if len(piece.places) >= FEW and order in piece.prior]
        for job, log, received in _recursions(jobs, order):
            shuffled = job.piece.drawn[job.piece.in_order(order)].sum() + job.piece.by_occasions
            job.piece.odds[order], job.piece.received[order] = log - shuffled, received
    for piece in every:
        few = len(piece.places) < FEW
        piece.odds = dict(piece.prior) if few else chances(piece.odds, piece.prior, piece.trust)


@dataclass
class _Job:
    """A piece in which some are silent, and for which photographs (places in the piece) it is worked out."""

    piece: _Piece
    silent: tuple[int, ...]
    wanted: list[int]

    def seen(self) -> Array:
        """The likelihood of each photograph at its place in time; 1 of those that are silent."""
        if not self.silent:
            return self.piece.seen
        seen = self.piece.seen.copy()
        seen[list(self.silent)] = 1.0
        return seen


def _jobs(piece: _Piece) -> Iterator[_Job]:
    together: dict[tuple[int, ...], list[int]] = defaultdict(list)
    for k, others in enumerate(piece.sharing):
        together[tuple(sorted((*others, k))) if others else ()].append(k)
    for silent, wanted in together.items():
        yield _Job(piece, silent, wanted)


def _listen(jobs: Sequence[_Job], order: Order) -> None:
    """Add the messages under one model to the factors."""
    anew = [job for job in jobs if job.silent or order not in job.piece.received]
    for job in jobs:
        if not job.silent and order in job.piece.received:
            _add_factor(job, order, job.piece.received[order])
    for job, _, received in _recursions(anew, order):
        _add_factor(job, order, received)


def _add_factor(job: _Job, order: Order, received: Array) -> None:
    piece = job.piece
    if piece.factor is None:
        piece.factor = np.zeros_like(piece.like)
    on_places = np.tile(piece.density, (len(piece.places), 1))  # those without a number are as if they were shuffled
    on_places[piece.in_order(order)] = received
    piece.factor[job.wanted] += piece.odds[order] * on_places[job.wanted] / piece.density


def _recursions(jobs: Sequence[_Job], order: Order) -> Iterator[tuple[_Job, float, Array]]:
    """`model/sequences.recursion` of each job, many at once."""
    places = [job.piece.in_order(order) for job in jobs]
    longest_first = sorted(range(len(jobs)), key=lambda k: -len(places[k]))
    begin = 0
    while begin < len(jobs):
        longest = len(places[longest_first[begin]])
        part = longest_first[begin : begin + max(1, NUMBERS // (longest * CELLS))]
        begin += len(part)
        seen = np.ones((len(part), longest, CELLS), dtype=np.float32)
        for row, k in zip(seen, part, strict=True):
            row[: len(places[k])] = jobs[k].seen()[places[k]]
        density = np.array([jobs[k].piece.density for k in part], dtype=np.float32)
        log, received = recursion(seen, density, _PLAIN.get(order, order), [len(places[k]) for k in part])
        for i, k in enumerate(part):
            yield jobs[k], float(log[i]), received[i, : len(places[k])]


def _apply(piece: _Piece, message: Array, gained: Array | None) -> None:
    moved = sum(chance for order, chance in piece.odds.items() if order is not Order.SHUFFLED and chance > UNLIKELY)
    received = message[piece.places]
    if piece.factor is not None:
        always = 1 - moved + moved * SLIP
        until = piece.start + piece.step * CELLS
        whole = np.full(received.shape, always**piece.trust, dtype=np.float32)
        inner = np.repeat((always + (1 - SLIP) * piece.factor) ** piece.trust, piece.step, axis=1)
        whole[:, piece.start : until] = inner[:, : message.shape[1] - piece.start]
        received *= whole
    if gained is not None:
        received += (1 - moved) * gained[piece.places]
    message[piece.places] = received / received.sum(axis=1, keepdims=True)
