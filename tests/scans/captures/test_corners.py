"""Prints in drawn photographs of them, whose corners are known, against the corners found (`bench_captures.py` does it
a hundred times)."""

from __future__ import annotations

import numpy as np
import pytest
import skimage.data
from bench_captures import off
from captured_prints import drawn
from PIL import Image

from kinphoto.scans.captures.corners import corners_of
from kinphoto.scans.captures.straight import seen

SMALL = (1000, 750)


@pytest.mark.parametrize("seed", [3000, 3001, 3002, 3003])
def test_corners_and_proportions(seed: int) -> None:
    """All four within half a percent of the picture's width; width by height within two percent, by the lens."""
    capture = drawn(seed, SMALL)
    found = corners_of(capture.picture)
    assert found is not None
    assert off(capture, found.corners) < 0.005
    assert seen(found.corners, capture.picture.size, capture.lens).ratio == pytest.approx(capture.ratio, rel=0.02)


def test_no_print_is_never_sure() -> None:
    """Photographs of something else: nothing is found, or it is unsure."""
    for name in ("astronaut", "chelsea", "coffee", "rocket", "grass"):
        found = corners_of(Image.fromarray(getattr(skimage.data, name)()))
        assert found is None or not found.sure, name


def test_a_print_that_is_cut_off_is_not_sure() -> None:
    """The right third of a capture is missing, and with it two corners."""
    capture = drawn(3004, SMALL)
    left = capture.picture.crop((0, 0, round(capture.corners[:, 0].mean()), capture.picture.height))
    found = corners_of(left)
    assert found is None or not found.sure


def test_even_and_tiny_pictures() -> None:
    """Nothing is found, and nothing fails."""
    for size in ((1, 1), (3, 500), (40, 30), (600, 400)):
        assert corners_of(Image.new("L", size, 128)) is None
    noise = np.random.default_rng(1).integers(0, 255, (300, 400, 3), dtype=np.uint8)
    found = corners_of(Image.fromarray(noise))
    assert found is None or not found.sure
