"""Whether film is known as what it is: negatives found, and slides and prints that are called negatives.

python tests/bench/bench_negatives.py [--scans N] [--seed S]

N scans (60) of each kind and shape are drawn by `scanned_films.py`, and as many of prints that look like film in one
way: with a white border on a black ground, toned, in the light of a lamp. Limits were chosen with seeds below 1,000;
the default begins at 10,000.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from PIL import Image
from scanned_films import BLACK_AND_WHITE, COLOUR, FRAME, MOUNTED, ROLL, SLIDE, STRIP, film
from scanned_prints import NAMES, Print, photograph, scanned

from kinphoto.scans.checks.findings import findings
from kinphoto.scans.checks.measures import of_picture

Drawn = tuple[Image.Image, float, float]
"""A picture, its ppi, and how many times larger a scanner writes it."""


def drawn(kind: str, shape: str) -> Callable[[int], Drawn]:
    """Scans of film."""

    def made(seed: int) -> Drawn:
        one = film(kind, shape, seed)
        return one.picture, one.ppi * one.times, one.times

    return made


def printed(ppi: float, **how: object) -> Callable[[int], Drawn]:
    """Scans of prints."""

    def made(seed: int) -> Drawn:
        rng = np.random.default_rng([seed, 5])
        plain = Print(
            size=(900, 660), tilt=float(rng.uniform(-1, 1)), texture=float(rng.uniform(1.5, 3)),
            border=int(rng.choice([0, 30])), bed=float(rng.choice([246, 30])),
        )  # fmt: skip
        return scanned(photograph(str(rng.choice(NAMES))), replace(plain, **how), seed), ppi, 1  # type: ignore[arg-type]

    return made


NEGATIVES = {
    f"{kind}, {shape}": drawn(kind, shape) for kind in (BLACK_AND_WHITE, COLOUR) for shape in (STRIP, ROLL, FRAME)
}
OTHERS = {
    **{f"{SLIDE}, {shape}": drawn(SLIDE, shape) for shape in (STRIP, ROLL, FRAME, MOUNTED)},
    "print": printed(600),
    "print with a white border on black, 600 ppi": printed(600, border=30, bed=2),
    "the same at 1200 ppi": printed(1200, border=30, bed=2),
    "sepia print": printed(600, tint=(1, 0.86, 0.64)),
    "print in the light of a lamp": printed(600, border=0, tint=(1, 0.75, 0.42)),
}


def main() -> None:
    """The table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--scans", type=int, default=60)
    parser.add_argument("--seed", type=int, default=10_000)
    wanted = parser.parse_args()
    print("| scan | of | negative | perhaps a negative |\n| --- | --- | --- | --- |")
    for name, make in (NEGATIVES | OTHERS).items():
        sure = perhaps = 0
        for seed in range(wanted.seed, wanted.seed + wanted.scans):
            picture, ppi, times = make(seed)
            width, height = (round(edge * times) for edge in picture.size)
            said = {each.kind for each in findings(width, height, of_picture(picture, ppi))}
            sure += "negative" in said
            perhaps += "negative-perhaps" in said
        print(f"| {name} | {wanted.scans} | {sure} | {perhaps} |", flush=True)


if __name__ == "__main__":
    main()
