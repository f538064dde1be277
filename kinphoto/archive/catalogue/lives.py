"""When people lived, as the tree or whoever named them says: one birth or christening, one death or burial each.

A date that somebody withdrew is left out."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Annotated, Any, NamedTuple

from sqlalchemy import Column, Connection, Select, select

from kinphoto.archive.catalogue.identity import Identity
from kinphoto.archive.words.dates import Vital, life_years
from kinphoto.documents import INTERNAL
from kinphoto.reason.model.span import Dated, Shape, Span, iso, year_of
from kinphoto.store import tables as t
from kinphoto.store.among import among

LONGEST = 110
"""Years a life is taken to last at most where only one end of it is known."""
_SAID = {
    "BIRT": "born", "CHR": "christened", "BAPM": "christened", "DEAT": "died", "BURI": "buried", "CREM": "buried"
}  # fmt: skip
_SHAPES = {str(shape): shape for shape in Shape}
_ENDS = frozenset(("DEAT", "BURI", "CREM"))
_THEMSELVES = frozenset(("BIRT", "DEAT"))


class LifeEnd(NamedTuple):
    """A birth or death; of a christening or burial only that it was no later is known."""

    text: Annotated[str, "in words; empty when nothing is known"]
    earliest: Annotated[str | None, "first possible day"]
    latest: Annotated[str | None, "last possible day"]

    @classmethod
    def of(cls, vital: Vital | None) -> LifeEnd:
        """The same of a date that may not be known."""
        if vital is None:
            return cls("", None, None)
        span = vital.date.span
        return cls(vital.text, iso(span.first) if vital.verb in ("born", "died") else None, iso(span.last))


@dataclass(frozen=True, slots=True)
class Life:
    """The beginning and the end of a life, either of them None when nothing is known of it."""

    begin: Annotated[Vital | None, INTERNAL] = None
    end: Annotated[Vital | None, INTERNAL] = None

    @property
    def years(self) -> Annotated[str, "their life in years, in words"]:
        """The life in years: "about 1890 to 1961"; "" when nothing is known."""
        return life_years(self.begin, self.end)

    @property
    def born(self) -> Annotated[LifeEnd, "when born or christened"]:
        """Its beginning as scripts read it."""
        return LifeEnd.of(self.begin)

    @property
    def died(self) -> Annotated[LifeEnd, "when died or buried"]:
        """Its end as scripts read it."""
        return LifeEnd.of(self.end)

    def covers(self, year: int) -> bool:
        """Whether the year can have been one of this life; False when nothing is known of it."""
        first, last = self._years(self.begin), self._years(self.end)
        if not first and not last:
            return False
        is_born = self.begin is not None and self.begin.verb == "born" and self.begin.date.span.first is not None
        has_ended = self.end is not None and self.end.date.span.last is not None
        start = min(first) if is_born else max(first or last) - LONGEST
        end = max(last) if has_ended else min(last or first) + LONGEST
        return start <= year <= end

    def turns(self, year: int) -> bool:
        """Whether it can have begun or ended in this year."""
        spans = (years for years in (self._years(self.begin), self._years(self.end)) if years)
        return any(min(years) <= year <= max(years) for years in spans)

    @staticmethod
    def _years(vital: Vital | None) -> list[int]:
        days = (vital.date.span.first, vital.date.span.last) if vital else ()
        return [year_of(day) for day in days if day is not None]


def lives(connection: Connection, ids: Collection[int], identity: Identity | None = None) -> dict[int, Life]:
    """The lives of these people (row ids). By `identity`, what is known of people outside the tree fills the gaps of
    those they turned out to be.

    Of several dates for one end of a life the one taken has days rather than mere words, is the person's own, is of the
    event itself rather than of its rite, and is the tree's preferred one, in this order.
    """
    wanted, identity = set(ids), identity or Identity({})
    asked = identity.names(wanted)
    best: dict[tuple[int, bool], tuple[tuple[bool, bool, bool, int], Any]] = {}
    for row in rows_of(connection, _DATES, t.event.c.person_id, asked):
        person_id, tag, position, text, first, last = row[:6]
        no_days = first is None and last is None
        if no_days and not text:
            continue
        end = identity.of(person_id), tag in _ENDS
        place = no_days, identity.is_another(person_id), tag not in _THEMSELVES, position
        if end not in best or place < best[end][0]:
            best[end] = place, row
    vitals = {end: _vital(row) for end, (_, row) in best.items()}
    return {id_: Life(vitals.get((id_, False)), vitals.get((id_, True))) for id_ in wanted}


_e = t.event.c
_DATES = select(
    _e.person_id, _e.tag, _e.position, _e.date_text, _e.first, _e.last, _e.shape, _e.centre, _e.spread, _e.doubtful
).where(_e.tag.in_(_SAID), _e.withdrawn == 0)


def rows_of(connection: Connection, query: Select[Any], owner: Column[Any], ids: Collection[int]) -> Iterator[Any]:
    """The rows of `query`, whose first column is `owner`, that belong to these ids."""
    if ids:
        yield from connection.execute(query.where(among(connection, owner, ids))).all()


def _vital(row: Any) -> Vital:
    # Unpacked at once: a row asked for each column by its name takes three times as long, and lists have thousands.
    _, tag, _, text, first, last, shape, centre, spread, doubtful = row
    return Vital(_SAID[tag], Dated(Span(first, last), _SHAPES[shape], centre, spread, text, bool(doubtful)))
