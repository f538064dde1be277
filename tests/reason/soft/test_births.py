"""Births of which not everything is looked at, against scipy's normal distribution."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from scipy import stats

from kinphoto.reason.hard.hard_bounds import HardBounds
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import BirthEstimate
from kinphoto.reason.model.lookup import look_up
from kinphoto.reason.model.span import Span
from kinphoto.reason.model.subjects import Person, Photograph
from kinphoto.reason.soft.births import Lives

BEST = date(1900, 6, 1).toordinal()
EVIDENCE = ev.Evidence((Person("p", "p"),), (Photograph("K1", date(2024, 1, 1).toordinal()),), ())


def estimate(possible: tuple[int, int, int, int] | None = None) -> BirthEstimate:
    """Born about 1 June 1900, likely from 1000 days before that until 2000 days after."""
    return BirthEstimate("p", BEST - 1000, BEST + 2000, BEST, 40, possible)


def test_a_birth_as_it_was_concluded() -> None:
    """The two halves of a normal distribution about the median, each with its part of the likely range inside."""
    found = Lives(look_up(EVIDENCE), HardBounds(), {"p": estimate()}).birth("p")
    [part] = found.parts
    for sign, length in ((-1, 1000), (1, 2000)):
        half = sign * (part.days - BEST) >= 0
        expected = stats.norm(BEST, length / 1.645).cdf(BEST + sign * length)
        expected = 2 * (expected if sign > 0 else 1 - expected) - 1  # of its half
        inside = sign * (part.days - BEST) <= length
        assert part.weight[half & inside].sum() / part.weight[half].sum() == pytest.approx(expected, abs=0.02)
    assert part.weight.sum() == pytest.approx(1)
    assert found.informative


def test_it_stays_inside_its_bounds() -> None:
    """What is possible is what both the present evidence and everything together left; where they have nothing in
    common, the present evidence counts."""
    bounds = HardBounds(birth={"p": Span(BEST - 400, BEST + 9000)}, death={"p": Span(BEST + 100, None)})
    lives = bounds.narrowed([estimate((BEST - 800, BEST + 500, BEST + 20_000, BEST + 30_000))])
    assert lives.birth["p"] == Span(BEST - 400, BEST + 500)
    assert lives.death["p"] == Span(BEST + 20_000, BEST + 30_000)
    [part] = Lives(look_up(EVIDENCE), lives, {"p": estimate()}).birth("p").parts
    assert np.all((part.days > BEST - 400) & (part.days < BEST + 500))
    changed = bounds.narrowed([estimate((BEST - 9000, BEST - 8000, 0, BEST))])
    assert (changed.birth["p"], changed.death["p"]) == (bounds.birth["p"], bounds.death["p"])
