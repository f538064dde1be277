"""Framed faces when another scan becomes the front: they stay on the picture, not at their percentages.

Where a face has to be is worked out from how the second scan was made of the first (a crop and a turn, by hand).
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import skimage.data
from building import brought_along
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.store import tables as t

FACE = (0.37, 0.13, 0.13, 0.18)
"""The face in scikit-image's `astronaut`, as shares."""
EDGE, CROP, DEGREES = 900, (90, 40, 850, 860), 3.0


def first_scan() -> Image.Image:
    """Scan A."""
    return Image.fromarray(skimage.data.astronaut()).resize((EDGE, EDGE), Image.Resampling.BICUBIC)


def second_scan() -> Image.Image:
    """Scan B: a crop of A, turned by 3 degrees against the clock around the middle of A."""
    return first_scan().rotate(DEGREES, Image.Resampling.BICUBIC).crop(CROP)


def on_the_second() -> tuple[float, float]:
    """The middle of the face on B: turned around the middle of A, then cut (y points down)."""
    x, y = (FACE[0] + FACE[2] / 2 - 0.5) * EDGE, (FACE[1] + FACE[3] / 2 - 0.5) * EDGE
    cos, sin = math.cos(math.radians(DEGREES)), math.sin(math.radians(DEGREES))
    x, y = x * cos + y * sin + EDGE / 2, -x * sin + y * cos + EDGE / 2
    left, top, right, lower = CROP
    return (x - left) / (right - left), (y - top) / (lower - top)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the archive and both scans."""
    place = tmp_path_factory.mktemp("faces")
    first_scan().save(place / "a.png", dpi=(300, 300))
    second_scan().save(place / "b.png", dpi=(300, 300))
    archive = Archive.create(place / "archive")
    archive.scans.add([place / "a.png"])
    archive.statements.link(Link(photograph="a.png", person="-", region=",".join(map(str, FACE))))
    archive.close()
    return place


@pytest.fixture
def archive(made: Path, tmp_path: Path) -> Archive:
    """Scan A with a face."""
    return brought_along(made, tmp_path)


def face(archive: Archive) -> tuple[float, ...]:
    with archive.reading() as connection:
        row = connection.execute(t.region.select()).one()
    return row.left, row.top, row.width, row.height


def is_on_the_second(region: tuple[float, ...]) -> bool:
    """Within two percent of the picture."""
    left, top, width, height = region
    x, y = on_the_second()
    size = FACE[2] * EDGE / (CROP[2] - CROP[0]), FACE[3] * EDGE / (CROP[3] - CROP[1])
    return (
        math.dist((left + width / 2, top + height / 2), (x, y)) < 0.02
        and abs(width - size[0]) < 0.02
        and abs(height - size[1]) < 0.02
    )


def test_a_better_scan_keeps_the_face_on_the_picture(archive: Archive, tmp_path: Path) -> None:
    """At its old shares it would be off by a tenth of the picture; one undo puts it back."""
    assert not is_on_the_second(FACE)
    done = archive.scans.replace("a.png", tmp_path / "b.png")
    assert (done.faces, done.moved) == (1, 1)
    assert done.note.startswith("1 face moved with the picture.")
    assert is_on_the_second(face(archive))
    archive.statements.undo()
    assert face(archive) == FACE


def test_removing_the_better_scan_moves_it_back(archive: Archive, tmp_path: Path) -> None:
    """The older scan is the front again."""
    archive.scans.replace("a.png", tmp_path / "b.png")
    archive.photographs.remove(["b.png"])
    assert face(archive) == pytest.approx(FACE, abs=0.02)


def test_joining_and_parting(archive: Archive, tmp_path: Path) -> None:
    """The face drawn on B stands on A once both are one photograph, and on B again once they are two."""
    other = Archive.create(tmp_path / "other")
    other.scans.add([tmp_path / "a.png", tmp_path / "b.png"])
    x, y = on_the_second()
    drawn = (round(x - 0.07, 4), round(y - 0.1, 4), 0.14, 0.2)
    other.statements.link(Link(photograph="b.png", person="-", region=",".join(map(str, drawn))))
    other.scans.join(["a.png", "b.png"], side="recto")
    left, top, width, height = face(other)
    middle = FACE[0] + FACE[2] / 2, FACE[1] + FACE[3] / 2
    assert math.dist((left + width / 2, top + height / 2), middle) < 0.02
    other.scans.separate("b.png")
    assert face(other) == pytest.approx(drawn, abs=0.02)


def test_another_picture_leaves_the_face_where_it_is(archive: Archive, tmp_path: Path) -> None:
    """What cannot be laid over moves nothing, and the note says to look."""
    Image.fromarray(skimage.data.coffee()).resize((1200, 800)).save(tmp_path / "c.png", dpi=(300, 300))
    done = archive.scans.replace("a.png", tmp_path / "c.png")
    assert (done.moved, face(archive)) == (0, FACE)
    assert "Check that the frame still fits" in done.note
