"""How sure messages between births and photographs may be where what they rest on is not independent.

Where the births of a household are vague and they are all in the same photographs, everything could be earlier or later
together. Messages cannot know: the message of one birth returns to it through the others and is counted again, so
beliefs are too narrow (if all is normal they are in the right place: Weiss and Freeman, "Correctness of belief
propagation in Gaussian graphical models of arbitrary topology", Neural Computation 13, 2001). So all is taken as normal
once more, with births b and exposures x: an age tells that x - b is normal with the precision w,

    J = diag(p) + the sum over faces of w u u^T,        u = e_x - e_b,

p the precision of each by itself. Vague births of one household were told by the same people, so that they may all be
off by the same (`SHIFT`): of several in the household h, p times the square of e_b - e_h takes the place of p. The true
variances are on the diagonal of the inverse of J. What messages make of the same is found by passing

    w (L - m) / (w + L - m),        L = p + the sum of the messages m that come in.

What has come in counts, as a logarithm, (1 / variance - p) / (L - p) times, at most once: once where there are no rings
and nobody's household is in doubt, and where no age has come in at all.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import splu

from kinphoto.reason.model.arrays import Array, Ints, starts

SHIFT = 3.0
"""Quarter-years (standard deviation) by which all vague births of a household may be off together. *Ours.*"""
ROUNDS, CHANGE = 40, 1e-3
"""The most rounds of messages, and the relative change at which they end."""
FEW = 600
"""Births and households that are connected up to which the inverse is worked out; of more it is estimated from `DRAWN`
draws."""
DRAWN, TOGETHER = 256, 32
"""Draws from the normal, and how many are drawn together: variances are off by an eleventh (standard deviation)."""
LEAST = 1e-9
"""The least precision that messages have to bring to be limited."""


@dataclass(frozen=True)
class NormalFaces:
    """Faces with an age: of which birth in which photograph, and the variance of the age."""

    birth: Ints
    photo: Ints
    variance: Array


@dataclass(frozen=True)
class Alone:
    """The precision of each birth and photograph by itself, and the household of each birth (-1: no other is in it)."""

    births: Array
    household: Ints
    photos: Array


def counted(faces: NormalFaces, alone: Alone) -> tuple[Array, Array]:
    """How often what has come in counts, for each birth and each photograph, from 0 to 1."""
    by_messages = _by_messages(faces, alone.births, alone.photos)
    found = []
    for variance, own, whole in zip(variances(faces, alone), (alone.births, alone.photos), by_messages, strict=True):
        came = whole - own
        counts = np.clip((1 / variance - own) / np.maximum(came, LEAST), 0.0, 1.0)
        found.append(np.where(came > LEAST, counts, 1.0))
    return found[0], found[1]


def _by_messages(faces: NormalFaces, births: Array, photos: Array) -> tuple[Array, Array]:
    """The precision of every birth and photograph as messages have it."""
    birth, photo, face = faces.birth, faces.photo, 1 / faces.variance
    to_birth, of_births, of_photos = face, births, photos
    for _ in range(ROUNDS):
        of_births = births + np.bincount(birth, to_birth, minlength=len(births))
        left = of_births[birth] - to_birth
        to_photo = face * left / (face + left)
        of_photos = photos + np.bincount(photo, to_photo, minlength=len(photos))
        left = of_photos[photo] - to_photo
        before, to_birth = to_birth, face * left / (face + left)
        if np.all(abs(to_birth - before) <= CHANGE * to_birth):
            break
    return of_births, of_photos


def variances(faces: NormalFaces, alone: Alone) -> tuple[Array, Array]:
    """The diagonal of the inverse of J: births, photographs. Each connected part is worked out by itself, so that
    nothing depends on what is elsewhere in the archive."""
    births, photos = len(alone.births), len(alone.photos)
    of_births, of_photos, sizes = _hanging_together(faces, alone)
    found = np.empty(births), np.empty(photos)
    many = sizes > FEW
    for chosen, how in ((~many, _exactly), *((np.arange(len(sizes)) == i, _by_draws) for i in np.flatnonzero(many))):
        mine, pictures = np.flatnonzero(chosen[of_births]), np.flatnonzero(chosen[of_photos])
        some = np.flatnonzero(chosen[of_births[faces.birth]])
        part = NormalFaces(
            np.searchsorted(mine, faces.birth[some]), np.searchsorted(pictures, faces.photo[some]), faces.variance[some]
        )
        household = np.full(len(mine), -1, dtype=np.int64)
        shared = alone.household[mine] >= 0
        household[shared] = np.unique(alone.household[mine][shared], return_inverse=True)[1]
        found[0][mine], found[1][pictures] = how(part, Alone(alone.births[mine], household, alone.photos[pictures]))
    return found


def _hanging_together(faces: NormalFaces, alone: Alone) -> tuple[Ints, Ints, Ints]:
    """The part of the archive that each birth and each photograph is in, which faces and households join; and how many
    births and households each part has."""
    births, photos, households = len(alone.births), len(alone.photos), int(alone.household.max(initial=-1)) + 1
    shared = np.flatnonzero(alone.household >= 0)
    one = np.concatenate([faces.birth, shared])
    other = np.concatenate([births + faces.photo, births + photos + alone.household[shared]])
    every = births + photos + households
    joined = sparse.coo_array((np.ones(len(one)), (one, other)), (every, every))
    parts, label = connected_components(joined, directed=False)
    inside = np.concatenate([label[:births], label[births + photos :]])
    return label[:births], label[births : births + photos], np.bincount(inside, minlength=parts)


@dataclass(frozen=True)
class _Eliminated:
    """J without photographs, since none of them touches another: `rest` of births and households; what is `seen` of
    them in each photograph, over its precision `photos`; and `factor` and `pictured`, whose squares J is the sum of,
    with `others` on the diagonal besides."""

    rest: sparse.csr_array
    seen: sparse.csr_array
    photos: Array
    factor: sparse.csr_array
    pictured: sparse.csr_array
    others: Array

    @classmethod
    def of(cls, faces: NormalFaces, alone: Alone) -> _Eliminated:
        """From faces and what is known of each alone."""
        births, photos, many = len(alone.births), alone.photos, len(faces.birth)
        households = int(alone.household.max(initial=-1)) + 1
        others = np.concatenate([np.where(alone.household < 0, alone.births, 0.0), np.full(households, SHIFT**-2)])
        shared, at, root = np.flatnonzero(alone.household >= 0), np.arange(many), faces.variance**-0.5
        own = np.sqrt(alone.births[shared])
        factor = _table((many + births, len(others)), (
            (at, faces.birth, root),
            (many + shared, shared, own),
            (many + shared, births + alone.household[shared], -own),
        ))  # fmt: skip
        pictured = _table((many + births, len(photos)), ((at, faces.photo, root),))
        of_photos = photos + np.bincount(faces.photo, root**2, minlength=len(photos))
        seen = (factor.T @ pictured) / of_photos[None]
        rest = sparse.diags_array(others) + factor.T @ factor - seen @ (pictured.T @ factor)
        return cls(sparse.csr_array(rest), sparse.csr_array(seen), of_photos, factor, pictured, others)


def _exactly(faces: NormalFaces, alone: Alone) -> tuple[Array, Array]:
    """By the inverse of each connected part."""
    j = _Eliminated.of(faces, alone)
    inverse = _inverse(j.rest)
    together = np.asarray(j.seen.multiply(inverse @ j.seen).sum(axis=0)).ravel()
    return inverse.diagonal()[: len(alone.births)], 1 / j.photos + together


def _inverse(blocks: sparse.csr_array) -> sparse.csr_array:
    """The inverse of a matrix of many small blocks, those of one size at a time."""
    if not blocks.shape[0]:
        return blocks
    parts, label = connected_components(blocks, directed=False)
    order, sizes = np.argsort(label, kind="stable"), np.bincount(label, minlength=parts)
    begin = starts(sizes)[:-1]
    place = np.empty(len(label), dtype=np.int64)
    place[order] = np.arange(len(label)) - np.repeat(begin, sizes)
    entries = blocks.tocoo()
    row, column = entries.coords
    found = []
    for size in np.unique(sizes).tolist():
        chosen = np.flatnonzero(sizes == size)
        number = np.searchsorted(chosen, label[row])
        number[number == len(chosen)] = 0
        here = np.flatnonzero(chosen[number] == label[row])
        dense = np.zeros((len(chosen), size, size))
        dense[number[here], place[row[here]], place[column[here]]] = entries.data[here]
        members = order[begin[chosen][:, None] + np.arange(size)]
        found.append((
            np.repeat(members, size, axis=1).ravel(), np.tile(members, (1, size)).ravel(), np.linalg.inv(dense).ravel()
        ))  # fmt: skip
    return _table((len(label), len(label)), found)


def _by_draws(faces: NormalFaces, alone: Alone) -> tuple[Array, Array]:
    """From draws of the normal, where the inverse would be too large."""
    j, births = _Eliminated.of(faces, alone), len(alone.births)
    solver, dice = splu(j.rest.tocsc(), permc_spec="MMD_AT_PLUS_A"), np.random.default_rng(1)
    squares = np.zeros(births), np.zeros(len(j.photos))
    for _ in range(DRAWN // TOGETHER):  # J^-1 y has the variances wanted if y has the variance J
        noise = dice.standard_normal((j.factor.shape[0], TOGETHER))
        y = np.sqrt(j.others)[:, None] * dice.standard_normal((len(j.others), TOGETHER)) + j.factor.T @ noise
        x = np.sqrt(alone.photos)[:, None] * dice.standard_normal((len(j.photos), TOGETHER)) - j.pictured.T @ noise
        y = solver.solve(y + j.seen @ x)
        x = x / j.photos[:, None] + j.seen.T @ y
        for square, value in zip(squares, (y[:births], x), strict=True):
            square += (value**2).sum(axis=1)
    return squares[0] / DRAWN, squares[1] / DRAWN


def _table(shape: tuple[int, int], entries: Iterable[tuple[Ints, Ints, Array]]) -> sparse.csr_array:
    """A sparse matrix of these rows, columns and values."""
    rows, columns, values = (np.concatenate(part) for part in zip(*entries, strict=True))
    return sparse.csr_array((values, (rows, columns)), shape)
