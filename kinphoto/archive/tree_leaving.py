"""People and families who are in the newer file no longer, and codes that mean somebody else there.

Nobody with a picture is lost: they stay, marked as gone. And whatever names somebody by their code (the event that a
photograph is said to show) goes on to mean the same person.
"""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import Table, select

from kinphoto.archive import tree_rows
from kinphoto.archive.tree_plan import Plan, free
from kinphoto.store import tables as t
from kinphoto.store.session import Work


class EventsShown:
    """Statements that a photograph shows an event of the tree (`F3:MARR`, `I12:GRAD`), by whose event it is."""

    def __init__(self, work: Work) -> None:
        self._work = work
        c = t.statement.c
        self._values = {
            row.id: row.value for row in work.connection.execute(select(c.id, c.value).where(c.kind == "event"))
        }
        self.families = self._owners(t.family)
        self.people = self._owners(t.person)

    def follow(self) -> None:
        """Write the codes that their people and families go by now."""
        codes = {**self._codes(t.person, self.people), **self._codes(t.family, self.families)}
        changed = []
        for statement, code in codes.items():
            before, colon, event = self._values[statement].partition(":")
            if before != code:
                changed.append({"id": statement, "value": f"{code}{colon}{event}"})
        self._work.rewrite(t.statement, changed)

    def _owners(self, table: Table) -> dict[int, int]:
        """Statement to row of a table."""
        if not self._values:
            return {}
        rows = {row.code: row.id for row in self._work.connection.execute(select(table.c.id, table.c.code))}
        named = {statement: value.partition(":")[0] for statement, value in self._values.items()}
        return {statement: rows[code] for statement, code in named.items() if code in rows}

    def _codes(self, table: Table, owners: dict[int, int]) -> dict[int, str]:
        if not owners:
            return {}
        codes = {row.id: row.code for row in self._work.connection.execute(select(table.c.id, table.c.code))}
        return {statement: codes[owner] for statement, owner in owners.items()}


def leave(work: Work, plan: Plan, shown: EventsShown) -> frozenset[int]:
    """Remove or mark who is in the file no longer, make way for codes that now mean somebody else, and return which
    people stay."""
    people = frozenset(plan.gone) & (_rested_on(work) | set(shown.people.values()))
    families = frozenset(plan.gone_families) & set(shown.families.values())
    _remove_families(work, sorted(set(plan.gone_families) - families))
    _remove_people(work, sorted(set(plan.gone) - people))
    _mark(work, t.person, people)
    _mark(work, t.family, families)
    _make_way(work, t.person, plan.people, plan.codes)
    _make_way(work, t.family, plan.families, plan.family_codes)
    return people


def _rested_on(work: Work) -> set[int]:
    """People whom something else names: a picture, an informant, somebody outside the tree who is the same, the one
    from whom kinship is told."""
    columns = (t.appearance.c.person_id, t.informant.c.person_id, t.person.c.same_as_id, t.proband.c.person_id)
    return {id_ for column in columns for id_ in work.connection.scalars(select(column).distinct()) if id_}


def _remove_families(work: Work, ids: list[int]) -> None:
    for table in (t.partner, t.parent_link, t.event):
        tree_rows.remove(work, table, "family_id", ids)
    tree_rows.remove(work, t.family, "id", ids)


def _remove_people(work: Work, ids: list[int]) -> None:
    for table, column in (
        (t.partner, "person_id"), (t.parent_link, "child_id"), (t.parent_link, "parent_id"), (t.event, "person_id"),
        (t.name, "person_id"), (t.person, "id"),
    ):  # fmt: skip
        tree_rows.remove(work, table, column, ids)


def _mark(work: Work, table: Table, ids: Iterable[int]) -> None:
    here = set(work.connection.scalars(select(table.c.id).where(table.c.gone == 0)))
    for batch in tree_rows.in_batches(sorted(here.intersection(ids))):
        work.update(table, batch, gone=1)


def _make_way(work: Work, table: Table, matched: dict[str, int], codes: frozenset[str]) -> None:
    """Codes are unique. Whoever has one that the file gives to somebody else takes another before that is written: for
    good when they are gone, until their own turn comes otherwise."""
    rows = work.connection.execute(select(table.c.id, table.c.code)).all()
    used = {*codes, *(row.code for row in rows)}
    turn_comes = set(matched.values())
    moved = []
    for row in rows:
        if row.code in codes and matched.get(row.code) != row.id:
            code = f"~{row.id}" if row.id in turn_comes else free(f"{row.code}-gone", used)
            used.add(code)
            moved.append({"id": row.id, "code": code})
    for batch in tree_rows.in_batches(moved):
        work.rewrite(table, batch)
