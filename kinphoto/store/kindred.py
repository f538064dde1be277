"""Ancestors and descendants, by one recursive query each.

`UNION` keeps each pair of person and generation once, and the depth is bounded, so a loop in the data (somebody
recorded as their own great-grandparent) cannot make the search run for ever.
"""

from __future__ import annotations

from sqlalchemy import Connection, Integer, cast, func, literal, select

from kinphoto.store import tables as t

MOST_GENERATIONS = 120
"""More than any recorded descent has; only a loop in the data reaches it."""


def ancestors(connection: Connection, person_id: int) -> dict[int, int]:
    """Ids of a person's ancestors with the fewest generations between: 1 for parents, 2 for grandparents.

    Links by birth and by adoption count alike, withdrawn ones do not. The person is left out, even where a loop leads
    back to them.
    """
    return _walk(connection, person_id, t.parent_link.c.child_id, t.parent_link.c.parent_id)


def descendants(connection: Connection, person_id: int) -> dict[int, int]:
    """Ids of a person's descendants with the fewest generations between: 1 for children. As `ancestors`."""
    return _walk(connection, person_id, t.parent_link.c.parent_id, t.parent_link.c.child_id)


def _walk(connection: Connection, person_id: int, here: object, there: object) -> dict[int, int]:
    """Follow links from the column `here` to the column `there`, one generation a step."""
    start = select(literal(person_id, Integer).label("id"), cast(literal(0), Integer).label("generation"))
    line = start.cte("line", recursive=True)
    step = select(there, line.c.generation + 1).where(  # type: ignore[call-overload]
        here == line.c.id, line.c.generation < MOST_GENERATIONS, t.parent_link.c.withdrawn == 0
    )
    line = line.union(step)
    rows = connection.execute(select(line.c.id, func.min(line.c.generation)).group_by(line.c.id))
    return {id_: generation for id_, generation in rows if id_ != person_id}
