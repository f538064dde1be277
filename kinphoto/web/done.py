"""What each visitor has done: so that the page that comes next says in words what was done and what it did to the
dates, and so that undoing is for one's own changes, step by step.

Kept in memory for as long as the pages run; everything that was ever done is in the history. A change that is not
known here, because somebody else made it or the pages were started again since, is undone only after a question.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from threading import Lock
from typing import TYPE_CHECKING

from starlette.requests import Request

from kinphoto.phrases import counted
from kinphoto.store.session import noting_changes
from kinphoto.web.access import archive_of, visitor

if TYPE_CHECKING:
    from kinphoto.archive.dates.date_changes import KeptDates, Moves
    from kinphoto.archive.statements.history import Change

MOST_VISITS = 200
"""Visits remembered; the one that came longest ago is forgotten."""
MOST_CHANGES = 500
"""Changes of one visit that are remembered as its own."""
_AGAIN = "X-Again"
"""The header of a page that a script asks for again, to bring one that is open up to date."""


@dataclass
class Answers:
    """What somebody says about one photograph, until they see what it did: the dates as they were before, and who told
    them. While ages come first that is more than one answer. `form` is the last part of where the last was sent."""

    photograph: str | None
    before: KeptDates
    thanks: list[str] = field(default_factory=list)
    shown: bool = False
    form: str = ""


@dataclass
class _Visit:
    own: list[int] = field(default_factory=list)
    jobs: set[int] = field(default_factory=set)
    newest: int | None = None
    said_at: str | None = None
    answers: Answers | None = None


class DoneByVisitors:
    """The changes of each visit."""

    def __init__(self) -> None:
        self._visits: OrderedDict[str, _Visit] = OrderedDict()
        self._lock = Lock()

    @contextmanager
    def _of(self, visit: str) -> Iterator[_Visit]:
        with self._lock:
            known = self._visits.setdefault(visit, _Visit())
            self._visits.move_to_end(visit)
            if len(self._visits) > MOST_VISITS:
                self._visits.popitem(last=False)
            yield known

    def note(self, visit: str, numbers: Sequence[int], answers: Answers | None = None, *, job: bool = False) -> None:
        """These changes were made in a visit; a `job` is its own, but large, and undone only after a question."""
        with self._of(visit) as known:
            known.own = [*known.own, *numbers][-MOST_CHANGES:]
            if job:
                known.jobs.update(numbers)
                return
            known.newest, known.said_at = numbers[-1], None
            known.answers = answers

    def own(self, visit: str) -> frozenset[int]:
        """The changes that were made in this visit."""
        with self._of(visit) as known:
            return frozenset(known.own)

    def undone_at_once(self, visit: str) -> frozenset[int]:
        """Those of them that are undone without a question."""
        with self._of(visit) as known:
            return frozenset(known.own) - known.jobs

    def answers(self, visit: str) -> Answers | None:
        """What somebody is saying about a photograph, or has just said."""
        with self._of(visit) as known:
            return known.answers

    def said(self, visit: str, path: str, *, again: bool = False) -> int | None:
        """The newest change of a visit, for the page at this path to say; until another page is opened. A page that is
        brought up to date (`again`) goes on saying what it said, and takes nothing from the one that is opened next."""
        with self._of(visit) as known:
            if again:
                return known.newest if known.said_at == path else None
            if known.said_at not in (None, path):
                known.newest, known.said_at = None, None
                if known.answers is not None and known.answers.shown:
                    known.answers = None
            if known.newest is not None:
                known.said_at = path
            return known.newest


@contextmanager
def noting_what_was_done(request: Request, photograph: str | None, by: str | None) -> Iterator[None]:
    """Note the changes that are made within, the dates as they were before, and who told the visitor."""
    who = visitor(request)
    if not who.keeper:
        yield
        return
    kept, archive = _kept(request), archive_of(request)
    answers = kept.answers(who.visit)
    if answers is None or answers.shown or answers.photograph != photograph:
        answers = Answers(photograph, archive.dates.kept_around(photograph))
    with noting_changes() as made:
        yield
    if made:
        answers.thanks = list(dict.fromkeys([*answers.thanks, *([by] if by else [])]))
        answers.form = request.url.path.rpartition("/")[2]
        kept.note(who.visit, made, answers)


def noting_a_job(request: Request) -> Callable[[], AbstractContextManager[None]]:
    """What notes the changes of a job, which goes on in a thread of its own, as this visitor's."""
    kept, visit = _kept(request), visitor(request).visit

    @contextmanager
    def noting() -> Iterator[None]:
        with noting_changes() as made:
            try:
                yield
            finally:
                kept.note(visit, made, job=True)

    return noting


