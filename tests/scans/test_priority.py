"""What works beside the pages takes only the time that nobody else wants."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

CODE = """
import os
from kinphoto.scans.priority import stand_back
stand_back()
print(os.nice(0))
print(open("/proc/self/autogroup").read())
"""


ANOTHER = f"import subprocess, sys; subprocess.run([sys.executable, '-c', {CODE!r}], check=True)"
"""The same by a process that has not begun its session."""


@pytest.mark.skipif(not Path("/proc/self/autogroup").exists(), reason="this system shares its time out otherwise")
@pytest.mark.parametrize(("code", "of_session"), [(CODE, "nice 19"), (ANOTHER, "nice 0")])
def test_it_stands_back_in_a_session_of_its_own_too(code: str, of_session: str) -> None:
    """A worker has its own session, and Linux gives each session its own share of the time (sched(7), autogroup):
    there both numbers have to be the highest. In a session of others, such as a terminal, it changes its own alone."""
    run = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        start_new_session=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )
    own, group = run.stdout.splitlines()[:2]
    assert own == "19"
    assert group.endswith(of_session)


def test_a_worker_stands_back_for_scans_that_are_there_already(tmp_path: Path) -> None:
    """Scans that are being added are waited for; those that are checked or searched once more are not."""
    worker = subprocess.Popen(
        [sys.executable, "-c", "from kinphoto.scans.worker import serve; serve()"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        encoding="utf-8",
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )
    assert worker.stdin
    assert worker.stdout
    assert worker.stdout.readline() == "ready\n"
    found = []
    missing = {"path": str(tmp_path / "nothing.jpg"), "memory": 1 << 30}
    for wanted in ({"sha256": None, "thumbs": str(tmp_path), "along": False}, {"check": 0}):
        print(json.dumps({**missing, **wanted}), file=worker.stdin, flush=True)
        assert "why" in json.loads(worker.stdout.readline())
        found.append(os.getpriority(os.PRIO_PROCESS, worker.pid))
    worker.stdin.close()
    assert worker.wait() == 0
    assert found == [os.getpriority(os.PRIO_PROCESS, 0), 19]
