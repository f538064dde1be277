"""What does not fit together, against z3 and against trying every subset."""

from __future__ import annotations

import random
from collections.abc import Collection
from datetime import date
from functools import cache
from itertools import combinations, pairwise

import pytest
import z3
from hypothesis import given, settings
from hypothesis import strategies as st
from invented import large, puzzle
from oracles import bounds, by_networkx, in_z3

from kinphoto.reason.dating import date_archive
from kinphoto.reason.hard import network as nw
from kinphoto.reason.hard.conflict import COST, Settled, clusters, conflict_id, contributions, settle
from kinphoto.reason.hard.constraints import Constraints
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import State
from kinphoto.reason.model.span import Dated, span_of_years
from kinphoto.reason.model.subjects import Person, Photograph

DICE = st.randoms(use_true_random=False)
SCANNED = date(2025, 6, 1).toordinal()


def cost(constraints: Constraints, aside: Collection[str]) -> int:
    """What it costs to set these aside."""
    return sum(COST[s.trust] for s in constraints.statements if s.id in aside)


@settings(max_examples=40, deadline=None)
@given(DICE, st.integers(5, 30), st.sampled_from([0.05, 0.2, 0.5]))
def test_what_is_set_aside_is_optimal_against_z3(dice: random.Random, statements: int, careless: float) -> None:
    """No set of statements costs less and leaves the rest true together."""
    settled = settle(puzzle(dice, statements, careless, regions=False))
    optimize = z3.Optimize()
    switch = in_z3(settled.constraints, optimize)
    for statement in settled.constraints.statements:
        optimize.add_soft(switch[statement.id], COST[statement.trust])
    assert optimize.check() == z3.sat
    least = cost(settled.constraints, [s for s, on in switch.items() if z3.is_false(optimize.model()[on])])
    assert cost(settled.constraints, settled.aside) == least


@settings(max_examples=40, deadline=None)
@given(DICE, st.integers(10, 30))
def test_conflicts_are_irreducible_against_z3(dice: random.Random, statements: int) -> None:
    """All statements of a conflict together are unsatisfiable; without any one of them they are not."""
    settled = settle(puzzle(dice, statements, careless=0.4, regions=False))
    solver = z3.Solver()
    switch = in_z3(settled.constraints, solver)
    assert {d for c in settled.conflicts for d in c.aside} == set(settled.aside)
    for conflict in settled.conflicts:
        assert solver.check([switch[s] for s in conflict.statements]) == z3.unsat
        for one in conflict.statements:
            assert solver.check([switch[s] for s in conflict.statements if s != one]) == z3.sat


@settings(max_examples=40, deadline=None)
@given(DICE, st.integers(4, 9))
def test_small_puzzles_against_every_subset(dice: random.Random, statements: int) -> None:
    """With rivals too: the optimum, whether there are several, the conflicts, and every way out."""
    settled = settle(puzzle(dice, statements, careless=0.5))
    constraints, aside = settled.constraints, frozenset(settled.aside)
    ids = [s.id for s in constraints.statements]

    @cache
    def fits(off: frozenset[str]) -> bool:
        return bounds(constraints, [ids.index(s) for s in off], by_networkx) is not None

    settling = [s for n in range(len(ids) + 1) for s in map(frozenset, combinations(ids, n)) if fits(s)]
    least = min(cost(constraints, s) for s in settling)
    optima = [s for s in settling if cost(constraints, s) == least]
    assert aside in optima
    for conflict in settled.conflicts:
        (one,) = conflict.aside
        members = frozenset(conflict.statements)
        assert members & aside == {one}
        assert not fits(frozenset(ids) - members)
        assert all(fits(frozenset(ids) - members | {s}) for s in members)
        assert conflict.ways_out[0] == conflict.aside
        assert all(fits(aside - {one} | set(way)) for way in conflict.ways_out)
        assert conflict.tie is any(one not in optimum for optimum in optima)


def statement(name: str, year: int, trust: ev.Trust = ev.Trust.STRONG, photograph: str = "K1") -> ev.DateClaim:
    """Somebody says that a photograph is of that year; `order` is the number in the statement's name."""
    return ev.DateClaim(
        id=name, trust=trust, order=int(name[1:]), photograph=photograph, claim=ev.Claim.TAKEN,
        date=Dated(span_of_years(year, year)),
    )  # fmt: skip


