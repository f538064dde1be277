"""Which photographs the pages may bring up by themselves: large on the first page, among the years, and when they
advance through a box with nobody pressing a key. Whoever opens a box or a photograph sees it all the same."""

from __future__ import annotations

import re
from collections.abc import Collection

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.dates.estimates import read_stories
from kinphoto.reason.model.evidence import Role
from kinphoto.store import tables as t

_PRIVATE = re.compile(r"\bprivate\b", re.IGNORECASE)


def shown_unasked(connection: Connection, ids: Collection[int]) -> set[int]:
    """Those of these photographs (row ids) that may be shown to somebody who did not ask for them.

    Nobody in them is photographed after death, they are not marked private, in their rights either, and no answer
    about them touches on who somebody's parents were."""
    p, a = t.photograph.c, t.appearance.c
    delicate = {
        code
        for story in read_stories(connection).stories
        if any(way.touches_parentage for way in story.ways)
        for code in story.photographs
    }
    after_death = select(a.photograph_id).where(a.role == Role.LAID_OUT, a.denied == 0, a.withdrawn == 0)
    kept = {row[0] for row in rows_of(connection, after_death, a.photograph_id, ids)}
    rows = rows_of(connection, select(p.id, p.code, p.rights, p.private), p.id, ids)
    return {
        id_
        for id_, code, rights, private in rows
        if id_ not in kept and code not in delicate and not private and not _PRIVATE.search(rights)
    }
