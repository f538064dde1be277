"""Every picture of a person, or of a whole line of a family, in the order they were taken."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.finding_people import find_relative
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.collection.photograph_cards import PhotographCard, cards
from kinphoto.errors import InvalidValueError
from kinphoto.gedcom.dates import parse_date
from kinphoto.reason.model.span import Span
from kinphoto.store import kindred
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class Pictures:
    """The pictures of one person, or of them and those they descend from or who descend from them."""

    id: str
    name: str
    photographs: tuple[PhotographCard, ...]


def pictures(
    connection: Connection,
    person: str,
    *,
    ancestors: bool = False,
    descendants: bool = False,
    beside: Sequence[str] = (),
    since: str | None = None,
    until: str | None = None,
) -> Pictures:
    """Every picture of a person, by best date, then earliest; undated ones last.

    With `ancestors` or `descendants` also every picture of those; with `beside` only those in which these people are
    too; with `since` and `until` (dates) only those that can have been taken between, or are likely to where anything
    likely is known. Raises NotFoundError, AmbiguousError, InvalidValueError.
    """
    between = _between(since, until)
    row = find_relative(connection, person)
    ids = with_any_of(connection, _line(connection, row["id"], ancestors, descendants))
    for other in beside:
        ids &= with_any_of(connection, {find_relative(connection, other)["id"]})
    found = [one for one in cards(connection, ids, drawn=False).values() if _meets(one, between)]
    return Pictures(row["code"], row["name"], tuple(sorted(found, key=_taken)))


def _between(since: str | None, until: str | None) -> Span | None:
    """First to last day asked for, None when nothing was."""
    if since is None and until is None:
        return None
    start, end = (Span() if text is None else parse_date(text).span for text in (since, until))
    between = Span(start.last if start.first is None else start.first, end.first if end.last is None else end.last)
    if between.empty:
        raise InvalidValueError(f"{since} comes after {until}", remedy="Give --from the earlier date, --to the later.")
    return between


def _line(connection: Connection, person_id: int, ancestors: bool, descendants: bool) -> set[int]:
    line = {person_id}
    if ancestors:
        line.update(kindred.ancestors(connection, person_id))
    if descendants:
        line.update(kindred.descendants(connection, person_id))
    return line


def with_any_of(connection: Connection, people: Collection[int]) -> set[int]:
    """The photographs any of these people is in."""
    a = t.appearance.c
    query = select(a.person_id, a.photograph_id).where(a.denied == 0, a.withdrawn == 0)
    return {photograph_id for _, photograph_id in rows_of(connection, query, a.person_id, people)}


def _meets(picture: PhotographCard, between: Span | None) -> bool:
    if between is None:
        return True
    e = picture.estimate
    if e is None:
        return False
    likely = e.likely_from is not None and e.likely_to is not None
    span = Span(e.likely_from, e.likely_to) if likely else Span(e.earliest, e.latest)
    return not span.meet(between).empty


def _taken(picture: PhotographCard) -> tuple[bool, int, bool, int, str]:
    """Where a picture comes in the order: by best date, then earliest; what has neither last."""
    e = picture.estimate
    best = e.best if e else None
    return best is None, best or 0, e is None, e.earliest if e else 0, picture.code
