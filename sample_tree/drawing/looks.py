"""What somebody looks like, always the same from the cradle to the grave, and how a body grows.

Traits are drawn once from a person's number, so that the same face can be recognised over seventy years of pictures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .canvas import Colour, mix

HAIR: tuple[Colour, ...] = (
    (0.16, 0.10, 0.07), (0.26, 0.16, 0.10), (0.36, 0.22, 0.12), (0.50, 0.30, 0.15), (0.68, 0.49, 0.26), (0.20, 0.13, 0.10),
)  # fmt: skip
GREY: Colour = (0.80, 0.79, 0.77)
EYES: tuple[Colour, ...] = ((0.20, 0.13, 0.09), (0.24, 0.30, 0.36), (0.25, 0.22, 0.14), (0.30, 0.38, 0.42))


@dataclass(frozen=True, slots=True)
class Looks:
    """The traits of one person. Measures are shares of the height of the head."""

    hair: Colour
    skin: Colour
    eyes: Colour
    width: float
    jaw: float
    nose: float
    brow: float
    gap: float
    ears: float
    lips: float
    wavy: float
    parting: int
    greys_at: float
    glasses_at: float
    bald_at: float
    stout: float
    tall: float
    whiskers: int


def looks_of(number: int, sex: str) -> Looks:
    """The traits of the person with this number."""
    rng = np.random.default_rng([1117, number])
    man = sex == "M"
    return Looks(
        hair=HAIR[rng.integers(len(HAIR))],
        skin=mix((0.95, 0.80, 0.69), (0.87, 0.68, 0.55), rng.uniform(0, 0.8)),
        eyes=EYES[rng.integers(len(EYES))],
        width=rng.uniform(0.345, 0.395) + (0.01 if man else 0),
        jaw=rng.uniform(0.74, 0.86) if man else rng.uniform(0.64, 0.76),
        nose=rng.uniform(0.8, 1.3) * (1.12 if man else 0.92),
        brow=rng.uniform(0.9, 1.5) if man else rng.uniform(0.6, 0.95),
        gap=rng.uniform(0.145, 0.175),
        ears=rng.uniform(0.8, 1.25),
        lips=rng.uniform(0.8, 1.25),
        wavy=rng.uniform(0, 1),
        parting=int(rng.choice([-1, 1])),
        greys_at=rng.uniform(42, 54),
        glasses_at=rng.uniform(48, 64) if rng.uniform() < 0.45 else 200,
        bald_at=rng.uniform(38, 62) if man and rng.uniform() < 0.5 else 200,
        stout=rng.uniform(0.94, 1.1),
        tall=rng.uniform(0.965, 1.035),
        whiskers=int(rng.integers(4)),
    )


def hair_at(looks: Looks, age: float) -> Colour:
    """The colour of the hair at an age: lighter in small children, grey from middle life on."""
    if age < 8:
        return mix(looks.hair, (0.72, 0.54, 0.33), 0.45 * (1 - age / 8))
    grey = min(max((age - looks.greys_at) / 22, 0.0), 1.0)
    return mix(looks.hair, GREY, grey**0.8)


@dataclass(frozen=True, slots=True)
class Build:
    """The measures of a body: `stature` and `head` in centimetres; the rest in heads, heights counted from the ground."""

    stature: float
    head: float
    heads: float
    shoulder_y: float
    waist_y: float
    hip_y: float
    knee_y: float
    shoulder: float
    waist: float
    hip: float
    limb: float


AGES = (0, 1, 2, 4, 7, 10, 13, 16, 19, 60, 85)
STATURE_M = (56, 76, 88, 104, 124, 139, 155, 171, 176, 175, 168)
STATURE_F = (56, 75, 87, 103, 123, 139, 156, 163, 164, 162, 154)
HEADS = (3.5, 3.85, 4.15, 4.6, 5.15, 5.6, 6.0, 6.3, 6.5, 6.5, 6.4)
SHOULDER_M = (0.46, 0.50, 0.53, 0.56, 0.60, 0.65, 0.71, 0.79, 0.84, 0.84, 0.79)
SHOULDER_F = (0.46, 0.50, 0.53, 0.55, 0.58, 0.62, 0.66, 0.69, 0.70, 0.72, 0.69)
GIRTH_M = (0.44, 0.47, 0.47, 0.46, 0.46, 0.47, 0.50, 0.53, 0.55, 0.68, 0.64)
GIRTH_F = (0.44, 0.47, 0.47, 0.45, 0.43, 0.42, 0.42, 0.41, 0.42, 0.58, 0.58)


def build_of(looks: Looks, age: float, sex: str) -> Build:
    """The body of a person at an age."""
    man = sex == "M"

    def at(table: tuple[float, ...]) -> float:
        return float(np.interp(age, AGES, table))

    heads = at(HEADS)
    stature = at(STATURE_M if man else STATURE_F) * (looks.tall if age > 3 else 1)
    girth = at(GIRTH_M if man else GIRTH_F) * (looks.stout if age > 12 else 1)
    hip = girth * (1.02 if man else 1.32 if age > 14 else 1.1)
    grown = min(age / 16, 1.0)
    return Build(
        stature=stature, head=stature / heads, heads=heads, shoulder_y=heads - 1.1 - 0.11 * grown,
        waist_y=heads * (0.56 + 0.055 * grown), hip_y=heads * (0.40 + 0.09 * grown), knee_y=heads * (0.20 + 0.08 * grown),
        shoulder=at(SHOULDER_M if man else SHOULDER_F), waist=girth, hip=hip, limb=0.14 + 0.025 * grown + (0.02 if man else 0),
    )  # fmt: skip
