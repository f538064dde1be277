"""Scans are read again in portions; what changed, vanished or rotted is told apart, with what to do."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from building import archive_with
from PIL import Image, ImageOps
from recordings import write
from sqlalchemy import update

from kinphoto.archive import Archive
from kinphoto.archive.keeping import fixity
from kinphoto.archive.statements.telling import NewStory
from kinphoto.store import tables as t


@pytest.fixture
def family(tmp_path: Path) -> Iterator[Archive]:
    """An archive with six scans."""
    with closing(archive_with(tmp_path, scans=6)) as archive:
        yield archive


def scans_of(place: Path) -> list[Path]:
    """The files of the scans."""
    return sorted((place / "scans").rglob("*.jpg"))


def rot(path: Path) -> None:
    """Flip one bit and keep the time, as a disk does that fails."""
    state, data = path.stat(), bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(data)
    os.utime(path, ns=(state.st_atime_ns, state.st_mtime_ns))


def edit(path: Path) -> None:
    """Save the picture mirrored, as a person does."""
    with Image.open(path) as picture:
        ImageOps.mirror(picture).save(path, quality=90)
    os.utime(path, (1_900_000_000, 1_900_000_000))


def test_scans_that_are_what_they_were(family: Archive, tmp_path: Path) -> None:
    """All are read, nothing is wrong, no line is added to the history, and no scan is touched."""
    masters = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in scans_of(tmp_path)}
    log = family.statements.history(9)
    done = family.keep.verify()
    assert (done.read, done.files, done.waiting, list(done.problems), list(done.edited)) == (6, 6, 0, [], [])
    assert done.read_bytes == sum(len(data) for data, _ in masters.values())
    assert family.statements.history(9) == log
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in masters} == masters


def test_what_rotted_vanished_and_was_edited_is_told_apart(family: Archive, tmp_path: Path) -> None:
    """A bit that flipped by itself is damage; a file that is gone has vanished; a picture that was saved again is a new
    version, one line of the history, and its first checksum is still known."""
    rotted, gone, edited, *_ = scans_of(tmp_path)
    before = hashlib.sha256(edited.read_bytes()).hexdigest()
    rot(rotted)
    gone.unlink()
    edit(edited)
    done = family.keep.verify()
    assert [(each.path, each.problem) for each in done.problems] == [(str(rotted), "rotted"), (str(gone), "vanished")]
    assert [each.path for each in done.edited] == [str(edited)]
    assert "found 1 changed" in family.statements.history(1)[0].what
    with family.reading() as connection:
        s = t.scan.c
        query = t.scan.select().with_only_columns(s.sha256, s.first_sha256).where(s.path == str(edited))
        assert connection.execute(query).one() == (hashlib.sha256(edited.read_bytes()).hexdigest(), before)
    again = family.keep.verify()
    assert (len(again.problems), list(again.edited)) == (2, [])


def test_a_picture_that_was_overwritten_with_something_else_is_damaged(family: Archive, tmp_path: Path) -> None:
    """It has a new time, but it is no picture any more: that is no new version."""
    broken = scans_of(tmp_path)[0]
    broken.write_bytes(b"\0" * broken.stat().st_size)
    done = family.keep.verify()
    assert [(each.path, each.problem) for each in done.problems] == [(str(broken), "rotted")]
    assert list(done.edited) == []


@pytest.mark.parametrize("kept_in", ["backup", "package"])
def test_the_good_copy_is_named(family: Archive, tmp_path: Path, kept_in: str) -> None:
    """By its checksum, in the last backup or package. Put in its place, all is well again."""
    rotted = scans_of(tmp_path)[2]
    good = rotted.read_bytes()
    if kept_in == "backup":
        family.keep.back_up(tmp_path / "elsewhere")
    else:
        family.keep.make_package(tmp_path / "elsewhere")
    rot(rotted)
    (problem,) = family.keep.verify().problems
    assert problem.copy is not None
    assert Path(problem.copy).read_bytes() == good
    assert f"A good copy is {problem.copy}; put that in its place." in problem.what_to_do
    rotted.write_bytes(Path(problem.copy).read_bytes())
    assert list(family.keep.verify().problems) == []


def test_a_copy_that_rotted_too_is_not_recommended(family: Archive, tmp_path: Path) -> None:
    """It is read before it is named."""
    family.keep.back_up(tmp_path / "elsewhere")
    rotted = scans_of(tmp_path)[2]
    sha256 = hashlib.sha256(rotted.read_bytes()).hexdigest()
    rot(rotted)
    rot(next((tmp_path / "elsewhere").rglob(f"{sha256}*")))
    (problem,) = family.keep.verify().problems
    assert problem.copy is None
    assert "No copy is known here" in problem.what_to_do


def test_portions_go_on_where_the_last_one_ended(
    family: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No time at all reads nothing; what was read first is read last the next time, so in the end all are read."""
    assert family.keep.verify(0).read == 0
    read: list[str] = []
    look = fixity._look
    monkeypatch.setattr(fixity, "_until", lambda queue, _until: iter(queue[:2]))
    monkeypatch.setattr(fixity, "_look", lambda file: (read.append(file.source), look(file))[1])
    moments = iter(f"2026-01-0{day}T00:00:00+00:00" for day in range(1, 9) for _ in range(2))
    monkeypatch.setattr(fixity, "now", lambda: next(moments))
    for _ in range(3):
        assert family.keep.verify(1).read == 2
    assert sorted(read) == [str(path) for path in scans_of(tmp_path)]
    family.keep.verify(1)
    assert set(read[6:]) == set(read[:2])


