"""An album page as a whole: the prints at their places on it, in its order, with the words beside each."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, select

from kinphoto.scans.beds.places import Place
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class PrintOnPage:
    """A print on a page: `corners` in pixels of the upright picture, clockwise from the top left; `photograph` is the
    code of what was cut out or scanned by itself, None for a print that is only outlined."""

    number: int
    corners: tuple[tuple[float, float], ...]
    caption: str
    photograph: str | None


def prints_on(connection: Connection, scan_id: int) -> tuple[PrintOnPage, ...]:
    """The prints that are outlined on a scan (row id), in the order of the page."""
    f, p = t.print_frame.c, t.photograph.c
    query = select(t.print_frame, p.code).outerjoin(t.photograph, p.id == f.photograph_id).where(f.scan_id == scan_id)
    found = []
    for number, row in enumerate(connection.execute(query.order_by(f.position, f.id)).mappings(), 1):
        place = Place(row["x"], row["y"], row["width"], row["height"], row["turn"])
        found.append(PrintOnPage(number, place.corners, row["caption"], row["code"]))
    return tuple(found)
