"""An archive of a family's size, dated as a whole and held in memory until something is changed.

In one family nearly everything is connected: vaguely known births, weddings and orders link most photographs to most
others. Where there are few enough, dating all of them is the quickest way to date one correctly. `neighbourhood` and
`one_photograph` are for archives where that would take too long.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from threading import RLock
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine, func, select

from kinphoto.archive.catalogue.freshness import Stamp, stamp
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.dates.rows import hold_rows
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import BirthEstimate
from kinphoto.reason.model.subjects import Person
from kinphoto.store import tables as t
from kinphoto.store.session import reading

if TYPE_CHECKING:
    from kinphoto.reason.dating import Inference

AT_ONCE = 500
"""Photographs up to which somebody can wait while everything is dated: half a second."""
HELD = 2000
"""Photographs up to which everything is dated in this process, and held: two or three seconds."""


@dataclass(frozen=True)
class Whole:
    """Everything as it was at `made`, dated."""

    made: Stamp
    evidence: ev.Evidence
    look: Inference

    @cached_property
    def births(self) -> dict[str, BirthEstimate]:
        """The estimated births, by person."""
        return {birth.person: birth for birth in self.look.beliefs.neighbours.birth_estimates}

    def naming(self, statements: Collection[str]) -> ev.Evidence:
        """These statements (ids), with the appearances, marriages and people that sentences about them name."""
        found = {each: self._statements[each] for each in statements if each in self._statements}
        ages = [s for s in found.values() if isinstance(s, ev.Age)]
        found |= {
            age.appearance: self._statements[age.appearance] for age in ages if age.appearance in self._statements
        }
        events = {name for s in found.values() for kind, name in s.touches() if kind == "event"}
        found |= {s.id: s for event in events for s in self._marriages.get(event, ())}
        names = {name for s in found.values() for kind, name in s.touches() if kind == "person"}
        names |= {s.person for s in found.values() if isinstance(s, ev.Appearance) and s.person is not None}
        names |= {event.partition(":")[0] for event in events}
        people = tuple(self._people[name] for name in sorted(names & self._people.keys()))
        return ev.Evidence(people, (), tuple(found.values()))

    @cached_property
    def _statements(self) -> dict[str, ev.Statement]:
        return {s.id: s for s in self.evidence.statements}

    @cached_property
    def _marriages(self) -> dict[str, list[ev.Marriage]]:
        """The marriages, by event."""
        found = defaultdict[str, list[ev.Marriage]](list)
        for s in self.evidence.statements:
            if isinstance(s, ev.Marriage):
                found[s.event].append(s)
        return found

    @cached_property
    def _people(self) -> dict[str, Person]:
        return {p.id: p for p in self.evidence.people}


_HELD: WeakKeyDictionary[Engine, Whole] = WeakKeyDictionary()
"""What was last worked out, for each archive that is open."""
_LOOKING: WeakKeyDictionary[Engine, RLock] = WeakKeyDictionary()


def looking(engine: Engine) -> RLock:
    """The lock for working out everything in an archive."""
    return _LOOKING.setdefault(engine, RLock())


def is_small(connection: Connection) -> bool:
    """Whether somebody can wait while everything in the archive is dated."""
    return _has_at_most(connection, AT_ONCE)


def held(engine: Engine) -> Whole | None:
    """Everything as it is now, dated; None where that is not held and would take too long."""
    return _whole(engine, AT_ONCE)


def worked_out(engine: Engine) -> Whole | None:
    """The same, taking some seconds if necessary; None where it is too much to hold."""
    return _whole(engine, HELD)


@contextmanager
def reading_whole(engine: Engine) -> Iterator[tuple[Connection, Whole | None]]:
    """A view of the rows, and what `held` has for them."""
    for _ in range(3):  # somebody may save something between the two
        found = held(engine)
        with reading(engine) as connection:
            if found is None or found.made == stamp(connection):
                yield connection, found
                return
    with reading(engine) as connection:
        yield connection, None


def _whole(engine: Engine, most: int) -> Whole | None:
    with reading(engine) as connection:
        if (found := _current(connection)) or not _has_at_most(connection, most):
            return found
    with looking(engine), reading(engine) as connection:
        if found := _current(connection):  # somebody else has worked it out meanwhile
            return found
        hold_rows(connection)
        made, evidence = stamp(connection), gather(connection)
        _HELD[engine] = found = Whole(made, evidence, _dated(evidence, _HELD.get(engine)))
        return found


def _dated(evidence: ev.Evidence, before: Whole | None) -> Inference:
    """The evidence, dated: as before where the change was of something that bears on no date."""
    if before is not None and before.evidence == evidence:
        return before.look
    from kinphoto.reason.dating import Inference

    return Inference(evidence, lasting=True)


def _current(connection: Connection) -> Whole | None:
    found = _HELD.get(connection.engine)
    return found if found is not None and found.made == stamp(connection) else None


def _has_at_most(connection: Connection, most: int) -> bool:
    some = select(t.photograph.c.id).limit(most + 1).subquery()
    return (connection.scalar(select(func.count()).select_from(some)) or 0) <= most
