"""Numbers for what a picture looks like, and how two pictures lie on one another.

What was done to a picture is known, so what is found is compared with that. The photographs are scikit-image's.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import skimage.data
from PIL import Image

from kinphoto.scans import look
from kinphoto.scans.registration import contrasts, quarter_turned, registered

NAMES = ("astronaut", "camera", "chelsea", "coffee", "rocket", "coins", "brick", "grass", "gravel")


def photograph(name: str) -> Image.Image:
    """One of them, in grey."""
    return Image.fromarray(getattr(skimage.data, name)()).convert("L")


@pytest.mark.parametrize("quarters", [0, 1, 2, 3])
def test_a_picture_on_its_side_is_found(quarters: int) -> None:
    """With the number of quarters by which it is turned clockwise, as the only one among the others."""
    all_ = look.looks([look.look(photograph(name)) for name in NAMES])
    turned = photograph("coffee").rotate(-90 * quarters, expand=True)
    (found,) = look.like(look.looks([look.look(photograph("coffee"))]), look.looks([look.look(turned)]))
    assert found[:2] == (0, quarters)
    near = look.like(look.looks([look.look(turned)]), all_)
    assert [at for at, _, _ in near] == [NAMES.index("coffee")]
    assert look.turned(look.looks([look.look(photograph("coffee"))]), quarters) @ look.looks(
        [look.look(turned)]
    ).T == pytest.approx(1, abs=0.01)


def test_a_mirrored_picture_has_mirrored_numbers() -> None:
    """As film that was scanned from its wrong side."""
    plain = look.looks([look.look(photograph("camera"))])
    mirrored = look.looks([look.look(photograph("camera").transpose(Image.Transpose.FLIP_LEFT_RIGHT))])
    assert look.mirrored(plain) @ mirrored.T == pytest.approx(1, abs=0.01)


@pytest.mark.parametrize("left", [0.0, 0.1])
@pytest.mark.parametrize("top", [0.0, 0.1])
@pytest.mark.parametrize("name", ["coffee", "rocket"])
def test_a_picture_is_found_that_lacks_a_tenth(name: str, left: float, top: float) -> None:
    """Of width and height, in any corner, whichever of the two was cut; and none of the others is."""
    whole = look.looks([look.look(photograph(each)) for each in NAMES])
    cut = look.looks([look.look(_without_a_tenth(photograph(name), left, top))])
    here = NAMES.index(name)
    assert [near[:2] for near in look.like(cut, whole)] == [(here, 0)]
    assert [near[:2] for near in look.like(whole[here : here + 1], cut)] == [(0, 0)]
    assert [pair[:3] for pair in look.pairs(whole, np.concatenate([whole, cut]))] == [(here, len(NAMES), 0)]


def _without_a_tenth(picture: Image.Image, left: float, top: float) -> Image.Image:
    width, height = picture.size
    return picture.crop(
        (round(left * width), round(top * height), round((left + 0.9) * width), round((top + 0.9) * height))
    )


def test_all_pairs_are_those_of_every_single_comparison() -> None:
    """Against the plain product of all with all, in each of the four ways (numpy)."""
    rows = np.random.default_rng(3).normal(size=(700, 64)).astype(np.float32)
    rows[600:640] = look.turned(rows[100:140], 3)
    rows /= np.linalg.norm(rows, axis=1, keepdims=True)
    expected = {
        (int(one), int(other))
        for quarters in range(4)
        for one, other in np.argwhere(look.turned(rows, quarters) @ rows.T >= 0.5)
        if other > one
    }
    assert {each[:2] for each in look.pairs(rows, rows, 0.5)} == expected
    assert {each[2] for each in look.pairs(rows, rows, 0.9)} == {3}
    assert len(look.pairs(rows, rows, 0.3, most=10)) == 10


@pytest.mark.parametrize("quarters", [0, 1])
def test_a_crop_and_a_tilt_are_found_to_a_hundredth(quarters: int) -> None:
    """Turned by 4 degrees, cut, and perhaps laid on its side: the corners of the cut are where they were cut."""
    whole = photograph("astronaut").resize((600, 600))
    box = (30, 60, 560, 590)
    tilted = whole.rotate(4, Image.Resampling.BICUBIC).crop(box).rotate(-90 * quarters, expand=True)
    found = registered(contrasts(whole), contrasts(tilted), quarter_turned(quarters))
    assert found is not None
    assert found.agreement > 0.98
    cos, sin = math.cos(math.radians(4)), math.sin(math.radians(4))
    for x, y in ((0.3, 0.3), (0.7, 0.4), (0.5, 0.8)):
        dx, dy = x * 600 - 300, y * 600 - 300
        u, v = dx * cos + dy * sin + 300, -dx * sin + dy * cos + 300
        expected = (u - box[0]) / 530, (v - box[1]) / 530
        if quarters:
            expected = 1 - expected[1], expected[0]
        assert math.dist(found.moved(x, y), expected) < 0.01
        assert math.dist(found.reversed.moved(*found.moved(x, y)), (x, y)) < 1e-6


def test_different_pictures_do_not_lie_on_one_another() -> None:
    """Each with each, in each of the four ways."""
    small = {name: contrasts(photograph(name)) for name in NAMES[:6]}
    for one in small:
        for other in small:
            found = [registered(small[one], small[other], quarter_turned(quarters)) for quarters in range(4)]
            best = max((each.agreement for each in found if each is not None), default=0.0)
            assert (best > 0.95) == (one == other), (one, other)


def test_paper_with_nothing_on_it_agrees_with_nothing() -> None:
    """Two blank backs are no picture that could be the same."""
    blank = contrasts(Image.new("L", (300, 200), 230))
    found = registered(blank, blank)
    assert found is None or found.agreement == 0
