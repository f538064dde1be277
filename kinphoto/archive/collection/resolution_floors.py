"""The minimum resolution for each kind of original: the usual one, or what somebody set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import Connection, select

from kinphoto.errors import InvalidValueError
from kinphoto.scans.checks.limits import FLOORS
from kinphoto.scans.walk import shown
from kinphoto.store import tables as t
from kinphoto.store.session import Work


@dataclass(frozen=True, slots=True)
class ResolutionFloor:
    """The minimum resolution for one kind of original."""

    original: Annotated[str, "the kind of original, for `kinphoto scans floor`"]
    title: Annotated[str, "the same in words"]
    ppi: Annotated[float, "the least pixels per inch"]
    source: Annotated[str, "where that comes from"]
    usual: Annotated[float, "what it is unless somebody sets it"]


def floors_set(connection: Connection) -> dict[str, float]:
    return {row.original: row.ppi for row in connection.execute(select(t.resolution_floor))}


def floors(connection: Connection) -> tuple[ResolutionFloor, ...]:
    """The minimum resolution for each kind of original."""
    own = floors_set(connection)
    return tuple(
        ResolutionFloor(
            each.original, each.title, own.get(each.original, each.ppi),
            "set here" if each.original in own else each.source, each.ppi,
        )
        for each in FLOORS
    )  # fmt: skip


def set_floor(work: Work, original: str, ppi: float | None) -> tuple[ResolutionFloor, ...]:
    """Set the minimum resolution for a kind of original; None for the usual one. Raises InvalidValueError."""
    known = {floor.original: floor for floor in FLOORS}
    floor = known.get(original.strip().casefold())
    if floor is None:
        raise InvalidValueError(
            f"'{shown(original)}' is not a kind of original", remedy=f"There are: {', '.join(known)}."
        )
    if ppi is not None and not 50 <= ppi <= 20_000:
        raise InvalidValueError(f"{ppi:g} ppi is not a resolution a scan can have", remedy="Give one from 50 to 20000.")
    r = t.resolution_floor.c
    row = work.connection.execute(select(t.resolution_floor).where(r.original == floor.original)).mappings().first()
    if ppi is None:
        if row is not None:
            work.delete(t.resolution_floor, [row["id"]])
            work.what = f"set the minimum resolution of {floor.title} back to {floor.ppi:g} ppi"
    elif row is None:
        work.insert_one(t.resolution_floor, original=floor.original, ppi=ppi)
    elif row["ppi"] != ppi:
        work.update(t.resolution_floor, [row["id"]], ppi=ppi)
    if ppi is not None:
        work.what = f"set the minimum resolution of {floor.title} to {ppi:g} ppi"
    return floors(work.connection)
