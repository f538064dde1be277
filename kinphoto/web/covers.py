"""Which dates a visitor has seen already: an age is judged blind only where its date was still covered.

Kept in memory for as long as the pages run. Somebody who comes back after that is asked again; the worst that can
happen is that a judgement counts as blind which rests on what was seen the evening before.
"""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock

from starlette.requests import Request

from kinphoto.web.access import visitor

MOST_VISITS = 200
"""Visits remembered; the one that came longest ago is forgotten."""


class Covers:
    """The photographs each visit has seen the date of."""

    def __init__(self) -> None:
        self._seen: OrderedDict[str, set[str]] = OrderedDict()
        self._lock = Lock()

    def covered(self, request: Request, code: str, uncover: bool) -> bool:
        """Whether the date of a photograph is to stay covered; `uncover` shows it from now on."""
        if uncover:
            self.note_seen(request, code)
        with self._lock:
            return code not in self._seen.get(visitor(request).visit, ())

    def note_seen(self, request: Request, code: str) -> None:
        """The visitor has seen the date of this photograph."""
        visit = visitor(request).visit
        with self._lock:
            self._seen.setdefault(visit, set()).add(code)
            self._seen.move_to_end(visit)
            if len(self._seen) > MOST_VISITS:
                self._seen.popitem(last=False)
