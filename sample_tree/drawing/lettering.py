"""Writing, as strokes of a pen: no font is needed, so the same words always give the same pixels.

Each letter is one or more strokes of points on a grid: x from 0, y up from the line, small letters 10 high, tall ones 20.
"""

from __future__ import annotations

import numpy as np

from .canvas import Canvas, Colour, smooth

SHAPES = {
    "a": "8,8 5,10 1,7 0,3 3,0 6,2 8,8/8,9 8,2 9,0 11,2", "b": "0,3 3,12 4,19 2,20 1,14 1,2 4,0 7,3 6,8 3,9",
    "c": "7,8 4,10 1,7 0,3 3,0 6,1 9,3", "d": "8,8 5,10 1,7 0,3 3,0 6,2 8,9/9,20 8,9 8,2 9,0 11,2", "e": "0,4 5,5 7,8 4,10 1,7 0,3 3,0 6,1 9,3",
    "f": "0,3 4,12 6,18 4,20 3,15 2,0 1,-8/0,9 6,10", "g": "8,8 5,10 1,7 0,3 3,0 6,2 8,8/8,9 8,-4 5,-9 1,-7 4,-2 11,2",
    "h": "0,2 3,12 4,19 2,20 1,14 1,0/1,5 4,10 7,8 6,2 8,0 10,2", "i": "1,9 1,3 2,0 5,2/2,14 2.4,15", "j": "3,9 3,-4 1,-9 -2,-7/4,14 4.4,15",
    "k": "0,2 3,12 4,19 2,20 1,14 1,0/7,10 1,5/2,6 6,0 9,2", "l": "0,3 3,12 4,19 2,20 1,14 1,3 3,0 6,2",
    "m": "0,9 1,0/1,6 3,10 5,8 5,0/5,6 8,10 10,8 9,3 10,0 12,2", "n": "0,9 1,0/1,6 4,10 7,8 6,2 7,0 9,2", "o": "4,10 1,8 0,4 3,0 6,2 7,7 4,10 8,9",
    "p": "1,9 0,-9/1,6 4,10 7,7 6,2 3,0 1,2", "q": "8,8 5,10 1,7 0,3 3,0 6,2 8,8/8,9 7,-9 10,-6", "r": "0,9 1,0/1,5 3,9 6,10 8,8",
    "s": "6,9 3,10 1,7 5,4 5,1 2,0 0,1", "t": "3,17 2,4 3,0 6,2/0,11 6,12", "u": "0,9 0,3 2,0 5,2 7,9/7,9 7,2 8,0 10,2", "v": "0,9 3,0 6,9 8,9",
    "w": "0,9 1,1 3,0 5,8 6,1 8,0 10,9 12,9", "x": "0,9 6,0 8,1/7,10 0,0", "y": "0,9 1,4 4,3 7,9/7,9 6,-5 3,-9 0,-7 4,-2 10,2",
    "z": "0,9 6,10 1,1 7,0 4,-6 1,-5 8,2", "A": "0,0 6,20 12,0/3,7 10,7", "B": "1,0 2,20 8,19 9,14 3,11 10,9 10,2 1,0",
    "C": "11,17 7,20 2,16 0,8 3,1 8,0 12,4", "D": "1,0 2,20 9,18 12,10 9,2 1,0", "E": "10,18 4,20 2,15 7,11 2,8 1,3 5,0 11,3",
    "F": "0,19 12,20/5,20 3,0/3,11 9,11", "G": "11,17 7,20 2,16 0,8 3,1 8,1 11,8 6,8/11,8 10,-2", "H": "1,20 2,0/11,20 10,0/2,10 11,11",
    "I": "2,20 7,20 5,0 1,1", "J": "3,19 9,20 8,0 5,-6 1,-3", "K": "1,20 2,0/10,20 2,9/4,11 11,0", "L": "2,20 1,1 10,0 11,3", "M": "0,0 2,20 7,4 12,20 14,0",
    "N": "0,0 2,20 10,0 12,20", "O": "6,20 1,16 0,7 4,0 9,2 12,10 9,18 6,20", "P": "2,0 2,20 9,19 10,12 2,9", "Q": "6,20 1,16 0,7 4,0 9,2 12,10 9,18 6,20/7,5 13,-2",
    "R": "2,0 2,20 9,19 10,13 2,10/4,10 11,0", "S": "10,17 6,20 2,16 8,9 8,2 4,0 0,3", "T": "0,18 12,20/7,19 5,0", "U": "1,20 1,4 5,0 9,4 10,20/10,20 10,0 12,1",
    "V": "0,20 5,0 11,20", "W": "0,20 3,0 7,14 10,0 15,20", "X": "0,20 10,0/11,20 0,0", "Y": "0,20 5,10 11,20/5,10 3,0", "Z": "0,19 11,20 0,1 11,0",
    "0": "4,16 1,12 1,4 4,0 7,4 7,12 4,16", "1": "1,12 5,16 4,0", "2": "1,13 4,16 7,12 0,0 8,0", "3": "1,15 6,15 3,9 7,5 4,0 0,2", "4": "5,16 0,5 8,5/6,9 5,-2",
    "5": "7,16 2,16 1,9 6,9 6,2 0,0", "6": "6,16 1,8 1,2 5,0 7,4 4,8 1,5", "7": "0,15 8,16 2,0/2,8 6,8", "8": "4,8 1,12 4,16 7,12 4,8 0,3 4,0 8,3 4,8",
    "9": "7,12 4,16 1,12 3,8 7,12 6,4 3,-2", ".": "1,0 1.6,0.6", ",": "2,1 1,-3", "'": "2,20 1,16", "-": "0,6 6,6", "&": "9,3 5,0 1,4 7,14 5,19 2,15 10,0",
    "?": "1,16 5,19 7,15 3,9 3,6/3,1 3.6,1.5", ":": "1,1 1.6,1.5/1,8 1.6,8.5", "!": "2,19 1,6/1,1 1.6,1.5", "(": "4,20 1,10 4,-2", ")": "1,20 4,10 1,-2", "/": "0,0 6,18",
}  # fmt: skip


