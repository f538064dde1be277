"""How wide a date is that somebody was not sure of, and what is said when two contradict each other.

Expected widths are summed day by day here, from the shapes of docs/method.md, in nothing but the standard library.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from math import exp, pi, sqrt

import pytest

from kinphoto.reason.dating import date_archive, date_without
from kinphoto.reason.hard.conflict import settle, weigh_equals
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import Estimate, State
from kinphoto.reason.model.span import Dated, Shape, Span, doubted, span_of_years, year_of
from kinphoto.reason.model.subjects import Person, Photograph

INDEXED, FIRST = date(2024, 6, 30).toordinal(), date(1826, 1, 1).toordinal()
YEAR = 365.2425
WRONG = {ev.Trust.STRONG: 0.01, ev.Trust.FAIR: 0.05}


def year(first: int, last: int | None = None) -> Dated:
    return Dated(span_of_years(first, last or first))


def perhaps(first: int, last: int | None = None) -> Dated:
    return doubted(Dated(span_of_years(first, last or first), doubtful=True))


def about(centre: int) -> Dated:
    middle = date(centre, 7, 2).toordinal()
    return Dated(span_of_years(centre - 10, centre + 10), Shape.ABOUT, centre=middle, spread=2.5 * YEAR)


def said(number: int, when: Dated, trust: ev.Trust = ev.Trust.FAIR, *, hearsay: bool = False) -> ev.DateClaim:
    return ev.DateClaim(
        id=f"S{number}",
        trust=trust,
        order=number,
        photograph="K1",
        claim=ev.Claim.INSCRIPTION,
        date=when,
        hearsay=hearsay,
    )


def evidence(*statements: ev.Statement) -> ev.Evidence:
    return ev.Evidence((), (Photograph("K1", INDEXED),), statements)


def estimate(*statements: ev.Statement) -> Estimate:
    found = date_archive(evidence(*statements)).estimates[0]
    assert date_without(evidence(*statements), "K1").estimate == found
    return found


def shortest(density: Callable[[int], float], q: float) -> tuple[int, int]:
    """The years in which the shortest days begin and end that hold 90 % of (1 − q) density + q flat: a sliding sum."""
    days = INDEXED + 1 - FIRST
    weight = [(1 - q) * density(FIRST + i) + q / days for i in range(days)]
    target, total, start, best = 0.9 * sum(weight), 0.0, 0, (0, days)
    for end, one in enumerate(weight):
        total += one
        while total - weight[start] >= target:
            total -= weight[start]
            start += 1
        if total >= target and end - start < best[1] - best[0]:
            best = (start, end)
    return year_of(FIRST + best[0]), year_of(FIRST + best[1])


def bell(day: int, middle: float, deviation: float) -> float:
    return exp(-0.5 * ((day - middle) / deviation) ** 2) / (deviation * sqrt(2 * pi))


def flat(day: int, first: int, last: int) -> float:
    inside = date(first, 1, 1).toordinal(), date(last, 12, 31).toordinal()
    return 1 / (inside[1] + 1 - inside[0]) if inside[0] <= day <= inside[1] else 0.0


@pytest.mark.parametrize(("trust", "expected"), [(ev.Trust.FAIR, (1928, 1934)), (ev.Trust.STRONG, (1928, 1934))])
def test_a_question_mark_is_a_few_years_wide(trust: ev.Trust, expected: tuple[int, int]) -> None:
    """60 % the year itself, 35 % normal with its own deviation and 1.5 years, 5 % flat on ten years each way."""
    middle, deviation = date(1931, 7, 2).toordinal(), (1.5 + 1 / sqrt(12)) * YEAR
    by_hand = shortest(
        lambda d: 0.6 * flat(d, 1931, 1931) + 0.35 * bell(d, middle, deviation) + 0.05 * flat(d, 1921, 1941),
        WRONG[trust],
    )
    found = estimate(said(1, perhaps(1931), trust))
    assert (year_of(found.likely_from or 0), year_of(found.likely_to or 0)) == by_hand == expected
    assert year_of(found.best or 0) == 1931
    assert (found.edtf, found.inferred) == ("1931?", False)


def test_about_and_before_have_sensible_widths() -> None:
    """ "About 1931" is wider than "1931?"; "before 1914" falls off with a mean of ten years and does not reach 1826."""
    middle = date(1931, 7, 2).toordinal()
    by_hand = shortest(lambda d: 0.95 * bell(d, middle, 2.5 * YEAR) + 0.05 * flat(d, 1921, 1941), 0.05)
    found = estimate(said(1, about(1931)))
    assert (year_of(found.likely_from or 0), year_of(found.likely_to or 0)) == by_hand == (1926, 1936)
    end = date(1914, 12, 31).toordinal()
    by_hand = shortest(lambda d: exp((d - end) / (10 * YEAR)) / (10 * YEAR) if d <= end else 0.0, 0.05)
    found = estimate(said(1, Dated(Span(None, end), Shape.BEFORE)))
    assert (year_of(found.likely_from or 0), year_of(found.likely_to or 0)) == by_hand == (1886, 1914)
    start = date(1914, 1, 1).toordinal()
    by_hand = shortest(lambda d: exp((start - d) / (10 * YEAR)) / (10 * YEAR) if d >= start else 0.0, 0.05)
    found = estimate(said(1, Dated(Span(start, None), Shape.AFTER)))
    assert (year_of(found.likely_from or 0), year_of(found.likely_to or 0)) == by_hand == (1914, 1942)


def test_doubt_widens_whatever_it_is_put_to() -> None:
    """A decade, a day and an "about" with a question mark are wider than without, and still about the same day."""
    day = Dated(Span(date(1931, 6, 12).toordinal(), date(1931, 6, 12).toordinal()))
    for sure in (year(1930, 1939), day, about(1931)):
        one, other = estimate(said(1, sure)), estimate(said(1, doubted(sure)))
        assert (other.likely_to or 0) - (other.likely_from or 0) > (one.likely_to or 0) - (one.likely_from or 0) + YEAR
        assert abs((other.best or 0) - (one.best or 0)) < 31


def test_a_question_mark_gives_way() -> None:
    """1935 beside "1931?" is no contradiction; 1965 is, and the doubtful one is set aside though it came first."""
    assert (estimate(said(1, perhaps(1931)), said(2, year(1935))).edtf) == "1935"
    assert settle(evidence(said(1, perhaps(1931)), said(2, year(1935)))).conflicts == ()
    assert settle(evidence(said(1, perhaps(1931)), said(2, year(1965)))).aside == ("S1",)


def test_two_equal_testimonies_are_both_told() -> None:
    """Neither is set aside: the answer is the set of both, and best lies in one of them."""
    for trust in WRONG:
        found = estimate(said(1, year(1931), trust), said(2, year(1935), trust))
        assert (found.edtf, found.inferred, found.state) == ("[1931,1935]", False, State.DISPUTED)
        assert year_of(found.best or 0) in (1931, 1935)
        assert (year_of(found.likely_from or 0), year_of(found.likely_to or 0)) == (1931, 1935)
    findings = date_archive(evidence(said(1, year(1931)), said(2, year(1935))))
    assert findings.aside == ()
    assert [(c.statements, c.aside, c.tie) for c in findings.conflicts] == [(("S1", "S2"), (), True)]


def test_three_equal_testimonies_and_two_that_agree() -> None:
    """All three are listed; but two who agree outweigh one, and a stronger word settles it."""
    assert estimate(said(1, year(1931)), said(2, year(1935)), said(3, year(1940))).edtf == "[1931,1935,1940]"
    assert estimate(said(1, year(1931)), said(2, year(1935)), said(3, year(1935))).edtf == "1935"
    assert estimate(said(1, year(1931)), said(2, year(1935), ev.Trust.STRONG)).edtf == "1935"


def test_what_else_is_known_decides_between_equals() -> None:
    """A man who died in 1933 is in the picture: 1935 cannot be, and nothing is tied any more."""
    died = ev.LifeDate(
        id="E1", trust=ev.Trust.STRONG, person="odo", event=ev.LifeEvent.DEATH, date=year(1933)
    )  # fmt: skip
    seen = ev.Appearance(id="A1", trust=ev.Trust.STRONG, photograph="K1", person="odo")
    photographs, statements = (Photograph("K1", INDEXED),), (said(1, year(1931)), said(2, year(1935)), died, seen)
    told = ev.Evidence((Person("odo", "Odo"),), photographs, statements)
    assert date_archive(told).estimates[0].edtf == "1931"
    assert weigh_equals(settle(told)).equally_trusted == frozenset()


def test_two_doubtful_years_are_no_choice_of_one() -> None:
    """ "1931?" and "1935?" lie near enough to be reconciled: between them, and called inferred."""
    found = estimate(said(1, perhaps(1931)), said(2, perhaps(1935)))
    assert (found.inferred, found.state) == (True, State.DATED)
    assert year_of(found.best or 0) == 1933


def test_who_was_not_born_yet_gives_way() -> None:
    """1905, from somebody born later, against 1926 from somebody who was there, though both are fair."""
    hearsay = said(1, doubted(year(1905)), hearsay=True)
    assert estimate(hearsay, said(2, year(1926))).edtf == "1926"
    alone = estimate(hearsay)
    assert (year_of(alone.likely_from or 0), alone.edtf, year_of(alone.likely_to or 0)) == (1902, "1905?", 1908)
