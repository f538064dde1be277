"""The people of a site: everybody who is in its pictures and may be named, with their lives and families.

Relatives are named where they may be, and whoever may not is not there at all: neither a name nor a count gives them
away.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from typing import NamedTuple

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import lives, rows_of
from kinphoto.archive.catalogue.privacy import View
from kinphoto.archive.catalogue.recorded_dates import dated
from kinphoto.archive.giving.given import Given
from kinphoto.gedcom.wording import words as date_words
from kinphoto.store import tables as t


class PersonOnPage(NamedTuple):
    """Somebody named on a page; `page` is whether they have one."""

    id: str
    name: str
    years: str
    page: bool


_PARENTS, _PARTNERS, _CHILDREN = "Parents", "Partners", "Children"
"""The headings of a family."""

_EVENTS = {
    "BIRT": "Born",
    "CHR": "Christened",
    "BAPM": "Christened",
    "DEAT": "Died",
    "BURI": "Buried",
    "CREM": "Cremated",
}


class PeopleOnSite:
    """Everybody who is in the pictures and may be named, with their lives and those of their relatives who may be."""

    def __init__(self, connection: Connection, seen: View, photographs: Collection[Given]) -> None:
        p = t.person.c
        self.pictures: dict[str, list[Given]] = defaultdict(list)
        for one in photographs:
            for code in dict.fromkeys(name.id for name in one.names if name.id):
                self.pictures[code].append(one)
        identity = read_identity(connection)
        rows = connection.execute(select(p.id, p.code, p.name)).all()
        self._codes = {row.id: row.code for row in rows if row.id in seen.people}
        self._names = {row.code: row.name or row.code for row in rows}
        self._nameable = frozenset(self._codes.values())
        ids = {row.id for row in rows if row.code in self.pictures}
        self._family = self._ties(connection, ids, seen.people)
        near = ids | {other for family in self._family.values() for _, other in family}
        self._years = {self._codes[id_]: life.years for id_, life in lives(connection, near, identity).items()}
        self._ids = {code: id_ for id_, code in self._codes.items() if code in self.pictures}
        self._events = self._lives(connection, ids)

    def _ties(
        self, connection: Connection, ids: set[int], nameable: frozenset[int]
    ) -> dict[int, list[tuple[str, int]]]:
        """The parents, partners and children of each who may be named."""
        k, m = t.parent_link.c, t.partner.c
        found: dict[int, list[tuple[str, int]]] = defaultdict(list)
        for heading, own, other in ((_PARENTS, k.child_id, k.parent_id), (_CHILDREN, k.parent_id, k.child_id)):
            for row in rows_of(connection, select(own, other).where(k.withdrawn == 0).order_by(k.id), own, ids):
                if row[1] in nameable:
                    found[row[0]].append((heading, row[1]))
        couples = {row.family_id for row in rows_of(connection, select(m.family_id), m.person_id, ids)}
        partners: dict[int, list[int]] = defaultdict(list)
        for row in rows_of(connection, select(m.family_id, m.person_id).order_by(m.id), m.family_id, couples):
            partners[row.family_id].append(row.person_id)
        for pair in partners.values():
            for one in pair:
                found[one] += [(_PARTNERS, other) for other in pair if other != one and other in nameable]
        return found

    def _lives(self, connection: Connection, ids: set[int]) -> dict[int, list[str]]:
        e = t.event.c
        query = select(t.event).where(e.tag.in_(_EVENTS), e.withdrawn == 0, e.position == 0).order_by(e.first, e.id)
        found: dict[int, list[str]] = defaultdict(list)
        for row in rows_of(connection, query, e.person_id, ids):
            date = date_words(dated(row._mapping)) if row.first is not None or row.last is not None else ""
            said = ", ".join(filter(None, (date, row.place)))
            if said:
                found[row.person_id].append(f"{_EVENTS[row.tag]} {said}")
        return found

    def knows(self, code: str) -> bool:
        """Whether somebody may be named at all."""
        return code in self._nameable

    def who(self, code: str, name: str = "", years: str = "") -> PersonOnPage:
        """Somebody as they are named on a page."""
        return PersonOnPage(code, name or self._names[code], years or self._years.get(code, ""), code in self.pictures)

    def everybody(self) -> list[PersonOnPage]:
        """Those with a page, in the order of their names."""
        return sorted((self.who(code) for code in self.pictures), key=lambda one: (fold(one.name), one.id))

    def events(self, code: str) -> list[str]:
        """The events of a life, in words."""
        return self._events.get(self._ids[code], [])

    def family(self, code: str) -> list[tuple[str, list[PersonOnPage]]]:
        """Parents, partners and children who may be named."""
        groups: dict[str, dict[str, None]] = {_PARENTS: {}, _PARTNERS: {}, _CHILDREN: {}}
        for heading, other in self._family.get(self._ids[code], ()):
            groups[heading][self._codes[other]] = None
        return [(heading, [self.who(one) for one in codes]) for heading, codes in groups.items() if codes]
