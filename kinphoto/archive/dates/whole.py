"""An archive of a family's size, looked at as a whole and held in memory until something is changed.

In one family nearly everything hangs together: births that are known vaguely, weddings and orders tie most photographs
to most others, so that no part of them dates itself. Where there are few enough, dating all of them is the quickest way
to date one of them rightly. `neighbourhood` and `one_photograph` are for archives where that would take too long.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from sqlalchemy import Connection, func, select

from kinphoto.archive.catalogue.freshness import Stamp, stamp
from kinphoto.archive.dates.evidence import gather
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import BirthEstimate
from kinphoto.store import tables as t

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.reason.dating import Inference

AT_ONCE = 500
"""Photographs up to which somebody can wait until everything is dated: half a second."""
HELD = 2000
"""Photographs up to which everything is dated in this process, and held: two or three seconds."""


@dataclass(frozen=True)
class Whole:
    """Everything as it was at `made`, and what is concluded of it."""

    made: Stamp
    evidence: ev.Evidence
    look: Inference

    @cached_property
    def births(self) -> dict[str, BirthEstimate]:
        """What is concluded of births, by person."""
        return {birth.person: birth for birth in self.look.beliefs.neighbours.birth_estimates()}


def is_small(connection: Connection) -> bool:
    """Whether somebody can wait until everything in the archive is dated."""
    return _has_at_most(connection, AT_ONCE)


def held(archive: Archive) -> Whole | None:
    """What is concluded of everything as it is now; None where that is not held and would take too long."""
    return _whole(archive, AT_ONCE)


def worked_out(archive: Archive) -> Whole | None:
    """The same, however long it takes; None where it is too much to hold."""
    return _whole(archive, HELD)


@contextmanager
def reading_whole(archive: Archive) -> Iterator[tuple[Connection, Whole | None]]:
    """A view of the rows, and what is concluded of them as `held` has it."""
    for _ in range(3):  # somebody may save something between the two
        found = held(archive)
        with archive.reading() as connection:
            if found is None or found.made == stamp(connection):
                yield connection, found
                return
    with archive.reading() as connection:
        yield connection, None


def _whole(archive: Archive, most: int) -> Whole | None:
    with archive.reading() as connection:
        if (found := _current(archive, connection)) or not _has_at_most(connection, most):
            return found
    with archive.looking, archive.reading() as connection:
        if found := _current(archive, connection):  # another has worked it out meanwhile
            return found
        made, evidence = stamp(connection), gather(connection)
        from kinphoto.reason.dating import Inference

        archive.whole = Whole(made, evidence, Inference(evidence))
        return archive.whole


def _current(archive: Archive, connection: Connection) -> Whole | None:
    found = archive.whole
    return found if found is not None and found.made == stamp(connection) else None


def _has_at_most(connection: Connection, most: int) -> bool:
    some = select(t.photograph.c.id).limit(most + 1).subquery()
    return (connection.scalar(select(func.count()).select_from(some)) or 0) <= most
