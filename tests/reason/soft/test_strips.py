"""Frames of one strip of film date each other: the fast messages against the plain ones, and what must not happen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from itertools import pairwise

import numpy as np
import pytest
from scipy import sparse

from kinphoto.reason.dating import Inference, date_archive, date_without
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.batches import PrintedDate
from kinphoto.reason.model.findings import Estimate, State
from kinphoto.reason.model.span import DAYS_PER_YEAR, Dated, Shape, Span
from kinphoto.reason.model.strips import message_to_frame
from kinphoto.reason.model.subjects import Container, Person, Photograph
from kinphoto.reason.soft import belief
from kinphoto.reason.soft.common_errors import Sharing
from kinphoto.reason.soft.strips import Strips, messages_to_frames

CELLS = 120
"""Thirty years."""


def likelihoods(seed: int, many: int) -> np.ndarray:
    """Of some photographs: bells of different widths here and there."""
    dice = np.random.default_rng(seed)
    at, middle, spread = np.arange(CELLS), dice.uniform(20, 100, many), dice.uniform(2, 20, many)
    found = np.exp(-0.5 * ((at - middle[:, None]) / spread[:, None]) ** 2) + 1e-6
    return np.asarray((found / found.sum(axis=1, keepdims=True)).astype(np.float32))


def counted(date: PrintedDate) -> np.ndarray:
    """What is known of a print by its date already."""
    return np.where(np.arange(CELLS) < date.after, date.density, 1 / CELLS)


ORDERS = {(0, 2): 0.05, (2, 3): 0.2, (4, 1): 0.01}
"""Which of seven frames of two strips were said to be earlier than which, and how likely that is wrong."""


@pytest.mark.parametrize("orders", [{}, ORDERS])
@pytest.mark.parametrize("printed", [{}, {1: PrintedDate(likelihoods(3, 1)[0], 80.5, 0.01)}])
def test_two_strips_as_the_plain_sums(orders: dict[tuple[int, int], float], printed: dict[int, PrintedDate]) -> None:
    """Frames of two strips in three boxes, some of which share a birth or a judge, hear what the plain sums say, also
    where the order of some of them is known, and where one is a batch with a printed date."""
    of, container = [0, 1, 0, 0, 1, 1, 0], [0, 1, 0, 2, 1, 1, 0]
    wrong = np.array([0.01, 0.2, 0.01, 0.05, 0.01, 0.2, 0.01])
    births, loads = np.zeros((7, 1)), np.zeros((7, 1))
    births[[0, 2, 4], 0] = 1
    loads[[0, 1, 3], 0] = 0.5, 0.4, 0.8
    like, told = likelihoods(1, 7), likelihoods(2, 7)
    strips = Strips(np.arange(7), np.array(of), wrong, np.array(container), orders)
    found = messages_to_frames(
        strips, like, told, Sharing(sparse.csr_array(births), sparse.csr_array(loads)), 0, printed
    ).message
    weight = np.array([
        1 / (1 + sum(loads[i, 0] * loads[j, 0] for j in range(7) if j != i and of[j] == of[i])) for i in range(7)
    ])  # fmt: skip
    for i in range(7):
        mates = [j for j in range(7) if of[j] == of[i]]
        silent = [k for k, j in enumerate(mates) if j != i and births[i, 0] and births[j, 0]]
        boxes = [str(container[j]) for j in mates]
        before = [(mates.index(a), mates.index(b), p) for (a, b), p in orders.items() if a in mates]
        plain = message_to_frame(
            mates.index(i),
            like[mates],
            told[mates],
            boxes,
            wrong[mates],
            weight[mates],
            silent,
            before,
            date := printed.get(of[i]),
        )
        heard = (
            found[i] if date is None else found[i] * counted(date)
        )  # its printed date is with what is known of it by itself
        assert heard / heard.sum() == pytest.approx(plain, abs=0.01 * plain.max())


def day_of_year(year: int) -> int:
    """The first of January."""
    return date(year, 1, 1).toordinal()


def pictures(
    years: Sequence[int | None], ties: Sequence[tuple[int, int]] = (), *, boxes: Sequence[str | None] = (),
    trust: ev.Trust = ev.Trust.STRONG, vague: bool = False, aged: bool = True,
) -> ev.Evidence:  # fmt: skip
    """Photographs with a year, or of one child born in 1900 who looks ten; some are frames of a strip."""
    day = day_of_year(1900)
    birth = Dated(Span(day - 5475, day + 5475), Shape.ABOUT, day, 3650.0) if vague else Dated(Span(day, day))
    said: list[ev.Statement] = [
        ev.LifeDate(id="E1", trust=ev.Trust.STRONG, person="I1", event=ev.LifeEvent.BIRTH, date=birth)
    ]
    for i, year in enumerate(years):
        if year is not None:
            when = Dated(Span(day_of_year(year), day_of_year(year + 1) - 1))
            said.append(ev.DateClaim(id=f"D{i}", trust=ev.Trust.STRONG, photograph=f"K{i}", claim=ev.Claim.TAKEN,
                                     date=when))  # fmt: skip
        elif aged:
            said.append(ev.Appearance(id=f"A{i}", trust=ev.Trust.STRONG, photograph=f"K{i}", person="I1"))
            said.append(ev.Age(id=f"G{i}", trust=ev.Trust.FAIR, appearance=f"A{i}", low=9, high=11, informant="Edda"))
    said += [
        ev.Relation(id=f"S{i}", trust=trust, photograph=f"K{one}", related=ev.Related.SAME_STRIP, other=f"K{other}")
        for i, (one, other) in enumerate(ties)
    ]
    lies = boxes or [None] * len(years)
    shown = tuple(Photograph(f"K{i}", 738_000, container=box, position=i) for i, box in enumerate(lies))
    inside = tuple(Container(box) for box in dict.fromkeys(lies) if box)
    return ev.Evidence((Person("I1", "Ada", "F"),), shown, tuple(said), inside)


def dated(evidence: ev.Evidence, photograph: str) -> Estimate:
    """The estimate of one photograph."""
    return next(e for e in date_archive(evidence).estimates if e.photograph == photograph)


def years_long(estimate: Estimate) -> float:
    """Years of its likely range."""
    assert estimate.likely_from is not None
    assert estimate.likely_to is not None
    return (estimate.likely_to - estimate.likely_from) / DAYS_PER_YEAR


@pytest.mark.parametrize("boxes", [(), ("B1",) * 4, ("B1", "B1", "B2", "B2")])
def test_with_two_pictures_of_1911(boxes: tuple[str, ...]) -> None:
    """A child who looks ten, on one strip with two pictures of 1911, was taken about 1911, wherever the frames lie."""
    ties = [(0, 1), (0, 2)]
    found = dated(pictures([1911, 1911, None, 1925], ties, boxes=boxes), "K2")
    alone = dated(pictures([1911, 1911, None, 1925], boxes=boxes), "K2")
    assert found.best is not None
    assert abs(found.best - day_of_year(1911) - 180) < DAYS_PER_YEAR
    assert years_long(found) < 3.5
    assert years_long(found) < 0.5 * years_long(alone)


def test_an_undated_frame_is_dated_by_the_others() -> None:
    """A frame of which nothing else is known has the time of the strip; without the strip it is open."""
    evidence = pictures([1911, 1911, None], [(0, 1), (1, 2)], aged=False)
    found = dated(evidence, "K2")
    assert found.state is State.DATED
    assert years_long(found) < 4
    assert dated(evidence.without({"S1"}), "K2").state is State.OPEN


def test_a_weak_statement_leaves_more_room() -> None:
    """The less a statement of one strip is trusted, the longer the range of a frame of another time."""
    spans = []
    for trust in (ev.Trust.CERTAIN, ev.Trust.STRONG, ev.Trust.FAIR, ev.Trust.WEAK):
        found = dated(pictures([1921, None], [(0, 1)], trust=trust), "K1")
        assert found.likely_to is not None
        spans.append(day_of_year(1921) - (found.likely_from or 0))
    assert spans == sorted(spans)
    assert spans[0] < spans[-1]


def test_a_dated_frame_keeps_its_date() -> None:
    """A picture of 1935 that is said to be on a strip of 1911 is still of 1935."""
    assert dated(pictures([1911, 1911, 1935], [(0, 1), (0, 2)]), "K2").edtf == "1935"


def test_one_child_of_vague_birth_on_one_strip() -> None:
    """Six frames of one child whose birth is known to within ten years: nobody can tell the years, and being on one
    strip does not make it look as if somebody could."""
    ties = [(0, i) for i in range(1, 6)]
    together = dated(pictures([None] * 6, ties, vague=True), "K3")
    apart = dated(pictures([None] * 6, vague=True), "K3")
    assert years_long(together) > 0.9 * years_long(apart)


def test_nothing_changes_where_nobody_speaks_of_a_strip() -> None:
    """Findings of an archive are the same to the last bit whether another part of it has a strip or none, but for what
    is told between the frames: the loose pictures of 1950 hear nothing of it."""
    years, other = [1911, 1911, None, None], [1950, 1950]
    plain = pictures([*years, *other])
    tied = pictures([*years, *other], [(0, 1), (0, 2)])
    one, two = ({e.photograph: e for e in date_archive(e_).estimates} for e_ in (plain, tied))
    assert one["K2"] != two["K2"]
    assert [one[f"K{i}"] for i in (3, 4, 5)] == [two[f"K{i}"] for i in (3, 4, 5)]


def test_without_strips_nothing_is_worked_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nobody speaks of a strip, what containers tell is all there is: the very same numbers, at no cost."""
    monkeypatch.setattr(belief, "messages_to_frames", None)
    found = Inference(pictures([1911, 1911, None, 1905], boxes=("B1",) * 4))
    assert found.beliefs.incoming is found.beliefs.from_containers
    assert found.by_strips(["K0", "K2"]) == {}


