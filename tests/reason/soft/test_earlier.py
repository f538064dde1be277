"""Looks that start from an earlier one: against plain sums, and beside looks that start from nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from albums import album, likelihoods, lying, nothing_shared
from joints import PHOTOS, TREE, World, distances

from kinphoto.reason.dating import Inference
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import Findings
from kinphoto.reason.soft import containers
from kinphoto.reason.soft.containers import listen

MONTH = 31


@pytest.mark.parametrize("seed", range(6))
def test_messages_that_are_resumed_in_a_tree_are_exact(seed: int) -> None:
    """When one of four photographs is dated, messages that start from those before it end at the sums over every
    combination of births and dates: total variation at most 1e-6."""
    before, now = World(TREE, seed), World(TREE, seed)
    before.run()
    now.unary[seed % 4] = np.where(np.arange(PHOTOS[seed % 4]) == 7, 1.0, 1e-3)
    converged = now.run(before=before, changed=(seed % 4,))
    assert not len(converged.unconverged)
    assert max(distances(now, converged)) < 1e-6


def test_where_nothing_has_changed_nothing_is_sent() -> None:
    """Messages that are resumed as they were stay as they were."""
    before, now = World(TREE, 1), World(TREE, 1)
    before.run()
    converged = now.run(before=before)
    assert np.array_equal(now.propagation.in_photo, before.propagation.in_photo)
    assert np.array_equal(now.propagation.in_birth, before.propagation.in_birth)
    assert max(distances(now, converged)) < 1e-6


def test_a_container_in_which_something_is_new_is_looked_at_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of two tins of which one has a photograph that is dated otherwise now, that one is told what it would be from
    nothing, and the other what it was. (The rate is as it was: here it is flat for both.)"""
    monkeypatch.setattr(containers, "_rates", lambda like, _: np.full((3, like.shape[1]), 1 / like.shape[1]))
    tins, like, other = lying([1, 1, 1, 2, 2, 2], [-1, -1, -1]), likelihoods(3, 6), likelihoods(4, 6)
    before = listen(tins, 0, like, nothing_shared(6), 1e-3, keep=True).kept
    like = like.copy()
    like[1] = other[1]
    expected = listen(tins, 0, like, nothing_shared(6), 1e-3)
    place = np.array([0, -1, 2, 3, 4, 5])
    found = listen(tins, 0, like, nothing_shared(6), 1e-3, keep=True, then=before, place=place)
    assert np.array_equal(found.heard.steps, expected.heard.steps)
    assert np.array_equal(found.start, expected.start)
    assert np.array_equal(found.end, expected.end)
    assert found.at_rest.tolist() == [False, False, False, True, True, True]
    again = listen(tins, 0, like, nothing_shared(6), 1e-3, then=found.kept, place=np.arange(6))
    assert again.at_rest.all()


def two_boxes() -> ev.Evidence:
    """Two albums of a child whose birth is known to within years, and of one born to the day."""
    one, other = album([None, None, 1909, None, None, None], vague=True), album([1921, None, None, 1925], born=1915)
    names = ("id", "person", "photograph", "appearance")
    moved = tuple(replace(s, **{k: f"{getattr(s, k)}b" for k in names if hasattr(s, k)}) for s in other.statements)
    pictures = tuple(replace(p, id=f"{p.id}b", container="B2") for p in other.photographs)
    return ev.Evidence(
        (*one.people, ev.Person("I1b", "Bo", "M")), (*one.photographs, *pictures), (*one.statements, *moved),
        (ev.Container("B1"), ev.Container("B2")),
    )  # fmt: skip


def ages(found: Findings) -> dict[str, tuple[int | None, ...]]:
    """Best days and likely ranges, by photograph."""
    return {e.photograph: (e.best, e.likely_from, e.likely_to) for e in found.estimates}


def test_a_look_that_starts_from_an_earlier_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """When a year is written on a picture of the child of vague birth, every picture is dated as it is from nothing, to
    within a month, and those in the other album are not looked at again. (The rate is as it was: flat.)"""
    monkeypatch.setattr(containers, "_rates", lambda like, _: np.full((3, like.shape[1]), 1 / like.shape[1]))
    whole = two_boxes()
    dated = next(s for s in whole.statements if s.id == "D2")
    before = Inference(whole.without(frozenset({"D2"})), keep=True)
    before.findings()
    assert isinstance(dated, ev.DateClaim)
    after = Inference(whole, before=before, keep=True)
    assert after.beliefs.before is not None
    assert [after.groups.members[i] for i in np.flatnonzero(after.beliefs.before.rest)] == [
        ("K0b",), ("K1b",), ("K2b",), ("K3b",),
    ]  # fmt: skip
    found, expected = ages(after.findings()), ages(Inference(whole).findings())
    assert found.keys() == expected.keys()
    for p, days in expected.items():
        assert all(abs((a or 0) - (b or 0)) <= MONTH for a, b in zip(days, found[p], strict=True)), p
    back = Inference(whole.without(frozenset({"D2"})), before=after)
    assert ages(back.findings())["K2"][0] == pytest.approx(ages(before.findings())["K2"][0], abs=MONTH)


def test_another_tree_is_looked_at_from_nothing() -> None:
    """When a birth in the tree is another, nothing is taken over, informants neither."""
    whole = two_boxes()
    before = Inference(whole, keep=True)
    before.findings()
    born = next(s for s in whole.statements if s.id == "E1b")
    assert isinstance(born, ev.LifeDate)
    other = replace(born, trust=ev.Trust.WEAK)
    changed = replace(whole, statements=tuple(other if s is born else s for s in whole.statements))
    after = Inference(changed, before=before)
    assert after.beliefs.before is None
    assert after.findings() == Inference(changed).findings()