def test_overdue_after_a_quarter(family: Archive) -> None:
    """Scans that were added or read more than 91 days ago are overdue, and the state says so kindly."""
    long_ago = (datetime.now(UTC) - timedelta(days=92)).isoformat(timespec="seconds")
    assert family.keep.state().overdue == 0
    with family.engine.begin() as connection:
        connection.execute(update(t.scan).values(indexed_at=long_ago))
    assert family.keep.state().overdue == 6
    assert any("6 scans have not been read again" in line for line in family.keep.state().advice)
    assert family.keep.verify().waiting == 0
    with family.engine.begin() as connection:
        connection.execute(update(t.fixity).values(checked_at=long_ago))
    assert family.keep.state().overdue == 6
    assert family.keep.verify(younger_than=timedelta(days=91)).read == 6
    assert family.keep.verify(younger_than=timedelta(days=91)).read == 0


def test_a_disk_that_is_not_plugged_in(family: Archive, tmp_path: Path) -> None:
    """Nothing is called vanished when the whole folder is away."""
    (tmp_path / "scans").rename(tmp_path / "unplugged")
    done = family.keep.verify()
    assert (done.read, list(done.problems), list(done.away)) == (0, [], [str(tmp_path / "scans")])
    assert any("cannot be found" in line for line in family.keep.state().advice)


def test_how_old_the_last_copy_is(family: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing yet; today; five weeks ago. A backup without the scans says how many are not in it."""
    assert "no copy of this archive elsewhere yet" in family.keep.state().advice[0]
    monkeypatch.setattr("kinphoto.archive.keeping.backup.disk_of", str)
    family.keep.back_up(tmp_path / "elsewhere")
    assert list(family.keep.state().advice) == []
    later = datetime.now(UTC) + timedelta(days=36)
    found = family.keep.state(later)
    assert found.backup_days == 36
    assert list(found.advice) == [
        "The last copy elsewhere was made 5 weeks ago. When its disk is at hand: kinphoto keep backup."
    ]
    family.keep.back_up(tmp_path / "small", scans=False)
    assert list(family.keep.state().advice) == ["6 scans are not in the last backup."]


def told(family: Archive, place: Path) -> Path:
    """Where the archive keeps the recording of a story."""
    family.stories.tell(NewStory(title="The ferry", by="Aunt Edda"), write(place / "edda.wav"))
    (recording,) = (family.folder / "sounds").rglob("*.wav")
    return recording


def test_recordings_are_read_too(family: Archive, tmp_path: Path) -> None:
    """One is a file more; nothing is wrong with it, and it is not touched."""
    recording = told(family, tmp_path)
    before = recording.read_bytes(), recording.stat().st_mtime_ns
    done = family.keep.verify()
    assert (done.read, done.files, done.recordings, list(done.problems)) == (7, 7, 1, [])
    assert (recording.read_bytes(), recording.stat().st_mtime_ns) == before


def test_a_recording_that_changed_in_any_way_is_damaged(family: Archive, tmp_path: Path) -> None:
    """A flipped bit; also with a new time, as nobody edits a recording here. The story and a good copy are named: that
    of the backup, found by its checksum."""
    recording = told(family, tmp_path)
    family.keep.back_up(tmp_path / "backup")
    good = hashlib.sha256(recording.read_bytes()).hexdigest()
    rot(recording)
    os.utime(recording)
    (problem,) = family.keep.verify().problems
    assert (problem.path, problem.problem) == (str(recording), "rotted")
    assert (list(problem.stories), list(problem.photographs)) == (["T1"], [])
    assert problem.copy is not None
    assert hashlib.sha256(Path(problem.copy).read_bytes()).hexdigest() == good
    recording.write_bytes(Path(problem.copy).read_bytes())
    assert list(family.keep.verify().problems) == []


def test_a_recording_that_vanished_is_found_in_the_last_package(family: Archive, tmp_path: Path) -> None:
    """And where there is no copy, whoever recorded it is to be asked."""
    recording = told(family, tmp_path)
    recording.rename(tmp_path / "kept.wav")
    (problem,) = family.keep.verify().problems
    assert problem.what_to_do.endswith("look in older backups, and ask who recorded it.")
    (tmp_path / "kept.wav").rename(recording)
    family.keep.make_package(tmp_path / "disk")
    recording.unlink()
    (problem,) = family.keep.verify().problems
    assert (problem.problem, problem.copy is not None) == ("vanished", True)
    assert Path(str(problem.copy)).is_relative_to(tmp_path / "disk")


def test_a_recording_is_overdue_after_three_months(family: Archive, tmp_path: Path) -> None:
    """Counted from when it was put in."""
    told(family, tmp_path)
    family.keep.verify()
    assert family.keep.state().overdue == 0
    long_ago = (datetime.now(UTC) - timedelta(days=100)).isoformat(timespec="seconds")
    with family.engine.begin() as connection:
        connection.execute(update(t.fixity).where(t.fixity.c.path.startswith("sounds/")).values(checked_at=long_ago))
    assert family.keep.state().overdue == 1
    assert family.keep.state().advice[0].startswith("1 scan or recording has not been read again")
