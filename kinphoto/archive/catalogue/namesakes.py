"""What sets people of one name apart wherever they are named: the years of their lives, or else their ids."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import lives
from kinphoto.archive.words.dates import life_years
from kinphoto.store import tables as t
from kinphoto.store.among import among


def named_apart(connection: Connection, people: Collection[str]) -> dict[str, str]:
    """For those of these people (codes) who share their name with somebody else: "Lambert Quillern (1861 to 1938)".

    Whoever has no years of their own, or the same as a namesake, has the id as well: "Ada Marsh (I12)". Somebody
    outside the tree who turned out to be one of them does not count as a namesake.
    """
    p, identity = t.person.c, read_identity(connection)
    known = connection.execute(select(p.code, p.name).where(among(connection, p.code, people)))
    wanted = {row.code: row.name for row in known}
    names = set(wanted.values()) - {""}
    named = connection.execute(select(p.id, p.code, p.name).where(among(connection, p.name, names)))
    of_name = defaultdict(list)
    for row in named:
        if not identity.is_another(row.id):
            of_name[row.name].append(row)
    shared = [row for same in of_name.values() if len(same) > 1 for row in same]
    lived = lives(connection, {row.id for row in shared}, identity)
    years = {row.code: life_years(lived[row.id].begin, lived[row.id].end) for row in shared}
    alike = Counter((row.name, years[row.code]) for row in shared)
    found = {}
    for row in shared:
        if row.code in wanted:
            is_enough = years[row.code] and alike[row.name, years[row.code]] == 1
            apart = years[row.code] if is_enough else ", ".join(filter(None, (years[row.code], row.code)))
            found[row.code] = f"{row.name} ({apart})"
    return found
