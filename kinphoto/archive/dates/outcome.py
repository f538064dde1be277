"""What a new statement means for a photograph: its new date, or what the statement does not fit with.

For a conflict only the other statements are shown: the person knows what they have just recorded.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from sqlalchemy import Engine

from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.catalogue.namesakes import named_apart
from kinphoto.archive.dates.estimates import DatedPhotograph
from kinphoto.archive.dates.one_photograph import date_now, near
from kinphoto.archive.words.dates import when
from kinphoto.archive.words.sentences import Sentences
from kinphoto.phrases import listed
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import Conflict, State
from kinphoto.store.session import reading

_MOST = 4
"""Statements of one conflict that are shown; `conflicts` has them all."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """A photograph's date after a new statement, and why that does not fit, one sentence for each conflict;
    `touches_parentage` where one is about who somebody's parents were."""

    dated: DatedPhotograph
    misfits: tuple[str, ...]
    touches_parentage: bool = False

    @property
    def date(self) -> str:
        """The date in words."""
        return when(self.dated.estimate)

    @property
    def disputed(self) -> bool:
        """Whether the photograph is part of a conflict, new or old."""
        return self.dated.estimate.state is State.DISPUTED


def outcome(engine: Engine, photograph: str, new: Collection[str]) -> Outcome | None:
    """Date a photograph again, after the statements and appearances `new` (ids) were recorded.

    None for an album page, which has no date. Raises NotFoundError, AmbiguousError.
    """
    found = date_now(engine, [photograph])
    if not found:
        return None
    with reading(engine) as connection:
        around = near(connection, int(find_photograph(connection, photograph)["id"]))
        conflicts = {c.id: c for c in (*around.standing(), *around.look().settled.conflicts)}
        about = [c for c in conflicts.values() if not set(new).isdisjoint(c.statements)]
        say = Sentences(around.gathered, named_apart(connection, {p for c in about for p in c.people}))
    return Outcome(
        found[0],
        tuple(because for c in about for because in _because(say, c, new)),
        any(isinstance(say.statements.get(each), ev.ParentLink) for c in about for each in c.statements),
    )


def _because(say: Sentences, conflict: Conflict, new: Collection[str]) -> Iterator[str]:
    """Why it does not fit: the other statements of the conflict, if there are any."""
    known = [each for each in conflict.statements if each in say.statements]
    others = [each for each in known if each not in new]
    more = [f"{len(others) - _MOST} more"] if len(others) > _MOST else []
    if not others:
        yield f"These cannot all be true: {listed([*map(say.sentence, known)])}."
    else:
        yield f"This does not fit, because {listed([*map(say.sentence, others[:_MOST]), *more])}."
