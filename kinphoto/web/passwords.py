"""The password of the pages in the house network: kept as an argon2 hash, and guessing it made slow."""

from __future__ import annotations

import secrets
import time
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from threading import Lock

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from kinphoto.errors import InvalidValueError
from kinphoto.web.access import Credentials

SHORTEST = 8
FREE = 5
"""Wrong passwords an address may send before it has to wait."""
FIRST_WAIT, LONGEST_WAIT = 2.0, 900.0
"""Seconds: the wait doubles with each wrong one."""
MOST_ADDRESSES = 1000
AT_LARGE = 100
"""Wrong passwords in a row, from wherever they come, after which everybody waits. A quarter of an hour without any ends
the row, so that one address, which has to wait so long between two, never shuts out the others."""


def choose(folder: Path, password: str) -> Credentials:
    """Set the password of an archive; everybody has to sign in again. Raises InvalidValueError for a short one."""
    if len(password) < SHORTEST:
        raise InvalidValueError(
            f"the password is shorter than {SHORTEST} letters", remedy="Choose a longer one, such as three odd words."
        )
    credentials = Credentials(secrets.token_urlsafe(32), PasswordHasher().hash(password))
    credentials.keep(folder)
    return credentials


def matches(password: str, kept: str) -> bool:
    """Whether this is the password of a hash."""
    try:
        return PasswordHasher().verify(kept, password)
    except (VerificationError, InvalidHashError):
        return False


class SignInAttempts:
    """Attempts to sign in, by the address they come from. One is checked at a time: a hash is costly on purpose."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._wrong: OrderedDict[str, tuple[int, float]] = OrderedDict()  # how many, and until when to wait
        self._anywhere = (0, 0.0, 0.0)  # how many, until when to wait, when the last was
        self._lock = Lock()

    def wait(self, address: str) -> float:
        """Seconds until this address may try again; 0 when it may now."""
        until = max(self._wrong.get(address, (0, 0.0))[1], self._anywhere[1])
        return max(0.0, until - self._clock())

    def accepts(self, address: str, password: str, kept: str | None) -> bool:
        """Whether this is the password of the hash `kept`; False also while the address has to wait."""
        with self._lock:
            if kept is None or self.wait(address):
                return False
            if not matches(password, kept):
                self._note(address)
                return False
            self._wrong.pop(address, None)
            self._anywhere = (0, 0.0, 0.0)
            return True

    def _note(self, address: str) -> None:
        now = self._clock()
        wrong = self._wrong.get(address, (0, 0.0))[0] + 1
        self._wrong[address] = (wrong, now + _pause(wrong - FREE))
        self._wrong.move_to_end(address)
        if len(self._wrong) > MOST_ADDRESSES:
            self._wrong.popitem(last=False)
        row, _, last = self._anywhere
        everybody = 1 if now - last >= LONGEST_WAIT else row + 1
        self._anywhere = (everybody, now + _pause(everybody - AT_LARGE), now)


def _pause(too_many: int) -> float:
    return 0.0 if too_many < 0 else min(FIRST_WAIT * 2.0 ** min(too_many, 30), LONGEST_WAIT)