def settled_by(*said: ev.Statement) -> Settled:
    """What follows for two photographs and one person."""
    photographs = tuple(Photograph(k, SCANNED) for k in ("K1", "K2"))
    return settle(ev.Evidence((Person("ada", "Ada"),), photographs, said))


def test_costs_are_the_odds() -> None:
    """Thousandths of ln((1 − q)/q): certain 7600, strong 4595, fair 2944, weak 1386 (worked by hand)."""
    assert list(COST.values()) == [7600, 4595, 2944, 1386]


def test_what_fits_is_left_alone() -> None:
    """Nothing to tell and nothing to set aside."""
    settled = settled_by(statement("S1", 1924), statement("S2", 1924))
    assert settled.conflicts == ()
    assert settled.aside == ()


def test_the_least_trusted_is_set_aside() -> None:
    """Though it was said first."""
    settled = settled_by(statement("S1", 1950, ev.Trust.FAIR), statement("S2", 1924))
    assert settled.aside == ("S1",)
    (conflict,) = settled.conflicts
    assert (conflict.statements, conflict.aside) == (("S1", "S2"), ("S1",))
    assert (conflict.photographs, conflict.people, conflict.tie) == (("K1",), (), False)
    assert conflict.ways_out == (("S1",), ("S2",))


def test_of_equals_the_later_is_set_aside_and_the_tie_told() -> None:
    """Two say different years and nothing tells them apart."""
    for said in (statement("S1", 1950), statement("S2", 1924)), (statement("S2", 1924), statement("S1", 1950)):
        settled = settled_by(*said)
        assert settled.aside == ("S2",)
        assert settled.conflicts[0].tie
        assert settled.conflicts[0].ways_out == (("S2",), ("S1",))


def test_two_who_agree_outweigh_one() -> None:
    """Setting both aside would cost twice; each of them is still listed as a way out with the other."""
    settled = settled_by(statement("S1", 1950), statement("S2", 1924), statement("S3", 1924))
    assert settled.aside == ("S1",)
    assert settled.conflicts[0].ways_out == (("S1",), ("S2", "S3"))
    assert not settled.conflicts[0].tie


def test_however_many_agree_there_is_another_way_out() -> None:
    """Five strong statements against one: to set all five aside is far-fetched, but told."""
    five = [statement(f"S{n}", 1920) for n in range(2, 7)]
    (conflict,) = settled_by(statement("S1", 1950), *five).conflicts
    assert conflict.ways_out == (("S1",), ("S2", "S3", "S4", "S5", "S6"))


def test_a_wrong_name_takes_its_stated_age_with_it() -> None:
    """Ada, born in 1917, seven years old, in a picture of 1950: her age falls with her name, at no cost."""
    strong = ev.Trust.STRONG
    said = (
        ev.LifeDate(
            id="E1", trust=strong, person="ada", event=ev.LifeEvent.BIRTH, date=Dated(span_of_years(1917, 1917))
        ),
        ev.Appearance(id="A1", trust=ev.Trust.FAIR, photograph="K1", person="ada"),
        ev.Age(id="S3", trust=strong, appearance="A1", low=7, high=7, basis=ev.AgeBasis.STATED),
        statement("S4", 1950),
    )  # fmt: skip
    (conflict,) = settled_by(*said).conflicts
    assert set(conflict.statements) == {"E1", "A1", "S3", "S4"}
    assert (conflict.aside, conflict.people) == (("A1",), ("ada",))


def test_equal_optima_of_a_cluster_are_told_with_each_conflict() -> None:
    """Three different years for one picture: any two of the three can go, the last two do."""
    settled = settled_by(statement("S1", 1920), statement("S2", 1930), statement("S3", 1940))
    assert settled.aside == ("S2", "S3")
    assert all(conflict.tie for conflict in settled.conflicts)
    assert all(("S1",) in conflict.ways_out for conflict in settled.conflicts)


def test_a_print_made_before_photography_is_a_conflict_by_itself() -> None:
    """The laws that rule it out are those of the exposure; a second window has no part in it."""
    windows = [
        ev.Made(id=f"S{n}", trust=ev.Trust.CERTAIN, photograph="K1", what="process", name="any",
                window=span_of_years(year, year))
        for n, year in ((1, 1847), (2, 1796))
    ]  # fmt: skip
    (conflict,) = settled_by(*windows).conflicts
    assert conflict.statements == conflict.aside == ("S2",)


