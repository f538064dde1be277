"""What cannot all be true, and the least costly statements to set aside so that the rest can.

The method and its sources are in docs/method.md ("Contradictions, and what is set aside").

**Conflicts.** A contradiction in the network names witnesses: sets of statements that cannot all be true. Statement by
statement is left out for good as long as the rest of a witness is still infeasible; what remains is an *irreducible*
infeasible subset.

**What to set aside** is the minimum-cost hitting set of all conflicts, with costs ln((1 − q)/q) in whole thousandths.
Conflicts are found as they are needed: one from every witness that shares no statement with another; then the cheapest
set that hits all conflicts so far, by an integer program; then again without that set, until everything is feasible.
The last set is optimal, because it is the cheapest for a part of the conflicts and resolves them all. Clusters of
conflicts that share no statement are solved apart. Of equally cheap sets the one of later statements is taken, and the
tie is reported.

**Equal testimonies.** Where two dates stated for one picture contradict each other and nothing decides which is wrong,
neither is set aside and neither is a bound: both are weighed (`weigh_equals`).

**What is reported.** For each statement set aside, one irreducible conflict between it and statements that stay. Its id
depends on its statements alone. Where a wrong death contradicts ten photographs, the conflict is that with one of them
and names the others too; each is found by leaving out the statements on the photographs found so far.
"""

from __future__ import annotations

from base64 import b32encode
from collections.abc import Collection, Container, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from hashlib import blake2b
from itertools import islice, product
from math import log, prod
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds as Box
from scipy.optimize import LinearConstraint, milp
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

from kinphoto.reason.hard import network as nw
from kinphoto.reason.hard.constraints import Constraints, VariableKind
from kinphoto.reason.hard.hard_bounds import HardBounds
from kinphoto.reason.hard.laws import build_constraints
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import Conflict
from kinphoto.reason.model.span import Span

MOST_WAYS, MOST_TIES = 3, 8
"""Ways out that are listed at most per conflict, and equal optima per cluster."""
FEW = 500
"""Ways to pick a statement of each conflict up to which all are tried."""
COST: dict[ev.Trust, int] = {trust: round(1000 * log((1 - q) / q)) for trust, q in ev.CHANCE_WRONG.items()}
"""What setting aside a statement of each trust costs."""
FAR_FETCHED = max(COST.values())
"""By how much more than the best a way out may cost and still be listed; so any one statement may be set aside."""
BELIEVED = (ev.Trust.CERTAIN, ev.Trust.STRONG)
"""Trusts of the statements that make hard bounds."""

Set = frozenset[int]  # of statements, as indices into `Constraints.statements`


@dataclass(frozen=True)
class Settled:
    """The hard layer's answer.

    `everything` are the bounds from all statements but those set aside, `strong` those from the statements of strong
    or certain trust among them: from `strong` come the first and last possible day that is shown. Both are indexed by
    `constraints.variables`. `aside` are statement ids in the order of the evidence, `equally_trusted` those of equal
    testimonies, if these are weighed. `reported` has the report for each statement set aside.
    """

    constraints: Constraints
    everything: nw.Bounds
    strong: nw.Bounds
    aside: tuple[str, ...]
    reported: ConflictReports | None = None
    equally_trusted: frozenset[str] = frozenset()

    @cached_property
    def conflicts(self) -> tuple[Conflict, ...]:
        """A conflict for each statement set aside, and for those of equal testimonies."""
        found = () if self.reported is None else self.reported.all()
        equal = self.equally_trusted
        return tuple(replace(c, aside=()) if equal and equal.issuperset(c.aside) else c for c in found)

    @cached_property
    def disputed(self) -> frozenset[str]:
        """The photographs (ids) that are in a conflict."""
        return frozenset() if self.reported is None else self.reported.photographs()

    def exposures_without(self, statements: Collection[str], photographs: Iterable[str]) -> dict[str, Span]:
        """When these photographs (ids) can have been taken without some statements (ids), by what else is believed."""
        out = [i for i, s in enumerate(self.constraints.statements) if s.id in statements and not self.strong.off[i]]
        bounds = self.strong.changed(out, ())
        return {p: bounds.span(self.constraints.variables.exposures[p]) for p in photographs}

    @cached_property
    def bounds(self) -> HardBounds:
        """The bounds of `strong` by the ids of people, events and photographs."""
        v = self.constraints.variables
        first, last = self.strong.lower.tolist(), self.strong.upper.tolist()
        spans = [
            Span(None if a == -nw.FAR else a, None if b == nw.FAR else b) for a, b in zip(first, last, strict=True)
        ]
        exposure, printed, birth, death, event = (
            {key: spans[i] for key, i in places.items()}
            for places in (v.exposures, v.prints, v.births, v.deaths, v.events)
        )
        return HardBounds(exposure, printed, birth, death, event)


