"""Walking folders of scans, with everything a real disk has in them."""

from __future__ import annotations

import os
from itertools import pairwise
from pathlib import Path

import pytest

from kinphoto.errors import NotFoundError
from kinphoto.scans.walk import FoundFile, Refused, walk

JPEG = b"\xff\xd8\xff\xe0 and the rest"


def put(folder: Path, *names: str, data: bytes = JPEG) -> None:
    """Files with these names below `folder`."""
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)


def names(folder: Path, *paths: Path) -> list[str]:
    """What is found, relative to `folder`."""
    found = walk([str(path) for path in paths or (folder,)])
    return [str(Path(each.path).relative_to(folder)) for each in found if isinstance(each, FoundFile)]


def refused(*paths: Path) -> dict[str, str]:
    """What is refused: the last part of the path, and why."""
    return {Path(each.path).name: each.why for each in walk([str(p) for p in paths]) if isinstance(each, Refused)}


def test_folders_are_walked_in_the_order_of_their_names(tmp_path: Path) -> None:
    """Files and folders alike, so that the order is that of the paths' parts."""
    put(tmp_path, "c.jpg", "b/2.tif", "b/1.png", "a.webp", "d/e/f.heic")
    assert names(tmp_path) == ["a.webp", "b/1.png", "b/2.tif", "c.jpg", "d/e/f.heic"]


def test_what_is_hidden_or_no_picture_is_passed_over(tmp_path: Path) -> None:
    """No word is lost on notes, spreadsheets and the system's own files."""
    put(tmp_path, ".hidden.jpg", ".trash/a.jpg", "kept.jpg")
    put(tmp_path, "notes.txt", "list.csv", "Thumbs.db", data=b"words")
    assert names(tmp_path) == ["kept.jpg"]
    assert refused(tmp_path) == {}


def test_pictures_without_a_picture_s_suffix_are_known_by_their_content(tmp_path: Path) -> None:
    """A file rescued from an old disk may have lost its suffix."""
    put(tmp_path, "FILE0001", "a.jpg.bak")
    assert names(tmp_path) == ["FILE0001", "a.jpg.bak"]


def test_pictures_of_other_kinds_are_reported(tmp_path: Path) -> None:
    """A folder full of raw files must not be passed over in silence."""
    put(tmp_path, "one.NEF", "two.gif")
    others = "kinphoto reads JPEG, TIFF, PNG, WebP, HEIC and PDF: save a copy of it as TIFF or PNG, and add that"
    assert refused(tmp_path) == {
        "one.NEF": f"it is a camera's raw picture; {others}",
        "two.gif": f"it is a GIF picture; {others}",
    }


def test_links_in_a_circle_come_to_an_end(tmp_path: Path) -> None:
    """A folder that holds a link to the one above it, and two that link to each other."""
    put(tmp_path, "a/1.jpg", "b/2.jpg")
    (tmp_path / "a" / "up").symlink_to(tmp_path)
    (tmp_path / "a" / "to-b").symlink_to(tmp_path / "b")
    (tmp_path / "b" / "to-a").symlink_to(tmp_path / "a")
    (tmp_path / "b" / "itself.jpg").symlink_to("itself.jpg")
    assert sorted(names(tmp_path)) == ["a/1.jpg", "b/2.jpg"]
    assert "itself.jpg" in refused(tmp_path)


def test_a_linked_folder_is_walked_where_it_really_lies(tmp_path: Path) -> None:
    """So that its scans have one path, however they were reached."""
    put(tmp_path, "disk/1.jpg")
    (tmp_path / "scans").mkdir()
    (tmp_path / "scans" / "link").symlink_to(tmp_path / "disk")
    assert names(tmp_path, tmp_path / "scans") == ["disk/1.jpg"]


def test_folders_deeper_than_python_s_stack(tmp_path: Path) -> None:
    """Twelve hundred folders one in another, made and removed step by step."""
    top = here = os.open(tmp_path, os.O_RDONLY)
    handles = [top]
    for _ in range(1200):
        os.mkdir("d", dir_fd=here)
        here = os.open("d", os.O_RDONLY, dir_fd=here)
        handles.append(here)
    try:
        assert names(tmp_path) == []
    finally:
        for outer, inner in reversed(list(pairwise(handles))):
            os.close(inner)
            os.rmdir("d", dir_fd=outer)
        os.close(top)


def test_a_name_that_is_not_utf8_is_reported_readably(tmp_path: Path) -> None:
    """A file and a folder named in Latin-1."""
    folder = os.fsencode(tmp_path)
    Path(os.fsdecode(folder + b"/M\xfcller.jpg")).write_bytes(JPEG)
    Path(os.fsdecode(folder + b"/B\xfccher")).mkdir()
    put(tmp_path, "fine.jpg")
    assert names(tmp_path) == ["fine.jpg"]
    assert refused(tmp_path) == {
        "M\\xfcller.jpg": "its name is not valid UTF-8; rename it, then add it again",
        "B\\xfccher": "the folder's name is not valid UTF-8; rename it, then add it again",
    }


def test_a_folder_that_cannot_be_opened_is_reported(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The others are walked all the same. (The refusal is played, because an administrator may open anything.)"""
    put(tmp_path, "locked/1.jpg", "open/2.jpg")
    real = os.scandir

    def guarded(path: str | int) -> object:
        if str(path).endswith("locked"):
            raise PermissionError(13, "Permission denied")
        return real(path)

    monkeypatch.setattr(os, "scandir", guarded)
    assert names(tmp_path) == ["open/2.jpg"]
    assert refused(tmp_path) == {
        "locked": "the folder cannot be opened (Permission denied); check that you may read it"
    }


def test_pipes_are_passed_over_and_dead_links_reported(tmp_path: Path) -> None:
    """Opening a pipe would wait for ever."""
    os.mkfifo(tmp_path / "pipe.jpg")
    (tmp_path / "dead.jpg").symlink_to(tmp_path / "gone.jpg")
    assert names(tmp_path) == []
    assert refused(tmp_path) == {
        "dead.jpg": "it is a link to a file that does not exist; correct the link or remove it"
    }


def test_folders_left_out_are_not_entered(tmp_path: Path) -> None:
    """The archive's own thumbnails are no scans."""
    put(tmp_path, "1.jpg", "thumbs/ab/abc.jpg")
    left_out = frozenset([os.path.realpath(tmp_path / "thumbs")])
    assert [each.path for each in walk([str(tmp_path)], left_out)] == [str(tmp_path / "1.jpg")]


def test_files_and_folders_that_overlap_are_met_once(tmp_path: Path) -> None:
    """A file, its folder, and the folder above, all named."""
    put(tmp_path, "a/1.jpg")
    assert names(tmp_path, tmp_path / "a" / "1.jpg", tmp_path / "a", tmp_path) == ["a/1.jpg"]


def test_a_path_that_is_not_there_stops_before_anything_is_done(tmp_path: Path) -> None:
    """A slip of the pen is not a folder without pictures."""
    put(tmp_path, "1.jpg")
    with pytest.raises(NotFoundError, match="no such file or folder"):
        next(walk([str(tmp_path), str(tmp_path / "nowhere")]))