def test_conflicts_that_share_no_statement_are_settled_apart() -> None:
    """One per photograph, in the order of the evidence."""
    settled = settled_by(
        statement("S1", 1950), statement("S2", 1924), statement("S3", 1950, photograph="K2"),
        statement("S4", 1924, photograph="K2"),
    )  # fmt: skip
    assert [(c.photographs, c.aside) for c in settled.conflicts] == [(("K1",), ("S2",)), (("K2",), ("S4",))]
    assert clusters([frozenset({1, 2}), frozenset({3}), frozenset({2, 4})]) == [[0, 2], [1]]


def test_a_conflict_keeps_its_id_whatever_else_is_said() -> None:
    """Another conflict before it and a statement that fits change nothing; another statement in it does."""
    one, other = statement("S3", 1950, photograph="K2"), statement("S4", 1924, photograph="K2")
    (before,) = settled_by(one, other).conflicts
    later = settled_by(statement("S1", 1950), statement("S2", 1924), statement("S5", 1924), one, other)
    assert [c.id for c in later.conflicts if c.photographs == ("K2",)] == [before.id]
    assert len({c.id for c in later.conflicts}) == 2
    assert conflict_id(["S4", "S3"]) == before.id != conflict_id(["S34"])


def test_bounds_leave_out_what_was_set_aside() -> None:
    """The photograph is of 1924 then."""
    bounds = settled_by(statement("S1", 1950, ev.Trust.FAIR), statement("S2", 1924)).bounds
    assert bounds.exposure["K1"] == span_of_years(1924, 1924)


def test_what_a_photograph_s_bounds_rest_on() -> None:
    """Said by two, before a third: each bound names its statement, and what it would be without it."""
    written = ev.DateClaim(
        id="S3", trust=ev.Trust.STRONG, photograph="K1", claim=ev.Claim.WRITTEN, date=Dated(span_of_years(1923, 1923))
    )
    settled = settled_by(written, ev.Relation(
        id="S4", trust=ev.Trust.STRONG, photograph="K1", related=ev.Related.AFTER, other="K2"
    ), statement("S5", 1920, photograph="K2"))  # fmt: skip
    found = contributions(settled, "K1")
    assert (found.earliest, found.latest) == (("S4", "S5"), ("S3",))
    assert found.possible == span_of_years(1920, 1923)
    assert found.without["S3"].first == found.possible.first
    assert found.without["S3"].last == SCANNED
    assert found.without["S4"] == found.without["S5"] == span_of_years(1826, 1923)


@pytest.mark.parametrize("careless", [0.0, 0.004])
def test_an_archive_with_mistakes(careless: float) -> None:
    """A family of 300 in 400 pictures: true statements are left alone, of others what stays fits together."""
    evidence = large(300, 400, seed=5, careless=careless)
    settled = settle(evidence)
    assert bool(settled.aside) is bool(careless)
    constraints, ids = settled.constraints, [s.id for s in settled.constraints.statements]
    assert bounds(constraints, [ids.index(s) for s in settled.aside], by_networkx) is not None
    again = settle(evidence)
    assert (again.aside, again.conflicts) == (settled.aside, settled.conflicts)
    assert isinstance(settled.strong, nw.Bounds)
    assert settled.strong.feasible


def relation(number: int, one: str, how: ev.Related, other: str, trust: ev.Trust = ev.Trust.FAIR) -> ev.Relation:
    return ev.Relation(id=f"R{number}", trust=trust, order=number, photograph=one, related=how, other=other)


def photographs(*names: str) -> tuple[Photograph, ...]:
    return tuple(Photograph(name, SCANNED) for name in names)


def test_before_and_the_reverse_do_not_fit_together() -> None:
    """Two people say the opposite of two photographs, of which no date is known: a conflict, and a tie."""
    said = (relation(1, "K1", ev.Related.BEFORE, "K2"), relation(2, "K2", ev.Related.BEFORE, "K1"))
    settled = settle(ev.Evidence((), photographs("K1", "K2"), said))
    (conflict,) = settled.conflicts
    assert conflict.statements == ("R1", "R2")
    assert conflict.photographs == ("K1", "K2")
    assert set(conflict.ways_out) == {("R1",), ("R2",)}
    assert conflict.tie
    assert settled.aside == ("R2",)  # the later one