def test_it_is_switched_off_like_any_statement() -> None:
    """Without the statement, and with the container's word as it was kept, the frame has the range it had before."""
    boxes = ("B1",) * 4
    whole = pictures([1911, 1911, None, 1905], [(0, 2)], boxes=boxes)
    kept = Inference(whole).from_containers()
    part = replace(whole, containers=(), from_containers=kept)
    again, without = (date_without(part, "K2", off).estimate for off in ((), ("S0",)))
    assert again == dated(whole, "K2")
    assert years_long(without) > years_long(again)


def test_nothing_comes_back_by_an_order() -> None:
    """A strip asks each frame what is known of it by itself, and not what it heard of the others by their order."""
    plain = pictures([None] * 3)
    ends = [
        ev.Relation(
            id=f"O{one}", trust=ev.Trust.STRONG, photograph=f"K{one}", related=ev.Related.BEFORE, other=f"K{two}"
        )
        for one, two in ((0, 1), (1, 2))
    ]
    alone, ordered = Inference(plain), Inference(replace(plain, statements=(*plain.statements, *ends)))
    by_itself = alone.beliefs.by_quarter(alone.dated_groups)[0]
    found, heard = (ordered.beliefs.by_quarter(alone.dated_groups, orders=some)[0] for some in (False, True))
    assert found == pytest.approx(by_itself, abs=1e-4)
    assert heard != pytest.approx(by_itself, abs=1e-3)


