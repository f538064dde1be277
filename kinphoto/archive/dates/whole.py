"""An archive of a family's size, dated as a whole and held in memory.

In one family nearly everything is connected: vaguely known births, weddings and orders link most photographs to most
others. Where there are few enough, dating all of them is the quickest way to date one correctly. `neighbourhood` and
`one_photograph` are for archives where that would take too long.

After a change, everything is dated from what was held before it: what cannot have changed is taken over
(`reason/soft/earlier`). That is nearly what dating from the beginning gives, which is done behind, when nobody waits.
Each `Whole` has the moment it is of; one of another moment is never read as if it were of this one. Nothing of it is
written down, so nothing is left of it when the program ends.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from threading import Lock, RLock
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine, func, select

from kinphoto.archive.catalogue.freshness import Stamp, stamp
from kinphoto.archive.dates.evidence import gather
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import BirthEstimate
from kinphoto.store import tables as t
from kinphoto.store.session import reading

if TYPE_CHECKING:
    from kinphoto.reason.dating import Inference

FEW, FROM_BEGINNING = 100, 50
"""Photographs up to which everything is always dated from the beginning, in a tenth of a second; and changes after
which that is done at once where there was no moment for it."""
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
    since: int = 0
    """So many changes ago it was dated from the beginning."""

    @property
    def final(self) -> bool:
        """Whether it was dated from the beginning."""
        return not self.since

    @cached_property
    def births(self) -> dict[str, BirthEstimate]:
        """The estimated births, by person."""
        return {birth.person: birth for birth in self.look.beliefs.neighbours.birth_estimates}


_HELD: WeakKeyDictionary[Engine, Whole] = WeakKeyDictionary()
"""What was last worked out, for each archive that is open."""
_HOLDING = Lock()
_LOOKING: WeakKeyDictionary[Engine, RLock] = WeakKeyDictionary()
_BEGINNING: WeakKeyDictionary[Engine, RLock] = WeakKeyDictionary()


def looking(engine: Engine) -> RLock:
    """The lock for working out everything in an archive while somebody waits."""
    return _LOOKING.setdefault(engine, RLock())


def from_the_beginning(engine: Engine) -> RLock:
    """The lock for working out everything from the beginning, for which nobody who waits has to wait."""
    return _BEGINNING.setdefault(engine, RLock())


def is_small(connection: Connection) -> bool:
    """Whether somebody can wait while everything in the archive is dated."""
    return _has_at_most(connection, AT_ONCE)


def held(engine: Engine) -> Whole | None:
    """Everything as it is now, dated; None where that is not held and would take too long."""
    return _resumed(engine, AT_ONCE)


def held_now(engine: Engine) -> Whole | None:
    """The same, also from what was held before a change where it would otherwise take too long."""
    return _resumed(engine, HELD if engine in _HELD else AT_ONCE)


def worked_out(engine: Engine) -> Whole | None:
    """The same from the beginning, taking some seconds if need be; None where it is too much to hold."""
    with reading(engine) as connection:
        found = _current(connection)
        if (found is not None and found.final) or not _has_at_most(connection, HELD):
            return found if found is not None and found.final else None
    with from_the_beginning(engine), reading(engine) as connection:
        found = _current(connection)
        if found is None or not found.final:  # nobody else has worked it out meanwhile
            found = _hold(engine, _everything(connection, _HELD.get(engine), resume=False))
        return found


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


def _resumed(engine: Engine, most: int) -> Whole | None:
    with reading(engine) as connection:
        if (found := _current(connection)) or not _has_at_most(connection, most):
            return found
    with looking(engine), reading(engine) as connection:
        if found := _current(connection):  # somebody else has worked it out meanwhile
            return found
        before = _HELD.get(engine)
        resume = before is not None and before.since < FROM_BEGINNING and not _has_at_most(connection, FEW)
        return _hold(engine, _everything(connection, before, resume=resume))


def _everything(connection: Connection, before: Whole | None, *, resume: bool) -> Whole:
    """Everything as it is now: starting from what was held, if so asked, or from the beginning."""
    made, evidence = stamp(connection), gather(connection)
    if before is not None and resume:
        if before.evidence == evidence:
            return Whole(made, evidence, before.look, before.since)
        from kinphoto.reason.dating import Inference

        return Whole(made, evidence, Inference(evidence, before=before.look, keep=True), before.since + 1)
    return Whole(made, evidence, _dated(evidence, before if before is not None and before.final else None))


def _dated(evidence: ev.Evidence, before: Whole | None) -> Inference:
    """The evidence, dated from the beginning: as before where the change was of something that bears on no date."""
    if before is not None and before.evidence == evidence:
        return before.look
    from kinphoto.reason.dating import Inference

    return Inference(evidence, keep=True)


def _hold(engine: Engine, found: Whole) -> Whole:
    """Hold this, unless something of a later moment is held."""
    with _HOLDING:
        other = _HELD.get(engine)
        if other is None or (other.made.entry, not other.final) <= (found.made.entry, True):
            _HELD[engine] = found
    return found


def _current(connection: Connection) -> Whole | None:
    found = _HELD.get(connection.engine)
    return found if found is not None and found.made == stamp(connection) else None


def _has_at_most(connection: Connection, most: int) -> bool:
    some = select(t.photograph.c.id).limit(most + 1).subquery()
    return (connection.scalar(select(func.count()).select_from(some)) or 0) <= most
