"""What a visitor has seen already: an age is judged blind only where names, other judgements and the date were covered.

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


class SeenByVisitors:
    """The photographs each visit has seen the date of, and the faces it has judged."""

    def __init__(self) -> None:
        self._seen: OrderedDict[str, set[str]] = OrderedDict()
        self._lock = Lock()

    def judged(self, request: Request, code: str) -> frozenset[str]:
        """The faces of a photograph that this visitor has judged or skipped."""
        with self._lock:
            seen = self._seen.get(visitor(request).visit, set())
            return frozenset(one.partition(" ")[2] for one in seen if one.startswith(f"{code} "))

    def covered(self, request: Request, code: str, uncover: bool) -> bool:
        """Whether the date of a photograph is to stay covered; `uncover` shows it from now on."""
        if uncover:
            self.note_seen(request, code)
        with self._lock:
            return code not in self._seen.get(visitor(request).visit, ())

    def note_seen(self, request: Request, code: str) -> None:
        """The visitor has seen the date of this photograph."""
        self._note(request, code)

    def note_judged(self, request: Request, code: str, region: str) -> None:
        """The visitor has judged this face, or passed it over: its name may be shown."""
        self._note(request, f"{code} {region}")

    def _note(self, request: Request, what: str) -> None:
        visit = visitor(request).visit
        with self._lock:
            self._seen.setdefault(visit, set()).add(what)
            self._seen.move_to_end(visit)
            if len(self._seen) > MOST_VISITS:
                self._seen.popitem(last=False)
