"""A container by itself is what it is among all of them, and says the same when it was kept and read again."""

from __future__ import annotations

from dataclasses import replace

import drawn
import numpy as np
import pytest

from kinphoto.reason.dating import Inference
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Dated, span_of_years, year_of
from kinphoto.reason.model.subjects import Arrangement, Container, Number
from kinphoto.reason.soft import one_container
from kinphoto.reason.soft.container_messages import LOG, ContainerMessages
from kinphoto.reason.soft.one_container import (
    OneContainer,
    dates_from,
    message_without_number,
    moved_by,
    with_themes_apart,
)
from kinphoto.reason.soft.years import years_of


@pytest.fixture(scope="module")
def evidence() -> ev.Evidence:
    """Sixty photographs of a drawn family, as they were taken: a quarter of them in an album inside a tin, half in an
    album that somebody said is in order, the others in the tin itself and nowhere."""
    made = drawn.family(60, 30, seed=4)
    order = sorted(made.evidence.photographs, key=lambda p: made.exposures[p.id])
    boxes = [*["B1"] * 15, *["B2"] * 30, *["B3"] * 8, *[None] * 7]
    photographs = tuple(
        replace(p, container=box, position=i) for i, (p, box) in enumerate(zip(order, boxes, strict=True))
    )
    containers = (
        Container("B3", None), Container("B1", "B3"), Container("B2", None, Arrangement.IN_ORDER)
    )  # fmt: skip
    return replace(made.evidence, photographs=photographs, containers=containers)


def kept(inference: Inference) -> dict[str, OneContainer]:
    """What is kept of each container, as it is read again."""
    return {name: OneContainer.unpacked(packed) for name, packed in inference.findings().containers.items()}


def differs(one: OneContainer, heard: ContainerMessages, inference: Inference) -> int:
    """By how many steps at most what the photographs of a container hear differs from what they heard among all."""
    told = inference.from_containers()
    among_all = np.array([list(told[some[0]][2:]) for some in one.own.photographs])
    likely = LOG[np.minimum(among_all, heard.steps)] > -5
    return int(np.abs(among_all - heard.steps.astype(int))[likely].max())


def test_by_itself_as_among_all(evidence: ev.Evidence) -> None:
    """What a container that was kept tells each photograph is what it told it when everything was dated, to a step;
    inside another container, in order, or with others in it."""
    inference = Inference(evidence, lasting=True)
    found = kept(inference)
    assert found.keys() == {"B1", "B2", "B3"}
    for name in ("B1", "B2"):
        assert differs(found[name], found[name].messages(), inference) <= 1
    assert found["B2"].arrangement is Arrangement.IN_ORDER


def test_what_is_kept_changes_no_finding(evidence: ev.Evidence) -> None:
    """With what lasts, for which messages are forgotten early, dates, births and careless ages are as without."""
    lasting, passing = Inference(evidence, lasting=True), Inference(evidence)
    assert not hasattr(lasting.beliefs.neighbours, "propagation")
    kept, alone = lasting.findings(), passing.findings()
    assert replace(kept, containers={}, alone={}) == replace(alone, containers={}, alone={})


