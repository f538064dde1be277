"""From a name on a list to somebody drawn: which hair, beard, hat, clothes and expression a year, an age and a sex ask for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .canvas import Canvas, Colour, Frame, mix
from .dress import BRIGHTS, CREAM, DARKS, LIGHTS, SUITS, WHITE, Outfit, outfit_for
from .figures import Box, Figure, Pose, draw_figure
from .garments import weave_for
from .heads import Head
from .looks import Looks, build_of, looks_of


@dataclass(frozen=True, slots=True)
class Guise:
    """What a picture asks of somebody beyond what follows from year, age and sex."""

    wear: str = ""
    hat: str = ""
    style: str = ""
    turn: float = 0.0
    smile: float | None = None
    shut: bool = False


def _woman_style(age: float, year: int, rng: np.random.Generator) -> str:
    if age > 60:
        return "combed back" if year < 1952 else "set"
    for last, style in ((1875, "parted"), (1892, "curled up"), (1911, "puffed up"), (1922, "low knot"), (1931, "bob"),
                        (1939, "waved"), (1948, "rolled"), (1960, "set")):  # fmt: skip
        if year < last:
            return style
    if age > 45:
        return "set"
    return "beehive" if year < 1970 else str(rng.choice(["long", "bob", "long"]))


def _girl_style(age: float, year: int, rng: np.random.Generator) -> str:
    if age < 3.5:
        return "ringlets"
    if year < 1890:
        return "parted"
    if year < 1920:
        return str(rng.choice(["loose", "parted", "loose"]))
    if year < 1945:
        return str(rng.choice(["fringe", "bob", "fringe"]))
    if year < 1966:
        return str(rng.choice(["pony", "fringe", "parted"]))
    return str(rng.choice(["long", "fringe"]))


def _man_style(looks: Looks, age: float, year: int) -> str:
    if age > looks.bald_at:
        return "bald" if age > looks.bald_at + 6 else "thin"
    if year < 1885:
        return "long sides"
    if year < 1912:
        return "side"
    if year < 1950:
        return "sleek" if age > 15 else "side"
    if year < 1968:
        return "crop" if age < 14 else "side"
    return "mop" if age < 40 else "long sides"


def _beard(looks: Looks, age: float, year: int) -> str:
    if age < 21:
        return ""
    if year < 1890:
        return (
            ("full", "whiskers", "chin", "handlebar")[looks.whiskers]
            if age > 34
            else ("moustache", "handlebar", "chin", "")[looks.whiskers]
        )
    if year < 1919:
        return (
            ("full" if age > 58 else "walrus", "moustache", "handlebar", "moustache")[looks.whiskers]
            if age > 24
            else ""
        )
    if year < 1945:
        return ("walrus" if age > 55 else "clipped", "", "moustache" if age > 50 else "", "")[looks.whiskers]
    if year > 1967 and age < 45:
        return ("sideburns", "sideburns", "handlebar", "")[looks.whiskers]
    return ""


def _style(looks: Looks, age: float, sex: str, year: int, rng: np.random.Generator) -> str:
    if age < 1.2:
        return "down"
    if sex == "F":
        return _girl_style(age, year, rng) if age < 14.5 else _woman_style(age, year, rng)
    if age < 4 and year < 1910:
        return "ringlets"
    if age < 14.5:
        return "crop" if year < 1920 else "side" if year < 1945 else "crop" if year < 1964 else "mop"
    return _man_style(looks, age, year)


def _smile(year: int, age: float, rng: np.random.Generator) -> float:
    """The later and the younger, the more of a smile."""
    mean = float(np.interp(year, (1868, 1900, 1915, 1930, 1950), (0.05, 0.15, 0.35, 0.65, 0.85)))
    return mean + rng.uniform(-0.12, 0.22) + (0.1 if 2 < age < 12 and year > 1900 else 0)


def _hat_colour(hat: str, outfit: Outfit, rng: np.random.Generator) -> Colour:
    if hat in ("straw", "boater"):
        return (0.86, 0.77, 0.55)
    if hat == "bonnet":
        return WHITE
    if hat in ("peaked", "sidecap"):
        return outfit.main
    if hat in ("cloche", "tilted", "beret", "wide", "headscarf"):
        return (
            mix(outfit.main, DARKS[int(rng.integers(len(DARKS)))], 0.4)
            if hat != "headscarf"
            else BRIGHTS[int(rng.integers(len(BRIGHTS)))]
        )
    return SUITS[int(rng.integers(len(SUITS)))]


def figure_for(
    number: int,
    sex: str,
    age: float,
    year: int,
    pose: Pose,
    guise: Guise,
    canvas: Canvas,
    pixels_per_cm: float,
    seed: int,
) -> tuple[Figure, float]:
    """A figure, and the pixels that one of its heads takes."""
    rng = np.random.default_rng([1117, number, year, seed + (17 if year > 1960 else 0)])
    looks = looks_of(number, sex)
    outfit = outfit_for(sex, age, year, rng, guise.wear)
    build = build_of(looks, age, sex)
    unit = build.head * pixels_per_cm
    girl = sex == "F" and 4 < age < 14.5 and not guise.hat
    style = guise.style or _style(looks, age, sex, year, rng)
    head = Head(
        looks=looks, age=age, sex=sex, style=style, turn=guise.turn + rng.uniform(-0.12, 0.12),
        smile=_smile(year, age, rng) if guise.smile is None else guise.smile,
        beard=_beard(looks, age, year) if sex == "M" else "", hat=guise.hat, hat_colour=_hat_colour(guise.hat, outfit, rng),
        plaits=girl and style == "parted" and year > 1875 and rng.uniform() < 0.75,
        bow=girl and style in ("loose", "fringe", "pony") and 1893 < year < 1962 and rng.uniform() < 0.8,
        ribbon=(WHITE, CREAM, *LIGHTS)[int(rng.integers(6))], glasses=age > looks.glasses_at and year > 1880, shut=guise.shut,
    )  # fmt: skip
    weave = weave_for(outfit, canvas.width, canvas.height, unit, rng)
    return Figure(head, build, outfit, pose, weave), unit


def draw_person(canvas: Canvas, x: float, y: float, figure: Figure, unit: float) -> Box:
    """Draw a figure with its feet at (x, y) pixels; returns the box of its face."""
    canvas.glow(x, y, unit * 1.2, unit * 0.22, (0.08, 0.06, 0.05), 0.45 if figure.pose.name != "arms" else 0)
    return draw_figure(canvas, Frame(x, y, unit), figure)
