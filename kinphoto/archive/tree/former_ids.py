"""The ids of earlier files of the tree: when a program renumbers everybody, people can still be found by an old id
(`codes.formerly`)."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import Connection, Table, select

from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.tree import rows as tree_rows
from kinphoto.store import tables as t
from kinphoto.store.session import Work

Ids = dict[int, str]
"""The id in the tree by row id."""


def ids_of(connection: Connection, table: Table) -> Ids:
    """The present ids of people or families."""
    return {row.id: row.code for row in connection.execute(select(table.c.id, table.c.code))}


def remember(work: Work, table: Table, before: Ids) -> None:
    """Note the ids of `before` for everybody whose id has changed."""
    now = ids_of(work.connection, table)
    others = [(code, row_id) for row_id, code in before.items() if row_id in now and now[row_id] != code]
    _note(work, table, others)


def pass_on(work: Work, people: Iterable[int]) -> None:
    """Before people are removed: pass the ids of those who turned out to be somebody else on to that person."""
    leaving, identity = sorted(people), read_identity(work.connection)
    going = [row_id for row_id in leaving if identity.is_another(row_id)]
    if going:
        p, f = t.person.c, t.former_id.c
        own = work.connection.execute(select(p.code, p.id).where(p.id.in_(going))).all()
        former = work.connection.execute(select(f.code, f.person_id).where(f.person_id.in_(going))).all()
        _note(work, t.person, [(code, identity.of(row_id)) for code, row_id in (*own, *former)])
    tree_rows.remove(work, t.former_id, "person_id", leaving)


def _note(work: Work, table: Table, ids: list[tuple[str, int]]) -> None:
    if not ids:
        return
    owner = t.former_id.c[f"{table.name}_id"]
    rows = work.connection.execute(select(t.former_id.c.code, owner).where(owner.is_not(None)))
    known = {(code, row_id) for code, row_id in rows}
    new = [each for each in dict.fromkeys(ids) if each not in known]
    for batch in tree_rows.in_batches(new):
        work.insert_many(t.former_id, ("code", owner.name), batch)
