"""Photographs that lie together, for tests."""

from __future__ import annotations

from datetime import date

import numpy as np
from scipy import sparse

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Dated, Shape, Span
from kinphoto.reason.soft.containers import Lying, Sharing

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
    pictures = tuple(ev.Photograph(f"K{i}", 738_000, container="B1", position=i) for i in range(len(years)))
    return ev.Evidence((ev.Person("I1", "Ada", "F"),), pictures, tuple(statements), (ev.Container("B1"),))
