"""Who somebody is in the end: a person outside the tree may have turned out to be somebody in it.

The rows that name such a person stay as they were said, so everybody who reads them asks here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from sqlalchemy import Connection, select

from kinphoto.store import tables as t


class Identity:
    """Who people are in the end, by row ids."""

    def __init__(self, turned_out: Mapping[int, int]) -> None:
        self._end: dict[int, int] = {}
        self._also: dict[int, list[int]] = defaultdict(list)
        for id_, who in turned_out.items():
            seen = {id_}
            while who in turned_out and who not in seen:
                seen.add(who)
                who = turned_out[who]
            self._end[id_] = who
            self._also[who].append(id_)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Identity) and self._end == other._end

    def __hash__(self) -> int:
        return hash(frozenset(self._end.items()))

    def of(self, person_id: int) -> int:
        """Who somebody is: themselves, or whom they turned out to be (None for None)."""
        return self._end.get(person_id, person_id)

    def is_another(self, person_id: int) -> bool:
        """Whether somebody turned out to be somebody else."""
        return person_id in self._end

    def names(self, people: Iterable[int]) -> dict[int, int]:
        """Everybody who is one of these people, these themselves among them; and which one."""
        return {name: one for one in people for name in (one, *self._also.get(one, ()))}


def read_identity(connection: Connection) -> Identity:
    """Who people are in the end, as the archive has it now."""
    return Identity(dict(connection.execute(_TURNED_OUT).all()))


_TURNED_OUT = select(t.person.c.id, t.person.c.same_as_id).where(t.person.c.same_as_id.is_not(None))
