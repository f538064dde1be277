"""Who somebody is in the end: a person outside the tree may have turned out to be somebody in it.

The rows that name such a person stay as they were said, so everybody who reads them asks here.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from sqlalchemy import Connection, select

from kinphoto.store import tables as t


def same_as(connection: Connection) -> dict[int, int]:
    """Each person who turned out to be somebody else, and who that is in the end."""
    p = t.person.c
    step: dict[int, int] = {
        row.id: row.same_as_id
        for row in connection.execute(select(p.id, p.same_as_id).where(p.same_as_id.is_not(None)))
    }
    end: dict[int, int] = {}
    for id_ in step:
        who, seen = step[id_], {id_}
        while who in step and who not in seen:
            seen.add(who)
            who = step[who]
        end[id_] = who
    return end


def with_others(people: Collection[int], others: Mapping[int, int]) -> set[int]:
    """These people and everybody who turned out to be one of them, by `others` (`same_as`)."""
    return {*people, *(other for other, who in others.items() if who in people)}
