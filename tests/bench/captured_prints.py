"""Prints photographed with a phone, drawn: a print on a table, seen at an angle by a pinhole camera.

The pictures on the prints are scikit-image's; table and print are put through one homography (Pillow's PERSPECTIVE)
that follows from where the camera stands, so the corners and the proportions of the print are known. Tables are wood,
cloth, checks, stone, gravel, grass, brick or plain; the light falls off, a hand casts a shadow, the print lifts a
little and casts its own.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import cache

import numpy as np
import skimage.data
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter
from scipy import ndimage

SIZE = (1600, 1200)
FORMATS = ((152, 102), (130, 90), (90, 60), (165, 108), (100, 63), (90, 90), (178, 127), (140, 90))
"""Millimetres of prints; either way round."""
TABLES = ("wood", "planks", "cloth", "checks", "stone", "gravel", "grass", "brick", "plain", "dark")
LENSES = (24.0, 26.0, 28.0, 35.0, 50.0)
"""Focal lengths as on 35 mm film."""
PICTURES = ("astronaut", "camera", "chelsea", "coffee", "rocket", "coins", "moon", "hubble_deep_field", "retina")
_DIAGONAL = float(np.hypot(36, 24))
_TABLE = 2.5  # pixels a millimetre of the table


@dataclass(frozen=True)
class Capture:
    """A drawn capture: the corners of its print in pixels from its own top left one on, clockwise, and width by height
    of the print in millimetres."""

    picture: Image.Image
    corners: NDArray[np.float64]
    print_mm: tuple[float, float]
    lens: float
    tilt: float
    table: str
    border: bool

    @property
    def shares(self) -> NDArray[np.float64]:
        """The corners in shares of width and height."""
        return self.corners / self.picture.size

    @property
    def ratio(self) -> float:
        """Width by height of the print."""
        return self.print_mm[0] / self.print_mm[1]


def drawn(seed: int, size: tuple[int, int] = SIZE, most_tilt: float = 32.0) -> Capture:
    """A capture from this seed."""
    rng = np.random.default_rng(seed)
    print_mm = FORMATS[rng.integers(len(FORMATS))]
    if rng.random() < 0.4:
        print_mm = print_mm[::-1]
    lens = float(rng.choice(LENSES))
    tilt = float(rng.uniform(2, most_tilt))
    if rng.random() < 0.3:  # a phone held upright
        size = size[::-1]
    to_picture = _camera(rng, size, print_mm, lens, tilt)
    table_name = str(rng.choice(TABLES))
    table = _seen(_table(rng, table_name), to_picture @ _from_table(rng), size)
    border = bool(rng.random() < 0.6)
    paper = _paper(rng, print_mm, border)
    scale = np.diag([print_mm[0] / paper.width, print_mm[1] / paper.height, 1.0])
    doubled = np.diag([2.0, 2.0, 1.0])
    large = (size[0] * 2, size[1] * 2)
    print_ = _seen(paper, doubled @ to_picture @ scale, large).reduce(2)
    mask = _seen(Image.new("L", paper.size, 255), doubled @ to_picture @ scale, large).reduce(2)
    mm = np.hypot(*(_moved(to_picture, [(0, 0)]) - _moved(to_picture, [(1, 0)]))[0])
    picture = _lit(rng, table, print_, mask, float(mm))
    corners = _moved(to_picture, [(0, 0), (print_mm[0], 0), print_mm, (0, print_mm[1])])
    return Capture(picture, corners, print_mm, lens, tilt, table_name, border)


def _moved(matrix: NDArray[np.float64], points: object) -> NDArray[np.float64]:
    flat = np.column_stack([np.asarray(points, dtype=np.float64), np.ones(len(points))]) @ matrix.T  # type: ignore[arg-type]
    return flat[:, :2] / flat[:, 2:]


def _camera(
    rng: np.random.Generator, size: tuple[int, int], print_mm: tuple[float, float], lens: float, tilt: float
) -> NDArray[np.float64]:
    """From millimetres on the print (from its top left corner) to pixels of the picture."""
    focal = lens / _DIAGONAL * float(np.hypot(*size))
    across, roll = rng.uniform(0, 2 * np.pi), np.radians(rng.uniform(-12, 12))
    angle = np.radians(tilt)
    axis = np.array([np.cos(across), np.sin(across), 0])
    cross = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    lean = np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross
    turn = np.array([[np.cos(roll), -np.sin(roll), 0], [np.sin(roll), np.cos(roll), 0], [0, 0, 1]])
    pose = lean @ turn
    inner = np.array([[focal, 0, size[0] / 2], [0, focal, size[1] / 2], [0, 0, 1]])
    fills = rng.uniform(0.55, 0.86)
    corners = np.array([(0, 0), (print_mm[0], 0), print_mm, (0, print_mm[1])])
    middle = np.array(print_mm) / 2
    away = focal * max(print_mm[0] / size[0], print_mm[1] / size[1]) / fills
    while True:
        shift = np.array([rng.uniform(-0.05, 0.05) * print_mm[0], rng.uniform(-0.05, 0.05) * print_mm[1], away])
        found = inner @ np.column_stack([pose[:, 0], pose[:, 1], shift - pose[:, :2] @ middle])
        seen = _moved(found, corners)
        if (seen > 0.015 * size[0]).all() and (seen < np.array(size) - 0.015 * size[0]).all():
            return found
        away *= 1.05


def _seen(picture: Image.Image, matrix: NDArray[np.float64], size: tuple[int, int]) -> Image.Image:
    """The picture put through a homography from its pixels to those of one of this size."""
    back = np.linalg.inv(matrix)
    back /= back[2, 2]
    return picture.transform(
        size, Image.Transform.PERSPECTIVE, tuple(back.ravel()[:8]), Image.Resampling.BICUBIC, fillcolor=0
    )


def _from_table(rng: np.random.Generator) -> NDArray[np.float64]:
    """From pixels of the table, which goes on around the print on all sides, to millimetres on the print, which lies on
    it at any angle."""
    angle = rng.uniform(-np.pi / 4, np.pi / 4)
    cos, sin = np.cos(angle), np.sin(angle)
    turn = np.array([[cos, -sin, 0], [sin, cos, 0], [0, 0, 1.0]])
    return turn @ np.array([[1 / _TABLE, 0, -750.0], [0, 1 / _TABLE, -750.0], [0, 0, 1]])


_WIDE = round(1600 * _TABLE)


def _noise(rng: np.random.Generator, sigma: tuple[float, float], size: int = 1000) -> NDArray[np.float32]:
    found = ndimage.gaussian_filter(rng.standard_normal((size, size)).astype(np.float32), sigma, mode="wrap")
    return found / found.std()


def _table(rng: np.random.Generator, name: str) -> Image.Image:
    """A table in colours, `_WIDE` pixels square."""
    base = {
        "wood": (150, 105, 70), "planks": (120, 80, 50), "cloth": (90, 100, 125), "checks": (200, 190, 180),
        "stone": (140, 138, 135), "gravel": (150, 145, 135), "grass": (100, 125, 80), "brick": (150, 110, 95),
        "plain": (205, 200, 190), "dark": (60, 50, 45),
    }[name]  # fmt: skip
    colour = np.array(base, dtype=np.float32) * rng.uniform(0.8, 1.1) + rng.uniform(-12, 12, 3).astype(np.float32)
    if name in ("wood", "planks", "dark"):
        level = 9 * _noise(rng, (60, 1.5)) + 5 * _noise(rng, (15, 0.8)) + 6 * _noise(rng, (200, 12))
        if name == "planks":
            for x in range(rng.integers(0, 200), 1000, 260):
                level[:, x : x + 3] -= 45
                level[:, x : x + 260] += rng.uniform(-12, 12)
    elif name in ("cloth", "checks"):
        y, x = np.indices((1000, 1000))
        level = 8 * np.sin(x * 2 * np.pi / 5) + 8 * np.sin(y * 2 * np.pi / 5) + 4 * _noise(rng, (1, 1))
        if name == "checks":
            level = level / 2 - 45 * (x // 125 % 2) - 45 * (y // 125 % 2)
    elif name == "stone":
        level = 10 * _noise(rng, (2, 2)) + 10 * _noise(rng, (10, 10)) + 8 * _noise(rng, (40, 40))
    elif name in ("gravel", "grass", "brick"):
        tile = np.asarray(getattr(skimage.data, name)(), dtype=np.float32)
        level = np.asarray(Image.fromarray(tile).resize((1000, 1000)), dtype=np.float32)
        level = (level - level.mean()) * 0.55
    else:
        level = 1.5 * _noise(rng, (1, 1)) + 2 * _noise(rng, (60, 60))
    level = level.astype(np.float32)
    if rng.random() < 0.5:
        level = level.T
    tile = np.clip(level[..., None] + colour, 0, 255).astype(np.uint8)
    across = -(-_WIDE // 1000)
    return Image.fromarray(np.tile(tile, (across, across, 1))[:_WIDE, :_WIDE])


@cache
def _picture(name: str) -> Image.Image:
    return Image.fromarray(getattr(skimage.data, name)()).convert("RGB")


def _paper(rng: np.random.Generator, print_mm: tuple[float, float], border: bool) -> Image.Image:
    """The print, 12 pixels a millimetre: in colours, grey or toned, faded a little, with a pale border or without."""
    size = round(print_mm[0] * 12), round(print_mm[1] * 12)
    picture = _picture(str(rng.choice(PICTURES)))
    crop = min(picture.width / size[0], picture.height / size[1])
    part = picture.crop((0, 0, int(size[0] * crop), int(size[1] * crop)))
    tone = rng.integers(3)
    if tone:
        grey = np.asarray(part.convert("L"), dtype=np.float32)[..., None] / 255
        dark, light = (
            np.array(x, np.float32)
            for x in (((25, 25, 25), (235, 235, 232)), ((50, 32, 20), (232, 214, 180)))[tone - 1]
        )
        part = Image.fromarray((dark + grey * (light - dark)).astype(np.uint8))
    margin = round(rng.uniform(3, 6) * 12) if border else 0
    paper = Image.new("RGB", size, tuple(int(x) for x in rng.integers((225, 220, 200), (248, 246, 240))))
    paper.paste(part.resize((size[0] - 2 * margin, size[1] - 2 * margin), Image.Resampling.BICUBIC), (margin, margin))
    return paper


def _lit(
    rng: np.random.Generator, table: Image.Image, print_: Image.Image, mask: Image.Image, mm: float
) -> Image.Image:
    """Both together in one light, as a phone stores it."""
    cover = np.asarray(mask, dtype=np.float32)[..., None] / 255
    dark = np.asarray(mask.filter(ImageFilter.GaussianBlur(rng.uniform(0.6, 2.0) * mm)), dtype=np.float32) / 255
    away = rng.uniform(-1.5, 1.5, 2) * mm
    shade = 1 - rng.uniform(0.15, 0.5) * ndimage.shift(dark, away, order=1, mode="nearest")[..., None]
    light = np.asarray(table, dtype=np.float32) * shade
    light = light * (1 - cover) + np.asarray(print_, dtype=np.float32) * cover
    height, width = light.shape[:2]
    y, x = np.indices((height, width), dtype=np.float32)
    x, y = x / width - 0.5, y / height - 0.5
    angle = rng.uniform(0, 2 * np.pi)
    fall = (
        1
        - rng.uniform(0.1, 0.45) * (0.5 + x * np.cos(angle) + y * np.sin(angle))
        - rng.uniform(0, 0.5) * (x * x + y * y)
    )
    light *= fall[..., None]
    if rng.random() < 0.6:  # the shadow of a hand or of the phone
        drawn_ = Image.new("L", (width // 4, height // 4), 0)
        points = rng.uniform(-0.3, 1.3, (4, 2)) * drawn_.size
        ImageDraw.Draw(drawn_).polygon([tuple(p) for p in points], fill=255)
        soft = drawn_.filter(ImageFilter.GaussianBlur(rng.uniform(3, 25))).resize(
            (width, height), Image.Resampling.BICUBIC
        )
        light *= 1 - rng.uniform(0.15, 0.45) * np.asarray(soft, dtype=np.float32)[..., None] / 255
    light *= rng.uniform(0.85, 1.15) * rng.uniform(0.93, 1.07, 3).astype(np.float32)
    light = ndimage.gaussian_filter(light, (rng.uniform(0.4, 1.1),) * 2 + (0,))
    light += rng.normal(0, rng.uniform(1, 4), light.shape).astype(np.float32)
    out = io.BytesIO()
    Image.fromarray(np.clip(light, 0, 255).astype(np.uint8)).save(out, "JPEG", quality=int(rng.integers(75, 94)))
    return Image.open(io.BytesIO(out.getvalue())).convert("RGB")