@dataclass(frozen=True, slots=True)
class Done:
    """What a visitor has done last: the number of the change, its words, whether it undid or redid that, and after an
    undo the step that is undone next (None for none of their own)."""

    number: int
    what: str
    way: str = "done"
    following: Change | None = None


def done_now(request: Request) -> Done | None:
    """What this visitor did, for the page that comes next; None where there is nothing new to say."""
    who = visitor(request)
    if request.method != "GET" or not who.keeper:
        return None
    number = _kept(request).said(who.visit, request.url.path, again=_AGAIN in request.headers)
    if number is None:
        return None
    statements = archive_of(request).statements
    change = next(iter(statements.changes([number])), None)
    if change is None or change.undone_by is not None:
        return None
    way, root = "done", change
    while root.undoes is not None:
        way = "undone" if way != "undone" else "redone"
        root = statements.changes([root.undoes])[0]
    return Done(number, root.what, way, next_step(request) if way == "undone" else None)


def next_step(request: Request) -> Change | None:
    """The newest change of this visitor's own that is in force: what *Undo* undoes."""
    numbers = _kept(request).undone_at_once(visitor(request).visit)
    return next((one for one in _changes(request, numbers) if one.undone_by is None and one.undoes is None), None)


def is_undone_at_once(request: Request, number: int) -> bool:
    """Whether this visitor made the change themself, so that it is undone without a question."""
    return number in _kept(request).undone_at_once(visitor(request).visit)


def is_elsewhere(request: Request, after: int) -> bool:
    """Whether somebody else changed something after this change."""
    later = archive_of(request).statements.numbers_after(after)
    return not _kept(request).own(visitor(request).visit).issuperset(later)


def what_answers_did(request: Request, photograph: str | None) -> tuple[Answers, Moves] | None:
    """The answers about this photograph and which dates they moved, from now on shown; None where there are none."""
    answers = _kept(request).answers(visitor(request).visit)
    if answers is None or answers.photograph != photograph:
        return None
    answers.shown = True
    return answers, archive_of(request).dates.moved_since(answers.before, photograph)


def has_answered(request: Request, photograph: str) -> bool:
    """Whether this visitor has said something about a photograph and not seen yet what it did."""
    answers = _kept(request).answers(visitor(request).visit)
    return answers is not None and answers.photograph == photograph and not answers.shown


def effect(request: Request) -> tuple[str, str] | None:
    """What the last answers did in a few words without any date, for the pages that ask ages, and the photograph whose
    own page shows it; None where no date moved."""
    answers = _kept(request).answers(visitor(request).visit)
    if answers is None or answers.photograph is None:
        return None
    moves = archive_of(request).dates.moved_since(answers.before, answers.photograph)
    if moves.photograph is None:
        return None
    number = len(moves.others) + moves.photograph.notable
    return (f"{counted(number, 'date has', 'dates have')} moved", moves.photograph.code) if number else None


def _changes(request: Request, numbers: frozenset[int]) -> Sequence[Change]:
    return archive_of(request).statements.changes(numbers) if numbers else ()


def _kept(request: Request) -> DoneByVisitors:
    kept: DoneByVisitors = request.app.state.done
    return kept
