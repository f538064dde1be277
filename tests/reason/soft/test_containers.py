"""What lies together tells of dates: the fast messages against plain sums, and what must not happen."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from scipy import sparse

from kinphoto.reason.dating import Inference, date_archive
from kinphoto.reason.model import containers as model
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.containers import (
    OCCASION,
    QUARTER_YEAR,
    STRAY,
    WIDTHS,
    Width,
    density,
    learned,
    of_one_occasion,
    prior,
    same_occasion,
)
from kinphoto.reason.model.span import Dated, Shape, Span
from kinphoto.reason.model.subjects import Arrangement, Container, Person, Photograph
from kinphoto.reason.soft import containers
from kinphoto.reason.soft.common_errors import Sharing, moments
from kinphoto.reason.soft.container_messages import LOG, ContainerMessages
from kinphoto.reason.soft.containers import Lying, pass_messages
from kinphoto.reason.soft.grid import QUARTERS
from kinphoto.reason.soft.sequences import in_sequence
from kinphoto.reason.soft.years import Years

CELLS = 120
"""Thirty years."""


def day_of_year(year: int) -> int:
    """The first of January."""
    return date(year, 1, 1).toordinal()


def likelihoods(seed: int, many: int) -> np.ndarray:
    """Of some photographs: bells of different widths here and there."""
    dice = np.random.default_rng(seed)
    at, middle, spread = np.arange(CELLS), dice.uniform(20, 100, many), dice.uniform(1, 20, many)
    found = np.exp(-0.5 * ((at - middle[:, None]) / spread[:, None]) ** 2) + 1e-6
    return (found / found.sum(axis=1, keepdims=True)).astype(np.float32)


def lying(of: list[int], parent: list[int]) -> Lying:
    """Photographs in containers, in the order of their rows."""
    root = list(range(len(parent)))
    for i, above in enumerate(parent):
        root[i] = i if above < 0 else root[above]
    rows = np.arange(len(of))
    return Lying(rows, np.array(of), rows, np.array(parent), np.array(root))


def nothing_shared(many: int) -> Sharing:
    """No birth and no judge in common."""
    return Sharing(sparse.csr_array((many, 1), dtype=np.float32), sparse.csr_array((many, 1), dtype=np.float32))


def test_both_ways_between_years_and_parameters() -> None:
    """The sums over the cells that `Years` does by convolution are those with the plain densities of the model; for
    wide bells on coarser cells within a hundredth of the greatest."""
    years, like = Years(CELLS), likelihoods(1, 3)
    table = np.concatenate([density(Width(s), CELLS) for s in WIDTHS])
    plain = like @ table.T
    assert years.seen(like) == pytest.approx(plain, abs=0.01 * plain.max())
    weight = np.random.default_rng(2).dirichlet(np.ones(years.points), 2)
    assert years.spread(weight) == pytest.approx(weight @ table, abs=0.01 * (weight @ table).max())
    rate = likelihoods(3, 1)
    assert years.prior(rate)[0] == pytest.approx(np.concatenate([prior(Width(s), rate[0]) for s in WIDTHS]), abs=1e-3)


def messages(told: ContainerMessages) -> np.ndarray:
    """What was heard, adding up to 1."""
    found = np.exp(LOG[told.steps])
    return np.asarray(found / found.sum(axis=1, keepdims=True))


def table(rate: np.ndarray) -> np.ndarray:
    """p(y | t) of every point, by the plain densities of the model."""
    return (1 - STRAY) * np.concatenate([density(Width(s), CELLS) for s in WIDTHS]) + STRAY * rate


def alone() -> np.ndarray:
    """What is expected of the width of the only container there is."""
    return learned(np.ones((1, len(WIDTHS))), np.ones(1))[0]


def test_two_photographs_as_the_plain_sum(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each hears the sum over all parameters of what the other makes of them; neither hears itself."""
    monkeypatch.setattr(containers, "in_sequence", lambda *_: None)
    like = likelihoods(4, 2)
    kept = like.astype(float)
    told, start, end, _ = pass_messages(lying([1, 1], [-1, -1]), 0, like, nothing_shared(2), tail=1e-3)
    found, rate = messages(told), np.full(CELLS, 1 / CELLS)
    before = np.concatenate([prior(Width(s), rate) * share for s, share in zip(WIDTHS, alone(), strict=True)])
    for i, j in ((0, 1), (1, 0)):
        chance = before * (kept @ table(rate).T)[j]
        plain = chance @ table(rate) / chance.sum()
        assert found[i] == pytest.approx(plain, abs=0.03 * plain.max())
        mass = np.cumsum(kept[i] * plain) / (kept[i] @ plain)
        assert mass[end[i]] - mass[start[i]] + kept[i, start[i]] * plain[start[i]] / (kept[i] @ plain) >= 1 - 1e-3


