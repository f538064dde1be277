"""How sure messages between births and photographs may be where what they rest on is not independent.

Where the births of a household are vague and they are all in the same photographs, everything could be earlier or later
together. Messages cannot know: what one birth says comes back to it through the others and is counted again, so beliefs
are too narrow (if all is normal they are in the right place: Weiss and Freeman, "Correctness of belief propagation in
Gaussian graphical models of arbitrary topology", Neural Computation 13, 2001). So all is taken as normal once more,
with births b and exposures x: an age tells that x - b is normal with the precision w,

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
from scipy.sparse.linalg import splu

from kinphoto.reason.model.arrays import Array, Ints

SHIFT = 3.0
"""Quarter-years (standard deviation) by which all vague births of a household may be off together. *Ours.*"""
ROUNDS, CHANGE = 40, 1e-3
"""The most rounds of messages, and the relative change at which they end."""
FEW = 600
"""Births and households up to which the inverse is worked out; of more it is estimated from `DRAWN` draws."""
DRAWN, TOGETHER = 256, 32
"""Draws from the normal, and how many are drawn together: variances are off by an eleventh (standard deviation)."""
LEAST = 1e-9


@dataclass(frozen=True)
class NormalFaces:
    """Faces with the age they tell: of which birth in which photograph, and the variance of the age."""

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
    """The diagonal of the inverse of J: births, photographs. Photographs are eliminated, since none touches another."""
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
    in_photo = _table((many + births, len(photos)), ((at, faces.photo, root),))
    of_photos = photos + np.bincount(faces.photo, root**2, minlength=len(photos))
    seen = (factor.T @ in_photo) / of_photos[None]
    rest = sparse.diags_array(others) + factor.T @ factor - seen @ (in_photo.T @ factor)
    if len(others) <= FEW and len(photos) <= 10 * FEW:
        inverse = np.linalg.inv(rest.toarray())
        return np.diag(inverse)[:births], 1 / of_photos + (seen * (inverse @ seen)).sum(axis=0)
    solver, dice = splu(rest.tocsc(), permc_spec="MMD_AT_PLUS_A"), np.random.default_rng(1)
    squares = np.zeros(births), np.zeros(len(photos))
    for _ in range(DRAWN // TOGETHER):  # J^-1 y has the variances wanted if y has the variance J
        noise = dice.standard_normal((many + births, TOGETHER))
        y = np.sqrt(others)[:, None] * dice.standard_normal((len(others), TOGETHER)) + factor.T @ noise
        x = np.sqrt(photos)[:, None] * dice.standard_normal((len(photos), TOGETHER)) - in_photo.T @ noise
        y = solver.solve(y + seen @ x)
        x = x / of_photos[:, None] + seen.T @ y
        for square, value in zip(squares, (y[:births], x), strict=True):
            square += (value**2).sum(axis=1)
    return squares[0] / DRAWN, squares[1] / DRAWN


def _table(shape: tuple[int, int], entries: Iterable[tuple[Ints, Ints, Array]]) -> sparse.csr_array:
    """A sparse matrix of these rows, columns and values."""
    rows, columns, values = (np.concatenate(part) for part in zip(*entries, strict=True))
    return sparse.csr_array((values, (rows, columns)), shape)
