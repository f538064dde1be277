"""Tightest bounds, against linear programs and against themselves solved anew."""

from __future__ import annotations

import random
from datetime import date

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from invented import puzzle
from oracles import BOX, bounds, by_glop

from kinphoto.reason.hard import network as nw
from kinphoto.reason.hard.constraints import Constraints, VariableKind
from kinphoto.reason.hard.laws import build_constraints
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Dated, Span, span_of_years
from kinphoto.reason.model.subjects import Person, Photograph

DICE = st.randoms(use_true_random=False)
SCANNED = date(2025, 6, 1).toordinal()


def open_ends(constraints: Constraints, found: nw.Bounds) -> tuple[list[int], list[int]]:
    """Bounds of the ordinary variables, open ends as far as the oracles' box."""
    plain = [
        v for v, k in enumerate(constraints.variables.kinds) if k not in (VariableKind.ALTERNATIVE, VariableKind.HULL)
    ]
    return [max(int(found.lower[v]), -BOX) for v in plain], [min(int(found.upper[v]), BOX) for v in plain]


def walled(days: list[int]) -> list[int]:
    """A bound beyond half of the box is open."""
    return [day if abs(day) < BOX // 2 else BOX if day > 0 else -BOX for day in days]


@settings(max_examples=60, deadline=None)
@given(DICE, st.integers(5, 40), st.sampled_from([0.0, 0.02, 0.1]))
def test_bounds_against_ortools(dice: random.Random, statements: int, careless: float) -> None:
    """Every upper and lower bound is that of GLOP, and where GLOP finds no answer something does not fit."""
    constraints = build_constraints(puzzle(dice, statements, careless))
    found, expected = nw.solve(nw.build(constraints)), bounds(constraints, (), by_glop)
    assert found.feasible is (expected is not None)
    if expected is not None:
        plain = range(len(constraints.variables.kinds) - len(constraints.hulls) - len(constraints.alternatives))
        lower, upper = ([days[v] for v in plain] for days in expected)
        assert open_ends(constraints, found) == (walled(lower), walled(upper))


@settings(max_examples=60, deadline=None)
@given(DICE, st.integers(10, 40))
def test_small_changes_give_what_solving_anew_gives(dice: random.Random, statements: int) -> None:
    """Leaving out and taking back in, a few statements at a time, one hundred and more ways."""
    network = nw.build(build_constraints(puzzle(dice, statements, careless=0.02)))
    found = nw.solve(network)
    for _ in range(10):
        some = dice.sample(range(network.statements), dice.randrange(1, 4))
        found = found.changed(some, ()) if dice.random() < 0.5 else found.changed((), some)
        anew = nw.solve(network, found.off.copy())
        assert found.feasible == anew.feasible
        assert np.array_equal(found.inactive, anew.inactive)
        if anew.feasible:
            assert np.array_equal(found.days, anew.days)


@settings(max_examples=60, deadline=None)
@given(DICE, st.integers(10, 40))
def test_what_is_tried_is_put_back(dice: random.Random, statements: int) -> None:
    """Looked at for a while the bounds are those of solving anew; afterwards nothing of them has changed."""
    network = nw.build(build_constraints(puzzle(dice, statements, careless=0.02)))
    off = np.array([dice.random() < 0.3 for _ in range(network.statements)], dtype=bool)
    found = nw.solve(network, off)
    kept = [values.copy() for values in (found.off, found.inactive, found.days, found.predecessor)]
    for _ in range(10):
        some = dice.sample(range(network.statements), 4)
        with found.trying(some[:2], some[2:]) as tried:
            anew = nw.solve(network, tried.off.copy())
            assert tried.feasible == anew.feasible
            assert not tried.feasible or np.array_equal(tried.days, anew.days)
        for values, were in zip((found.off, found.inactive, found.days, found.predecessor), kept, strict=True):
            assert np.array_equal(values, were)


@settings(max_examples=60, deadline=None)
@given(DICE, st.integers(10, 40))
def test_a_bound_rests_on_the_statements_it_names(dice: random.Random, statements: int) -> None:
    """With these alone it is the same."""
    constraints = build_constraints(puzzle(dice, statements, careless=0.02))
    network = nw.build(constraints)
    found = nw.solve(network)
    assume(found.feasible)
    for variable in constraints.variables.exposures.values():
        first, last = found.first_rests_on(variable), found.last_rests_on(variable)
        alone = np.ones(network.statements, dtype=bool)
        alone[[*first, *last]] = False
        assert nw.solve(network, alone).span(variable) == found.span(variable)


@settings(max_examples=60, deadline=None)
@given(DICE, st.integers(10, 40))
def test_witnesses_cannot_be_true(dice: random.Random, statements: int) -> None:
    """Each by itself, in the small network of its own too; and no two share a statement."""
    network = nw.build(build_constraints(puzzle(dice, statements, careless=0.3)))
    witnesses = nw.solve(network).witnesses()
    assert len({s for w in witnesses for s in w}) == sum(map(len, witnesses))
    for witness in witnesses:
        others = np.ones(network.statements, dtype=bool)
        others[witness] = False
        assert not nw.solve(network, others).feasible
        assert not nw.solve(nw.subnetwork(network, witness)).feasible


def parents(*pairs: tuple[str, str]) -> nw.Network:
    """Somebody is said to be the mother of somebody, without any dates."""
    people = tuple(Person(p, p) for p in sorted({p for pair in pairs for p in pair}))
    links = tuple(
        ev.ParentLink(id=f"{c} of {p}", trust=ev.Trust.CERTAIN, child=c, parent=p, parent_sex="F") for c, p in pairs
    )
    return nw.build(build_constraints(ev.Evidence(people, (), links)))


def test_a_ring_of_ancestors_is_found_without_any_date() -> None:
    """Nothing ties them to the calendar, yet nobody is their own great-grandmother."""
    found = nw.solve(parents(("a", "b"), ("b", "c"), ("c", "a"), ("d", "a")))
    assert not found.feasible
    assert found.witnesses() == [[0, 1, 2]]


def test_somebody_who_is_their_own_mother_is_found_at_once() -> None:
    """A loop of one is a loop: the sweeps end when loops are looked for, not when FAR is used up."""
    found = nw.solve(parents(("a", "a"), ("b", "a")))
    assert not found.feasible
    assert found.witnesses() == [[0]]


def test_generations_without_any_date_are_open() -> None:
    """A long line of mothers fits, and nothing is known of when."""
    network = parents(*((f"p{n:03}", f"p{n + 1:03}") for n in range(200)))
    found = nw.solve(network)
    assert found.feasible
    assert all(found.span(v) == Span() for v in range(1, network.size))


def test_a_long_chain_of_photographs() -> None:
    """An album of 2,000 pictures in order, the first and the last dated: all lie between."""
    n = 2000
    photographs = tuple(Photograph(f"K{i}", SCANNED) for i in range(n))
    chain = [
        ev.Relation(id=f"R{i}", trust=ev.Trust.STRONG, photograph=f"K{i}", related=ev.Related.BEFORE, other=f"K{i + 1}")
        for i in range(n - 1)
    ]
    ends = [
        ev.DateClaim(id=f"D{i}", trust=ev.Trust.STRONG, photograph=f"K{i}", claim=ev.Claim.TAKEN,
                     date=Dated(span_of_years(year, year)))
        for i, year in ((0, 1920), (n - 1, 1930))
    ]  # fmt: skip
    constraints = build_constraints(ev.Evidence((), photographs, (*chain, *ends)))
    found = nw.solve(nw.build(constraints))
    middle = constraints.variables.exposures["K1000"]
    assert found.span(middle) == Span(date(1920, 1, 1).toordinal(), date(1930, 12, 31).toordinal())
    assert found.last_rests_on(middle) == [*range(1000, 1999), 2000]
