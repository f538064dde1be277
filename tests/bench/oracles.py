"""The bounds of a set of constraints as general-purpose software finds them: a linear program, or shortest paths.

Both know difference constraints only. The hull of rival names is added by hand, in rounds: bounds without hulls, from
them what each alternative allows, from these a bound on the photograph, and again, until nothing moves.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator

import networkx as nx
import numpy as np
import z3
from ortools.linear_solver import pywraplp

from kinphoto.reason.hard.constraints import Constraints, VariableKind

BOX = 10**7
"""Variables lie within so many days either way of the origin; a bound beyond half of it is open."""

Row = tuple[int, int, int]  # left − right ≤ days
Pair = tuple[list[int], list[int]]  # lower and upper bounds by variable


def rows_of(told: Constraints, off: Collection[int] = ()) -> list[Row]:
    """The constraints that hold when these statements are left out."""
    return [
        (int(left), int(right), int(days))
        for i, (left, right, days) in enumerate(zip(told.left, told.right, told.days, strict=True))
        if not set(off).intersection(told.rests[told.start[i] : told.start[i + 1]].tolist())
    ]


def bounds(told: Constraints, off: Collection[int], tighten: Callable[[int, list[Row]], Pair | None]) -> Pair | None:
    """Lower and upper bounds of the ordinary variables, None when there are none; `tighten` is a method below."""
    kinds, rows = told.variables.kinds, rows_of(told, off)
    helping = {v for v, kind in enumerate(kinds) if kind in (VariableKind.ALTERNATIVE, VariableKind.HULL)}
    plain = [row for row in rows if helping.isdisjoint(row[:2])]
    found = tighten(len(kinds), plain)
    while found is not None:
        more = [row for row in _hulls(told, rows, found) if row not in plain]
        if not more:
            return found
        plain += more
        found = tighten(len(kinds), plain)
    return None


def _hulls(told: Constraints, rows: list[Row], found: Pair) -> Iterator[Row]:
    lower, upper = found
    for h, hull in enumerate(told.hulls.tolist()):
        faces = told.alternatives[told.hull_start[h] : told.hull_start[h + 1]].tolist()
        last = max(min([BOX, *(upper[v] + c for u, v, c in rows if u == a)]) for a in faces)
        first = min(max([-BOX, *(lower[u] - c for u, v, c in rows if v == a)]) for a in faces)
        for u, v, c in rows:
            if v == hull and last < BOX // 2:
                yield u, 0, last + c
            if u == hull and first > -BOX // 2:
                yield 0, v, c - first


def by_glop(size: int, rows: list[Row]) -> Pair | None:
    """Two linear programs: the least and the greatest sum of all variables is at all lower and all upper bounds."""
    solver, days = glop_model(size, rows)
    answers = []
    for goal in (solver.Minimize, solver.Maximize):
        goal(solver.Sum(days))
        if solver.Solve() != pywraplp.Solver.OPTIMAL:
            return None
        answers.append([round(day.solution_value()) for day in days])
    return answers[0], answers[1]


def glop_model(size: int, rows: list[Row]) -> tuple[pywraplp.Solver, list[pywraplp.Variable]]:
    """The constraints as a model of GLOP, and its variables; there is no objective yet."""
    solver = pywraplp.Solver.CreateSolver("GLOP")
    days = [solver.NumVar(-BOX, BOX, "") if v else solver.NumVar(0, 0, "") for v in range(size)]
    for left, right, most in rows:
        solver.Add(days[left] - days[right] <= most)
    return solver, days


def by_networkx(size: int, rows: list[Row]) -> Pair | None:
    """Bellman–Ford from the origin along the constraints, and against them."""
    graph = nx.DiGraph()
    graph.add_nodes_from(range(size))
    everywhere = [row for v in range(1, size) for row in ((v, 0, BOX), (0, v, BOX))]
    for left, right, most in [*rows, *everywhere]:
        if graph.get_edge_data(right, left, {"weight": np.inf})["weight"] > most:
            graph.add_edge(right, left, weight=most)
    try:
        upper = nx.single_source_bellman_ford_path_length(graph, 0)
        lower = nx.single_source_bellman_ford_path_length(graph.reverse(), 0)
    except nx.NetworkXUnbounded:
        return None
    return [-lower[v] for v in range(size)], [upper[v] for v in range(size)]


def in_z3(told: Constraints, solver: z3.Optimize | z3.Solver) -> dict[str, z3.BoolRef]:
    """The constraints in whole days, each on when all its statements are; the switch of every statement."""
    days = [z3.Int(f"v{i}") for i in range(len(told.variables.kinds))]
    switch = {s.id: z3.Bool(f"s{i}") for i, s in enumerate(told.statements)}
    solver.add(days[0] == 0)
    for i, (left, right, most) in enumerate(zip(told.left, told.right, told.days, strict=True)):
        rests = [switch[told.statements[s].id] for s in told.rests[told.start[i] : told.start[i + 1]]]
        solver.add(z3.Implies(z3.And(rests), days[left] - days[right] <= int(most)))
    return switch
