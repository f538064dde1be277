"""Prints of one container with one printed date are of about the same time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

import pytest

from kinphoto.reason.dating import Inference, date_archive, date_without
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import Estimate
from kinphoto.reason.model.focus import focus
from kinphoto.reason.model.span import DAYS_PER_YEAR, Dated, Span
from kinphoto.reason.model.subjects import Container, Person, Photograph

JULY_1961 = Dated(Span(date(1961, 7, 1).toordinal(), date(1961, 7, 31).toordinal()))
AUGUST_1961 = Dated(Span(date(1961, 8, 1).toordinal(), date(1961, 8, 31).toordinal()))
THE_YEAR = Dated(Span(date(1961, 1, 1).toordinal(), date(1961, 12, 31).toordinal()))


def day_of_year(year: int) -> int:
    """The first of January."""
    return date(year, 1, 1).toordinal()


def prints(
    ages: Sequence[int | None], printed: Sequence[Dated | None], *, boxes: Sequence[str | None] = (),
    taken: Mapping[int, Dated] | None = None,
) -> ev.Evidence:  # fmt: skip
    """Photographs of children born in 1950, one in each, who look so old; with what is printed on the border."""
    said: list[ev.Statement] = []
    for i, age in enumerate(ages):
        if age is not None:
            born = Dated(Span(day_of_year(1950), day_of_year(1950)))
            said += [
                ev.LifeDate(id=f"E{i}", trust=ev.Trust.STRONG, person=f"I{i}", event=ev.LifeEvent.BIRTH, date=born),
                ev.Appearance(id=f"A{i}", trust=ev.Trust.STRONG, photograph=f"K{i}", person=f"I{i}"),
                ev.Age(id=f"G{i}", trust=ev.Trust.FAIR, appearance=f"A{i}", low=age, high=age, informant=f"judge {i}"),
            ]
    for i, when in enumerate(printed):
        if when is not None:
            stamp = ev.Claim.PRINT_STAMP
            said.append(ev.DateClaim(id=f"P{i}", trust=ev.Trust.STRONG, photograph=f"K{i}", claim=stamp, date=when))
    for i, when in (taken or {}).items():
        said.append(
            ev.DateClaim(id=f"T{i}", trust=ev.Trust.STRONG, photograph=f"K{i}", claim=ev.Claim.TAKEN, date=when)
        )
    lies = boxes or ["B1"] * len(ages)
    shown = tuple(Photograph(f"K{i}", 738_000, container=box, position=i) for i, box in enumerate(lies))
    people = tuple(Person(f"I{i}", f"Ada {i}", "F") for i in range(len(ages)))
    return ev.Evidence(people, shown, tuple(said), tuple(Container(b) for b in dict.fromkeys(lies) if b))


def dated(evidence: ev.Evidence, photograph: str) -> Estimate:
    """The estimate of one photograph."""
    return next(e for e in date_archive(evidence).estimates if e.photograph == photograph)


def years_long(estimate: Estimate) -> float:
    """Years of its likely range."""
    assert estimate.likely_from is not None
    assert estimate.likely_to is not None
    return (estimate.likely_to - estimate.likely_from) / DAYS_PER_YEAR


def strips_of(evidence: ev.Evidence) -> list[set[str]]:
    """Which photographs are held for printed, or photographed, together."""
    inference = Inference(evidence)
    if inference.strips is None:
        return []
    members = inference.groups.members
    found: dict[int, set[str]] = {}
    for row, strip in zip(inference.strips.rows.tolist(), inference.strips.of.tolist(), strict=True):
        found.setdefault(strip, set()).update(members[row])
    return list(found.values())


def test_one_that_is_dated_dates_the_others_of_the_batch() -> None:
    """In a tin of forty years, of prints of July 1961 of which two were taken at Whitsun 1961, a third is of about that
    time too, and not of any time in the year before."""
    whitsun = Dated(Span(date(1961, 5, 20).toordinal(), date(1961, 5, 22).toordinal()))
    others = {i: Dated(Span(day_of_year(1931 + 2 * i), day_of_year(1932 + 2 * i) - 1)) for i in range(3, 23)}
    taken = {0: whitsun, 1: whitsun} | others
    months = [JULY_1961, JULY_1961, JULY_1961] + [None] * 20
    together, apart = (
        prints([None] * 23, [*months[:2], month, *months[3:]], taken=taken) for month in (JULY_1961, AUGUST_1961)
    )
    found, alone = dated(together, "K2"), dated(apart, "K2")
    assert years_long(found) < 0.85 * years_long(alone)
    assert abs((found.best or 0) - date(1961, 5, 21).toordinal()) < 60


def test_a_film_that_was_printed_again_later() -> None:
    """Four prints of July 1961 in which children of 1950 look three: the film was printed again, eight years later. Of
    one such print alone nobody can be as sure."""
    together = dated(prints([3] * 4, [JULY_1961] * 4), "K0")
    alone = dated(prints([3], [JULY_1961]), "K0")
    assert together.likely_to is not None
    assert together.likely_to < day_of_year(1956)
    assert years_long(together) < years_long(alone)


@pytest.mark.parametrize(
    ("boxes", "printed", "together"),
    [
        (("B1", "B1", "B1"), (JULY_1961, JULY_1961, AUGUST_1961), [{"K0", "K1"}]),
        (("B1", "B2", "B1"), (JULY_1961, JULY_1961, JULY_1961), [{"K0", "K2"}]),
        ((None, None, None), (JULY_1961, JULY_1961, JULY_1961), []),
        (("B1", "B1", "B1"), (THE_YEAR, THE_YEAR, None), []),
    ],
)
def test_one_box_and_one_month(
    boxes: tuple[str | None, ...], printed: tuple[Dated | None, ...], together: list[set[str]]
) -> None:
    """Prints of one container with the same month are a batch; those of different ones, of no container, and those on
    which only a year is printed, are not."""
    assert strips_of(prints([8, 9, 10], printed, boxes=boxes)) == together


def test_what_is_on_one_strip_of_film_is_of_no_batch() -> None:
    """Frames of one strip are told of each other by the strip alone; the other prints of that month are a batch."""
    evidence = prints([8, 9, 10, 9], [JULY_1961] * 4)
    tie = ev.Relation(id="S1", trust=ev.Trust.STRONG, photograph="K0", related=ev.Related.SAME_STRIP, other="K1")
    assert strips_of(replace(evidence, statements=(*evidence.statements, tie))) == [{"K0", "K1"}, {"K2", "K3"}]


def test_a_print_that_was_ordered_again_keeps_its_date() -> None:
    """Somebody says that one print was taken in 1953; that the others of its month are of 1961 does not change that."""
    taken = {3: Dated(Span(day_of_year(1953), day_of_year(1954) - 1))}
    assert dated(prints([11, 11, 11, None], [JULY_1961] * 4, taken=taken), "K3").edtf == "1953"


def test_a_printed_date_is_switched_off_like_any_statement() -> None:
    """Without its printed date a print is of no batch, and the part of the evidence that bears on it has the others."""
    evidence = prints([8, 11, 11, 11], [JULY_1961] * 4)
    near = focus(evidence, "K0")
    assert {p.id for p in near.photographs} == {"K0", "K1", "K2", "K3"}
    assert {"P0", "P1", "P2", "P3"} <= {s.id for s in near.statements}
    alone = date_without(replace(evidence, containers=()), "K0", ("P0",)).estimate
    assert alone == dated(prints([8], [None], boxes=[None]), "K0")