def in_this_order(evidence: ev.Evidence, *frames: int) -> ev.Evidence:
    """The same, with each of these frames before the next."""
    said = tuple(
        ev.Relation(
            id=f"O{one}", trust=ev.Trust.FAIR, photograph=f"K{one}", related=ev.Related.BEFORE, other=f"K{other}"
        )
        for one, other in pairwise(frames)
    )
    return replace(evidence, statements=(*evidence.statements, *said))


def test_the_strip_alone_tells_the_order_of_its_frames() -> None:
    """Where frames of one strip are in an order, they hear of it by the strip alone; of others, and without the strip,
    as ever."""
    tied = in_this_order(pictures([1911, None, None, None], [(0, 1), (1, 2)]), 0, 1, 2)
    assert Inference(tied).beliefs.neighbours.orders is None
    assert Inference(tied.without({"S1"})).beliefs.neighbours.ordered.tolist() == [1, 2]
    assert Inference(in_this_order(tied, 2, 3)).beliefs.neighbours.ordered.tolist() == [2, 3]


def test_a_frame_after_a_dated_one_is_later() -> None:
    """On a strip with a picture of 1911, the frame before it is of 1911 at the latest and the one after it at the
    earliest; both ranges are shorter than without the order."""
    evidence = pictures([None, 1911, None], [(0, 1), (1, 2)])
    before, after = (dated(in_this_order(evidence, 0, 1, 2), name) for name in ("K0", "K2"))
    assert before.likely_to is not None
    assert before.likely_to < day_of_year(1912)
    assert (after.likely_from or 0) >= day_of_year(1911)
    for name, one in (("K0", before), ("K2", after)):
        assert years_long(one) < 0.8 * years_long(dated(evidence, name))


def test_an_order_does_not_make_the_years_of_a_strip_surer() -> None:
    """Which of three frames of a child was the first tells next to nothing of the years of all three: what each looks
    like counts once, however many orders are known. By messages along the order besides it would count twice."""
    evidence = pictures([None] * 3, [(0, 1), (1, 2)])
    for name in ("K0", "K1", "K2"):
        with_order = dated(in_this_order(evidence, 0, 1, 2), name)
        assert years_long(with_order) > 0.93 * years_long(dated(evidence, name))


def test_rows_of_prints_and_negatives_are_one() -> None:
    """A print of a negative hears of the negative's strip."""
    evidence = pictures([1911, 1911, None, None], [(0, 1), (0, 2)])
    printed = ev.Relation(
        id="S9", trust=ev.Trust.CERTAIN, photograph="K3", related=ev.Related.SAME_NEGATIVE, other="K2"
    )
    evidence = replace(evidence, statements=(*evidence.statements, printed))
    found = dated(evidence, "K3")
    assert years_long(found) < 3.5
