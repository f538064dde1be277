"""A grey sheet drawn on a brown table, whose place is known: where the table is seen, and where the picture changes."""

from __future__ import annotations

import numpy as np

from kinphoto.scans.captures.table import OnTable


def sheet() -> OnTable:
    """A sheet from 100 to 300 across and from 80 to 240 down, on a picture of 400 by 320, with some grain."""
    pixels = np.empty((320, 400, 3), dtype=np.float32)
    pixels[:] = (120, 85, 55)
    pixels[80:240, 100:300] = 200
    pixels += np.random.default_rng(1).normal(0, 1.5, pixels.shape).astype(np.float32)
    return OnTable(pixels)


def test_what_looks_like_the_rim_is_table() -> None:
    """A few pixels away from the sheet's edge the answer is clear on both sides."""
    table = sheet().table
    assert table[88:232, 108:292].max() < 0.1
    outside = table.copy()
    outside[68:252, 88:312] = 1
    assert outside.min() > 0.5


def test_it_changes_at_the_edges_of_the_sheet() -> None:
    """In the middle of each side, within a pixel."""
    strength = sheet().strength
    assert abs(int(strength[160, 60:140].argmax()) + 60 - 99.5) <= 1
    assert abs(int(strength[40:120, 200].argmax()) + 40 - 79.5) <= 1
