"""What each visitor has just done, so that the page that comes next says so in words, with a button that takes it back.

Kept in memory for as long as the pages run; everything that was ever done stands in the history.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from threading import Lock

from starlette.requests import Request

from kinphoto.web.access import archive_of, visitor

MOST_VISITS = 200
"""Visits remembered; the one that came longest ago is forgotten."""


@dataclass(frozen=True, slots=True)
class Done:
    """A change: its number in the history, and its words."""

    number: int
    what: str


class DoneByVisitors:
    """The last change of each visit, until a page has said so."""

    def __init__(self) -> None:
        self._last: OrderedDict[str, Done] = OrderedDict()
        self._lock = Lock()

    def note(self, visit: str, done: Done) -> None:
        """This was done in a visit."""
        with self._lock:
            self._last[visit] = done
            self._last.move_to_end(visit)
            if len(self._last) > MOST_VISITS:
                self._last.popitem(last=False)

    def take(self, visit: str) -> Done | None:
        """What was done since this was asked last; None for nothing."""
        with self._lock:
            return self._last.pop(visit, None)


@contextmanager
def noting_what_was_done(request: Request) -> Iterator[None]:
    """Note the change that is made within, if one is and it can be taken back."""
    statements, who = archive_of(request).statements, visitor(request)
    before = statements.history(1) if who.keeper else ()
    yield
    after = statements.history(1) if who.keeper else ()
    if after and after[0].number != (before[0].number if before else None) and after[0].undoes is None:
        kept: DoneByVisitors = request.app.state.done
        kept.note(who.visit, Done(after[0].number, after[0].what))


def done_now(request: Request) -> Done | None:
    """What this visitor did since the last page was made for them."""
    kept: DoneByVisitors = request.app.state.done
    return kept.take(visitor(request).visit)
