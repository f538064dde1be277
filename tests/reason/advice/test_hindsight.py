"""How good the estimates are where the date is known."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date
from math import exp, log

import pytest

from kinphoto.reason.advice.hindsight import FOLDS, by_chance, folds, hindsight
from kinphoto.reason.dating import date_archive
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.lookup import look_up
from kinphoto.reason.model.span import Dated, Span
from kinphoto.reason.model.subjects import Person, Photograph

YEAR = 365.2425
INDEXED = date(2020, 1, 1).toordinal()


def exact(day: int) -> Dated:
    """A date that is known to the day."""
    return Dated(Span(day, day))


def judged(years: float, dice: random.Random, bias: float = 0.0) -> float:
    """An age as somebody judges it: normal with standard deviation 0.17 on the scale ln(a + 2) up to 51 years, straight
    on from there (docs/method.md), in completed years; one in twenty has nothing to do with it."""
    if dice.random() < 0.05:
        return float(dice.randrange(100))
    at = (log(years + 2) if years <= 51 else log(53) + (years - 51) / 53) + dice.gauss(bias, 0.17)
    return float(max(int(exp(at) - 2 if at <= log(53) else 51 + 53 * (at - log(53))), 0))


def family(photographs: int, seed: int, bias: float = 0.0) -> ev.Evidence:
    """Photographs of one to four of twenty people whose births are known (nobody is over 80: no death is recorded, and
    older people would be taken for dead), each with its day written on the back; `Edda` judged the ages, all too old by
    `bias`."""
    dice = random.Random(seed)
    people = {f"I{n}": date(dice.randrange(1880, 1950), 1, 1).toordinal() + dice.randrange(365) for n in range(20)}
    statements: list[ev.Statement] = [
        ev.LifeDate(id=f"E{p}", trust=ev.Trust.STRONG, person=p, event=ev.LifeEvent.BIRTH, date=exact(day))
        for p, day in people.items()
    ]
    for n in range(photographs):
        there = dice.sample(sorted(people), dice.randrange(1, 5))
        start = max(people[p] for p in there)
        end = min(start + 40 * YEAR, min(people[p] for p in there) + 80 * YEAR)
        day = start + dice.randrange(int(end - start))
        statements.append(
            ev.DateClaim(
                id=f"D{n}", trust=ev.Trust.FAIR, photograph=f"K{n}", claim=ev.Claim.INSCRIPTION, date=exact(day)
            )
        )
        for p in there:
            statements.append(ev.Appearance(id=f"A{n}{p}", trust=ev.Trust.STRONG, photograph=f"K{n}", person=p))
            age = judged((day - people[p]) / YEAR, dice, bias)
            statements.append(
                ev.Age(
                    id=f"J{n}{p}", trust=ev.Trust.FAIR, informant="Edda", appearance=f"A{n}{p}", low=age, high=age,
                    blind=n % 2 == 0,
                )
            )  # fmt: skip
    return ev.Evidence(
        tuple(Person(p, p) for p in people),
        tuple(Photograph(f"K{n}", INDEXED, printed=False) for n in range(photographs)),
        tuple(statements),
    )


def test_the_likely_range_is_right_as_often_as_it_says() -> None:
    """On ages drawn from the model, nine likely ranges in ten hold the hidden day, as far as chance allows."""
    found = hindsight(family(120, seed=3))
    score = found.score
    assert score.photographs == 120
    assert score.coverage is not None
    low, high = by_chance(120)
    assert low <= score.coverage * 120 <= high
    assert score.median is not None
    assert score.mean is not None
    assert 0 < score.median <= score.mean < 5


def test_a_row_is_what_is_concluded_without_that_date() -> None:
    """The estimate of each row is the one of an archive in which that date was never stated; few are hidden singly."""
    evidence = family(8, seed=5)
    for row in hindsight(evidence).rows:
        other = next(
            e for e in date_archive(evidence.without(frozenset((row.by,)))).estimates if e.photograph == row.photograph
        )
        assert (row.likely.first, row.likely.last, row.best) == (other.likely_from, other.likely_to, other.best)
        day = row.true.first or 0
        assert row.inside == float((other.likely_from or 0) <= day <= (other.likely_to or 0))
        assert row.off == (other.best or 0) - day


def test_whatever_rests_on_the_date_is_hidden_too() -> None:
    """A copy with the same words on it, what somebody remembers of it and the event it shows do not give it away."""
    day = date(1931, 9, 6).toordinal()
    evidence = family(4, seed=7)
    more: tuple[ev.Statement, ...] = (
        ev.Relation(id="R1", trust=ev.Trust.FAIR, photograph="K1", related=ev.Related.COPY_OF, other="K0"),
        ev.DateClaim(
            id="D9", trust=ev.Trust.FAIR, photograph="K1", claim=ev.Claim.RECOLLECTION, date=Dated(Span(day, day))
        ),
        ev.EventClaim(id="V1", trust=ev.Trust.FAIR, photograph="K1", event="F1:MARR"),
        ev.EventDate(id="V2", trust=ev.Trust.STRONG, event="F1:MARR", date=exact(day)),
    )
    kept = tuple(s for s in evidence.statements if s.id != "D1" and not getattr(s, "appearance", "").startswith("A1"))
    kept = tuple(s for s in kept if getattr(s, "photograph", "") != "K1")
    together = replace(evidence, statements=(*kept, *more))
    bare = replace(evidence, statements=tuple(s for s in (*kept, *more) if s.id not in ("D0", "D9", "V1")))
    row = next(r for r in hindsight(together).rows if r.photograph == "K0")
    without = next(e for e in date_archive(bare).estimates if e.photograph == "K0")
    assert (row.likely.first, row.likely.last) == (without.likely_from, without.likely_to)


def test_how_an_informant_judges_is_told() -> None:
    """Somebody who judges all ages a tenth too old on the scale is found to, blind judgements counted apart."""
    found = hindsight(family(150, seed=11, bias=0.1))
    assert [(j.informant, j.blind) for j in found.judges] in ([("Edda", True), ("Edda", False)],
                                                              [("Edda", False), ("Edda", True)])  # fmt: skip
    for judge in found.judges:
        assert judge.judgements > 100
        assert judge.spread is not None
        # one judgement in twenty is careless, which adds to the spread and draws the mean about 0.02 upwards
        assert judge.bias == pytest.approx(0.12, abs=4 * judge.spread / judge.judgements**0.5)
        assert 0.17 * 0.85 < judge.spread < 0.4
        assert judge.bias_years > 0
    assert found.of(True).photographs + found.of(False).photographs == 150


def test_a_date_that_is_set_aside_is_not_taken_for_known() -> None:
    """A day written on the back that is before somebody's birth measures nothing; the other dates do."""
    evidence = family(5, seed=13)
    early = date(1850, 1, 1).toordinal()
    statements = tuple(replace(s, date=exact(early)) if isinstance(s, ev.DateClaim) and s.id == "D2" else s
                 for s in evidence.statements)  # fmt: skip
    assert "K2" not in {row.photograph for row in hindsight(replace(evidence, statements=statements)).rows}