@dataclass(frozen=True, slots=True)
class Contributions:
    """What bounds one photograph: the statements (ids) that its earliest and its latest day rest on, and the `possible`
    days without each statement that bears on it."""

    possible: Span
    earliest: tuple[str, ...]
    latest: tuple[str, ...]
    without: dict[str, Span]


def settle(evidence: ev.Evidence) -> Settled:
    """What is possible, what is contradictory, and what to set aside.

    Raises ValueError when the laws alone are infeasible: a photograph indexed before photography was invented.
    """
    constraints = build_constraints(evidence)
    network = nw.build(constraints)
    search = _HittingSetSearch(constraints, network)
    everything, aside = search.cheapest_aside()
    believed = np.array([s.firmness in BELIEVED for s in constraints.statements], dtype=bool)
    strong = nw.solve(network, everything.off | ~believed)
    reports = ConflictReports(search, everything, aside) if aside else None
    return Settled(constraints, everything, strong, tuple(constraints.statements[s].id for s in sorted(aside)), reports)


def weigh_equals(settled: Settled) -> Settled:
    """The same, with equal testimonies that contradict each other neither set aside nor used as bounds."""
    if settled.reported is None:
        return settled
    statement = settled.constraints.statements
    stated = {s.id: s.photograph for s in statement if isinstance(s, ev.DateClaim) and s.claim.of_exposure}
    ties = settled.reported.ties_among(stated)
    equally_trusted = frozenset(s for c in ties if len({stated[s] for s in c.statements}) == 1 for s in c.statements)
    if not equally_trusted:
        return settled
    open_ = np.array([s.id in equally_trusted for s in statement], dtype=bool)
    return replace(
        settled,
        strong=nw.solve(settled.strong.network, settled.strong.off | open_),
        aside=tuple(s for s in settled.aside if s not in equally_trusted),
        equally_trusted=equally_trusted,
    )


def contributions(settled: Settled, photograph: str) -> Contributions:
    """What the earliest and the latest day of a photograph (its id) rest on, as `Settled.strong` has them."""
    bounds, constraints = settled.strong, settled.constraints
    variable = constraints.variables.exposures[photograph]
    first, last = bounds.first_rests_on(variable), bounds.last_rests_on(variable)
    possible = bounds.span(variable)
    own = [s for s in nw.statements_about(bounds.network, variable) if not bounds.off[s]]
    names = [s.id for s in constraints.statements]
    without = {names[s]: possible for s in own}
    without |= {names[s]: bounds.changed([s], ()).span(variable) for s in sorted({*first, *last})}
    return Contributions(possible, tuple(names[s] for s in first), tuple(names[s] for s in last), without)


