"""Prints on a drawn bed, whose places are known, against the outlines found. `bench_beds.py` does it 200 times."""

from __future__ import annotations

import numpy as np
import pytest
from bench_beds import apart
from PIL import Image
from scanned_beds import MM, drawn
from scipy import ndimage

from kinphoto.scans.beds.cutting import looked_at
from kinphoto.scans.beds.outlines import PER_MM, prints_on


@pytest.mark.parametrize("seed", [1, 3])
def test_every_print_is_outlined_within_a_millimetre(seed: int) -> None:
    """On a white lid and on a dark one, all of them, sure, and in reading order: none begins below one before it
    that it stands beside."""
    bed = drawn(seed)
    found = looked_at(bed.picture, bed.ppi)
    assert found.sure
    assert len(found.outlines) == len(bed.prints)
    for truth in bed.prints:
        nearest = min((one.place for one in found.outlines), key=lambda place: apart(place, truth))
        assert apart(nearest, truth) / bed.ppi * MM < 1
        assert abs(nearest.turn - truth.turn) < 0.3
    first = found.outlines[0].place
    assert all(first.y - first.height / 2 <= one.place.y + one.place.height / 2 for one in found.outlines)


def test_prints_and_what_is_left_add_up_to_the_bed() -> None:
    """Whatever differs clearly from the lid lies in an outline, in what is reported as left, or is dust of less than
    4 square millimetres: counted by an independent labelling of the drawn bed."""
    bed = drawn(1)
    pixels = np.array(bed.picture.convert("RGB"))
    pixels[20:60, 20:90] = 120  # a scrap of paper in the corner
    found = looked_at(Image.fromarray(pixels), bed.ppi)
    assert not found.sure
    assert len(found.left) == 1
    differs = np.abs(pixels.astype(int).mean(axis=2) - bed.lid) > 40
    rows, columns = np.indices(differs.shape, dtype=np.float32)
    for one in found.outlines:
        differs &= ~one.place.grown(bed.ppi / MM).covered(rows, columns)
    for left in found.left:
        x0, y0, x1, y1 = left.box
        differs[max(0, y0 - 3) : y1 + 3, max(0, x0 - 3) : x1 + 3] = False
    parts, count = ndimage.label(ndimage.binary_opening(differs, np.ones((3, 3))))
    sizes = ndimage.sum_labels(differs, parts, range(1, count + 1)) / (bed.ppi / MM) ** 2
    assert max(sizes, default=0) < 4


def paper(level: int = 250) -> np.ndarray:
    """An empty A5 lid at four pixels a millimetre, with the noise of a scanner."""
    noise = np.random.default_rng(3).normal(0, 0.4, (592, 840))
    return np.repeat(np.clip(level + noise, 0, 255)[..., None], 3, axis=2).astype(np.uint8)


def test_an_empty_bed_has_no_prints() -> None:
    """Neither on a white lid nor on a black one."""
    for level in (250, 12):
        found = prints_on(paper(level))
        assert (found.outlines, found.left, found.bed_seen) == ((), (), True)


def test_prints_that_touch_are_unsure() -> None:
    """Two that touch at a corner of one are no rectangle; two side by side make one with a seam through its middle."""
    bed = paper()
    bed[80:320, 100:400] = 90
    bed[200:440, 400:700] = 140
    (found,) = prints_on(bed).outlines
    assert "may touch or overlap" in found.doubts[0]
    bed = paper()
    bed[80:320, 100:400] = 90
    bed[80:320, 400:700] = 140
    (found,) = prints_on(bed).outlines
    assert "two prints may touch" in found.doubts[0]


def test_a_white_border_that_only_throws_a_shadow_is_unsure_and_inside_the_outline() -> None:
    """Paper as white as the lid: the picture shows, and the thin shadows at the right and below tell where the paper
    ends. The border is taken to be as wide all round."""
    bed = paper(245)
    bed[100:340, 100:460] = 110  # the picture, 90 by 60 mm
    bed[76:366, 484:486] = 220  # the shadows of paper that reaches 6 mm further
    bed[364:366, 76:486] = 220
    (found,) = prints_on(bed).outlines
    assert "only the shadow" in found.doubts[0]
    for near, far in zip(found.place.corners, ((76, 76), (484, 76), (484, 364), (76, 364)), strict=True):
        assert np.hypot(near[0] - far[0], near[1] - far[1]) <= PER_MM


def test_a_print_that_runs_out_of_the_picture_is_unsure() -> None:
    """Its part would be cut off."""
    bed = paper()
    bed[0:240, 100:400] = 90
    (found,) = prints_on(bed).outlines
    assert "runs out of the picture at the top" in found.doubts[0]


def test_where_no_glass_shows_nothing_is_guessed() -> None:
    """A picture that fills its scan, busy up to the rim."""
    noise = np.random.default_rng(1).integers(0, 255, (400, 500, 3), dtype=np.uint8)
    assert not prints_on(noise).bed_seen
