"""Which stories are about which photographs and people, by row ids."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.store import tables as t


def stories_about(connection: Connection, *, photograph: int | None = None, person: int | None = None) -> list[int]:
    """The stories (row ids) about a photograph, or about a person under whatever id they are known."""
    b = t.story_about.c
    if photograph is not None:
        where = b.photograph_id == photograph
    else:
        where = b.person_id.in_(read_identity(connection).names([person or 0]))
    return list(connection.scalars(select(b.story_id).where(where).distinct().order_by(b.story_id)))


def about_of(connection: Connection, ids: Collection[int]) -> tuple[dict[int, list[int]], dict[int, list[int]]]:
    """For each story the photographs, and the people, that it is about (row ids), each once."""
    b = t.story_about.c
    photographs: dict[int, list[int]] = defaultdict(list)
    people: dict[int, list[int]] = defaultdict(list)
    identity = read_identity(connection)
    for row in rows_of(connection, select(t.story_about).order_by(b.id), b.story_id, ids):
        if row.photograph_id is not None and row.photograph_id not in photographs[row.story_id]:
            photographs[row.story_id].append(row.photograph_id)
        if row.person_id is not None and (who := identity.of(row.person_id)) not in people[row.story_id]:
            people[row.story_id].append(who)
    return photographs, people
