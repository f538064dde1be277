"""Opening and closing of masks, against SciPy's general functions."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from kinphoto.scans.checks.masks import closed, dilated, eroded, opened


@pytest.mark.parametrize("edge", [3, 5, 7])
@pytest.mark.parametrize("shape", [(60, 40), (9, 50), (1, 8), (2, 3)])
def test_masks_are_as_scipy_makes_them(edge: int, shape: tuple[int, int]) -> None:
    """Random ones of every density, of small pictures too, up to their sides (reference: scipy.ndimage)."""
    square = np.ones((edge, edge))
    for seed, share in enumerate((0.05, 0.3, 0.7, 0.97)):
        mask = np.random.default_rng(seed).random(shape) < share
        for ours, theirs in (
            (eroded, ndimage.binary_erosion), (dilated, ndimage.binary_dilation),
            (opened, ndimage.binary_opening), (closed, ndimage.binary_closing),
        ):  # fmt: skip
            assert (ours(mask, edge) == theirs(mask, square)).all()
