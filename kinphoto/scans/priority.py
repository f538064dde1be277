"""How a process that works beside the pages takes only the time that nobody else wants."""

from __future__ import annotations

import os
from contextlib import suppress
from functools import cache
from pathlib import Path

_NICENESS = 19


@cache
def stand_back() -> None:
    """Give this process the lowest priority, for good; and its session, where it is the process that leads it."""
    with suppress(OSError, AttributeError):  # not every system knows it
        os.nice(_NICENESS)
    if os.name == "nt" or os.getsid(0) != os.getpid():
        return  # whoever shares the session, such as a terminal, is not to be slowed as well
    with suppress(OSError):  # on Linux a session has a share of its own, and the number above counts within it alone
        Path("/proc/self/autogroup").write_text(str(_NICENESS))
