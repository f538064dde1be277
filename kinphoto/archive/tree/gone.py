"""People and families who are no longer in the file, and codes that belong to somebody else there.

Nobody with a picture is lost: they stay, marked as gone. And whatever refers to somebody by their code (the event shown
in a photograph) continues to mean the same person.
"""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import Table, select

from kinphoto.archive.catalogue.recorded_dates import naming_events
from kinphoto.archive.people.people import take_over
from kinphoto.archive.tree import former_ids
from kinphoto.archive.tree import rows as tree_rows
from kinphoto.archive.tree.doubts import BACK, GONE_ID, MatchDoubt
from kinphoto.archive.tree.plan import Plan
from kinphoto.archive.tree.report import Merged
from kinphoto.errors import InvalidValueError
from kinphoto.gedcom.records import first_free
from kinphoto.store import tables as t
from kinphoto.store.session import Work


class EventsShown:
    """Statements that a photograph shows an event of the tree (`F3:MARR`, `I12:GRAD`) or is dated by it, by whose event
    it is."""

    def __init__(self, work: Work) -> None:
        self._work = work
        c = t.statement.c
        self._values = {
            row.id: row.value for row in work.connection.execute(select(c.id, c.value).where(naming_events(c)))
        }
        self.families = self._owners(t.family)
        self.people = self._owners(t.person)

    def update_codes(self) -> None:
        """Write the present codes of their people and families."""
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
        rows = {code: id_ for id_, code in former_ids.ids_of(self._work.connection, table).items()}
        named = {statement: value.partition(":")[0] for statement, value in self._values.items()}
        return {statement: rows[code] for statement, code in named.items() if code in rows}

    def _codes(self, table: Table, owners: dict[int, int]) -> dict[int, str]:
        codes = former_ids.ids_of(self._work.connection, table) if owners else {}
        return {statement: codes[owner] for statement, owner in owners.items()}


def people_in_use(work: Work, shown: EventsShown) -> set[int]:
    """People whom something else refers to: a picture, a story, an informant, a consent, the same person outside the
    tree, the choice of whose relationships are shown, a photograph of one of their events."""
    columns = (
        t.appearance.c.person_id, t.informant.c.person_id, t.consent.c.person_id, t.person.c.same_as_id,
        t.proband.c.person_id, t.story_about.c.person_id,
    )  # fmt: skip
    named = {id_ for column in columns for id_ in work.connection.scalars(select(column).distinct()) if id_}
    return named | set(shown.people.values())


def remove_gone(work: Work, plan: Plan, linked: set[int], shown: EventsShown) -> frozenset[int]:
    """Remove or mark who is no longer in the file, free codes that now belong to somebody else, and return the people
    who stay: those who are `linked`."""
    people = frozenset(plan.gone) & linked
    families = frozenset(plan.gone_families) & set(shown.families.values())
    _remove_families(work, sorted(set(plan.gone_families) - families))
    _remove_people(work, sorted(set(plan.gone) - people))
    _mark(work, t.person, people)
    _mark(work, t.family, families)
    _free_codes(work, t.person, plan.people, plan.codes)
    _free_codes(work, t.family, plan.families, plan.family_codes)
    return people


def merge_people(work: Work, plan: Plan) -> tuple[tuple[Merged, ...], list[MatchDoubt]]:
    """Move the pictures of people merged into somebody else to that person; make those who came back separate again.
    What cannot be merged is a doubt."""
    merged: list[Merged] = []
    doubts = [MatchDoubt(who, BACK, (code,)) for who, code in _separate_returned(work, plan)]
    for gone, into in plan.merged.items():
        try:
            moved = take_over(work, gone, into)
        except InvalidValueError as problem:
            doubts.append(MatchDoubt(gone, f"the same person as somebody in the file, but {problem.what}"))
        else:
            merged.append(Merged(*_called(work, gone), *_called(work, into), moved))
    return tuple(merged), doubts


def _separate_returned(work: Work, plan: Plan) -> list[tuple[int, str]]:
    """People of the tree who were merged into somebody else (code) and are in the file again."""
    p, other = t.person.c, t.person.alias()
    query = select(p.id, other.c.code).join(other, other.c.id == p.same_as_id).where(p.outside == 0, p.gone == 0)
    there = set(plan.people.values())
    back = [(row.id, row.code) for row in work.connection.execute(query) if row.id in there]
    work.update(t.person, [id_ for id_, _ in back], same_as_id=None)
    return back


def _called(work: Work, id_: int) -> tuple[str, str]:
    row = work.connection.execute(select(t.person.c.code, t.person.c.name).where(t.person.c.id == id_)).one()
    return row.code, row.name


def _remove_families(work: Work, ids: list[int]) -> None:
    for table in (t.partner, t.parent_link, t.event, t.former_id):
        tree_rows.remove(work, table, "family_id", ids)
    tree_rows.remove(work, t.family, "id", ids)


def _remove_people(work: Work, ids: list[int]) -> None:
    former_ids.pass_on(work, ids)
    for table, column in (
        (t.partner, "person_id"), (t.parent_link, "child_id"), (t.parent_link, "parent_id"), (t.event, "person_id"),
        (t.name, "person_id"), (t.person, "id"),
    ):  # fmt: skip
        tree_rows.remove(work, table, column, ids)


def _mark(work: Work, table: Table, ids: Iterable[int]) -> None:
    here = set(work.connection.scalars(select(table.c.id).where(table.c.gone == 0)))
    for batch in tree_rows.in_batches(sorted(here.intersection(ids))):
        work.update(table, batch, gone=1)


def _free_codes(work: Work, table: Table, matched: dict[str, int], codes: frozenset[str]) -> None:
    """Codes are unique. Whoever has one that the file gives to somebody else gets another before that is written: for
    good when they are gone, otherwise until their own record is written."""
    rows = work.connection.execute(select(table.c.id, table.c.code)).all()
    used = {*codes, *(row.code for row in rows)}
    turn_comes = set(matched.values())
    moved = []
    for row in rows:
        if row.code in codes and matched.get(row.code) != row.id:
            code = f"~{row.id}" if row.id in turn_comes else first_free(f"{row.code}{GONE_ID}", used)
            used.add(code)
            moved.append({"id": row.id, "code": code})
    for batch in tree_rows.in_batches(moved):
        work.rewrite(table, batch)
