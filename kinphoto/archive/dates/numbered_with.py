"""What a photograph is named and numbered with in its container, where that bears on its date: the others of its theme,
and the place of its number among theirs, as "its number 12 comes between 11 of 1931 and 14 of 1932"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.scan_numbers import ScanName, scan_numbers
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.sequences import another_order, of_one_series
from kinphoto.reason.model.subjects import Container, Photograph
from kinphoto.reason.model.themes import theme_of, with_themes
from kinphoto.store import tables as t

LARGE = 2_000
"""Photographs of a container above which its names and numbers are not looked through for a sentence."""


@dataclass(frozen=True)
class NumberedWith:
    """The theme of a photograph where that is a container of its own, and the row ids of those in it (None: it is not).
    Where its number, withdrawn or not, is of another order than that in which things are kept: this, and the others
    before and after it by number, the nearest first, as row ids and numbers."""

    theme: str = ""
    photographs: frozenset[int] | None = None
    number: int | None = None
    before: Sequence[tuple[int, int]] = ()
    after: Sequence[tuple[int, int]] = ()


def numbered_with(connection: Connection, photograph_id: int, container_id: int) -> NumberedWith:
    """What is named and numbered like a photograph in its container."""
    p = t.photograph.c
    query = select(p.id, p.position).where(p.container_id == container_id, p.page == 0).order_by(p.position, p.id)
    there = connection.execute(query.limit(LARGE + 1)).all()
    if len(there) > LARGE:
        return NumberedWith()
    named = scan_numbers(connection, container_id, photograph_id)
    if not named:
        return NumberedWith()
    evidence = with_themes(ev.Evidence(
        photographs=tuple(Photograph(str(i), 0, False, False, "", at, *named.get(i, ScanName())) for i, at in there),
        containers=(Container(""),),
    ))  # fmt: skip
    lies_in = {int(each.id): each.container or "" for each in evidence.photographs}
    where = lies_in.get(photograph_id, "")
    here = [i for i, _ in there if lies_in[i] == where]
    theme = theme_of(where)
    among = frozenset(here) if theme else None
    numbers = of_one_series([named.get(i, ScanName()).number for i in here])
    order = another_order(numbers) or []
    along = [(here[k], numbers[k]) for k in order]
    at = next((k for k, (i, _) in enumerate(along) if i == photograph_id), None)
    if at is None:
        return NumberedWith(theme, among)
    return NumberedWith(theme, among, along[at][1], along[:at][::-1], along[at + 1 :])
