"""The shelf: every container in its place, whole and by name only."""

from __future__ import annotations

from pathlib import Path

import pytest

from kinphoto.archive import Archive
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """A folder with boxes 2 and 10 in it and an empty one; an album by hand that is empty; one photograph nowhere."""
    made = Archive.create(tmp_path / "archive")
    with made.working("boxes") as work:
        root = work.insert_one(t.container, name="scans", folder="/scans")
        boxes = [
            work.insert_one(t.container, name=name, folder=f"/scans/{name}", parent_id=root)
            for name in ("box 10", "box 2", "box 3")
        ]
        work.insert_one(t.container, name="album")
        places = [boxes[0], boxes[0], boxes[1], None]
        work.insert(
            t.photograph,
            [{"code": f"K0000{n}", "indexed": 738_000, "container_id": box} for n, box in enumerate(places, 1)],
        )
    return made


def test_the_shelf_is_in_order_without_folders_that_are_empty(archive: Archive) -> None:
    """Numbers in names count as numbers, what was made by hand stays, and last comes what lies nowhere."""
    shown = [(box.name, box.depth, box.tally.photographs) for box in archive.photographs.containers()]
    assert shown == [("album", 0, 0), ("scans", 0, 0), ("box 2", 1, 1), ("box 10", 1, 2), ("", 0, 1)]


def test_the_names_are_those_of_the_shelf(archive: Archive) -> None:
    """By name only the containers are the same ones in the same order."""
    assert [(box.id, box.name) for box in archive.photographs.container_names()] == [
        (box.id, box.name) for box in archive.photographs.containers() if box.id
    ]


def test_a_folder_that_fills_again_is_back_on_the_shelf(archive: Archive) -> None:
    """Whether a folder is shown depends on what lies in it now."""
    assert "box 3" not in [box.name for box in archive.photographs.container_names()]
    archive.photographs.move(["K4"], "/scans/box 3")
    assert "box 3" in [box.name for box in archive.photographs.container_names()]


def test_names_with_digits_of_any_kind_have_an_order(tmp_path: Path) -> None:
    """Digits that are no numbers (superscripts), those of other scripts, and more than Python reads as a number."""
    archive = Archive.create(tmp_path / "archive")
    names = ["box 10", "box 2", "box 02", "m²", "m٣", "9" * 5000, "8", ""]
    with archive.working("boxes") as work:
        for name in names:
            work.insert_one(t.container, name=name)
    order = [box.name for box in archive.photographs.container_names()]
    assert sorted(order) == sorted(names)
    assert order.index("box 2") < order.index("box 10")
    assert order.index("8") < order.index("9" * 5000)
