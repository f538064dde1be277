"""Messages between births and photographs, against the whole joint distribution summed out in plain arithmetic."""

from __future__ import annotations

import numpy as np
import pytest
from joints import BIRTHS, FIRST_BIRTH, FIRST_PHOTO, PHOTOS, RING, TREE, World, distances

from kinphoto.reason.soft.grid import QUARTERS, Grid, QuarterRows
from kinphoto.reason.soft.kernels import LAGS
from kinphoto.reason.soft.messages import BeliefPropagation, VagueFaces
from kinphoto.reason.soft.orders import Orders


@pytest.mark.parametrize("seed", range(8))
def test_a_tree_is_exact(seed: int) -> None:
    """Three births, four photographs and six faces, some deaths unrecorded: total variation at most 1e-6."""
    world = World(TREE, seed)
    converged = world.run()
    assert not len(converged.unconverged)
    assert max(distances(world, converged)) < 1e-6


@pytest.mark.parametrize("seed", range(8))
def test_as_it_is_used_a_tree_is_exact_to_a_thousandth(seed: int) -> None:
    """In single precision, and with messages that have converged when they move by less than 0.003."""
    world = World(TREE, seed)
    assert max(distances(world, world.run(np.float32, 0.003))) < 1e-3


def test_a_ring_comes_to_rest_near_the_truth() -> None:
    """Two people in the same two photographs: messages go round, so they are near, not exact."""
    off = [max(distances(world, world.run())) for world in (World(RING, seed) for seed in range(8))]
    assert np.mean(off) < 0.02


def test_orders_take_part() -> None:
    """The first photograph was before the last, which nothing else joins: each receives the best quarter-year of the
    other that leaves its own possible, and the births receive it too."""
    world = World(TREE[:-1], 3)
    first, last = FIRST_PHOTO[0] + np.arange(PHOTOS[0]), FIRST_PHOTO[3] + np.arange(PHOTOS[3])
    quarters = np.concatenate([first, last])
    cells = Grid(np.array([0, PHOTOS[0], PHOTOS[0] + PHOTOS[3]]), QUARTERS[quarters], QUARTERS[quarters + 1])
    unary = np.log(np.concatenate([world.unary[0], world.unary[3]]))
    converged = world.run(orders=Orders(np.array([0, 3]), cells, unary, {(0, 3): 0.05}))
    _, photos = world.summed()
    days = [np.diff(QUARTERS[np.append(q, q[-1] + 1)]) for q in (first, last)]
    dense = [photos[0] / days[0], photos[3] / days[1]]
    not_later = np.array([max((v for q, v in zip(first, dense[0], strict=True) if q <= x), default=0) for x in last])
    not_earlier = np.array([max((v for q, v in zip(last, dense[1], strict=True) if q >= x), default=0) for x in first])
    expected = World(TREE[:-1], 3)
    for i, h, width in ((0, not_earlier, days[0]), (3, not_later, days[1])):
        expected.unary[i] = expected.unary[i] * (0.95 * h / (h @ width / width.sum()) + 0.05)
    births, pictures = expected.summed()
    found = np.split(converged.births, np.cumsum(BIRTHS)[:-1])
    logs = np.split(converged.photos + np.log(np.concatenate(world.unary)), np.cumsum(PHOTOS)[:-1])
    found += [np.exp(log - log.max()) / np.exp(log - log.max()).sum() for log in logs]
    assert max(0.5 * np.abs(a - b).sum() for a, b in zip(found, [*births, *pictures], strict=True)) < 2e-3


def test_a_judgement_is_doubted_by_the_rest() -> None:
    """s0 and s1 of a face, against the sum over all births and photographs without what the face says."""
    world = World(TREE, 5)
    world.run()
    n = len(TREE)
    late = np.where(world.lasting, 2 * n + 1, -1)
    s0, s1 = world.propagation.doubted(np.arange(n), np.full(n, 2 * n), late)  # the last two are without an age
    for joint, (b, x) in enumerate(TREE):
        rest = World(TREE, 5)
        rest.joints = tuple(j for i, j in enumerate(TREE) if i != joint)
        for name in ("kernels", "share", "rest", "alive", "lasting"):
            value = list(getattr(rest, name))
            del value[joint]
            setattr(rest, name, value)
        births, photos = rest.summed()
        lives = (world.factor(joint) - world.rest[joint]) / world.share[joint]
        lag = FIRST_PHOTO[x] + np.arange(PHOTOS[x])[None] - FIRST_BIRTH[b] - np.arange(BIRTHS[b])[:, None]
        seen = np.where(lag >= 0, world.kernels[joint][np.maximum(lag, 0)], 1.0)
        expected = births[b] @ lives @ photos[x] / (births[b] @ (lives / seen) @ photos[x])
        assert s1[joint] / s0[joint] == pytest.approx(expected, rel=1e-6)


