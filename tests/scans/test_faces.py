"""The search for faces takes only the time that nobody else wants."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

CODE = """
import os
from kinphoto.scans.faces import _stand_back
_stand_back()
print(os.nice(0))
print(open("/proc/self/autogroup").read())
"""


@pytest.mark.skipif(not Path("/proc/self/autogroup").exists(), reason="this system shares its time out otherwise")
def test_it_stands_back_in_a_session_of_its_own_too() -> None:
    """A worker has its own session, and Linux gives each session its own share of the time (sched(7), autogroup):
    there both numbers have to be the highest."""
    run = subprocess.run(
        [sys.executable, "-c", CODE],
        capture_output=True,
        text=True,
        check=True,
        start_new_session=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )
    own, group = run.stdout.splitlines()[:2]
    assert own == "19"
    assert group.endswith("nice 19")
