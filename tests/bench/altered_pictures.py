"""Pictures that are one print again, altered by known amounts, and others that only look so: what likeness is tried on.

Each scene is made of parts of scikit-image's photographs: a piece of one as the background, and three to six figures,
pieces of others in soft ovals. Of a twin, taken seconds later, every figure has moved a little, and so has the camera.
"""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw, ImageFilter
from scanned_prints import photograph

FROM = ("astronaut", "camera", "chelsea", "coffee", "rocket", "coins", "clock", "brick", "grass", "gravel", "retina")
SIZES = ((512, 384), (384, 512), (512, 341), (512, 512), (341, 512))
ALTERED = ("turned a quarter", "tilted", "cropped", "faded", "by phone", "JPEG 60")
"""The kinds of alteration; each has a function of its own below."""


@dataclass(frozen=True)
class Scene:
    """A scene: where each figure stands (shares of the picture), and what it is."""

    size: tuple[int, int]
    ground: Image.Image
    figures: tuple[tuple[float, float, float, Image.Image], ...]

    def taken(self, moved: np.random.Generator | None = None) -> Image.Image:
        """The photograph of it; with `moved`, seconds later: who stands in front, whom nobody hides, and half of the
        others have moved by 2 to 5 % of the width, the camera by up to 1 %."""
        picture = self.ground.copy()
        first = len(self.figures) - 1
        for at, (x, y, height, figure) in enumerate(self.figures):
            if moved is not None and (at == first or moved.random() < 0.5):
                angle, far = moved.uniform(0, 2 * np.pi), moved.uniform(0.02, 0.05)
                x, y = x + far * np.cos(angle), y + far * np.sin(angle)
            tall = round(height * picture.height)
            wide = max(8, round(tall * 0.6))
            small = figure.resize((wide, tall), Image.Resampling.BICUBIC)
            mask = Image.new("L", small.size, 0)
            ImageDraw.Draw(mask).ellipse((1, 1, wide - 2, tall - 2), fill=255)
            mask = mask.filter(ImageFilter.GaussianBlur(1.5))
            picture.paste(small, (round(x * picture.width - wide / 2), round(y * picture.height - tall / 2)), mask)
        if moved is not None:
            by = moved.uniform(-0.01, 0.01, 2) * picture.width
            picture = picture.transform(
                picture.size, Image.Transform.AFFINE, (1, 0, by[0], 0, 1, by[1]), Image.Resampling.BICUBIC
            )
        edge = 14
        picture = picture.crop((edge, edge, picture.width - edge, picture.height - edge))
        return picture.resize(self.size, Image.Resampling.BICUBIC)


def piece(rng: np.random.Generator, size: tuple[int, int]) -> Image.Image:
    """A piece of one of the photographs, turned as it likes."""
    whole = Image.fromarray(photograph(FROM[rng.integers(len(FROM))])).convert("L")
    share = min(whole.width / size[0], whole.height / size[1]) * rng.uniform(0.35, 0.95)
    width, height = round(size[0] * share), round(size[1] * share)
    left, top = int(rng.integers(0, whole.width - width + 1)), int(rng.integers(0, whole.height - height + 1))
    part = whole.crop((left, top, left + width, top + height)).resize(size, Image.Resampling.BICUBIC)
    return part.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if rng.random() < 0.5 else part


def figure(rng: np.random.Generator) -> Image.Image:
    """A piece with something in it: of a plain one nobody could say that it moved."""
    while True:
        found = piece(rng, (96, 160))
        if np.asarray(found.crop((24, 40, 72, 120)), dtype=np.float32).std() > 20:
            return found


def scene(seed: int) -> Scene:
    """The scene with this number."""
    rng = np.random.default_rng((16, seed))
    size = SIZES[rng.integers(len(SIZES))]
    figures = tuple(
        (*(float(rng.uniform(*within)) for within in ((0.15, 0.85), (0.3, 0.8), (0.25, 0.6))), figure(rng))
        for _ in range(int(rng.integers(3, 7)))
    )  # fmt: skip
    return Scene(size, piece(rng, size), figures)


def altered(picture: Image.Image, how: str, rng: np.random.Generator) -> Image.Image:
    """The same print again."""
    width, height = picture.size
    if how == "turned a quarter":
        again = picture.rotate(90 * int(rng.integers(1, 4)), expand=True)
    elif how == "tilted":  # by 1 to 5 degrees, on a white lid
        angle = float(rng.choice([-1, 1]) * rng.uniform(1, 5))
        again = picture.rotate(angle, Image.Resampling.BICUBIC, expand=True, fillcolor=248)
    elif how == "cropped":  # a tenth of the width and of the height is gone
        left, top = round(width * rng.uniform(0, 0.1)), round(height * rng.uniform(0, 0.1))
        again = picture.crop((left, top, left + round(width * 0.9), top + round(height * 0.9)))
    elif how == "faded":
        low, high, bend = rng.uniform(60, 110), rng.uniform(190, 230), rng.uniform(0.7, 1.4)
        again = picture.point([round(low + (high - low) * (level / 255) ** bend) for level in range(256)])
    elif how == "by phone":  # from above, not quite straight, on a table
        again = _by_phone(picture, rng)
    else:
        again = picture
    noise = rng.normal(0, 2.0, (again.height, again.width))
    again = Image.fromarray(np.clip(np.asarray(again) + noise, 0, 255).astype(np.uint8))
    file = io.BytesIO()
    again.save(file, "JPEG", quality=60 if how == "JPEG 60" else 85)
    again = Image.open(file)
    again.load()
    return again


def _by_phone(picture: Image.Image, rng: np.random.Generator) -> Image.Image:
    """Each corner of the print is moved by up to 4 % of the picture; a strip of the table shows around it."""
    width, height = picture.size
    near = [rng.uniform(0.01, 0.05, 2) for _ in range(4)]
    corners = [
        (near[0][0], near[0][1]), (1 - near[1][0], near[1][1]), (1 - near[2][0], 1 - near[2][1]),
        (near[3][0], 1 - near[3][1]),
    ]  # fmt: skip
    rows = []
    for (x, y), (u, v) in zip([(0, 0), (1, 0), (1, 1), (0, 1)], corners, strict=True):
        x, y, u, v = x * width, y * height, u * width, v * height
        rows += [[u, v, 1, 0, 0, 0, -x * u, -x * v, x], [0, 0, 0, u, v, 1, -y * u, -y * v, y]]
    found = np.array(rows)
    taken = np.linalg.solve(found[:, :8], found[:, 8])
    table = round(float(rng.uniform(40, 120)))
    light = np.linspace(float(rng.uniform(0.8, 0.95)), float(rng.uniform(1.0, 1.1)), width)
    seen = picture.transform(
        picture.size, Image.Transform.PERSPECTIVE, tuple(taken), Image.Resampling.BICUBIC, fillcolor=table
    )
    return Image.fromarray(np.clip(np.asarray(seen) * light, 0, 255).astype(np.uint8))
