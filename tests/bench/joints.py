"""Small worlds of births and photographs with random factors, and their joint distribution summed out plainly.

The sums know nothing of messages, cavities or Fourier transforms: they multiply the factors as the method gives them,
over every combination of quarter-years, and add up.
"""

from __future__ import annotations

import numpy as np

from kinphoto.reason.soft.grid import QuarterRows
from kinphoto.reason.soft.kernels import LAGS
from kinphoto.reason.soft.messages import BeliefPropagation, Converged, VagueFaces
from kinphoto.reason.soft.orders import Orders

Array = np.ndarray
BIRTHS, PHOTOS = (40, 25, 30), (50, 35, 60, 20)  # quarter-years of each
FIRST_BIRTH, FIRST_PHOTO = (1400, 1390, 1405), (1430, 1440, 1425, 1450)
TREE = ((0, 0), (0, 1), (1, 1), (1, 2), (2, 2), (2, 3))  # who is in which photograph: no ring
RING = ((0, 0), (0, 1), (1, 0), (1, 1))
UNTIL = (1445, 1380, 1440)  # quarter-year up to which each was alive for certain


class World:
    """Random priors, kernels and lives."""

    def __init__(self, joints: tuple[tuple[int, int], ...], seed: int) -> None:
        dice = np.random.default_rng(seed)
        self.joints = joints
        self.prior = [self._random(dice, n) for n in BIRTHS]
        self.unary = [self._random(dice, n) for n in PHOTOS]
        ages = np.arange(LAGS + 1) / 4
        self.kernels = [
            0.02 + np.exp(-0.5 * ((ages - dice.uniform(2, 30)) / dice.uniform(1, 4)) ** 2) for _ in joints
        ] + [np.exp(-((ages / 60) ** 4))]
        self.share, self.rest = dice.uniform(0.9, 0.99, len(joints)), dice.uniform(0.001, 0.02, len(joints))
        self.alive = [dice.uniform(0.5, 1, PHOTOS[x]) for _, x in joints]
        self.lasting = [b != 1 for b, _ in joints]
        self.life = [dice.uniform(0.3, 1, n) for n in BIRTHS]

    @staticmethod
    def _random(dice: np.random.Generator, n: int) -> Array:
        mass = np.exp(-0.5 * ((np.arange(n) - dice.uniform(0, n)) / dice.uniform(3, n)) ** 2) + 0.01
        return mass / mass.sum()

    def run(self, precision: type = np.float64, tolerance: float = 1e-13, orders: Orders | None = None) -> Converged:
        """What messages make of it."""
        survival = self.kernels[-1]
        blank = np.ones(LAGS + 1)
        tables = np.array([*self.kernels[:-1], *(k * survival for k in self.kernels[:-1]), blank, survival])
        n = len(self.joints)
        birth, photo = (np.array([joint[i] for joint in self.joints]) for i in (0, 1))
        after = np.where(self.lasting, n + np.arange(n), -1)
        alive = np.concatenate(
            [np.ones_like(a) if late else a for a, late in zip(self.alive, self.lasting, strict=True)]
        )
        faces = VagueFaces(
            birth, photo, np.arange(n), tables, self.share, self.rest, alive, after, np.array(UNTIL)[birth],
            np.ones(len(BIRTHS), dtype=np.int64), np.ones(1),
        )  # fmt: skip
        births = QuarterRows(np.cumsum([0, *BIRTHS]), np.array(FIRST_BIRTH))
        photos = QuarterRows(np.cumsum([0, *PHOTOS]), np.array(FIRST_PHOTO))
        propagation = BeliefPropagation(
            faces, births, np.concatenate(self.prior), photos, np.log(np.concatenate(self.unary)), orders,
            precision, tolerance,
        )  # fmt: skip
        self.propagation = propagation
        return propagation.run(np.concatenate(self.life))

    def factor(self, joint: int) -> Array:
        """f(b, x) of one face, for every pair of quarter-years."""
        b, x = self.joints[joint]
        births, photos = FIRST_BIRTH[b] + np.arange(BIRTHS[b]), FIRST_PHOTO[x] + np.arange(PHOTOS[x])
        lag = photos[None] - births[:, None]
        seen = np.where(lag >= 0, self.kernels[joint][np.maximum(lag, 0)], 0.0)
        late = np.where(lag >= 0, self.kernels[-1][np.maximum(lag, 0)], 0.0) / self.life[b][:, None]
        lives = np.where(photos[None] > UNTIL[b], late, 1.0) if self.lasting[joint] else self.alive[joint][None]
        return self.share[joint] * seen * lives + self.rest[joint]

    def summed(self, extra: tuple[tuple[str, Array], ...] = ()) -> tuple[list[Array], list[Array]]:
        """The marginals of all births and photographs, by summing over everything."""
        letters = ["abc"[i] for i in range(len(BIRTHS))], ["wxyz"[i] for i in range(len(PHOTOS))]
        terms = [
            *letters[0],
            *letters[1],
            *(letters[0][b] + letters[1][x] for b, x in self.joints),
            *(e[0] for e in extra),
        ]
        arrays = [*self.prior, *self.unary, *(self.factor(j) for j in range(len(self.joints))), *(e[1] for e in extra)]
        found = []
        for letter in [*letters[0], *letters[1]]:
            mass = np.einsum(f"{','.join(terms)}->{letter}", *arrays, optimize=True)
            found.append(mass / mass.sum())
        return found[: len(BIRTHS)], found[len(BIRTHS) :]


def distances(world: World, converged: Converged, extra: tuple[tuple[str, Array], ...] = ()) -> list[float]:
    """Total variation of every birth and photograph."""
    births, photos = world.summed(extra)
    mine = np.split(converged.births, np.cumsum(BIRTHS)[:-1])
    logs = np.split(converged.photos + np.log(np.concatenate(world.unary)), np.cumsum(PHOTOS)[:-1])
    masses = [np.exp(log - log.max()) / np.exp(log - log.max()).sum() for log in logs]
    return [0.5 * float(np.abs(a - b).sum()) for a, b in zip([*mine, *masses], [*births, *photos], strict=True)]
