"""Which way up: the arithmetic of turning, against pixels that Pillow and numpy turn."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from PIL import Image, ImageOps

from kinphoto.scans.upright import (
    POSITIVE,
    mirrored_on,
    stored_box,
    turned,
    turned_back_region,
    turned_on,
    turned_region,
    upright_size,
)

STORED = Image.fromarray(np.arange(35, dtype=np.uint8).reshape(5, 7))
"""Every pixel has a value of its own."""


def as_filed(picture: Image.Image, orientation: int) -> np.ndarray:
    """What a file with this orientation shows. Reference: Pillow's exif_transpose (EXIF 3.0, tag 274)."""
    copy = picture.copy()
    copy.getexif()[0x0112] = orientation
    return np.asarray(ImageOps.exif_transpose(copy))


@pytest.mark.parametrize(("orientation", "turn"), list(product(range(1, 9), range(8))))
def test_a_turn_on_top_of_an_orientation_is_another_orientation(orientation: int, turn: int) -> None:
    """Reference: numpy's fliplr, from 4 on, and rot90 (which turns the other way round) of what Pillow makes of the
    file's own orientation."""
    shown = as_filed(STORED, orientation)
    expected = np.rot90(np.fliplr(shown) if turn >= 4 else shown, -turn)
    assert (as_filed(STORED, turned(orientation, turn)) == expected).all()


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_box_of_the_upright_picture_is_found_in_the_stored_one(orientation: int) -> None:
    """Reference: the same pixels cut out after Pillow turned the whole."""
    whole = as_filed(STORED, orientation)
    assert upright_size(STORED.size, orientation) == (whole.shape[1], whole.shape[0])
    left, top, right, lower = 1, 0, 3, 2
    piece = STORED.crop(stored_box((left, top, right, lower), STORED.size, orientation))
    assert (as_filed(piece, orientation) == whole[top:lower, left:right]).all()


@pytest.mark.parametrize("turn", range(8))
def test_mirroring_and_turning_what_is_shown(turn: int) -> None:
    """Reference: numpy, on the pixels that are shown then. Twice mirrored is as before."""
    shown = as_filed(STORED, turned(1, turn))
    assert (as_filed(STORED, turned(1, mirrored_on(turn))) == np.fliplr(shown)).all()
    assert (as_filed(STORED, turned(1, turned_on(turn, 1))) == np.rot90(shown, -1)).all()
    assert mirrored_on(mirrored_on(turn)) == turn
    assert mirrored_on(turn | POSITIVE) == mirrored_on(turn) | POSITIVE


@pytest.mark.parametrize("turn", range(8))
def test_a_region_goes_back_to_where_it_was(turn: int) -> None:
    """What a picture before it was turned says of a face, from what the turned one says."""
    region = (0.1, 0.2, 0.3, 0.05)
    assert turned_back_region(turned_region(region, turn), turn) == pytest.approx(region)


def test_a_region_turns_with_its_picture() -> None:
    """A face at the upper left is at the upper right after a turn clockwise, and taller than wide where it was wide."""
    assert turned_region((0.1, 0.2, 0.3, 0.05), 1) == (0.75, 0.1, 0.05, 0.3)
    assert turned_region((0.1, 0.2, 0.3, 0.05), 3) == (0.2, 0.6, 0.05, 0.3)


def test_four_turns_leave_a_region_where_it_was() -> None:
    """To the last digit, also where binary fractions cannot hold the numbers, and at the very edge."""
    for region in ((0.1, 0.2, 0.3, 0.05), (0.0, 0.7, 1.0, 0.3), (1 / 3, 1 / 7, 0.1, 0.1)):
        again = region
        for _ in range(4):
            again = turned_region(again, 1)
        assert again == pytest.approx(region, abs=1e-11)
        assert all(0 <= side <= 1 for side in again)
