"""What everybody is called, held in memory: who has which word in a name is answered about fifty thousand people in a
millisecond or two, where looking through the tables takes thirty.

It is read again only when something about people has changed, never because a photograph was named.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

import numpy as np
from sqlalchemy import Connection, Engine, Select, func, select

from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.archive.catalogue.name_search import Names
from kinphoto.reason.model.arrays import Array
from kinphoto.store import tables as t

if TYPE_CHECKING:
    from kinphoto.archive.catalogue.privacy import Public

_TABLES = ("person", "name", "family", "partner")


@dataclass(frozen=True, slots=True)
class NameIndex:
    """The people who are themselves (nobody twice), in the order of their names; everything here is in that order.

    `ids` are their row ids. `names` are all names of a person folded, each with the name as it is written ("" for the
    one they go by); `lines` the same as words, each after a space. `text` are all lines as one, which begin at
    `starts`. `identity` has who turned out to be one of them. `public` is None where everybody is
    among them, else only the people that it holds are.
    """

    stamp: int
    ids: Array
    names: list[tuple[tuple[str, str], ...]]
    lines: list[str]
    text: str
    starts: Array
    identity: Identity
    public: Public | None = None

    def having(self, word: str, *, whole: bool = False) -> Array:
        """Whether each has the word in a name, anywhere or as a `whole` word of it."""
        found = np.zeros(len(self.ids), dtype=bool)
        pattern = rf"\b{re.escape(word)}\b" if whole else re.escape(word)
        at = [match.start() for match in re.finditer(pattern, self.text)]
        found[np.searchsorted(self.starts, at, side="right") - 1] = True
        return found


_KEPT: WeakKeyDictionary[Engine, dict[bool, NameIndex]] = WeakKeyDictionary()
"""For each open archive: what everybody is called, and those who may be named to anybody."""


def kept_names(connection: Connection, public: Public | None = None) -> NameIndex:
    """What everybody, or everybody in `public`, is called now; kept in memory until something about that changes."""
    kept, stamp = _KEPT.setdefault(connection.engine, {}), last_change(connection, _TABLES)
    known = kept.get(public is None)
    if known is None or known.stamp != stamp or _people(known.public) != _people(public):
        known = kept[public is None] = _read(connection, stamp, public)
    return known


def _people(public: Public | None) -> frozenset[int] | None:
    return None if public is None else public.people


def last_change(connection: Connection, tables: tuple[str, ...]) -> int:
    """The number of the newest row of the change log about these tables; 0 when there is none."""
    return connection.scalar(_last_change(tables)) or 0


@cache
def _last_change(tables: tuple[str, ...]) -> Select[tuple[int | None]]:
    """The question, put together once: every look at a name begins with it."""
    r = t.change_row.c
    return select(func.max(r.id)).where(r.table_name.in_(tables))


def _read(connection: Connection, stamp: int, public: Public | None) -> NameIndex:
    identity = read_identity(connection)
    called: dict[int, list[tuple[str, str]]] = defaultdict(list)
    for id_, as_, folded in Names(connection, identity, public).everything():
        called[id_].append((as_, folded))
    people = _people(public)
    everybody = (
        id_ for id_ in connection.scalars(select(t.person.c.id))
        if not identity.is_another(id_) and (people is None or id_ in people)
    )  # fmt: skip
    ids = sorted(everybody, key=lambda id_: (called[id_][0][1] if called[id_] else "", id_))
    names = [tuple(called[id_]) for id_ in ids]
    lines = [" " + " ".join(folded for _, folded in mine) for mine in names]
    starts = np.cumsum([0, *(len(line) + 1 for line in lines[:-1])])
    return NameIndex(stamp, np.array(ids, dtype=np.int64), names, lines, "\n".join(lines), starts, identity, public)
