"""Turning scans upright: the file stays as it is, and every frame stays on its face."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageOps
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.collection.rotation import WAYS
from kinphoto.archive.statements.appearances import Link
from kinphoto.errors import AmbiguousError, InvalidValueError, NotFoundError
from kinphoto.scans import tiles
from kinphoto.store import tables as t

PAPER, RED = (60, 150, 90), (210, 30, 30)
SQUARE = (150, 70, 210, 130)
"""Where the red square is, in pixels of the picture as stored."""


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """An empty archive."""
    return Archive.create(tmp_path / "archive")


def draw(path: Path, orientation: int = 1, seed: int = 0) -> np.ndarray:
    """A scan with a red square; what it shows when its own orientation is followed. Reference: Pillow."""
    picture = Image.new("RGB", (600, 400 + seed), PAPER)
    picture.paste(RED, SQUARE)
    exif = Image.Exif()
    exif[0x0112] = orientation
    picture.save(path, exif=exif, quality=95)
    with Image.open(path) as image:
        return np.asarray(ImageOps.exif_transpose(image))


def red(pixels: np.ndarray) -> tuple[float, float, float, float]:
    """Left, top, width and height of what is red, as parts of the whole."""
    down, across = np.nonzero((pixels[..., 0] > 140) & (pixels[..., 1] < 100))
    height, width = pixels.shape[:2]
    return (
        float(across.min() / width), float(down.min() / height),
        float((across.max() + 1 - across.min()) / width), float((down.max() + 1 - down.min()) / height),
    )  # fmt: skip


def test_film_scanned_from_its_wrong_side_is_mirrored_with_its_faces(archive: Archive, tmp_path: Path) -> None:
    """Reference: Pillow's mirror. The frame stays on the face, the file as it is; turning goes on from what is shown,
    and undoing both leaves everything as it was."""
    shown = draw(tmp_path / "film.jpg", 6)
    before = (tmp_path / "film.jpg").read_bytes()
    archive.scans.add([tmp_path / "film.jpg"])
    frame(archive, "K00001", red(shown))
    done = archive.scans.turn("K00001", "mirror")
    assert (done.mirrored, done.turn, done.faces) == (True, 0, 1)
    assert regions(archive)[0] == pytest.approx(red(np.fliplr(shown)), abs=0.01)
    archive.scans.turn("K00001", "right")
    expected = np.rot90(np.fliplr(shown), -1)
    scan = archive.scans.picture(1)
    with Image.open(tiles.view_path(archive.folder, scan.source, 600)) as view:
        assert red(np.asarray(view.convert("RGB"))) == pytest.approx(red(expected), abs=0.01)
    with Image.open(tiles.small_path(archive.folder, scan.source)) as small:
        assert red(np.asarray(small.convert("RGB"))) == pytest.approx(red(expected), abs=0.02)
    archive.statements.undo()
    archive.statements.undo()
    assert regions(archive)[0] == pytest.approx(red(shown), abs=0.001)
    assert (tmp_path / "film.jpg").read_bytes() == before


def test_a_negative_is_shown_as_a_positive_until_somebody_says_otherwise(archive: Archive, tmp_path: Path) -> None:
    """A channel is light where the file's is dark, in the thumbnail and the view; the version of the picture changes,
    so that no browser shows the old one; saying it twice changes nothing."""
    draw(tmp_path / "film.jpg")
    archive.scans.add([tmp_path / "film.jpg"])
    first = archive.scans.picture(1).source
    assert archive.scans.turn("K00001", "positive").positive
    second = archive.scans.picture(1).source
    assert first.version != second.version
    for path in (tiles.small_path(archive.folder, second), tiles.view_path(archive.folder, second)):
        with Image.open(path) as image:
            red_, green, blue = np.asarray(image.convert("RGB"))[5, 5]
            assert red_ > 200  # the paper has the least red, and the most of the others
            assert max(green, blue) < 60
    assert archive.scans.turn("K00001", "as a positive").change is None
    assert not archive.scans.turn("K00001", "as scanned").positive
    assert archive.scans.picture(1).source == first
    with pytest.raises(InvalidValueError, match="not a way to turn"):
        archive.scans.replace("K00001", tmp_path / "film.jpg", turn="positive")


def frame(archive: Archive, photograph: str, region: tuple[float, ...]) -> None:
    """Frame a face that nobody has named yet."""
    archive.statements.link(Link(photograph=photograph, person="-", region=",".join(f"{side:.6f}" for side in region)))


def regions(archive: Archive) -> list[tuple[float, ...]]:
    """All regions."""
    with archive.reading() as connection:
        r = t.region.c
        return [tuple(row) for row in connection.execute(select(r.left, r.top, r.width, r.height).order_by(r.id))]


def turns(archive: Archive) -> list[int]:
    """How all scans are turned."""
    with archive.reading() as connection:
        return list(connection.scalars(select(t.scan.c.turn).order_by(t.scan.c.id)))


@pytest.mark.parametrize(("orientation", "way"), list(product((1, 3, 5, 6, 8), WAYS)))
def test_the_frame_stays_on_the_face(archive: Archive, tmp_path: Path, orientation: int, way: str) -> None:
    """A red square is framed, then the scan is turned: in pixels turned by numpy, the frame is where the square is; and
    the face cut out of the scan has the square in its middle."""
    shown = draw(tmp_path / "a.jpg", orientation)
    before = (tmp_path / "a.jpg").read_bytes()
    archive.scans.add([tmp_path / "a.jpg"])
    frame(archive, "K00001", red(shown))
    turned = archive.scans.turn("K00001", way)
    assert (turned.photograph, turned.turn, turned.faces) == ("K00001", WAYS[way], 1)
    expected = np.rot90(shown, -WAYS[way])  # numpy turns the other way round
    assert regions(archive)[0] == pytest.approx(red(expected), abs=0.002)
    found = archive.scans.face_picture(1)
    with Image.open(tiles.face_path(archive.folder, found.scan.source, found.region)) as face:
        inside = red(np.asarray(face))
    assert inside == pytest.approx((0.1875, 0.1875, 0.625, 0.625), abs=0.03)  # a margin of 0.3 on each side of 1
    with Image.open(tiles.view_path(archive.folder, found.scan.source)) as view:
        assert red(np.asarray(view)) == pytest.approx(red(expected), abs=0.01)
    assert (tmp_path / "a.jpg").read_bytes() == before


@pytest.mark.parametrize(("orientation", "way"), list(product((1, 6), WAYS)))
def test_the_size_that_is_told_is_the_size_that_is_shown(
    archive: Archive, tmp_path: Path, orientation: int, way: str
) -> None:
    """What a page is told of a scan agrees with the pixels it gets, and its version is another one after each turn."""
    draw(tmp_path / "a.jpg", orientation)
    archive.scans.add([tmp_path / "a.jpg"])
    before = archive.photographs.details("K00001").scans[0].version
    archive.scans.turn("K00001", way)
    told = archive.photographs.details("K00001").scans[0]
    source = archive.scans.picture(1).source
    with Image.open(tiles.view_path(archive.folder, source)) as view:
        assert (told.width, told.height) == view.size
    pyramid = tiles.pyramid(archive.folder, source)
    assert (told.width, told.height) == (pyramid.width, pyramid.height)
    assert told.version == source.version != before


def test_turns_add_up_and_are_taken_back_one_by_one(archive: Archive, tmp_path: Path) -> None:
    """Four to the right is none; an undo puts the scan and its faces back together."""
    frame_of = red(draw(tmp_path / "a.jpg"))
    archive.scans.add([tmp_path / "a.jpg"])
    frame(archive, "K00001", frame_of)
    first = regions(archive)
    seen = []
    for _ in range(4):
        seen.append(archive.scans.turn("K00001", "right").turn)
    assert (seen, turns(archive)) == ([1, 2, 3, 0], [0])
    assert regions(archive)[0] == pytest.approx(first[0], abs=1e-9)
    archive.scans.turn("K00001", "left")
    assert archive.statements.history(1)[0].what == "turned a.jpg of K00001 to the left"
    archive.statements.undo()
    assert turns(archive) == [0]
    assert regions(archive)[0] == pytest.approx(first[0], abs=1e-9)


def test_faces_belong_to_the_first_of_several_rectos(archive: Archive, tmp_path: Path) -> None:
    """Turning a rescan or the back leaves them; turning the first front scan moves them; faces are cut out of it."""
    shown = draw(tmp_path / "a.jpg")
    draw(tmp_path / "b.jpg", seed=1)
    draw(tmp_path / "c.jpg", seed=2)
    archive.scans.add([tmp_path])
    archive.scans.join(["a.jpg", "b.jpg"], "recto")
    archive.scans.join(["a.jpg", "c.jpg"], "verso")
    frame(archive, "K00001", red(shown))
    first = regions(archive)
    for other in ("b.jpg", "c.jpg"):
        assert archive.scans.turn(other, "right").faces == 0
    assert regions(archive) == first
    assert turns(archive) == [0, 1, 1]
    assert archive.scans.turn("a.jpg", "right").faces == 1
    assert regions(archive)[0] == pytest.approx(red(np.rot90(shown, -1)), abs=0.002)
    assert Path(archive.scans.face_picture(1).scan.source.path).name == "a.jpg"


def test_the_back_that_was_scanned_first_has_no_faces(archive: Archive, tmp_path: Path) -> None:
    """The first scan is the verso: faces are on the recto, which comes second."""
    draw(tmp_path / "a.jpg")
    shown = draw(tmp_path / "b.jpg", seed=1)
    archive.scans.add([tmp_path])
    archive.scans.join(["b.jpg", "a.jpg"], "verso")
    frame(archive, "K00002", red(shown))
    assert archive.scans.turn("a.jpg", "over").faces == 0
    assert archive.scans.turn("b.jpg", "over").faces == 1


def test_what_cannot_be_turned(archive: Archive, tmp_path: Path) -> None:
    """Another way, no such scan, a photograph of two scans; nothing is changed."""
    draw(tmp_path / "a.jpg")
    draw(tmp_path / "b.jpg", seed=1)
    archive.scans.add([tmp_path])
    archive.scans.join(["a.jpg", "b.jpg"])
    log = archive.statements.history()
    with pytest.raises(InvalidValueError, match="unknown way to turn"):
        archive.scans.turn("a.jpg", "sideways")
    with pytest.raises(NotFoundError):
        archive.scans.turn("z.jpg", "left")
    with pytest.raises(AmbiguousError, match=r"a\.jpg.*b\.jpg"):
        archive.scans.turn("K00001", "left")
    assert archive.statements.history() == log


def test_numbers_that_are_nobodys(archive: Archive) -> None:
    """Also those that no database can hold."""
    for number in (0, 7, 2**63, 10**40):
        with pytest.raises(NotFoundError, match="no scan"):
            archive.scans.picture(number)
        with pytest.raises(NotFoundError, match="no face"):
            archive.scans.face_picture(number)


def test_what_is_made_of_scans_is_not_indexed(archive: Archive, tmp_path: Path) -> None:
    """With the scans in a folder of the archive, adding that folder again finds no tiles in it."""
    (archive.folder / "scans").mkdir()
    draw(archive.folder / "scans" / "a.jpg")
    archive.scans.add([archive.folder])
    source = archive.scans.picture(1).source
    tiles.pyramid(archive.folder, source)
    tiles.view_path(archive.folder, source)
    assert archive.scans.add([archive.folder]).seen == 1
