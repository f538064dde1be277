"""What one connection, one address and all of them together may take of the server, so that nobody at home can
shut out the others by holding connections open, by sending or reading very slowly, or by filling the log.

It builds on uvicorn's own protocol and timers and adds what they leave open: a request has no deadline there before it
is whole, and the only bound on connections (`limit_concurrency`) refuses everybody alike once a single sender has used
it up. Here whoever holds most makes room: of the address with too many connections, or with most of them, the one goes
on which nothing has been asked for longest.
"""

from __future__ import annotations

import asyncio
import logging
import time
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

MOST = 256
"""Connections at a time; fewer where the system lets a program have few files open (`room_for`)."""
MOST_OF_ONE = 32
"""Connections of one address at a time. A browser opens six."""
HEAD_WITHIN = 10.0
"""Seconds within which a request line with its headers has to be whole, from when it can be sent."""
STALLED = 30.0
"""Seconds after which somebody who sends nothing more of a body, or reads nothing more of an answer, is given up."""
LOOK = 1.0
"""Seconds between two looks at a connection."""
ONE_LINE_IN = 60.0
"""Seconds between two lines of the log about one kind of trouble."""
FILES_BESIDE = 384
"""Files that the program may need open beside its connections: databases, pictures, what is being sent."""


class PatientProtocol(H11Protocol):
    """One connection, watched from its first moment to its last."""

    most = MOST

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take the connection, and make room for it if there is none."""
        super().connection_made(transport)
        self.address = self.client[0] if self.client else ""
        self.given_up = False
        self._since = self._heard = self._moved = self.loop.time()
        self._unread = 0
        self._make_room()
        self._timer = self.loop.call_later(LOOK, self._look)

    def connection_lost(self, exc: Exception | None) -> None:
        """It is gone."""
        self._timer.cancel()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Read on. What comes after a broken message cannot be answered any more."""
        self._heard = self.loop.time()
        try:
            super().data_received(data)
        except h11.LocalProtocolError:
            self.give_up()

    def send_400_response(self, msg: str) -> None:
        """Refuse what is not HTTP. A page that is still reading a body learns that nothing more will come."""
        if self.cycle is not None and not self.cycle.response_complete:
            self.cycle.disconnected = True
            self.cycle.message_event.set()
            self.transport.close()
        else:
            super().send_400_response(msg)

    def on_response_complete(self) -> None:
        """Wait for the next request from now on."""
        self._since = self.loop.time()
        super().on_response_complete()

    @property
    def asking(self) -> bool:
        """Whether a request is being read or answered, rather than waited for."""
        return self.cycle is not None and not self.cycle.response_complete

    @property
    def since(self) -> float:
        """When it began to wait for a request, by the clock of the loop."""
        return self._since

    def give_up(self) -> None:
        """End the connection immediately."""
        self.given_up = True
        self.transport.abort()

    def _make_room(self) -> None:
        there = [one for one in self.connections if isinstance(one, PatientProtocol) and not one.given_up]
        held = Counter(one.address for one in there)
        if held[self.address] > MOST_OF_ONE:
            most = self.address
        elif len(there) > self.most:
            most = held.most_common(1)[0][0]
        else:
            return
        waiting = [one for one in there if one.address == most and not one.asking and one is not self]
        min(waiting, key=lambda one: one.since, default=self).give_up()

    def _look(self) -> None:
        """Give up a connection that keeps us waiting."""
        if self._late(self.loop.time()):
            self.give_up()
        else:
            self._timer = self.loop.call_later(LOOK, self._look)

    def _late(self, now: float) -> bool:
        unread = self.transport.get_write_buffer_size()
        if unread != self._unread:
            self._unread, self._moved = unread, now
        if unread:
            return now - self._moved > STALLED
        if self.asking:
            reading = self.cycle.more_body and not self.flow.read_paused
            return reading and now - self._heard > STALLED
        return now - max(self._since, self._moved) > HEAD_WITHIN


class OncePerMinute(logging.Filter):
    """Lets one line of each kind through in a minute, and says with the next how many were left out."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        super().__init__()
        self._clock = clock
        self._written: dict[object, tuple[float, int]] = {}

    def filter(self, record: logging.LogRecord) -> bool:
        """Whether to write it."""
        kind, now = _kind(record), self._clock()
        last, left_out = self._written.get(kind, (now - ONE_LINE_IN, 0))
        if now - last < ONE_LINE_IN:
            self._written[kind] = last, left_out + 1
            return False
        if left_out:
            record.msg = f"{str(record.msg).rstrip()} (and {left_out} more like it that were not written)"
        self._written[kind] = now, 0
        return True


def _kind(record: logging.LogRecord) -> object:
    """What makes two lines alike: the words without what is put into them, or the place in the program that failed."""
    problem = record.exc_info[1] if record.exc_info else None
    if problem is None:
        return str(record.msg)
    trace = problem.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    return type(problem), trace and (trace.tb_frame.f_code.co_filename, trace.tb_lineno)


def quieten() -> None:
    """Keep what comes from outside from filling the log."""
    spare = OncePerMinute()
    for name in ("uvicorn.error", "asyncio"):
        logger = logging.getLogger(name)
        for before in [one for one in logger.filters if isinstance(one, OncePerMinute)]:
            logger.removeFilter(before)
        logger.addFilter(spare)


def room_for(most: int = MOST) -> int:
    """How many connections there is room for; asks the system for more open files first, if it gives few."""
    try:
        import resource
    except ImportError:  # a system that has no such bound
        return most
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = most + FILES_BESIDE
    if soft != resource.RLIM_INFINITY and soft < wanted:
        new = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
        with suppress(OSError, ValueError):
            resource.setrlimit(resource.RLIMIT_NOFILE, (new, hard))
        soft = resource.getrlimit(resource.RLIMIT_NOFILE)[0]
    return most if soft == resource.RLIM_INFINITY else max(8, min(most, soft - FILES_BESIDE, soft // 2))


def protocol(most: int) -> type[asyncio.Protocol]:
    """The protocol, for this many connections at a time."""
    fields: dict[str, Any] = {"most": most}
    return type("PatientProtocol", (PatientProtocol,), fields)