class _HittingSetSearch:
    """The search for the cheapest set to set aside. `pool` are the irreducible conflicts found so far."""

    def __init__(self, constraints: Constraints, network: nw.Network) -> None:
        self.constraints = constraints
        self.network = network
        self.cost = [COST[s.firmness] for s in constraints.statements]
        self.pool: list[Set] = []

    def rank(self, statement: int) -> tuple[int, int]:
        """The later, the sooner it is set aside."""
        return -self.constraints.statements[statement].order, -statement

    def statements_on_photographs(self, conflict: Set) -> Set:
        """Every statement about the photographs of a conflict."""
        kinds = self.constraints.variables.kinds
        pictured = [v for v in nw.variables_of(self.network, conflict) if kinds[v] in _OF_PHOTOGRAPH]
        return frozenset(s for v in pictured for s in nw.statements_about(self.network, v))

    def price(self, statements: Iterable[int]) -> int:
        """What it costs to set these aside."""
        return sum(self.cost[s] for s in statements)

    def cheapest_aside(self) -> tuple[nw.Bounds, Set]:
        """The optimal set, and the bounds without it."""
        aside: Set = frozenset()
        solved: dict[Set, Set] = {}
        bounds = nw.solve(self.network)
        while not bounds.feasible:
            self.pool += self.conflicts_of(bounds)
            aside = frozenset()
            for cluster in clusters(self.pool):
                key = frozenset(cluster)
                if key not in solved:
                    solved[key] = self.hitting_set([self.pool[i] for i in cluster]) or frozenset()
                aside |= solved[key]
            bounds = nw.solve(self.network, np.isin(np.arange(len(self.cost)), list(aside)))
        return bounds, aside

    def conflicts_of(self, bounds: nw.Bounds) -> list[Set]:
        """An irreducible conflict from each witness."""
        return [self._irreducible(witness) for witness in bounds.witnesses()]

    def ways_out(
        self, start: nw.Bounds, back: Set, rows: list[Set], barred: Sequence[Set], budget: int | None
    ) -> Iterator[Set]:
        """Sets that resolve everything when left out of `start` while the rest of `back` is used again.

        Cheapest first. `rows` are conflicts known to be among what is then left, to which those found are added; sets
        that contain one of `barred` or cost more than `budget` (None: whatever it costs) do not count.
        """
        barred = list(barred)
        while (way := self.hitting_set(rows, barred, budget)) is not None:
            with start.trying(way, back - way) as bounds:
                fits = bounds.feasible
                rows += self.conflicts_of(bounds)
            if fits:
                yield way
                barred.append(way)

    def hitting_set(self, rows: Sequence[Set], barred: Sequence[Set] = (), budget: int | None = None) -> Set | None:
        """The cheapest set with a statement of every row, containing none of `barred`; None when there is none.

        Of equally cheap ones, the one with the latest statements.
        """
        never = _union(b for b in barred if len(b) == 1)
        rows = _smallest(row - never for row in rows)
        most = self.price(_union(rows)) if budget is None else budget
        if not all(rows) or self._floor(rows) > most:
            return None
        if len(rows) == 1:
            return frozenset({min(rows[0], key=lambda s: (self.cost[s], self.rank(s)))})
        columns = sorted(_union(rows), key=self.rank)
        if prod(map(len, rows)) <= FEW:
            return self._enumerated(rows, columns, barred, most)
        limits = [LinearConstraint(_incidence(rows, columns), lb=1)]
        barred = [b for b in barred if b.issubset(columns)]
        if barred:
            limits.append(LinearConstraint(_incidence(barred, columns), ub=[len(b) - 1 for b in barred]))
        costs = np.array([self.cost[s] for s in columns], dtype=float)
        cheapest = _least(costs, [*limits, LinearConstraint(costs[None, :], ub=most)])
        if cheapest is None:
            return None
        optimum = LinearConstraint(costs[None, :], ub=round(float(costs @ cheapest)))
        latest = _least(np.arange(len(columns)), [*limits, optimum])
        return frozenset(columns[i] for i in np.flatnonzero(cheapest if latest is None else latest))

    def _enumerated(self, rows: list[Set], columns: list[int], barred: Sequence[Set], most: int) -> Set | None:
        """What `hitting_set` finds, by trying all of them: where there are few, that is quicker than a program."""
        place = {s: i for i, s in enumerate(columns)}
        hits = {frozenset(hitting_set) for hitting_set in product(*rows)}
        fit = [(self.price(h), sum(place[s] for s in h), sorted(h)) for h in hits if not any(b <= h for b in barred)]
        cost, _, best = min(fit, default=(most + 1, 0, []))
        return frozenset(best) if cost <= most else None

    def _floor(self, rows: Sequence[Set]) -> int:
        """What hitting these rows costs at least: the cheapest statement of each of some that share none."""
        total, used = 0, set[int]()
        for row in rows:
            if used.isdisjoint(row):
                used |= row
                total += min(self.cost[s] for s in row)
        return total

    def _irreducible(self, witness: list[int]) -> Set:
        subnetwork = nw.subnetwork(self.network, witness)
        off = np.zeros(len(witness), dtype=bool)
        for i in range(len(witness)):
            off[i] = True
            off[i] = not nw.solve(subnetwork, off.copy()).feasible
        if off.all():
            raise ValueError(self._broken_law())
        return frozenset(s for s, gone in zip(witness, off, strict=True) if not gone)

    def _broken_law(self) -> str:
        bounds = nw.solve(self.network, np.ones(len(self.cost), dtype=bool))
        names = sorted({self.constraints.variables.ids[v] for v in bounds.crossed})
        return f"first indexed before there was photography: {', '.join(names)}; check the computer's clock"


