"""Rivals: several people named on one face. One of the names is right, and none counts by itself.

Who turned out to be somebody else is that one here, so two names of one person are no rivals.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.identity import Identity
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.store import tables as t


def with_rivals(names: Iterable[tuple[int | None, int | None]]) -> set[int]:
    """The faces on which different people are named, by the face and the person of every name that is not a denial."""
    on_face: dict[int, set[int]] = defaultdict(set)
    for region, person in names:
        if region is not None and person is not None:
            on_face[region].add(person)
    return {region for region, people in on_face.items() if len(people) > 1}


def read_with_rivals(connection: Connection, regions: Collection[int], identity: Identity) -> set[int]:
    """Those of these faces on which different people are named."""
    a = t.appearance.c
    query = select(a.region_id, a.person_id).where(a.withdrawn == 0, a.denied == 0, a.person_id.is_not(None))
    return with_rivals((region, identity.of(who)) for region, who in rows_of(connection, query, a.region_id, regions))
