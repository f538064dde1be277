"""The lines through the sides of a drawn sheet, which stands at a known place and turn."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw

from kinphoto.scans.captures.lines import straight_lines
from kinphoto.scans.captures.table import OnTable


@pytest.mark.parametrize("degrees", [0.0, 7.0, -20.0])
def test_all_four_sides_are_among_the_lines(degrees: float) -> None:
    """Each within half a degree and a pixel: 200 by 120 pixels around the middle, turned."""
    turn = np.radians(degrees)
    along, down = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    corners = [np.array([200, 160]) + a * 100 * along + b * 60 * down for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    picture = Image.new("RGB", (3200, 2560), (120, 85, 55))  # eight times as large, so that its edges are exact
    ImageDraw.Draw(picture).polygon([(float(8 * x), float(8 * y)) for x, y in corners], fill=(200, 200, 200))
    picture = picture.resize((400, 320), Image.Resampling.BOX)
    pixels = np.asarray(picture, dtype=np.float32)
    pixels = pixels + np.random.default_rng(1).normal(0, 1.0, pixels.shape).astype(np.float32)
    lines = straight_lines(OnTable(pixels))
    for normal, distance in ((along, 100), (along, -100), (down, 60), (down, -60)):
        theta = float(np.arctan2(normal[1], normal[0]))
        sign = 1 if 0 <= theta < np.pi else -1  # the same line, its normal the other way round
        off = np.abs((lines[:, 0] - theta + np.pi / 2) % np.pi - np.pi / 2)
        assert ((off < np.radians(0.5)) & (np.abs(lines[:, 1] - sign * distance) < 1)).any()


def test_an_even_picture_has_none() -> None:
    """There is nothing to lay a line through."""
    assert straight_lines(OnTable(np.full((320, 400, 3), 120, dtype=np.float32))).shape == (0, 2)