def clusters(rows: Sequence[Set]) -> list[list[int]]:
    """The rows (by index) in groups that share no statement."""
    hits = _incidence(rows, sorted(_union(rows)))
    count, group = connected_components(hits @ hits.T, directed=False)
    return [np.flatnonzero(group == g).tolist() for g in range(count)]


def _union(rows: Iterable[Set]) -> Set:
    return frozenset(s for row in rows for s in row)


def _smallest(rows: Iterable[Set]) -> list[Set]:
    """The rows that contain no other; what hits them hits all."""
    kept: list[Set] = []
    for row in sorted(set(rows), key=lambda r: (len(r), sorted(r))):
        if not any(other <= row for other in kept):
            kept.append(row)
    return kept


def _incidence(rows: Sequence[Set], columns: Sequence[int]) -> csr_matrix:
    """A row per set, a column per statement, 1 where it contains it."""
    place = {s: i for i, s in enumerate(columns)}
    where = [(r, place[s]) for r, row in enumerate(rows) for s in row]
    r, c = zip(*where, strict=True)
    return csr_matrix((np.ones(len(where)), (r, c)), shape=(len(rows), len(columns)))


def _least(costs: NDArray[Any], limits: list[LinearConstraint]) -> nw.Flags | None:
    """Which statements make the least sum within the limits; None when none do."""
    whole, box = np.ones(len(costs)), Box(0, 1)
    found = milp(costs, integrality=whole, bounds=box, constraints=limits, options={"mip_rel_gap": 0})
    return None if found.x is None else np.asarray(found.x > 0.5)


class ConflictReports:
    """What is reported of each statement set aside, worked out on request: posteriors depend on its ties alone."""

    def __init__(self, search: _HittingSetSearch, everything: nw.Bounds, aside: Set) -> None:
        self._search, self._everything, self._aside = search, everything, aside
        self._made: dict[int, Conflict] = {}
        self._lock = Lock()  # the bounds are changed for a look, and afterwards as they were

    def all(self) -> tuple[Conflict, ...]:
        """All of them, in the order of the evidence."""
        with self._lock:
            return tuple(map(self._conflict, self._against))

    def photographs(self) -> frozenset[str]:
        """The photographs (ids) of all of them."""
        with self._lock:
            found = list(self._against.values())
        return frozenset(p for some in found for p in _photographs(self._search, some))

    def ties_among(self, statements: Container[str]) -> list[Conflict]:
        """Those between these statements (ids) alone where nothing decides which is wrong."""
        ids = [s.id for s in self._search.constraints.statements]
        with self._lock:
            among = [s for s, (first, *_) in self._against.items() if all(ids[i] in statements for i in first)]
            return [conflict for conflict in map(self._conflict, among) if conflict.tie]

    @cached_property
    def _against(self) -> dict[int, list[Set]]:
        """Of each statement set aside, irreducible conflicts with those that stay."""
        return {s: _all_against(self._search, self._everything, s) for s in sorted(self._aside)}

    @cached_property
    def _ties(self) -> list[Set]:
        return _ties(self._search, self._everything, self._aside)

    def _conflict(self, statement: int) -> Conflict:
        if statement not in self._made:
            self._made[statement] = self._with_ways_out(statement)
        return self._made[statement]

    def _with_ways_out(self, statement: int) -> Conflict:
        """What a statement does not fit with, and the ways out."""
        search, everything, against = self._search, self._everything, self._against[statement]
        kept = frozenset({statement})
        rows = {against[0], *(c for c in search.pool if c.isdisjoint(self._aside - kept))}
        equal = [way - self._aside for way in self._ties if statement not in way]
        ways_out = [kept, *equal]
        budget = search.cost[statement] + FAR_FETCHED
        known = sorted(rows, key=sorted)
        if not equal:  # nobody should be left without a choice, however far-fetched
            ways_out += islice(search.ways_out(everything, kept, known, ways_out, None), 1)
        ways_out += islice(
            search.ways_out(everything, kept, known, ways_out, budget), max(0, MOST_WAYS - len(ways_out))
        )
        tie = bool(equal) or any(search.price(way) == search.cost[statement] for way in ways_out[1:])
        return _conflict(search, against, statement, ways_out[:MOST_WAYS], tie)