def test_five_that_are_off_together_as_the_plain_sum(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three of five photographs share a judge or a birth: each hears the others as far as their errors are their own,
    and they count less as they repeat each other, by errors and by occasions."""
    monkeypatch.setattr(containers, "in_sequence", lambda *_: None)
    like = likelihoods(9, 5)
    loads = np.array([[0.9, 0.0], [0.6, 0.5], [0.0, 0.7], [0.0, 0.0], [0.0, 0.0]], dtype=np.float32)
    sharing = Sharing(sparse.csr_array((5, 1), dtype=np.float32), sparse.csr_array(loads))
    told, *_ = pass_messages(lying([1] * 5, [-1, -1]), 0, like, sharing, tail=1e-3)
    rate, common = np.full(CELLS, 1 / CELLS), loads @ loads.T
    np.fill_diagonal(common, 1.0)
    before = np.concatenate([prior(Width(s), rate) for s in WIDTHS])
    width = np.concatenate([np.full(len(prior(Width(s), rate)), k) for k, s in enumerate(WIDTHS)])
    own, (_, variance) = np.log(like.astype(float) @ table(rate).T), moments(like)
    together = np.full(5, (OCCASION - 1) * 3 / 4)
    for _ in range(2):
        chance = before * np.exp((own / (together + common.sum(axis=1))[:, None]).sum(axis=0))
        odds = np.bincount(width, chance) / chance.sum()
        together = of_one_occasion(odds, variance)
    weight = 1 / (together + common.sum(axis=1))
    for i in range(5):
        chance = before * alone()[width] * np.exp((weight * (1 - common[i])) @ own)
        plain = chance @ table(rate) / chance.sum()
        assert messages(told)[i] == pytest.approx(plain, abs=0.03 * plain.max()), i


@pytest.mark.parametrize("common", [0.0, 0.3, 0.95])
@pytest.mark.parametrize("others", [1, 2, 7])
def test_others_count_as_in_the_best_estimate(others: int, common: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of photographs that are all off with the same variance and correlation, and of no occasion in common, the own one
    and what counts of the others have the precision of the best linear estimate: the sum of the inverse covariance."""
    monkeypatch.setattr(model, "OCCASION", 1.0)
    many = others + 1
    loads = sparse.csr_array(np.full((many, 1), common**0.5, dtype=np.float32))
    like, whole = np.repeat(likelihoods(2, 1), many, axis=0), lying([1] * many, [-1, -1])
    trees = containers.Trees(whole, like, like[:2], Sharing(sparse.csr_array((many, 1)), loads))
    trees.gather(np.arange(many))
    covariance = np.full((many, many), common) + (1 - common) * np.eye(many)
    heard_by_first = float((trees.weight[1:] * (1 - common)).sum())
    assert 1 + heard_by_first == pytest.approx(np.linalg.inv(covariance).sum(), rel=1e-5)


@pytest.mark.parametrize("common", [0.0, 3.0])
def test_what_is_wrong_together_tells_little_of_the_order(common: float) -> None:
    """What the order in a container tells counts 1 / (1 + sum of c) times, as a logarithm: by hand from what it tells
    where errors have nothing in common. (Of five photographs, so that the prior of the orders rules.)"""
    like, shuffled = likelihoods(6, 5), np.repeat(likelihoods(7, 1), 5, axis=0)
    alone, told = shuffled.copy(), shuffled.copy()
    in_sequence([np.arange(5)], like, alone, np.ones(5), {})
    in_sequence([np.arange(5)], like, told, np.full(5, 1 / (1 + common)), {})
    plain = shuffled * (alone / shuffled) ** (1 / (1 + common))
    plain /= plain.sum(axis=1, keepdims=True)
    assert told == pytest.approx(plain, abs=1e-3 * float(plain.max()))
    assert abs(alone - shuffled).max() > 0.1 * shuffled.max()


def test_narrow_albums_make_narrow_albums_likely(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nine albums are each of one summer, a tenth with two pictures in it is thought to be of one, too; and its
    own pictures do not make it so."""
    monkeypatch.setattr(containers, "in_sequence", lambda *_: None)
    at, of = np.arange(CELLS), [1, 1] + [2 + i // 6 for i in range(54)]
    middle = np.array([60.0, 60.0] + [8.0 + 12 * (i // 6) for i in range(54)])
    like = np.exp(-0.5 * ((at - middle[:, None]) / 1.0) ** 2) + 1e-6
    like[0] = 1.0
    like = (like / like.sum(axis=1, keepdims=True)).astype(np.float32)
    told, *_ = pass_messages(lying(of, [-1] * 11), 0, like, nothing_shared(56), tail=1e-3)
    single, *_ = pass_messages(lying([1, 1], [-1, -1]), 0, like[:2], nothing_shared(2), tail=1e-3)
    near = slice(60 - 8, 60 + 9)
    assert messages(told)[0, near].sum() > 0.75 > 0.55 > messages(single)[0, near].sum()


def test_what_is_kept_is_what_was_heard() -> None:
    """Packed into bytes and read back, a message is the same; of some rows only those are packed."""
    steps = np.random.default_rng(5).integers(0, 256, (4, CELLS)).astype(np.uint8)
    told = ContainerMessages(np.array([3, 5, 6, 9]), 1500, steps)
    again = ContainerMessages.unpacked(dict(zip([5, 9], told.packed(np.array([5, 9])), strict=True)))
    assert again is not None
    assert again.first == 1500
    assert np.array_equal(again.steps, steps[[1, 3]])
    assert ContainerMessages.unpacked({}) is None


def test_loose_photographs_hear_the_rate_alone() -> None:
    """What lies nowhere is told when photographs were taken at all, and the same for each of them."""
    told, *_ = pass_messages(lying([1, 1, 1, 0, 0], [-1, -1]), 0, likelihoods(6, 5), nothing_shared(5), tail=1e-3)
    assert np.array_equal(told.steps[3], told.steps[4])
    assert not np.array_equal(told.steps[0], told.steps[3])
    assert told.steps[3].max() > 0


def album(years: list[int | None], *, born: int = 1900, vague: bool = False, age: int = 8) -> ev.Evidence:
    """Photographs of one child in one album, in this order, some with a year written on them."""
    spread = 3650.0 if vague else None
    day = day_of_year(born)
    birth = Dated(Span(day - 5475, day + 5475), Shape.ABOUT, day, spread) if spread else Dated(Span(day, day))
    statements: list[ev.Statement] = [
        ev.LifeDate(id="E1", trust=ev.Trust.STRONG, person="I1", event=ev.LifeEvent.BIRTH, date=birth)
    ]
    for i, year in enumerate(years):
        statements.append(ev.Appearance(id=f"A{i}", trust=ev.Trust.STRONG, photograph=f"K{i}", person="I1"))
        if year is None:
            statements.append(
                ev.Age(id=f"G{i}", trust=ev.Trust.FAIR, appearance=f"A{i}", low=age, high=age, informant="Edda")
            )
        else:
            when = Dated(Span(day_of_year(year), day_of_year(year + 1) - 1))
            statements.append(
                ev.DateClaim(id=f"D{i}", trust=ev.Trust.STRONG, photograph=f"K{i}", claim=ev.Claim.TAKEN, date=when)
            )
    pictures = tuple(Photograph(f"K{i}", 738_000, container="B1", position=i) for i in range(len(years)))
    return ev.Evidence((Person("I1", "Ada", "F"),), pictures, tuple(statements), (Container("B1"),))


def test_between_two_of_one_year() -> None:
    """What lies between pictures of 1911 in an album is likely of about 1911, though the child could be 5 to 12."""
    found = {e.photograph: e for e in date_archive(album([1910, 1911, None, 1911, 1911])).estimates}["K2"]
    alone = {e.photograph: e for e in date_archive(album([None])).estimates}["K0"]
    assert found.best is not None
    assert alone.likely_to is not None
    assert alone.likely_from is not None
    assert abs(found.best - day_of_year(1911)) < 2 * 365
    assert (found.likely_to or 0) - (found.likely_from or 0) < 0.6 * (alone.likely_to - alone.likely_from)


def test_a_stray_keeps_its_date() -> None:
    """A picture with 1935 written on it, in an album of 1911, is of 1935."""
    found = {e.photograph: e for e in date_archive(album([1911, 1911, 1935, 1911, 1911])).estimates}["K2"]
    assert found.edtf == "1935"


def test_two_pictures_of_one_year_do_not_make_a_folder_an_album() -> None:
    """In the first folder that somebody adds, a woman of seventy-five who was born in 1899 is not dated to her youth
    because the two other pictures are of 1931."""
    found = {e.photograph: e for e in date_archive(album([1931, 1931, None], born=1899, age=75)).estimates}["K2"]
    assert found.best is not None
    assert found.best > day_of_year(1940)
    assert (found.likely_to or 0) > day_of_year(1970)


@pytest.mark.parametrize("place", [0, 3, 5])
def test_a_careless_judgement_is_not_believed_to_be_far_off(place: int) -> None:
    """Five pictures of 1931 in a folder do not make "75" of a woman born in 1899 a slip: her picture may be of 1974."""
    years: list[int | None] = [1931] * 6
    years[place] = None
    found = {e.photograph: e for e in date_archive(album(years, born=1899, age=75)).estimates}[f"K{place}"]
    first, last = found.likely_from or 0, found.likely_to or 0
    assert first < day_of_year(1931) < day_of_year(1974) < last
    assert (first + last) / 2 > day_of_year(1945)


def test_those_who_share_a_birth_do_not_hear_of_each_other() -> None:
    """Eight pictures of one child whose birth is known to within ten years, in one album: nobody can tell the years,
    and lying together does not make it look as if somebody could."""
    together = album([None] * 8, vague=True)
    loose = ev.Evidence(together.people, together.photographs, together.statements)
    with_box, without = (date_archive(x).estimates for x in (together, loose))
    for one, other in zip(with_box, without, strict=True):
        width, before = ((e.likely_to or 0) - (e.likely_from or 0) for e in (one, other))
        assert width > 0.9 * before


def test_a_part_of_the_evidence_is_dated_by_what_was_heard() -> None:
    """With what the container told when everything was dated, one photograph by itself has the same likely range."""
    whole = Inference(album([1910, 1911, None, 1911, 1911]))
    everything = {e.photograph: e for e in whole.findings().estimates}["K2"]
    alone = ev.Evidence(
        whole.lives.known and album([1910]).people, (Photograph("K2", 738_000, container="B1", position=2),),
        tuple(s for s in album([1910, 1911, None, 1911, 1911]).statements if s.id in ("E1", "A2", "G2")),
        from_containers={"K2": whole.from_containers()["K2"]},
    )  # fmt: skip
    [found] = date_archive(alone).estimates
    assert found.likely_from == pytest.approx(everything.likely_from, abs=31)
    assert found.likely_to == pytest.approx(everything.likely_to, abs=31)
    [silent] = date_archive(alone.without(frozenset({"B1"}))).estimates
    assert (silent.likely_to or 0) - (silent.likely_from or 0) > 1.5 * (
        (found.likely_to or 0) - (found.likely_from or 0)
    )


def test_a_ring_of_containers_is_no_trouble() -> None:
    """Two containers that are each in the other, by somebody's mistake, are dated like any others."""
    one = album([1910, None])
    boxes = Container("B1", "B2"), Container("B2", "B1")
    ring = ev.Evidence(one.people, one.photographs, one.statements, boxes)
    assert all(e.best for e in date_archive(ring).estimates)


def test_by_quarter_with_messages_as_the_posteriors_are() -> None:
    """Posteriors by quarter-year, before containers count, are the sums of those on finer cells, for photographs that
    a vague birth joins (whose messages are at hand) and for one of somebody whose birth is known."""
    one, other = album([None, 1909, None], vague=True), album([None])
    moved = tuple(
        replace(s, **{k: getattr(s, k) + "b" for k in ("id", "person", "photograph", "appearance") if hasattr(s, k)})
        for s in other.statements
    )
    evidence = ev.Evidence(
        (*one.people, Person("I1b", "Bo", "M")), (*one.photographs, Photograph("K0b", 738_000)),
        (*one.statements, *moved),
    )  # fmt: skip
    whole = Inference(evidence)
    by_quarter, first = whole.beliefs.by_quarter(whole.dated_groups)
    edges = QUARTERS[first : first + by_quarter.shape[1] + 1]
    for row, p in enumerate(("K0", "K1", "K2", "K0b")):
        found = whole.dated_exposures([p])[p].posterior
        assert found is not None
        fine = np.diff(np.interp(edges, found.edges, found.rising))
        assert by_quarter[row] == pytest.approx(fine, abs=3e-3), p


def apart(said: Arrangement | None) -> float:
    """The years between the second and the last but one of seven pictures that lie behind each other, the others of
    1901, 1904, 1910, 1916 and 1919, if this was said of their album."""
    one = album([1901, None, 1904, 1910, 1916, None, 1919], born=1850, age=60)
    turned = tuple(replace(p, position=6 - p.position) for p in one.photographs)
    pictures = turned if said is Arrangement.BACKWARDS else one.photographs
    known = replace(one, photographs=pictures, containers=(Container("B1", None, said),))
    best = {e.photograph: e.best or 0 for e in date_archive(known).estimates}
    return (best["K5"] - best["K1"]) / 365.25


def test_what_was_said_of_the_order_is_followed() -> None:
    """In an album that is said to be in order, or in order backwards, places tell more than where nobody said so, and
    there more than where it is said not to be in order."""
    in_order, backwards, nothing, not_in_order = map(
        apart, (Arrangement.IN_ORDER, Arrangement.BACKWARDS, None, Arrangement.NOT_IN_ORDER)
    )
    assert in_order == pytest.approx(backwards, abs=0.1)
    assert in_order > nothing + 1 > not_in_order + 2


def test_some_rows_are_taken_out_of_what_was_heard() -> None:
    """Rows that are looked at again take what they heard with them, under new numbers; None if none of them heard."""
    steps = np.arange(12, dtype=np.uint8).reshape(4, 3)
    told = ContainerMessages(np.array([3, 5, 6, 9]), 1500, steps).take(np.array([4, 5, 9]))
    assert told is not None
    assert (told.rows.tolist(), told.first, told.steps.tolist()) == ([1, 2], 1500, [[3, 4, 5], [9, 10, 11]])
    assert ContainerMessages(np.array([3]), 1500, steps[:1]).take(np.array([4])) is None


def test_in_a_shuffled_trunk_times_of_others_are_likely() -> None:
    """In a shuffled trunk of forty years, of somebody who looks forty at any time, the years in which two others each
    were taken are likelier than those between, by what the chance of one occasion adds to the density; less where all
    are in order."""
    in_order = [1901 + 4 * (i // 2) for i in range(20)]
    shuffled, found, in_one_year = [in_order[7 * i % 20] for i in range(20)], [], []
    for years, said in ((shuffled, Arrangement.NOT_IN_ORDER), (in_order, Arrangement.IN_ORDER)):
        one = album([None, *years], born=1880, age=40)
        told = Inference(replace(one, containers=(Container("B1", None, said),))).beliefs.incoming
        assert told is not None
        assert told.boxes is not None
        message = told.message(0)
        place = [int(np.searchsorted(QUARTERS, day_of_year(year) + 100)) - 1 - told.first for year in (1917, 1919)]
        found.append(message[place[0]] / message[place[1]])
        in_one_year.append(told.boxes.expected(1).mass[place[1]] / QUARTER_YEAR)
    each = same_occasion(21)
    assert in_one_year[0] == pytest.approx(1 / 40, rel=0.3), "about the density of a trunk of forty years"
    assert found[0] == pytest.approx(1 + 2 * each / ((1 - 20 * each) * in_one_year[0]), rel=0.03)
    assert found[1] < found[0] / 2
