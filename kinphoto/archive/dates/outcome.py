"""What follows for a photograph from what was just said of it: its new date, or what it does not fit with.

The inference that dates it again (`local_inference`) finds what does not fit. Of a conflict only the other statements
are told: what was just said, the person knows.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.catalogue.namesakes import named_apart
from kinphoto.archive.dates.estimates import DatedPhotograph
from kinphoto.archive.dates.one_photograph import near
from kinphoto.archive.words.dates import when
from kinphoto.archive.words.sentences import Sentences
from kinphoto.phrases import listed
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import Conflict, State

if TYPE_CHECKING:
    from kinphoto.archive import Archive

_MOST = 4
"""Statements of one conflict that are told; `conflicts` has them all."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """A photograph's date after something was said of it, and why that does not fit, one sentence for each conflict.

    `touches_parentage`: one of these is about who somebody's parents were.
    """

    dated: DatedPhotograph
    misfits: tuple[str, ...]
    touches_parentage: bool = False

    @property
    def date(self) -> str:
        """The date in words."""
        return when(self.dated.estimate)

    @property
    def disputed(self) -> bool:
        """Whether something on the photograph does not fit together, whatever was said just now."""
        return self.dated.estimate.state is State.DISPUTED


def outcome(archive: Archive, photograph: str, said: Collection[str]) -> Outcome | None:
    """Date a photograph anew, after the statements and appearances `said` (ids) were recorded.

    None for an album page, which has no date. Raises NotFoundError, AmbiguousError.
    """
    found = archive.date_now([photograph])
    if not found:
        return None
    with archive.reading() as connection:
        around = near(connection, int(find_photograph(connection, photograph)["id"]))
        conflicts = {c.id: c for c in (*around.standing(), *around.look().settled.conflicts)}
        about = [c for c in conflicts.values() if not set(said).isdisjoint(c.statements)]
        said_of = Sentences(around.gathered)
        people = {p for c in about for each in c.statements if each in said_of.statements for p in said_of.about(each)}
        say = Sentences(around.gathered, named_apart(connection, people))
    return Outcome(
        found[0],
        tuple(because for c in about for because in _because(say, c, said)),
        any(isinstance(say.statements.get(each), ev.ParentLink) for c in about for each in c.statements),
    )


def _because(say: Sentences, conflict: Conflict, said: Collection[str]) -> Iterator[str]:
    """Why what was said does not fit: the other statements of the conflict, if there are any."""
    known = [each for each in conflict.statements if each in say.statements]
    others = [each for each in known if each not in said]
    more = [f"{len(others) - _MOST} more"] if len(others) > _MOST else []
    if not others:
        yield f"This cannot be true as it stands: {listed([*map(say.sentence, known)])}."
    else:
        yield f"This does not fit, because {listed([*map(say.sentence, others[:_MOST]), *more])}."