def test_who_cannot_be_careless_enough_is_left_out() -> None:
    """Where s0 is at least so many times s1 it is worked out, whatever that is; else it may be left out, as 0."""
    world = World(TREE, 5)
    world.run()
    n = len(TREE)
    asked = np.arange(n), np.full(n, 2 * n), np.where(world.lasting, 2 * n + 1, -1)
    s0, s1 = world.propagation.doubted(*asked)
    left_out = 0
    for least in (*np.sort(s0 / s1).tolist(), 1e3):
        some, same = world.propagation.doubted(*asked, least)
        assert same.tolist() == s1.tolist()
        wanted = s0 >= least * s1
        assert some[wanted] == pytest.approx(s0[wanted])
        assert all(value == 0 or value == pytest.approx(whole) for value, whole in zip(some, s0, strict=True))
        left_out += int((some == 0).sum())
    assert left_out >= n  # nobody is a thousand times as careless


def test_whoever_may_be_careless_is_told_from_the_messages_alone() -> None:
    """Whoever is so many times as careless is among those that are looked at closely, and not everybody always is."""
    looked_at = 0
    for seed in range(8):
        world = World(TREE, seed)
        world.run()
        n = len(TREE)
        asked = np.arange(n), np.full(n, 2 * n), np.where(world.lasting, 2 * n + 1, -1)
        s0, s1 = world.propagation.doubted(*asked)
        for least in (s0 / s1).tolist():
            near = world.propagation.may_be_careless(*asked, least)
            assert set(np.flatnonzero(s0 >= least * s1).tolist()) <= set(near.tolist())
            looked_at += len(near)
        assert not len(world.propagation.may_be_careless(*asked, 1e4))
    assert looked_at < 8 * n * n


def test_a_look_is_summed_out_together_with_the_birth() -> None:
    """One birth with three looks and one with none, in three photographs: against the sum over everything."""
    dice = np.random.default_rng(4)
    births, photos, joints = (12, 9), (20, 15, 18), ((0, 0), (0, 1), (0, 2), (1, 1))
    first_birth, first_photo, weights = (100, 103), (110, 112, 115), np.array([1, 4, 1]) / 6
    prior, unary = (
        [mass / mass.sum() for mass in map(dice.random, sizes)] for sizes in (births, photos)
    )  # fmt: skip
    kernels = dice.random((10, LAGS + 1))
    kernel = np.arange(10)  # three for each face of the first person, one for that of the second
    share, rest = np.full(4, 0.9), np.full(4, 0.02)
    alive = np.concatenate([np.ones(photos[x]) for _, x in joints])
    faces = VagueFaces(
        np.array([b for b, _ in joints]), np.array([x for _, x in joints]), kernel, kernels, share, rest, alive,
        np.full(10, -1), np.full(4, 10_000), np.array([3, 1]), weights,
    )  # fmt: skip
    rows = QuarterRows(np.cumsum([0, *births]), np.array(first_birth))
    of_photos = QuarterRows(np.cumsum([0, *photos]), np.array(first_photo))
    run = BeliefPropagation(
        faces, rows, np.concatenate(prior), of_photos, np.log(np.concatenate(unary)), precision=np.float64,
        tolerance=1e-13,
    ).run()  # fmt: skip

    def seen(joint: int, look: int) -> np.ndarray:
        b, x = joints[joint]
        lag = first_photo[x] + np.arange(photos[x])[None] - first_birth[b] - np.arange(births[b])[:, None]
        of = kernels[3 * joint + look if joint < 3 else 9]
        return 0.9 * np.where(lag >= 0, of[np.maximum(lag, 0)], 0.0) + 0.02

    joint = np.zeros((births[0], births[1], *photos))
    for look, weight in enumerate(weights):
        factors = [seen(j, look) for j in range(4)]
        joint += weight * np.einsum("a,b,x,y,z,ax,ay,az,by->abxyz", *prior, *unary, *factors)
    joint /= joint.sum()
    expected = [joint.sum(axis=tuple(set(range(5)) - {axis})) for axis in range(5)]
    logs = np.split(run.photos + np.log(np.concatenate(unary)), np.cumsum(photos)[:-1])
    found = [*np.split(run.births, [births[0]]), *(np.exp(log - log.max()) for log in logs)]
    for mine, plain in zip(found, expected, strict=True):
        assert mine / mine.sum() == pytest.approx(plain, abs=1e-7)
