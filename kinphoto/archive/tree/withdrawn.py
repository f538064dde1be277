"""Facts of the tree that somebody withdrew stay withdrawn through an import, as long as the tree says the same.

Where the file has a different date, parentage or couple instead, that is used, and the import says so: the tree may
have been corrected for this very reason.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, RowMapping, Table, select

from kinphoto.archive.statements.withdrawing import couple, in_short
from kinphoto.archive.tree.rows import names_of
from kinphoto.gedcom.records import Warnings
from kinphoto.store import tables as t
from kinphoto.store.session import Work

_DATE = ("first", "last", "shape", "centre", "spread", "doubtful")
_OWNER = ("person_id", "family_id", "tag")


class StayWithdrawn:
    """What was withdrawn before an import; `reapply` marks it again in the rows after it."""

    def __init__(self, work: Work) -> None:
        self._work = work
        connection = work.connection
        self._events = _withdrawn(connection, t.event)
        self._links = _withdrawn(connection, t.parent_link)
        self._couples = {f["id"]: _partners(connection, f["id"]) for f in _withdrawn(connection, t.family)}

    def reapply(self, warnings: Warnings) -> None:
        """Mark again what the tree still says, and warn of what it says differently now."""
        self._reapply_events(warnings)
        self._reapply_links(warnings)
        self._reapply_couples(warnings)

    def _reapply_events(self, warnings: Warnings) -> None:
        """By the date itself, since its position among several of its kind may have changed."""
        dates: dict[tuple[Any, ...], set[tuple[Any, ...]]] = {}
        for row in self._events:
            dates.setdefault(_of(row, _OWNER), set()).add(_date(row))
        for owner, gone in dates.items():
            now = self._events_of(owner)
            same = {row["id"] for row in now if _date(row) in gone}
            self._mark(t.event, now, same)
            instead = next((row for row in now if row["id"] not in same and row["withdrawn"]), None)
            if instead is not None and len({_date(row) for row in now if row["id"] in same}) < len(gone):
                warnings(
                    instead["line"] or 0,
                    f"{in_short(self._work.connection, t.event, instead)}: the tree has this now instead of a date "
                    "that was withdrawn, so it is used. If you do not believe it either: "
                    f"kinphoto withdraw E{instead['id']}",
                )

    def _reapply_links(self, warnings: Warnings) -> None:
        """By child and parent, since the child may be in a different family of that parent now."""
        c = t.parent_link.c
        for child, parent in dict.fromkeys((row["child_id"], row["parent_id"]) for row in self._links):
            kinds = {row["pedigree"] for row in self._links if (row["child_id"], row["parent_id"]) == (child, parent)}
            now = _rows(self._work.connection, t.parent_link, c.child_id == child, c.parent_id == parent)
            same = {row["id"] for row in now if row["pedigree"] in kinds}
            self._mark(t.parent_link, now, same)
            if now and not same:
                names = names_of(self._work.connection, (child, parent))
                warnings(
                    0,
                    f"that {names[parent]} is a parent of {names[child]} was withdrawn, but the tree now has "
                    "a different kind of link, so it is used. If you do not believe it either: "
                    f"kinphoto withdraw L{now[0]['id']}",
                )

    def _reapply_couples(self, warnings: Warnings) -> None:
        for family_id, before in self._couples.items():
            if not _rows(self._work.connection, t.family, t.family.c.id == family_id):
                continue
            if _partners(self._work.connection, family_id) != before:
                self._work.update(t.family, [family_id], withdrawn=0)
                warnings(
                    0,
                    f"the tree now has a different couple where a marriage was withdrawn: "
                    f"{couple(self._work.connection, family_id)}; so it is used. If you do not believe it either: "
                    f"kinphoto withdraw M{family_id}",
                )

    def _events_of(self, owner: tuple[Any, ...]) -> list[RowMapping]:
        return _rows(self._work.connection, t.event, *(t.event.c[key] == owner[at] for at, key in enumerate(_OWNER)))

    def _mark(self, table: Table, rows: list[RowMapping], withdrawn: set[int]) -> None:
        """Make these rows the withdrawn ones among `rows`."""
        wrong = [row["id"] for row in rows if bool(row["withdrawn"]) != (row["id"] in withdrawn)]
        self._work.rewrite(table, [{"id": id_, "withdrawn": int(id_ in withdrawn)} for id_ in wrong])


def _withdrawn(connection: Connection, table: Table) -> list[RowMapping]:
    return _rows(connection, table, table.c.withdrawn == 1)


def _rows(connection: Connection, table: Table, *where: Any) -> list[RowMapping]:
    return list(connection.execute(select(table).where(*where).order_by(table.c.id)).mappings())


def _of(row: RowMapping, columns: tuple[str, ...]) -> tuple[Any, ...]:
    return tuple(row[column] for column in columns)


def _date(row: RowMapping) -> tuple[Any, ...]:
    """The days of a date; its words where it has none."""
    return _of(row, _DATE) if _of(row, _DATE[:2]) != (None, None) else (row["date_text"],)


def _partners(connection: Connection, family_id: int) -> frozenset[int]:
    r = t.partner.c
    return frozenset(connection.scalars(select(r.person_id).where(r.family_id == family_id)))
