"""Dust and hairs on the glass: the same speck or hair at the same place in several scans is on none of the prints."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

Mark = Sequence[float]
"""A speck: x, y (pixels) and contrast; or a point on a hair, which has the number of its hair besides."""

_FEWEST_SPECKS = 2
_NEAR = 3.0  # pixels: how near specks of two scans lie that are one on the glass
_SHARE = 0.0006  # the same as a share of the longer edge, since specks of large scans are measured less exactly
_ALONG = 2.5  # times as far may a point on a hair lie from one of the other scan: they are taken anywhere along it
_SAME_HAIR = 0.5  # of the points of a hair lie so


def shared_marks(scans: Sequence[Sequence[Mark]], least: int, edge: int = 0) -> list[int]:
    """For each of some scans of the same size in pixels, how many of its specks and hairs lie at the same place as
    those of at least `least` of them, itself included: within 3 pixels, or 0.06 % of the longer `edge`.

    A hair is the same where half of its length lies on hairs of the other scan: dark parts of a print hide the rest. A
    single speck is not counted: it may be the dot of an imprint that several mounts have.
    """
    import numpy as np
    from scipy.spatial import cKDTree

    near = max(_NEAR, _SHARE * edge)
    specks = [np.array([mark[:2] for mark in marks if _hair(mark) is None], float).reshape(-1, 2) for marks in scans]
    hairs = [
        [np.array([mark[:2] for mark in group], float) for hair, group in groupby(marks, _hair) if hair is not None]
        for marks in scans
    ]
    of_specks = [cKDTree(places) for places in specks if len(places)]
    of_hairs = [cKDTree(np.concatenate(each)) for each in hairs if each]
    shared = []
    for places, lines in zip(specks, hairs, strict=True):
        near_specks = [np.isfinite(tree.query(places, distance_upper_bound=near)[0]) for tree in of_specks]
        alone = int((np.sum(near_specks, axis=0) >= least).sum()) if len(places) else 0
        found = 0
        for line in lines:
            on = [np.isfinite(tree.query(line, distance_upper_bound=_ALONG * near)[0]).mean() for tree in of_hairs]
            found += int(sum(share >= _SAME_HAIR for share in on) >= least)
        shared.append(found + (alone if found or alone >= _FEWEST_SPECKS else 0))
    return shared


def _hair(mark: Mark) -> float | None:
    """The number of the hair that a point is on; None for a speck."""
    return mark[3] if len(mark) > 3 else None
