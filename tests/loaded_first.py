"""On a clean checkout one of the processes of pytest-xdist loads the tests first, while types are checked on the other
processor, and the rest when it has: compiling them takes longer than all else that is done before the first test, and
what is compiled is kept. Imported by `conftest.py` before anything that takes time.
"""

from __future__ import annotations

import fcntl
import os
import sys
from pathlib import Path

LAST = Path(__file__).with_name("web") / "__pycache__"
"""Where something is compiled when all tests were loaded before."""
_own = Path(__file__).open("rb")  # noqa: SIM115 (it is locked until it is closed)


def _wait() -> None:
    """Until this process is the first, or the first has loaded the tests."""
    try:
        fcntl.flock(_own, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        fcntl.flock(_own, fcntl.LOCK_SH)
        loaded()


def loaded() -> None:
    """Let the others go on."""
    _own.close()


if "PYTEST_XDIST_WORKER" in os.environ and not sys.dont_write_bytecode and not any(LAST.glob("test_*")):
    _wait()
