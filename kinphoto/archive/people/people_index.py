"""Everybody whom a name can mean, held in memory while somebody types: what they are called, when they lived, who is
near to whom in the family.

Fifty thousand people are read in about a second, and answered about in milliseconds. It is read again only when
something about people has changed, never because a photograph was named.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from math import inf, nan
from weakref import WeakKeyDictionary

import numpy as np
from scipy.sparse import csr_matrix
from sqlalchemy import Connection, Engine, select

from kinphoto.archive.catalogue.identity import Identity
from kinphoto.archive.catalogue.lives import LONGEST
from kinphoto.archive.catalogue.names import NameIndex, kept_names, last_change
from kinphoto.archive.people.age_fit import Lifetimes
from kinphoto.reason.model.arrays import Array, entries
from kinphoto.reason.model.span import at_least, at_most
from kinphoto.store import tables as t

_TABLES = ("person", "name", "event", "family", "partner", "parent_link")
"""What the index is read from."""
_BEFORE_RITE, _OPEN = at_most(2), at_most(10)
"""Days before a christening, and beyond the closed end of a half-open date, within which a birth is looked for."""
_EVEN = 3**0.5
"""Standard deviations that a flat span of the same spread reaches either way."""
_BEGINS, _ENDS = ("BIRT", "CHR", "BAPM"), ("DEAT", "BURI", "CREM")
NEAREST = 4
"""Steps of kinship that are looked at."""
_MARRIED_AT = at_least(15)
"""Days old that partners are at least, where the day of their marriage is not known (a judgement of the project)."""


@dataclass(frozen=True, slots=True)
class PeopleIndex:
    """The people, in the order of their names. Everything else is in the same order: place `n` is one person.

    `places` finds them by row id, `codes` by their id in small letters. `blood` has a 1 for every parent and child and
    for brothers and sisters; `couples` has for every two partners the day since which they can have been married.
    """

    stamp: int
    called: NameIndex
    places: dict[int, int]
    codes: dict[str, int]
    lives: Lifetimes
    gone: Array
    blood: csr_matrix
    couples: csr_matrix

    @property
    def ids(self) -> Array:
        """Their row ids."""
        return self.called.ids

    def alive_in(self, year: int) -> Array:
        """Who can have been alive in a year, at least; where no death is known, LONGEST years are a life."""
        known = np.isnan(self.lives.born_last) | np.isfinite(self.lives.died)
        young = self.lives.born_last + at_most(LONGEST + 1) >= date(year, 1, 1).toordinal()
        year_of_it = date(year, 1, 1).toordinal(), date(year, 12, 31).toordinal()
        return np.asarray(self.lives.possible(*year_of_it) & (known | young))

    def steps_from(self, people: Iterable[int], day: float = inf) -> Array:
        """How many steps of kinship (parent, child, brother or sister, partner) everybody is away from the nearest of
        these (row ids): 0 for themselves, NEAREST + 1 for whoever is farther. Nobody is near by a marriage that came
        after `day`."""
        steps = np.full(len(self.ids), NEAREST + 1)
        edge = np.array([self.places[id_] for id_ in people if id_ in self.places], dtype=np.int64)
        steps[edge] = 0
        for step in range(1, NEAREST + 1):
            blood, couples = entries(self.blood.indptr, edge)[0], entries(self.couples.indptr, edge)[0]
            married = couples[self.couples.data[couples] <= day]
            reached = np.union1d(self.blood.indices[blood], self.couples.indices[married])
            edge = reached[steps[reached] > NEAREST]
            steps[edge] = step
        return steps


_KEPT: WeakKeyDictionary[Engine, PeopleIndex] = WeakKeyDictionary()


def kept_people(connection: Connection) -> PeopleIndex:
    """The people as they are now, kept in memory until something about people changes."""
    known, stamp = _KEPT.get(connection.engine), last_change(connection, _TABLES)
    if known is None or known.stamp != stamp:
        known = _KEPT[connection.engine] = _read(connection, kept_names(connection), stamp)
    return known


def _read(connection: Connection, called: NameIndex, stamp: int) -> PeopleIndex:
    p = t.person.c
    everybody = connection.execute(select(p.id, p.gone, p.code)).all()
    places = {id_: place for place, id_ in enumerate(called.ids.tolist())}
    all_places = {name: places[who] for name, who in called.identity.names(places).items()}
    gone = {id_ for id_, is_gone, _ in everybody if is_gone}
    lifetimes = _lifetimes(connection, all_places, called.identity, len(places))
    return PeopleIndex(
        stamp,
        called,
        all_places,
        {code.casefold(): all_places[id_] for id_, _, code in everybody if id_ in all_places},
        lifetimes,
        np.array([id_ in gone for id_ in called.ids.tolist()], dtype=bool),
        _blood(connection, all_places, len(places)),
        _couples(connection, all_places, lifetimes),
    )


def _lifetimes(connection: Connection, places: dict[int, int], identity: Identity, count: int) -> Lifetimes:
    """The preferred date of a birth or death itself counts, before that of its rite, and before what was recorded while
    it was unknown who somebody is."""
    e = t.event.c
    lives = Lifetimes(np.full(count, nan), np.full(count, nan), np.full(count, -inf), np.full(count, inf))
    rows = connection.execute(
        select(e.tag, e.person_id, e.first, e.last, e.centre, e.spread)
        .where(e.tag.in_((*_BEGINS, *_ENDS)), e.withdrawn == 0)
        .order_by(e.tag.in_(("BIRT", "DEAT")), e.position.desc())
    )
    for tag, person_id, first, last, centre, spread in sorted(
        rows, key=lambda row: not identity.is_another(row.person_id)
    ):
        place = places.get(person_id)
        if place is None or (first is None and last is None):
            continue
        if tag in _ENDS:
            lives.died[place] = inf if last is None else last
        else:
            lives.not_before[place] = -inf if first is None or tag != "BIRT" else first
            lives.born[place], lives.born_last[place] = _birth(tag, first, last, centre, spread)
    return lives


def _birth(
    tag: str, first: int | None, last: int | None, centre: float | None, spread: float | None
) -> tuple[float, float]:
    """Between which days a birth is looked for."""
    if tag != "BIRT":
        end = first + _OPEN if last is None and first is not None else last or 0
        return end - _BEFORE_RITE, end
    if centre is not None and spread is not None:
        return centre - _EVEN * spread, centre + _EVEN * spread
    return (last or 0) - _OPEN if first is None else first, (first or 0) + _OPEN if last is None else last


def _blood(connection: Connection, places: dict[int, int], count: int) -> csr_matrix:
    """Parents and children, brothers and sisters (who have a parent in common)."""
    k = t.parent_link.c
    links = connection.execute(select(k.child_id, k.parent_id).where(k.withdrawn == 0)).all()
    found = [(places[one], places[other]) for one, other in links if one in places and other in places]
    rows, columns = zip(*found, strict=True) if found else ((), ())
    parents = csr_matrix((np.ones(len(found), dtype=np.int32), (rows, columns)), shape=(count, count))
    return csr_matrix(((parents + parents.T + parents @ parents.T) > 0).astype(np.int32))


def _couples(connection: Connection, places: dict[int, int], lives: Lifetimes) -> csr_matrix:
    """Partners, with the first day of their marriage, or else the day on which both were old enough."""
    one, other, e = t.partner.alias(), t.partner.alias(), t.event.c
    dated = select(e.family_id, e.first).where(e.tag == "MARR", e.withdrawn == 0, e.first.is_not(None))
    married = {row.family_id: row.first for row in connection.execute(dated.order_by(e.position.desc()))}
    pairs = connection.execute(
        select(one.c.family_id, one.c.person_id, other.c.person_id)
        .join(other, (one.c.family_id == other.c.family_id) & (one.c.person_id != other.c.person_id))
        .join(t.family, t.family.c.id == one.c.family_id)
        .where(t.family.c.withdrawn == 0)
    )
    since: dict[tuple[int, int], float] = {}
    for family, person, partner in pairs:
        if person in places and partner in places:
            pair = places[person], places[partner]
            day = married.get(family, float(np.max(lives.not_before[list(pair)])) + _MARRIED_AT)
            since[pair] = min(day, since.get(pair, inf))
    rows, columns = zip(*since, strict=True) if since else ((), ())
    count = len(lives.born)
    return csr_matrix((np.array(list(since.values()), dtype=np.float64), (rows, columns)), shape=(count, count))
