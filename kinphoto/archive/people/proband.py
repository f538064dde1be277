"""The person from whose point of view relationships are given: "your great-grandmother" is the proband's.

Kept through the journal like everything else, so that `undo` after a slip undoes the slip and nothing before it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.codes import row_of, with_id
from kinphoto.archive.catalogue.finding_people import find_person
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.person_cards import Named
from kinphoto.documents import INTERNAL
from kinphoto.store import tables as t
from kinphoto.store.session import Work


@dataclass(frozen=True, slots=True)
class Proband:
    """From whose point of view relationships are given; `id` is None for nobody's. `gone`: they are not in the newest
    import of the tree."""

    id: Annotated[str | None, INTERNAL]
    name: Annotated[str, INTERNAL]
    outside: Annotated[bool, INTERNAL] = False
    gone: Annotated[bool, INTERNAL] = False
    changed: Annotated[bool, "true when this command changed it"] = False
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"] = None

    @property
    def person(self) -> Annotated[Named | None, "from whose point of view relationships are given; null for nobody's"]:
        """The person, if there is one."""
        return None if self.id is None else Named(self.id, self.name)


def proband_id(connection: Connection) -> int | None:
    """The row id of the proband; of one who turned out to be somebody else, that person's."""
    id_ = connection.scalar(select(t.proband.c.person_id))
    return None if id_ is None else read_identity(connection).of(id_)


def proband(connection: Connection) -> Proband:
    """From whose point of view relationships are given."""
    id_ = proband_id(connection)
    if id_ is None:
        return Proband(None, "")
    row = row_of(connection, t.person, id_)
    return Proband(row["code"], row["name"], bool(row["outside"]), bool(row["gone"]))


def choose(work: Work, person: str | None) -> Proband:
    """Give relationships from this person's point of view, or (None) from nobody's. Raises NotFoundError,
    AmbiguousError."""
    if person is None:
        work.delete(t.proband, work.connection.scalars(select(t.proband.c.id)).all())
        work.what = "relationships are no longer shown"
        return Proband(None, "", changed=work.id is not None, change=work.id)
    who = find_person(work.connection, person)
    before = work.connection.execute(select(t.proband)).mappings().first()
    if before is None:
        work.insert_one(t.proband, person_id=who["id"])
    elif before["person_id"] != who["id"]:
        work.update(t.proband, [before["id"]], person_id=who["id"])
    work.what = f"relationships are now given from the point of view of {with_id(who)}"
    return replace(proband(work.connection), changed=work.id is not None, change=work.id)
