"""Patches that infrared dust removal filled on silver film, drawn on grainy film (`tests/bench/scanned_films.py`)."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageFilter
from scanned_films import filled, grainy

from kinphoto.scans.checks.limits import BY_KIND
from kinphoto.scans.checks.repairs import smoothed_patches
from kinphoto.scans.measure import measure_quality

LIMIT = BY_KIND["repaired"].limit


@pytest.mark.parametrize(("grain", "seed"), [(0.06, 1), (0.06, 4), (0.12, 2)])
def test_patches_without_grain_are_found_and_no_more_than_there_are(grain: float, seed: int) -> None:
    """SciPy's Gaussian of 4 pixels over 2 % of the frame. Squares that lie in a patch with part of them only are not
    counted, nor what was filled where film is clear."""
    level = grainy(seed, grain)
    assert smoothed_patches(level) == 0
    assert LIMIT < smoothed_patches(filled(level, 0.02, seed)) < 0.025


def as_jpeg(level: np.ndarray, quality: int) -> np.ndarray:
    """The levels that come back from a JPEG."""
    file = io.BytesIO()
    Image.fromarray(level).save(file, "JPEG", quality=quality)
    return np.asarray(Image.open(file))


@pytest.mark.parametrize("seed", [1, 3])
def test_compression_filters_and_enlarging_are_not_taken_for_repairs(seed: int) -> None:
    """They take grain from everywhere, not from patches: libjpeg at 90 and 80, Pillow's median, half as large again."""
    level = grainy(seed)
    picture = Image.fromarray(level)
    larger = picture.resize((picture.width * 3 // 2, picture.height * 3 // 2), Image.Resampling.BICUBIC)
    for made in (as_jpeg(level, 90), as_jpeg(level, 80), picture.filter(ImageFilter.MedianFilter(3)), larger):
        assert smoothed_patches(np.asarray(made)) <= LIMIT / 2


def test_a_large_part_without_grain_is_something_else() -> None:
    """A mask that covers a quarter of the frame, and three single patches."""
    level = grainy(4)
    mask = level.copy()
    mask[:500, :750] = 120
    assert smoothed_patches(mask) == 0
    few = level.copy()
    for x in (300, 700, 1100):
        few[400:440, x : x + 40] = 120
    assert smoothed_patches(few) == 0


def test_where_film_is_clear_no_grain_is_missed() -> None:
    """Twenty small shadows of the scene, which leave the negative clear: its base has no grain."""
    level = grainy(4)
    for k in range(20):
        level[100 + 40 * k : 130 + 40 * k, 700:740] = 244
    assert smoothed_patches(level) == 0


def test_only_scans_as_fine_as_those_of_film_are_looked_at(tmp_path: Path) -> None:
    """The same picture at 2400 ppi and at 600, in a TIFF."""
    picture = Image.fromarray(filled(grainy(1), 0.02, 1))
    found = []
    for ppi in (2400, 600):
        picture.save(tmp_path / f"{ppi}.tif", dpi=(ppi, ppi))
        found.append(measure_quality(str(tmp_path / f"{ppi}.tif")).smoothed)
    assert found[0] > LIMIT
    assert found[1] == 0


def test_what_is_too_small_to_judge_is_not_judged() -> None:
    """A few pixels."""
    assert smoothed_patches(np.zeros((20, 20), np.uint8)) == 0