@pytest.mark.parametrize("how", [ev.Related.SAME_NEGATIVE, ev.Related.COPY_OF])
def test_one_exposure_is_not_before_itself(how: ev.Related) -> None:
    """Two prints from one negative, or a picture and its copy: neither was taken before the other."""
    said = (relation(1, "K1", how, "K2"), relation(2, "K1", ev.Related.AFTER, "K2", ev.Trust.WEAK))
    assert settle(ev.Evidence((), photographs("K1", "K2"), said)).aside == ("R2",)


def test_a_ring_of_orders_is_found_however_long() -> None:
    """Each of a hundred photographs before the next, and the last before the first: the least trusted is in doubt."""
    names = [f"K{i}" for i in range(100)]
    said = [relation(i, a, ev.Related.BEFORE, b) for i, (a, b) in enumerate(pairwise([*names, names[0]]))]
    said[50] = relation(50, "K50", ev.Related.BEFORE, "K51", ev.Trust.WEAK)
    (conflict,) = settle(ev.Evidence((), photographs(*names), tuple(said))).conflicts
    assert len(conflict.statements) == 100
    assert conflict.aside == ("R50",)


def test_photographs_of_one_day_can_be_in_order() -> None:
    """Three pictures of one wedding in order, taken on one known day: no conflict."""
    day = Dated(span_of_years(1923, 1923))
    said = [relation(i, f"K{i}", ev.Related.BEFORE, f"K{i + 1}") for i in (1, 2)]
    dates = [
        ev.DateClaim(id=f"T{i}", trust=ev.Trust.STRONG, photograph=f"K{i}", claim=ev.Claim.TAKEN, date=day)
        for i in (1, 2, 3)
    ]
    assert not settle(ev.Evidence((), photographs("K1", "K2", "K3"), (*said, *dates))).conflicts


def test_all_photographs_that_speak_against_what_is_set_aside_are_disputed() -> None:
    """Died in 1919, and in three photographs of 1925: the death is set aside, and all three are concerned, as any of
    them would be alone; a fourth, of 1910, is not."""
    said: list[ev.Statement] = [
        ev.LifeDate(
            id="D", trust=ev.Trust.STRONG, person="p", event=ev.LifeEvent.DEATH, date=Dated(span_of_years(1919, 1919))
        )
    ]
    years = {"K1": 1925, "K2": 1925, "K3": 1925, "K4": 1910}
    for name, year in years.items():
        said.append(ev.Appearance(id=f"A{name}", trust=ev.Trust.STRONG, photograph=name, person="p"))
        when = Dated(span_of_years(year, year))
        said.append(
            ev.DateClaim(id=f"T{name}", trust=ev.Trust.STRONG, photograph=name, claim=ev.Claim.TAKEN, date=when)
        )
    evidence = ev.Evidence((Person("p", "p"),), photographs(*years), tuple(said))
    (conflict,) = settle(evidence).conflicts
    assert conflict.aside == ("D",)
    assert set(conflict.statements) == {"D", "AK1", "TK1"}
    assert conflict.photographs == ("K1", "K2", "K3")
    alone = [name for name in years if settle(evidence.without(_about(said, {*years} - {name}))).conflicts]
    assert alone == ["K1", "K2", "K3"]
    states = {e.photograph: e.state for e in date_archive(evidence).estimates}
    assert [name for name, state in states.items() if state is State.DISPUTED] == ["K1", "K2", "K3"]


def test_another_way_to_the_same_contradiction_disputes_nobody_else() -> None:
    """K1 of 1950 and K2 of 1920, said to be of one occasion; that K2 was before K3 of 1921 is one more reason against
    it, and none to doubt K3."""
    said: list[ev.Statement] = [
        relation(1, "K1", ev.Related.SAME_OCCASION, "K2", ev.Trust.WEAK),
        relation(2, "K2", ev.Related.BEFORE, "K3", ev.Trust.STRONG),
    ]
    years = {"K1": 1950, "K2": 1920, "K3": 1921}
    for name, year in years.items():
        when = Dated(span_of_years(year, year))
        said.append(
            ev.DateClaim(id=f"T{name}", trust=ev.Trust.STRONG, photograph=name, claim=ev.Claim.TAKEN, date=when)
        )
    (conflict,) = settle(ev.Evidence((), photographs(*years), tuple(said))).conflicts
    assert conflict.aside == ("R1",)
    assert conflict.photographs == ("K1", "K2")


def _about(said: Collection[ev.Statement], names: Collection[str]) -> frozenset[str]:
    return frozenset(s.id for s in said if getattr(s, "photograph", None) in names)
