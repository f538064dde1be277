"""Beds with several prints, drawn from scikit-image's photographs: where each print lies is known to the hair."""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scanned_prints import PHOTOGRAPHS, Print, photograph, scanned
from scipy import ndimage

from kinphoto.scans.beds.places import Place

MM = 25.4
GLASS = (216.0, 297.0)
"""A4 and a little more, in millimetres, as the glass of most flatbed scanners is (common practice)."""
SIZES = ((45, 60), (60, 60), (60, 90), (63, 100), (70, 100), (90, 90), (90, 130), (100, 150))
"""Prints of the usual sizes, in millimetres: contact prints of 120 film, cartes de visite, 9 × 13 and 10 × 15 cm."""


@dataclass(frozen=True)
class Bed:
    """A drawn bed: the picture, its resolution, and where the prints lie in it (pixels)."""

    picture: Image.Image
    ppi: float
    prints: tuple[Place, ...]
    lid: float
    paper: tuple[float, ...]
    borders: tuple[float, ...]
    board: bool = False

    @property
    def kinds(self) -> tuple[str, ...]:
        """What makes each print hard or easy to tell from the lid."""
        if self.board:
            return tuple("album board, " + ("white border" if border else "no border") for border in self.borders)
        return tuple(
            "dark lid" if self.lid < 128 else "no border" if not border else
            "white border, 6 levels or more" if self.lid - paper >= 6 else "white border, less than 6 levels"
            for paper, border in zip(self.paper, self.borders, strict=True)
        )  # fmt: skip


def drawn(
    seed: int, ppi: float = 150.0, least: int = 2, most: int = 8, gap: float = 2.0, *, board: bool = False
) -> Bed:
    """A bed with `least` to `most` prints at least `gap` millimetres apart, turned by up to 8 degrees; with `board` the
    page of an album fills it, black, brown, grey or green, with the grain of its cardboard and faded at the rim."""
    rng = np.random.default_rng(seed)
    scale = ppi / MM
    size = round(GLASS[0] * scale), round(GLASS[1] * scale)
    wanted = int(rng.integers(least, most + 1))
    places: list[Place] = []
    for _ in range(4000):
        if len(places) == wanted:
            break
        options = [_anywhere(rng, wanted) for _ in range(6)]
        free = [one for one in options if _fits(one, places, gap)]
        if free:  # the one nearest to another, so that gaps are narrow
            places.append(min(free, key=lambda one: min((one.apart(other) for other in places), default=0.0)))
    lid = float(rng.uniform(242, 252)) if rng.random() < 0.8 else float(rng.uniform(18, 45))
    if board:
        lid = float(rng.uniform(28, 120))
    bed = np.full((size[1], size[0], 3), lid, dtype=np.float32)
    if board:
        bed += _cardboard(bed.shape[:2], rng)
    rows, columns = np.indices(bed.shape[:2], dtype=np.float32)
    bed += (rng.uniform(-3, 3) * (rows / size[1] - 0.5) + rng.uniform(-3, 3) * (columns / size[0] - 0.5))[..., None]
    papers, borders = [], []
    depth, width = float(rng.uniform(12, 45)), float(rng.uniform(0.1, 0.6))
    for place in places:
        border = float(rng.choice([0.0, 3.0, 5.0]))
        white = float(rng.uniform(222, min(lid - 2, 240))) if lid > 128 else float(rng.uniform(215, 240))
        _lay(bed, place.scaled(scale), border * scale, white, depth, width * scale, rng)
        papers.append(white)
        borders.append(border)
    _dust(bed, rng, scale)
    bed = ndimage.gaussian_filter(bed, (0.5, 0.5, 0)) + rng.normal(0, 0.8, bed.shape).astype(np.float32)
    picture = Image.fromarray(np.clip(np.rint(bed), 0, 255).astype(np.uint8))
    if rng.random() < 0.5:
        file = io.BytesIO()
        picture.save(file, "JPEG", quality=90)
        picture = Image.open(file)
        picture.load()
    return Bed(picture, ppi, tuple(one.scaled(scale) for one in places), lid, tuple(papers), tuple(borders), board)


def _cardboard(shape: tuple[int, ...], rng: np.random.Generator) -> NDArray[np.float32]:
    """The colour of a board and its grain: fibres of some tenths of a millimetre, and clouds of some centimetres."""
    tint = np.array([(0, 0, 0), (14, 2, -12), (4, 0, -3), (-6, 6, -4)])[int(rng.integers(4))]
    fibres = ndimage.gaussian_filter(rng.normal(0, 1, shape), 1.2)
    clouds = ndimage.zoom(rng.normal(0, 1, (9, 7)), (shape[0] / 9, shape[1] / 7), order=3)[: shape[0], : shape[1]]
    grain = fibres / fibres.std() * rng.uniform(0.8, 3.0) + clouds * rng.uniform(0.5, 2.5)
    return (grain[..., None] + tint).astype(np.float32)


