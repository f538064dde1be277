"""The couples of the tree, with the years that set namesakes apart and the events a photograph can show."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Annotated, Any

from sqlalchemy import Connection, Row, func, select

from kinphoto.archive.catalogue.finding_events import find_families
from kinphoto.archive.catalogue.lives import Life, lives, rows_of
from kinphoto.archive.catalogue.recorded_dates import dated
from kinphoto.documents import INLINE
from kinphoto.gedcom.wording import words
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class Partner:
    """One of a couple."""

    id: Annotated[str, "one of the couple"]
    name: Annotated[str, "the name they go by"]
    life: Annotated[Life, INLINE]


@dataclass(frozen=True, slots=True)
class CoupleEvent:
    """An event of a couple."""

    key: Annotated[str, "an event, as `state PHOTO event` takes it: `F3:MARR`"]
    tag: Annotated[str, "its tag in GEDCOM"]
    date: Annotated[str, "its date in words; empty for none"]
    place: Annotated[str, "where it was"]


@dataclass(frozen=True, slots=True)
class Couple:
    """A family of the tree: its partners (one, where the other is not known)."""

    id: Annotated[str, "the family's id in the tree, `F3`"]
    partners: tuple[Partner, ...]
    events: tuple[CoupleEvent, ...]
    children: Annotated[int, "how many children they have in the tree"]
    gone: Annotated[bool, "true when the newest import of the tree does not have them any more"]

    @property
    def married(self) -> Annotated[str, "when they married, in words; empty when the tree does not say"]:
        """When they married, in plain words; "" when the tree does not say."""
        return next((event.date for event in self.events if event.tag == "MARR" and event.date), "")


def couples(connection: Connection, text: str = "") -> tuple[Couple, ...]:
    """The couples of one or two names or of an id; all that are in the tree for none. By name, then by year.

    Raises NotFoundError when a name is nobody's.
    """
    f, m, e, link, p = t.family.c, t.partner.c, t.event.c, t.parent_link.c, t.person.c
    if text.strip():
        wanted = set(find_families(connection, text))
    else:
        wanted = set(connection.scalars(select(f.id).where(f.gone == 0)))
    families = {row[0]: row for row in rows_of(connection, select(f.id, f.code, f.gone), f.id, wanted)}
    partners: dict[int, list[int]] = defaultdict(list)
    both = select(m.family_id, m.person_id).order_by(m.position, m.id)
    for family_id, person_id in rows_of(connection, both, m.family_id, wanted):
        partners[family_id].append(person_id)
    people = {person for both in partners.values() for person in both}
    lived = lives(connection, people)
    named = {row[0]: (row[1], row[2]) for row in rows_of(connection, select(p.id, p.code, p.name), p.id, people)}
    events: dict[int, list[CoupleEvent]] = defaultdict(list)
    columns = (e.family_id, e.tag, e.date_text, e.first, e.last, e.shape, e.centre, e.spread, e.doubtful, e.place)
    query = select(*columns).where(e.withdrawn == 0).order_by(e.position, e.id)
    for row in rows_of(connection, query, e.family_id, wanted):
        key = f"{families[row.family_id].code}:{row.tag}"
        events[row.family_id].append(CoupleEvent(key, row.tag, _date(row), row.place))
    born = select(link.family_id, func.count(link.child_id.distinct())).group_by(link.family_id)
    children = {row[0]: row[1] for row in rows_of(connection, born, link.family_id, wanted)}
    found = [
        Couple(
            families[id_].code,
            tuple(Partner(*named[person], lived[person]) for person in partners[id_]),
            tuple(events[id_]),
            children.get(id_, 0),
            bool(families[id_].gone),
        )
        for id_ in wanted
        if partners[id_]
    ]
    return tuple(sorted(found, key=lambda couple: ([one.name.casefold() for one in couple.partners], couple.married)))


def _date(row: Row[Any]) -> str:
    """A date in words; "" for none."""
    known = row.date_text or row.first is not None or row.last is not None
    return words(dated(row._mapping)) if known else ""