@pytest.mark.parametrize("name", ["B1", "B2", "B3"])
def test_without_what_is_next_to_impossible(
    evidence: ev.Evidence, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    """The centres and widths that are left out make no difference of more than a step."""
    inference = Inference(evidence, lasting=True)
    one = kept(inference)[name]
    found = one.messages().steps
    monkeypatch.setattr(one_container, "UNLIKELY", np.inf)
    assert np.abs(found.astype(int) - one.messages().steps).max() <= 1


def test_with_what_may_become_likely_alone(evidence: ev.Evidence, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where many lie in a container, it is kept which of its centres and widths may become likely: with these alone
    they hear the same, also when one of them is said to be of another time."""
    every = kept(Inference(evidence, lasting=True))
    monkeypatch.setattr(one_container, "MANY", 20)
    monkeypatch.setattr(one_container, "CHANGES", 20.0)
    some = kept(Inference(evidence, lasting=True))
    assert not len(some["B1"].possible), "fifteen are few"
    assert 0 < len(some["B2"].possible) < 0.9 * years_of(some["B2"].own.likelihood.shape[1]).points
    one = some["B2"].own.take(np.array([4]))
    later = replace(one, likelihood=np.roll(one.likelihood, 60, axis=1))
    place = {one.photographs[0][0]: int(some["B2"].position[4])}
    for by in (one, later):
        heard, fewer = (of["B2"].changed(by, place, ()).messages().steps for of in (every, some))
        assert np.abs(heard.astype(int) - fewer).max() <= 1


def test_kept_and_read_again(evidence: ev.Evidence) -> None:
    """What was packed twice is the same bytes."""
    packed = Inference(evidence, lasting=True).findings().containers["B2"]
    assert OneContainer.unpacked(packed).packed() == packed


@pytest.mark.parametrize("name", ["B1", "B2"])
def test_a_change_of_one(evidence: ev.Evidence, name: str) -> None:
    """Somebody tells the year of one photograph. With its new likelihood, and those of photographs that births join to
    it, all hear nearly what they hear when everything is dated again; nine in ten dates follow to within a month."""
    before = Inference(evidence, lasting=True)
    one = kept(before)[name]
    chosen = one.own.photographs[len(one.position) // 2][0]
    estimates = {e.photograph: e for e in before.findings().estimates}
    year = span_of_years(*[year_of(estimates[chosen].best or 0) + 6] * 2)
    told = ev.DateClaim(id="told", trust=ev.Trust.STRONG, photograph=chosen, claim=ev.Claim.TAKEN, date=Dated(year))
    after = Inference(replace(evidence, statements=(*evidence.statements, told)), lasting=True)
    place = dict(zip([some[0] for some in one.own.photographs], one.position.tolist(), strict=True))
    packed = before.findings().containers[name]
    assert moved_by(packed, before.own_likelihoods([chosen]), ()) < 0.001
    assert moved_by(packed, after.own_likelihoods([chosen]), ()) > 0.1
    changed = one.changed(after.own_likelihoods([*one.own.row_of]), place, ())
    assert [*changed.own.photographs] == [*one.own.photographs]
    heard = changed.messages()
    assert differs(changed, heard, after) <= 2, "less than a tenth"
    moved = changed.moved(one.messages(), heard)
    assert len(moved)
    findings = after.findings()
    now = {e.photograph: (e.best, e.likely_from, e.likely_to) for e in findings.estimates}
    others = [row for row in moved.tolist() if changed.own.photographs[row][0] != chosen]
    codes = [changed.own.photographs[row][0] for row in others]
    dates = dates_from([findings.alone[code] for code in codes], np.array(others), heard)
    off = [np.abs(np.array(date) - np.array(now[code])).max() for code, date in zip(codes, dates, strict=True)]
    assert np.mean(np.array(off) <= 31) > 0.9


def test_what_errors_in_common_make_of_it(evidence: ev.Evidence) -> None:
    """A photograph that says the same of its years, but is off by the same birth as others no more, moves what they
    are told: it counts for more now."""
    one = kept(Inference(evidence, lasting=True))["B2"]
    row = int(one.own.loads.table.sum(axis=1).argmax())
    said = one.own.take(np.array([row]))
    assert moved_by(one.packed(), said, ()) < 0.001
    nothing = replace(said.loads, table=said.loads.table * 0)
    assert moved_by(one.packed(), replace(said, loads=nothing), ()) > 0.1


def test_one_that_is_gone(evidence: ev.Evidence) -> None:
    """A photograph of which nothing is known any more tells the others nothing."""
    inference = Inference(evidence, lasting=True)
    one = kept(inference)["B2"]
    gone = one.own.photographs[3]
    assert moved_by(one.packed(), inference.own_likelihoods([]), gone) == 1
    assert moved_by(one.packed(), inference.own_likelihoods([]), ["of another container"]) == 0
    left = one.changed(inference.own_likelihoods([]), {}, gone)
    assert gone not in left.own.photographs
    assert len(left.position) == len(one.position) - 1


def test_a_date_alone_and_what_is_heard(evidence: ev.Evidence) -> None:
    """From what is kept of a date without its container, and what that told, comes the date again."""
    inference = Inference(evidence, lasting=True)
    findings = inference.findings()
    told = inference.from_containers()
    for estimate in findings.estimates:
        if estimate.photograph in findings.alone and not estimate.doubts_a_name:
            heard = ContainerMessages.unpacked({0: told[estimate.photograph]})
            assert heard is not None
            [found] = dates_from([findings.alone[estimate.photograph]], np.zeros(1, dtype=np.int64), heard)
            expected = estimate.best, estimate.likely_from, estimate.likely_to
            assert found == pytest.approx(expected, abs=3), estimate.photograph


@pytest.fixture(scope="module")
def named(evidence: ev.Evidence) -> ev.Evidence:
    """The same, but of the album in the tin the first eight pictures are named harbour, the others picnic; what is in
    order was shuffled, and has numbers in time."""
    dice = np.random.default_rng(2)
    mixed = iter(dice.permutation(30).tolist())
    photographs = []
    for i, p in enumerate(evidence.photographs):
        if p.container == "B1":
            photographs.append(replace(p, theme="harbour" if i < 8 else "picnic"))
        elif p.container == "B2":
            photographs.append(replace(p, position=next(mixed), number=Number("back", i)))
        else:
            photographs.append(p)
    containers = tuple(replace(c, arrangement=None) for c in evidence.containers)
    return replace(evidence, photographs=tuple(photographs), containers=containers)


def test_themes_and_numbers_are_kept(named: ev.Evidence) -> None:
    """Behind what was kept of an album is what was kept of each theme in it; each tells its photographs what it told
    them when everything was dated. So does a container with numbers, which without them tells something else."""
    inference = Inference(named, lasting=True)
    packed = inference.findings().containers
    assert packed.keys() == {"B1", "B2", "B3"}
    parts = list(with_themes_apart(packed["B1"]))
    assert [len(photographs) for photographs, _ in parts] == [8, 7]
    for photographs, part in parts:
        one = OneContainer.unpacked(part)
        assert photographs == one.own.row_of.keys()
        assert differs(one, one.messages(), inference) <= 1
    [(_, part)] = with_themes_apart(packed["B2"])
    assert part == packed["B2"]
    one = OneContainer.unpacked(part)
    assert one.packed() == part
    assert differs(one, one.messages(), inference) <= 1
    assert differs(one, replace(one, number=np.full(30, -1)).messages(), inference) > 3


def test_a_change_keeps_the_numbers(named: ev.Evidence) -> None:
    """A photograph that says something else keeps its number; one that is new has none."""
    one = OneContainer.unpacked(Inference(named, lasting=True).findings().containers["B2"])
    chosen = one.own.photographs[3]
    flat = replace(one.own.take(np.array([3])), likelihood=np.full((1, one.own.likelihood.shape[1]), 1e-3))
    changed = one.changed(flat, {chosen[0]: int(one.position[3])}, ())
    assert changed.number.tolist() == one.number.tolist()
    new = replace(flat, photographs=(("K new",),))
    more = one.changed(new, {"K new": 99}, ())
    assert more.number.tolist() == [*one.number.tolist(), -1]


def test_without_the_number_of_one(named: ev.Evidence) -> None:
    """From what was kept of its container comes what a photograph hears without its number: the same as when everything
    is dated without it. The box alone left out, it hears nothing; and one without a number nothing else."""
    numbered = tuple(
        replace(p, number=None if p.number is None else replace(p.number, id=f"N{p.id}")) for p in named.photographs
    )  # fmt: skip
    evidence = replace(named, photographs=numbered)
    inference = Inference(evidence, lasting=True)
    kept = inference.findings().containers
    told = inference.from_containers()
    moved = []
    for chosen in [p.id for p in numbered if p.container == "B2"][::6]:
        found = message_without_number(kept["B2"], chosen)
        expected = Inference(evidence.without({f"N{chosen}"})).from_containers()[chosen]
        assert found is not None
        heard = [np.array(list(one[2:])) for one in (found, expected, told[chosen])]
        likely = LOG[np.minimum(heard[0], heard[1])] > -5
        assert np.abs(heard[0] - heard[1])[likely].max() <= 1
        moved.append(np.abs(heard[2] - heard[1])[likely].max())
    assert max(moved) > 3
    assert message_without_number(kept["B1"], next(p.id for p in numbered if p.container == "B1")) is None
    assert message_without_number(kept["B2"], "somewhere else") is None


def test_a_part_of_the_evidence_without_a_number(named: ev.Evidence) -> None:
    """Where only what the containers told is at hand, that is told instead; without the container it is silent."""
    first = named.photographs[20]
    part = ev.Evidence(
        photographs=(replace(first, number=None),), from_containers={first.id: b"all"},
        messages_without={"N1": {first.id: b"less"}},
    )  # fmt: skip
    assert part.without({"S1"}).from_containers == {first.id: b"all"}
    assert part.without({"N1"}).from_containers == {first.id: b"less"}
    assert part.without({"S1"}).without({"N1"}).from_containers == {first.id: b"less"}
    assert part.without({"N1", first.container or ""}).from_containers == {}
