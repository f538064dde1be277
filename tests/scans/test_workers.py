"""Measuring in several processes: what one file does to its worker stays its own affair."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from PIL import Image

from kinphoto.errors import ArchiveError, UnreadableFileError
from kinphoto.scans import workers
from kinphoto.scans.measure import measure
from kinphoto.scans.workers import FileMeasured, Workers


def pictures(folder: Path, *names: str) -> list[tuple[str, None]]:
    """Requests for small pictures, no two alike."""
    folder.mkdir(exist_ok=True)
    for number, name in enumerate(names):
        Image.new("RGB", (20, 20 + number), (number * 20, 80, 90)).save(folder / name)
    return [(str(folder / name), None) for name in names]


def test_answers_come_in_order_and_equal_those_of_one_process(tmp_path: Path) -> None:
    """Reference: measuring the same files here."""
    requests = pictures(tmp_path, *(f"{number}.png" for number in range(9)))
    with Workers(tmp_path / "thumbs", 3) as group:
        answers = list(group.measure(requests))
    for (path, _), answer in zip(requests, answers, strict=True):
        here = measure(path)
        assert isinstance(answer, FileMeasured)
        assert answer.scans == [{name: getattr(scan, name) for name in scan.__slots__} for scan in here.scans]


def test_what_the_first_scan_needs_is_loaded_when_they_start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A process that was started before measures and checks without loading anything of ours more."""
    monkeypatch.setattr(
        workers,
        "_CODE",
        "import sys, kinphoto.scans.worker as w\n"
        "real, ours = w.reply, lambda: {name for name in sys.modules if name.startswith('kinphoto')}\n"
        "def reply(request):\n"
        "    before = ours()\n"
        "    answer = real(request)\n"
        "    return {'why': {'what': ' '.join(sorted(ours() - before)) or 'nothing', 'where': '', 'remedy': ''}}\n"
        "w.reply = reply\n"
        "w.serve()",
    )
    request = pictures(tmp_path, "a.png")
    with Workers(tmp_path / "thumbs", 1) as started, Workers(tmp_path / "thumbs", 1) as not_started:
        started.start()
        [answer] = started.measure(request, check=True)
        [other] = not_started.measure(request, check=True)
    assert isinstance(answer, UnreadableFileError)
    assert isinstance(other, UnreadableFileError)
    assert answer.what == "nothing"
    assert "kinphoto.scans.checks.measures" in other.what


def test_a_decoder_that_crashes_takes_only_its_own_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The worker is replaced, the file is tried once more by itself, and the rest goes on."""
    monkeypatch.setattr(
        workers,
        "_CODE",
        "import os, kinphoto.scans.worker as w\n"
        "real = w.measure\n"
        "w.measure = lambda path, *a, **k: os._exit(9) if path.endswith('crash.png') else real(path, *a, **k)\n"
        "w.serve()",
    )
    with Workers(tmp_path / "thumbs", 2) as group:
        answers = list(group.measure(pictures(tmp_path, "a.png", "crash.png", "b.png", "c.png")))
    assert [isinstance(answer, FileMeasured) for answer in answers] == [True, False, True, True]
    assert isinstance(answers[1], UnreadableFileError)
    assert "the program that reads pictures crashed" in answers[1].what


def test_a_picture_too_large_for_the_memory_is_refused_with_the_figure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a computer of 1 MB: 4 bytes a pixel, twice, for 800 by 600 pixels are 3.84 MB."""
    monkeypatch.setattr(workers, "physical_memory", lambda: 1_000_000)
    monkeypatch.setattr(workers, "_GIGABYTE", 1_000_000)
    Image.new("RGB", (800, 600)).save(tmp_path / "large.tif")
    with Workers(tmp_path / "thumbs", 1) as group:
        answers = list(group.measure([(str(tmp_path / "large.tif"), None), *pictures(tmp_path, "small.png")]))
    assert isinstance(answers[0], UnreadableFileError)
    assert "takes 3.8 GB of memory, more than this computer can spare" in answers[0].what
    assert isinstance(answers[1], FileMeasured)


def test_thumbnails_that_cannot_be_stored_stop_the_work(tmp_path: Path) -> None:
    """A file stands where the folder of thumbnails should be."""
    (tmp_path / "thumbs").write_text("in the way")
    with (
        Workers(tmp_path / "thumbs", 1) as group,
        pytest.raises(ArchiveError, match="thumbnail cannot be stored"),
    ):
        list(group.measure(pictures(tmp_path / "scans", "a.png")))


def test_workers_that_do_not_start_stop_the_work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise every scan would be called damaged."""
    monkeypatch.setattr(workers, "_CODE", "import no_such_module")
    with Workers(tmp_path / "thumbs", 1) as group, pytest.raises(ArchiveError, match="does not start"):
        list(group.measure(pictures(tmp_path, "a.png")))


def test_workers_end_when_whoever_started_them_is_killed(tmp_path: Path) -> None:
    """SIGKILL leaves no time to say goodbye; the closed pipe does."""
    ((path, _),) = pictures(tmp_path, "a.png")
    code = (
        "import sys, time\n"
        "from pathlib import Path\n"
        "from kinphoto.scans.workers import Workers\n"
        "group = Workers(Path(sys.argv[1]), 1)\n"
        "list(group.measure([(sys.argv[2], None)]))\n"
        "print(*[process.pid for process in group._processes], flush=True)\n"
        "time.sleep(60)\n"
    )
    places = os.pathsep.join(place for place in sys.path if place)
    caller = subprocess.Popen(
        [sys.executable, "-c", code, str(tmp_path / "thumbs"), path],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": places},
    )
    assert caller.stdout is not None
    worker = int(caller.stdout.readline())
    caller.send_signal(signal.SIGKILL)
    caller.wait()
    caller.stdout.close()
    deadline = time.monotonic() + 300
    while running(worker) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not running(worker)


def running(process: int) -> bool:
    """Whether a process is there and has not ended (an orphan may wait a while to be taken off the list)."""
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    status = Path(f"/proc/{process}/stat")
    return not status.exists() or status.read_text().rsplit(")", 1)[1].split()[0] != "Z"
