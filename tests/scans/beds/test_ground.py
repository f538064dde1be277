"""The light of a bed that was drawn from a formula, under a print that hides part of it."""

from __future__ import annotations

import numpy as np

from kinphoto.scans.beds.ground import ground_of


def test_its_light_is_known_under_a_print() -> None:
    """It falls off to the sides by 10 grey levels; where the print lies, the light is what it would be without it."""
    y, x = np.mgrid[0:300, 0:400]
    light = 230 - 10 * ((x / 400 - 0.5) ** 2 + (y / 300 - 0.5) ** 2) * 2
    grain = np.random.default_rng(1).normal(0, 0.8, (300, 400))
    bed = (light + grain).astype(np.float32)
    bed[80:200, 120:280] = 90
    found = ground_of(bed[..., None])
    assert found is not None
    surface, noise = found
    assert np.abs(surface[..., 0] - light).max() < 0.5
    assert 0.6 < noise < 1.0


def test_a_picture_up_to_its_rim_shows_no_bed() -> None:
    """Where the rim is as rough as a picture, there is no even ground to begin with."""
    rough = np.random.default_rng(2).uniform(0, 255, (300, 400, 3)).astype(np.float32)
    assert ground_of(rough) is None