def test_where_only_the_date_tells_there_is_no_row() -> None:
    """A landscape with a date on the back cannot be estimated without it, and is named as such."""
    day = date(1920, 5, 1).toordinal()
    evidence = ev.Evidence(
        (), (Photograph("K1", INDEXED),),
        (ev.DateClaim(id="D", trust=ev.Trust.FAIR, photograph="K1", claim=ev.Claim.TAKEN, date=exact(day)),),
    )  # fmt: skip
    found = hindsight(evidence)
    assert (found.rows, found.undated, found.score.coverage) == ((), ("K1",), None)


def test_many_are_hidden_in_few_lots() -> None:
    """Every date is left out once, in as many runs as there are folds; related photographs are in different folds."""
    evidence = family(200, seed=17)
    births = tuple(s for s in evidence.statements if not (isinstance(s, ev.LifeDate) and s.person in ("I1", "I2")))
    lookup = look_up(replace(evidence, statements=births))
    names = [f"K{n}" for n in range(200)]
    found = folds(names, lookup, {p: {p} for p in names})
    assert len(found) == FOLDS
    assert sorted(p for lot in found for p in lot) == sorted(names)
    for person in ("I1", "I2"):
        pictured = {p for p in names if any(a.person == person for a in lookup.seen[p])}
        most = -(-len(pictured) // FOLDS)
        assert max(len(pictured.intersection(lot)) for lot in found) <= most + 1


def test_what_chance_gives() -> None:
    """The middle 95 % of a binomial distribution with n = 20 and p = 0.9 runs from 15 to 20 (standard tables)."""
    assert by_chance(20) == (15, 20)
    assert by_chance(1) == (0, 1)
