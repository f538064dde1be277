"""What the order in a container tells, fast, against the plain sums of the model."""

from __future__ import annotations

import numpy as np
import pytest

from kinphoto.reason.model.sequences import another_order, before_seen, message
from kinphoto.reason.model.subjects import Arrangement
from kinphoto.reason.soft.sequences import CELLS, UNLIKELY, in_sequence


def likelihoods(seed: int, years: np.ndarray) -> np.ndarray:
    """Bells of different widths about these quarter-years, each of which is a little off."""
    dice = np.random.default_rng(seed)
    spread = dice.uniform(2, 12, len(years))
    middle = years + dice.normal(0, spread / 2)
    found = np.exp(-0.5 * ((np.arange(CELLS) - middle[:, None]) / spread[:, None]) ** 2) + 1e-4
    return np.asarray(found / found.sum(axis=1, keepdims=True), dtype=np.float32)


@pytest.mark.parametrize("said", [None, *Arrangement])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_as_the_plain_sums(said: Arrangement | None, seed: int) -> None:
    """Fourteen photographs that lie shuffled, twelve of them with numbers that are in time; two share a birth and tell
    each other nothing. Only a model that is hardly likely may be left out."""
    dice = np.random.default_rng(seed)
    years = dice.uniform(10, 60, 14)
    numbers = np.argsort(np.argsort(years))
    numbers[dice.choice(14, 2, replace=False)] = -1
    by_number = another_order(numbers.tolist())
    assert by_number is not None
    like = likelihoods(seed, years)
    density = np.exp(-0.5 * ((np.arange(CELLS) - 36) / 9) ** 2)
    density /= density.sum()
    common = np.zeros((14, 14))
    common[3, 8] = common[8, 3] = 0.7
    prior = before_seen(said, by_number=True)
    found = np.repeat(density[None].astype(np.float32), 14, axis=0)
    wide = (np.pad(values, ((0, 0), (40, 40))) for values in (like, found))
    like_there, found_there = (np.ascontiguousarray(values) for values in wide)
    in_sequence(
        [np.arange(14)], like_there, found_there, 1 / (1 + common.sum(axis=1)), {3: [8], 8: [3]}, [prior], None,
        [np.array(by_number)],
    )  # fmt: skip
    for i in range(14):
        expected = density * message(i, like, density, prior, common, by_number, {3: [8], 8: [3]}.get(i, []))
        expected /= expected.sum()
        assert np.abs(found_there[i, 40:-40] - expected).sum() / 2 < UNLIKELY, i


def test_numbers_in_time_date_what_lies_shuffled() -> None:
    """A picture of which nothing is known, shuffled among others of known years: its number lies between those of two
    taken two years apart. So it is of those four years more likely than not, and without numbers as of any."""
    years = np.array([12, 60, 20, 44, 28, 36, 52, 28, 16, 56, 36, 48], dtype=float)
    like = np.exp(-0.5 * (np.arange(CELLS) - years[:, None]) ** 2) + 1e-6
    like[7] = 1.0
    like = (like / like.sum(axis=1, keepdims=True)).astype(np.float32)
    by_number = another_order(np.argsort(np.argsort(years, kind="stable"), kind="stable").tolist())
    assert by_number is not None
    near = {}
    for name, order in {"with": np.array(by_number), "without": None}.items():
        found = np.full((12, CELLS), 1 / CELLS, dtype=np.float32)
        in_sequence(
            [np.arange(12)], like, found, np.ones(12), {}, [before_seen(None, by_number=order is not None)], None,
            [order],
        )  # fmt: skip
        near[name] = float(found[7, 24:40].sum())
    assert near["with"] > 0.5
    assert near["without"] < 0.3
