"""Photographs that hardly belong where they lie are named, and no others."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
import pytest

from kinphoto.reason.dating import date_archive
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.containers import STRAY
from kinphoto.reason.model.findings import OutOfPlace
from kinphoto.reason.model.span import Dated, span_of_years, year_of
from kinphoto.reason.model.subjects import Container, Photograph
from kinphoto.reason.soft.strays import strays

WRITTEN = ev.Claim.INSCRIPTION


def kept_in(boxes: dict[str, Sequence[int]]) -> ev.Evidence:
    """Photographs in these containers with these years written on them; K0, K1 ... in their order."""
    lies = [(box, year, place) for box, years in boxes.items() for place, year in enumerate(years)]
    indexed = date(2020, 1, 1).toordinal()
    return ev.Evidence(
        (),
        tuple(Photograph(f"K{i}", indexed, container=box, position=place) for i, (box, _, place) in enumerate(lies)),
        tuple(
            ev.DateClaim(
                id=f"S{i}", trust=ev.Trust.FAIR, photograph=f"K{i}", claim=WRITTEN,
                date=Dated(span_of_years(year, year)),
            )
            for i, (_, year, _) in enumerate(lies)
        ),
        tuple(Container(box) for box in boxes),
    )  # fmt: skip


def named(boxes: dict[str, Sequence[int]]) -> tuple[OutOfPlace, ...]:
    """What does not belong where it lies."""
    return date_archive(kept_in(boxes)).out_of_place


def test_one_of_another_time_in_an_album_of_one_summer() -> None:
    """It is named, with what it says of itself, what the others say, and where it is; the others are not."""
    [stray] = named({"B1": [1931] * 6 + [1908] + [1931] * 3})
    assert (stray.photograph, stray.container) == ("K6", "B1")
    assert year_of(stray.own_from) == year_of(stray.own_to) == 1908
    assert 1930 <= year_of(stray.others_from) <= year_of(stray.others_to) <= 1932


def test_many_of_other_times_in_an_album_of_one_summer() -> None:
    """Five that got into it are all named."""
    years = [1908, 1950, 1897, 1960, 1915]
    assert {one.photograph for one in named({"B1": [1931] * 30 + years})} == {f"K{30 + i}" for i in range(5)}


@pytest.mark.parametrize(
    "boxes",
    [
        {"B1": [1931] * 10},
        {"B1": [1931] * 8 + [1933]},
        {"B1": [1900, 1907, 1911, 1920, 1926, 1931, 1939, 1944, 1908]},
        {"B1": [1931, 1908]},
        {"B1": [1931], "B2": [1908]},
        {"B1": [*range(1910, 1960), *range(1910, 1960), 1840]},
        {"B1": [*range(1940, 1962)] * 4 + [1860, 1863, 1866, 1870, 1873, 1877]},
    ],
    ids=[
        "of one year",
        "two years later",
        "a tin of forty years",
        "only two",
        "one in each",
        "the oldest in a trunk",
        "some old ones with many of twenty years",
    ],
)
def test_nobody_is_accused(boxes: dict[str, Sequence[int]]) -> None:
    """Of one time, close by, in a container of many years, or where nobody can say which of two it would be."""
    assert named(boxes) == ()


def test_nothing_said_is_nothing_to_doubt() -> None:
    """A photograph of which nothing is said belongs anywhere."""
    some = kept_in({"B1": [1931] * 9})
    silent = ev.Evidence((), some.photographs, some.statements[1:], some.containers)
    assert date_archive(silent).out_of_place == ()


def test_the_chance_is_that_of_bayes() -> None:
    """By hand, on twenty quarter-years: own likelihood all in the first (save a thousandth each), the others' density
    all in the last (as much), the rate flat: 0.05 * 0.05 / (0.05 * 0.05 + 0.95 * <l, S>)."""
    own = np.full((1, 20), 0.001)
    own[0, 0] = 0.981
    inside, rates = own[:, ::-1].copy(), np.full((2, 20), 0.05)
    [found] = strays(np.array([7]), np.array([1]), own, inside, rates)
    both = 2 * 0.981 * 0.001 + 18 * 0.001**2
    assert found.probability == pytest.approx(STRAY * 0.05 / (STRAY * 0.05 + (1 - STRAY) * both))
    assert (found.place, found.container) == (7, 1)
    assert found.own[1] <= found.others[0]
    assert strays(np.array([7]), np.array([0]), own, inside, rates) == []