PLAIN = {"I": "1,20 1,0", "E": "8,20 1,20/1,20 1,0/1,10 7,10/1,0 8,0", "J": "7,20 7,4 4,0 0,3"}
"""Letters that a sign painter shapes otherwise than a pen."""


def _strokes(letter: str, upright: bool = False) -> list[list[tuple[float, float]]]:
    """The strokes of one letter."""
    return [
        [(float(x), float(y)) for x, y in (point.split(",") for point in stroke.split())]
        for stroke in (PLAIN if upright and letter in PLAIN else SHAPES).get(letter, "").split("/")
        if stroke
    ]


def width_of(words: str, size: float, upright: bool = False) -> float:
    """How wide words will be, in pixels; `size` is the height of a capital."""
    return sum(_advance(letter, upright) for letter in words) * size / 20


def _advance(letter: str, upright: bool) -> float:
    strokes = _strokes(letter, upright)
    if not strokes:
        return 7.0
    return max(x for stroke in strokes for x, _ in stroke) + (4.0 if upright else 1.2 if letter.islower() else 2.6)


def write(
    canvas: Canvas,
    words: str,
    x: float,
    y: float,
    size: float,
    ink: Colour,
    *,
    rng: np.random.Generator,
    upright: bool = False,
    weight: float = 0.08,
    alpha: float = 0.9,
    slope: float = 0.0,
) -> None:
    """Write from (x, y), the start of the line, in pixels. `upright` is a sign-painter's hand, else a quick slanted one."""  # fmt: skip
    lean = 0.0 if upright else 0.34
    wobble = 0.0 if upright else 0.35
    start = x
    for letter in words:
        lift = y + (x - start) * slope + rng.normal(0, wobble * size / 40)
        for stroke in _strokes(letter, upright):
            points = [
                (x + (u + v * lean + rng.normal(0, wobble)) * size / 20, lift - (v + rng.normal(0, wobble)) * size / 20)
                for u, v in stroke
            ]
            canvas.stroke(
                smooth(points, closed=False, steps=6), ink, max(1.0, size * weight), alpha=alpha, taper=not upright
            )
        x += _advance(letter, upright) * size / 20