def _all_against(search: _HittingSetSearch, everything: nw.Bounds, statement: int) -> list[Set]:
    """Irreducible conflicts of a statement set aside with those that stay, of other photographs each: when one is
    found, every statement about its photographs is left out, so that the next one is about others."""
    found: list[Set] = []
    out: set[int] = set()
    while True:
        with everything.trying(out, [statement]) as bounds:
            if bounds.feasible:
                return found
            conflict = search.conflicts_of(bounds)[0]
        found.append(conflict)
        pictured = search.statements_on_photographs(conflict) or conflict
        if pictured <= out | {statement}:
            return found
        out |= pictured - {statement}


def _ties(search: _HittingSetSearch, everything: nw.Bounds, aside: Set) -> list[Set]:
    """Other optimal sets, of the clusters from which several statements are set aside."""
    found: list[Set] = []
    for cluster in clusters(search.pool):
        rows = [search.pool[i] for i in cluster]
        chosen = aside & _union(rows)
        if len(chosen) < 2:
            continue
        ways_out = search.ways_out(everything, chosen, rows, [chosen], search.price(chosen))
        found += [way | (aside - chosen) for way in islice(ways_out, MOST_TIES - 1)]
    return found


def _conflict(
    search: _HittingSetSearch, conflicts: list[Set], statement: int, ways_out: list[Set], tie: bool
) -> Conflict:
    """The first of some conflicts, with ids in place of indices, and the photographs of all."""
    constraints, network = search.constraints, search.network
    ids = [constraints.statements[s].id for s in sorted(conflicts[0])]
    kinds, names = constraints.variables.kinds, constraints.variables.ids
    variables_of = nw.variables_of(network, conflicts[0])
    return Conflict(
        id=conflict_id(ids),
        statements=tuple(ids),
        aside=(constraints.statements[statement].id,),
        photographs=_photographs(search, conflicts),
        people=tuple(
            dict.fromkeys(names[v] for v in variables_of if kinds[v] in (VariableKind.BIRTH, VariableKind.DEATH))
        ),
        ways_out=tuple(tuple(constraints.statements[s].id for s in sorted(way)) for way in ways_out),
        tie=tie,
    )


def _photographs(search: _HittingSetSearch, conflicts: list[Set]) -> tuple[str, ...]:
    """The photographs (ids) of some conflicts, each once."""
    variables, network = search.constraints.variables, search.network
    pictured = [v for conflict in conflicts for v in nw.variables_of(network, conflict)]
    return tuple(dict.fromkeys(variables.ids[v] for v in pictured if variables.kinds[v] in _OF_PHOTOGRAPH))


def conflict_id(statements: Iterable[str]) -> str:
    """C and six letters and digits (30 bits) that depend on the ids of the statements alone, not on their order."""
    digest = blake2b(" ".join(sorted(statements)).encode(), digest_size=5).digest()
    return f"C{b32encode(digest).decode()[:6]}"


_OF_PHOTOGRAPH = (VariableKind.EXPOSURE, VariableKind.PRINT, VariableKind.ALTERNATIVE, VariableKind.HULL)
