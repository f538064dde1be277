"""How sure messages on rings may be: against the inverse of the whole matrix, written out plainly."""

from __future__ import annotations

import numpy as np
import pytest

from kinphoto.reason.soft import rings
from kinphoto.reason.soft.rings import SHIFT, Alone, NormalFaces, counted, variances


def family(seed: int, births: int, photographs: int, *, households: int) -> tuple[NormalFaces, Alone]:
    """Two or three of some people in each photograph, in quarter-years."""
    dice = np.random.default_rng(seed)
    who = [dice.choice(births, int(dice.integers(2, 4)), replace=False) for _ in range(photographs)]
    birth, photo = np.concatenate(who), np.repeat(np.arange(photographs), [len(some) for some in who])
    faces = NormalFaces(birth, photo, dice.uniform(50, 900, len(birth)))
    alone = Alone(
        1 / dice.uniform(50, 3000, births),
        dice.integers(-1, households, births),
        1 / dice.uniform(500, 1e5, photographs),
    )
    return faces, alone


def plainly(faces: NormalFaces, alone: Alone) -> np.ndarray:
    """The diagonal of the inverse of J: births, photographs, then households."""
    many, pictures = len(alone.births), len(alone.photos)
    households = alone.household.max() + 1
    size = many + pictures + households
    whole = np.diag([*np.where(alone.household < 0, alone.births, 0), *alone.photos, *np.full(households, SHIFT**-2)])
    for b, household in enumerate(alone.household):
        if household >= 0:
            u = np.zeros(size)
            u[b], u[many + pictures + household] = 1, -1
            whole += alone.births[b] * np.outer(u, u)
    for b, x, variance in zip(faces.birth, faces.photo, faces.variance, strict=True):
        u = np.zeros(size)
        u[many + x], u[b] = 1, -1
        whole += np.outer(u, u) / variance
    return np.linalg.inv(whole).diagonal()


@pytest.mark.parametrize("households", [0, 2])
def test_variances_are_those_of_the_whole_matrix(households: int) -> None:
    """Photographs are eliminated, which changes nothing."""
    faces, alone = family(1, 6, 15, households=households)
    births, photographs = variances(faces, alone)
    plain = plainly(faces, alone)
    assert births == pytest.approx(plain[:6])
    assert photographs == pytest.approx(plain[6:21])


def test_variances_of_a_large_archive_are_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there are too many births for an inverse, the variances of draws are off by about an eleventh."""
    faces, alone = family(2, 40, 120, households=5)
    exact = np.concatenate(variances(faces, alone))
    monkeypatch.setattr(rings, "FEW", 10)
    ratio = np.concatenate(variances(faces, alone)) / exact
    assert ratio.mean() == pytest.approx(1, abs=0.05)
    assert 0.03 < ratio.std() < 0.15


def test_nothing_depends_on_what_is_elsewhere(monkeypatch: pytest.MonkeyPatch) -> None:
    """A face less in one family changes no variance of another, whether these are worked out or drawn; of two families
    each has what it has alone."""
    (one, alone), (other, apart) = family(2, 40, 120, households=5), family(3, 40, 120, households=5)
    births, photos = len(alone.births), len(alone.photos)
    households = int(alone.household.max()) + 1
    there = np.where(apart.household < 0, -1, apart.household + households)
    both = Alone(
        np.concatenate([alone.births, apart.births]), np.concatenate([alone.household, there]),
        np.concatenate([alone.photos, apart.photos]),
    )  # fmt: skip
    for few in (rings.FEW, 10):
        monkeypatch.setattr(rings, "FEW", few)
        for some in (slice(None), slice(1, None)):
            faces = NormalFaces(
                np.concatenate([one.birth[some], births + other.birth]),
                np.concatenate([one.photo[some], photos + other.photo]),
                np.concatenate([one.variance[some], other.variance]),
            )
            of_births, of_photos = variances(faces, both)
            by_itself = variances(other, apart)
            assert of_births[births:] == pytest.approx(by_itself[0], rel=1e-9)
            assert of_photos[photos:] == pytest.approx(by_itself[1], rel=1e-9)


def test_without_rings_everything_counts() -> None:
    """A chain of people who are each in a picture with the next: messages are exact."""
    birth, photo = np.array([0, 1, 1, 2, 2, 3]), np.array([0, 0, 1, 1, 2, 2])
    faces = NormalFaces(birth, photo, np.array([80.0, 300, 90, 500, 60, 70]))
    alone = Alone(1 / np.array([200.0, 900, 50, 4000]), np.full(4, -1), 1 / np.full(3, 1e4))
    for found in counted(faces, alone):
        assert found == pytest.approx(1, abs=2e-3)


def test_what_came_in_without_an_age_counts_once() -> None:
    """Somebody, and a picture, of whom no age tells anything: no ring goes through them, whatever rings the others are
    in, and a household that may be off takes nothing from what did not come in by an age."""
    birth, photo = np.tile(np.arange(3), 4), np.repeat(np.arange(4), 3)
    faces = NormalFaces(birth, photo, np.full(12, 200.0))
    alone = Alone(np.full(5, 1 / 500), np.array([0, 0, 0, 0, -1]), np.full(6, 1e-4))
    of_births, of_photographs = counted(faces, alone)
    assert np.all(of_births[:3] < 1)
    assert of_births[3:].tolist() == [1, 1]
    assert of_photographs[4:].tolist() == [1, 1]


def test_a_household_in_the_same_pictures_counts_less() -> None:
    """Four people of vague birth in the same ten pictures could all be older together: what they tell each other counts
    less than once, and less again if the same people told all four births."""
    birth, photo = np.tile(np.arange(4), 10), np.repeat(np.arange(10), 4)
    faces = NormalFaces(birth, photo, np.full(40, 200.0))
    alone = Alone(np.full(4, 1 / 500), np.full(4, -1), np.full(10, 1e-4))
    of_births, of_photographs = counted(faces, alone)
    assert np.all(of_births < 0.9)
    assert np.all(of_photographs < 0.9)
    told_alike = counted(faces, Alone(alone.births, np.zeros(4, dtype=np.int64), alone.photos))
    assert np.all(told_alike[0] < of_births)
    assert np.all(told_alike[1] < of_photographs)