def _anywhere(rng: np.random.Generator, wanted: int) -> Place:
    sizes = SIZES[: 5 if wanted > 6 else 6 if wanted > 4 else len(SIZES)]
    width, height = map(float, sizes[rng.integers(len(sizes))])
    if rng.random() < 0.5:
        width, height = height, width
    return Place(rng.uniform(0, GLASS[0]), rng.uniform(0, GLASS[1]), width, height, float(rng.uniform(-8, 8)))


def _fits(one: Place, others: list[Place], gap: float) -> bool:
    corners = np.array(one.corners)
    inside = corners.min() >= 1.5 and (corners.max(axis=0) <= np.array(GLASS) - 1.5).all()
    return bool(inside) and all(one.apart(other) >= gap for other in others)


def _lay(
    bed: NDArray[np.float32], place: Place, border: float, white: float, depth: float, width: float,
    rng: np.random.Generator,
) -> None:  # fmt: skip
    name = PHOTOGRAPHS[rng.integers(len(PHOTOGRAPHS))]
    tint = (1.0, float(rng.uniform(0.93, 1)), float(rng.uniform(0.8, 1))) if rng.random() < 0.4 else (1.0, 1.0, 1.0)
    made = Print(
        size=(round(place.width), round(place.height)), border=round(border), white=white, margin=0, tilt=0.0,
        noise=0.0, blur=0.0, tint=tint if not border else (1.0, 1.0, 1.0), texture=float(rng.uniform(0.5, 3)),
    )  # fmt: skip
    sheet = np.asarray(scanned(photograph(name), made, int(rng.integers(1 << 30))), dtype=np.float32)
    angle = np.radians(place.turn)
    turning = np.array(((np.cos(angle), -np.sin(angle)), (np.sin(angle), np.cos(angle))))  # rows, columns of the sheet
    reach = int(np.hypot(*sheet.shape[:2]) / 2 + 4 * width + 8)
    top, left = max(0, int(place.y) - reach), max(0, int(place.x) - reach)
    part = bed[top : int(place.y) + reach, left : int(place.x) + reach]
    # Pixel (i, j) covers i to i + 1, so its middle is at i + 0.5.
    middle = np.array((place.y - top - 0.5, place.x - left - 0.5))
    centre = np.array(sheet.shape[:2]) / 2 - 0.5
    offset = centre - turning @ middle
    there = np.pad(np.ones(sheet.shape[:2], dtype=np.float32), 2)
    alpha = ndimage.affine_transform(there, turning, offset + 2, part.shape[:2], order=1)
    dark = np.clip(
        ndimage.gaussian_filter(ndimage.shift(alpha, (width, width), order=1), width / 2 + 0.3) - alpha, 0, 1
    )
    part -= (min(depth, 0.6 * float(part.mean())) * dark)[..., None]
    padded = np.pad(sheet, ((2, 2), (2, 2), (0, 0)), mode="edge")
    for k in range(3):
        laid = ndimage.affine_transform(padded[..., k], turning, offset + 2, part.shape[:2], order=1, mode="nearest")
        part[..., k] = part[..., k] * (1 - alpha) + laid * alpha


def _dust(bed: NDArray[np.float32], rng: np.random.Generator, scale: float) -> None:
    height, width = bed.shape[:2]
    for _ in range(int(rng.integers(10, 60))):
        y, x, edge = int(rng.integers(height - 4)), int(rng.integers(width - 4)), int(rng.integers(1, 4))
        bed[y : y + edge, x : x + edge] += float(rng.choice([-120, -60, 40]))
    for _ in range(int(rng.integers(0, 5))):  # hairs, 3 to 15 mm long
        length, turn, bend = rng.uniform(3, 15) * scale, rng.uniform(0, 6.3), rng.uniform(-0.08, 0.08)
        steps = np.arange(0, length, 0.5)
        ys = rng.uniform(0, height) + np.cumsum(np.sin(turn + bend * steps / scale)) * 0.5
        xs = rng.uniform(0, width) + np.cumsum(np.cos(turn + bend * steps / scale)) * 0.5
        inside = (ys >= 0) & (ys < height - 1) & (xs >= 0) & (xs < width - 1)
        bed[ys[inside].astype(int), xs[inside].astype(int)] -= 90
