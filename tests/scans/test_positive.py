"""Positives of negatives, against the densities of a negative that was computed by the photographic law."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import skimage.data
from PIL import Image
from scanned_prints import photograph

from kinphoto.scans.measure import measure
from kinphoto.scans.parts import Upright
from kinphoto.scans.positive import positive_table
from kinphoto.scans.upright import MIRROR, POSITIVE

MASK = (0.92, 0.38, 0.19)
"""What clear colour negative film lets through of red, green and blue, against red: densities of about 0.2, 0.6 and 0.9
(from memory)."""


def negative(picture: np.ndarray, mask: tuple[float, ...] = MASK, gamma: float = 0.65) -> Image.Image:
    """A scan of a negative of this picture: density rises by gamma with the logarithm of the light (Hurter and
    Driffield 1890), on top of the mask; the scanner's levels have the exponent 1/2.2."""
    light = np.clip((picture / 255.0) ** 2.2, 0.004, 1)
    through = 10 ** (-gamma * np.log10(light / 0.004)) * np.asarray(mask)
    return Image.fromarray(np.rint(255 * np.clip(through, 0, 1) ** (1 / 2.2)).astype(np.uint8))


def correlation(one: np.ndarray, other: np.ndarray) -> float:
    return float(np.corrcoef(one.ravel().astype(float), other.ravel().astype(float))[0, 1])


def test_a_colour_negative_becomes_the_picture_again() -> None:
    """Each channel follows the picture that the negative was made of, and the mask has gone: its greys are grey."""
    picture = skimage.data.astronaut()
    scan = negative(picture)
    shown = np.asarray(scan.point(positive_table(scan)))
    assert all(correlation(shown[..., k], picture[..., k]) > 0.9 for k in range(3))
    greys = np.ptp(picture.astype(int), axis=2) < 6
    assert np.median(np.ptp(shown.astype(int), axis=2)[greys]) < 25
    assert all(correlation(np.asarray(scan)[..., k], picture[..., k]) < -0.8 for k in range(3))


def test_a_grey_negative_keeps_the_order_of_its_tones() -> None:
    """Denser film is lighter, without a jump; black and white are reached."""
    ramp = Image.fromarray(np.tile(np.arange(40, 240, dtype=np.uint8), (10, 1)))
    shown = np.asarray(ramp.point(positive_table(ramp)))[0].astype(int)
    assert (np.diff(shown) <= 0).all()
    assert (shown[0], shown[-1]) == (255, 0)


def test_parts_of_a_positive_fit_together() -> None:
    """A tile has the tones it has in the whole, however dark it is by itself; mirrored as well."""
    scan = negative(skimage.data.astronaut())
    shown = Upright(scan, POSITIVE | MIRROR)
    whole = np.asarray(shown.part(shown.whole))
    tile = np.asarray(shown.part((300, 100, 400, 180)))
    assert (tile == whole[100:180, 300:400]).all()
    unmirrored = Upright(scan, POSITIVE)
    assert (np.fliplr(np.asarray(unmirrored.part(unmirrored.whole))) == whole).all()


@pytest.mark.parametrize("name", ["astronaut", "chelsea", "coffee", "rocket"])
def test_a_colour_negative_is_recognised_when_it_is_added_and_a_picture_is_not(tmp_path: Path, name: str) -> None:
    """By its mask: the inverted photograph on film that lets a quarter through where it is densest, times the colour of
    clear film (230, 140, 85, from memory)."""
    picture = np.asarray(Image.fromarray(photograph(name)).convert("RGB"))
    film = ((0.25 + 0.75 * (1 - picture / 255)) * np.array((230, 140, 85))).astype(np.uint8)
    for kind, pixels in (("negative", film), ("picture", picture)):
        Image.fromarray(pixels).save(tmp_path / f"{kind}.png")
        (found,) = measure(str(tmp_path / f"{kind}.png")).scans
        assert found.turn == (POSITIVE if kind == "negative" else 0), kind
