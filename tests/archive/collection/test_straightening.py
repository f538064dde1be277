"""Photographs taken of prints: recognised, checked with limits of their own, shown straight with the faces on them, and
compared with scans. The captures are drawn with known corners (`tests/bench/captured_prints.py`)."""

from __future__ import annotations

import hashlib
import io
import math
from functools import cache
from pathlib import Path

import numpy as np
import piexif
import pytest
import skimage.data
from building import brought_along
from captured_prints import Capture, drawn
from PIL import Image
from skimage.transform import ProjectiveTransform

from kinphoto.archive import Archive
from kinphoto.archive.collection.bed_outlines import PrintOutline
from kinphoto.archive.statements.appearances import Link
from kinphoto.errors import InvalidValueError
from kinphoto.scans import tiles
from kinphoto.store import tables as t

SEED, SIZE = 3000, (1000, 750)


@cache
def capture() -> Capture:
    """A print on a table."""
    return drawn(SEED, SIZE)


def exif(lens: float, orientation: int = 1) -> bytes:
    """What a telephone writes: an exposure, and the focal length as on 35 mm film (EXIF 3.0, tag A405)."""
    return piexif.dump({
        "0th": {piexif.ImageIFD.Make: b"Acorn", piexif.ImageIFD.Orientation: orientation},
        "Exif": {piexif.ExifIFD.FocalLengthIn35mmFilm: int(lens), piexif.ExifIFD.ExposureTime: (1, 60)},
    })  # fmt: skip


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the archive and its scans."""
    place = tmp_path_factory.mktemp("captures")
    folder = place / "phone"
    folder.mkdir()
    capture().picture.save(folder / "a.jpg", exif=exif(capture().lens), quality=95)
    capture().picture.save(folder / "b.jpg", quality=94)
    archive = Archive.create(place / "archive")
    archive.scans.add([folder], check=True)
    archive.close()
    return place


@pytest.fixture
def archive(made: Path, tmp_path: Path) -> Archive:
    """K00001, as the telephone wrote it; K00002, the same without what its file told, as a messenger sends it."""
    return brought_along(made, tmp_path)


def shown(archive: Archive, code: str, edge: int = tiles.VIEW_EDGE) -> Image.Image:
    """What the pages show."""
    scan = archive.scans.picture(archive.photographs.details(code).scans[0].id)
    with Image.open(tiles.view_path(archive.folder, scan.source, edge)) as image:
        return image.convert("RGB")


def digests(archive: Archive) -> set[str]:
    """The SHA-256 of the files, as the library computes it."""
    folder = archive.folder.parent / "phone"
    return {hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}


def face(archive: Archive) -> tuple[float, ...]:
    """The only framed face."""
    with archive.reading() as connection:
        row = connection.execute(t.region.select()).one()
    return row.left, row.top, row.width, row.height


def test_a_capture_is_recognised_and_straightened(archive: Archive) -> None:
    """By its file and its picture; the other only when somebody says so. Proportions within two per cent, the files
    byte for byte as they were, and one undo."""
    before = digests(archive)
    found = archive.scans.captures().captures
    assert [(one.photograph, one.state, one.said) for one in found] == [("K00001", "offered", False)]
    assert found[0].ratio == pytest.approx(capture().ratio, rel=0.02)
    assert found[0].lens == capture().lens
    done = archive.scans.straighten_sure()
    assert [one.state for one in done.captures] == ["straight"]
    picture = shown(archive, "K00001")
    assert picture.width / picture.height == pytest.approx(capture().ratio, rel=0.02)
    page = archive.photographs.details("K00001").scans[0]
    assert page.width / page.height == pytest.approx(capture().ratio, rel=0.02)
    assert archive.scans.straighten_sure().captures == ()
    archive.scans.say_capture("K00002", "yes")
    assert [one.state for one in archive.scans.captures().captures] == ["straight", "none"]
    assert archive.scans.straighten("K00002").captures[0].lens is None
    assert digests(archive) == before
    archive.statements.undo()
    archive.statements.undo()
    archive.statements.undo()
    assert shown(archive, "K00001").size == capture().picture.size
    assert [one.state for one in archive.scans.captures().captures] == ["offered"]


@pytest.mark.parametrize("orientation", [1, 3, 6])
def test_faces_stay_on_the_faces(tmp_path: Path, orientation: int) -> None:
    """A face framed before stays on its place on the print (by the drawn homography), whichever way up the file stores
    it; a turn moves both; as it was taken again it is where it was; undoing goes all the way back."""
    (tmp_path / "phone").mkdir()
    picture, corners = capture().picture, capture().shares
    back = {1: None, 3: Image.Transpose.ROTATE_180, 6: Image.Transpose.ROTATE_90}[orientation]
    stored = picture if back is None else picture.transpose(back)
    stored.save(tmp_path / "phone" / "a.jpg", exif=exif(capture().lens, orientation), quality=95)
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([tmp_path / "phone"], check=True)
    middle = corners.mean(axis=0)
    spot = middle + 0.3 * (corners[0] - middle)  # between the middle and the top left
    framed = (float(spot[0]) - 0.03, float(spot[1]) - 0.04, 0.06, 0.08)
    archive.statements.link(Link(photograph="K00001", person="-", region=",".join(f"{side:.6f}" for side in framed)))
    as_taken, square = face(archive), np.array([(0, 0), (1, 0), (1, 1), (0, 1)], dtype=float)
    there = tuple(ProjectiveTransform.from_estimate(corners, square)(spot)[0])
    assert archive.scans.straighten("K00001").faces == 1
    assert _middle(face(archive)) == pytest.approx(there, abs=0.01)
    archive.scans.turn("a.jpg", "left")
    assert _middle(face(archive)) == pytest.approx((there[1], 1 - there[0]), abs=0.01)
    archive.scans.turn("a.jpg", "right")
    archive.scans.show_as_taken("K00001")
    assert face(archive) == pytest.approx(as_taken, abs=0.01)
    for _ in range(4):
        archive.statements.undo()
    assert face(archive) == pytest.approx(as_taken, abs=1e-9)


def _middle(region: tuple[float, ...]) -> tuple[float, float]:
    return region[0] + region[2] / 2, region[1] + region[3] / 2


def test_corners_by_hand(archive: Archive) -> None:
    """In any order, as shares of the picture; those that are none are refused in one line, and nothing changed."""
    given = [tuple(map(float, place)) for place in capture().shares]
    done = archive.scans.straighten("K00002", [given[k] for k in (2, 0, 3, 1)])  # type: ignore[misc]
    assert np.allclose(done.captures[0].corners, given, atol=1e-3)
    for wrong, why in (
        ([(0.1, 0.1), (0.9, 0.1), (0.9, 0.9)], "four corners"),
        ([(0.1, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 1.4)], "outside the picture"),
        ([(0.1, 0.1), (0.9, 0.1), (0.3, 0.2), (0.1, 0.9)], "not the corners of a print"),
        ([(0.5, 0.5), (0.51, 0.5), (0.51, 0.51), (0.5, 0.51)], "too close"),
        ([(0.1, 0.1), (0.9, 0.1), (0.9, 0.9), (math.nan, 0.9)], "outside the picture"),
    ):
        with pytest.raises(InvalidValueError, match=why):
            archive.scans.straighten("K00001", wrong)
    assert archive.scans.capture("K00001").state == "offered"


def test_what_is_unsure_is_left_to_a_person(archive: Archive, tmp_path: Path) -> None:
    """A photograph of the family, taken with a camera, is no capture and is not straightened without corners; one that
    is wanted as it was taken is offered no more."""
    Image.fromarray(skimage.data.astronaut()).save(tmp_path / "phone" / "c.jpg", exif=exif(26), quality=95)
    archive.scans.add([tmp_path / "phone"], check=True)
    assert "K00003" not in [one.photograph for one in archive.scans.captures().captures]
    with pytest.raises(InvalidValueError, match="unsure"):
        archive.scans.straighten("K00003")
    archive.scans.show_as_taken("K00001")
    assert archive.scans.captures().captures[0].state == "as-taken"
    assert archive.scans.straighten_sure().captures == ()
    archive.scans.say_capture("K00001", "no")
    assert archive.scans.captures().captures == ()
    with pytest.raises(InvalidValueError, match="Use yes, no or file"):
        archive.scans.say_capture("K00001", "perhaps")


def test_one_view_at_a_time(archive: Archive) -> None:
    """Several prints are not cut out of a view of one, nor is one straightened on which several are outlined; a face
    beside the print keeps the corners from leaving it out."""
    archive.scans.set_outlines("a.jpg", [PrintOutline(20, 20, 60, 50)])
    with pytest.raises(InvalidValueError, match="several prints are outlined"):
        archive.scans.straighten("K00001")
    archive.scans.straighten("K00002")
    with pytest.raises(InvalidValueError, match="shown straight"):
        archive.scans.cut(["K00002"])
    archive.scans.show_as_taken("K00002")
    archive.statements.link(Link(photograph="K00002", person="-", region="0.001,0.001,0.01,0.01"))
    with pytest.raises(InvalidValueError, match="would lie outside the print"):
        archive.scans.straighten("K00002")


def test_checks_have_limits_of_their_own(archive: Archive) -> None:
    """Pixels along the print instead of ppi, the angle instead of a tilt; nothing about a scanner's glass or program.
    400 ppi along 6 inches are 2,400 pixels, the floor less what rounding takes; somebody's own floor counts."""
    found = {one.photograph: one for one in archive.scans.findings().scans}
    kinds = {each.kind for each in found["K00001"].findings}
    assert "capture-pixels" in kinds
    assert not kinds & {"ppi-missing", "ppi-low", "tilted", "dust", "sharpened", "stretched"}
    pixels = next(each for each in found["K00001"].findings if each.kind == "capture-pixels")
    sides = np.hypot(*(np.roll(capture().corners, -1, axis=0) - capture().corners).T)
    along = max(min(sides[0], sides[2]), min(sides[1], sides[3]))
    assert pixels.value == pytest.approx(along, rel=0.01)
    assert ("perspective" in kinds) is (capture().tilt > 20)
    archive.scans.set_floor("print", 60)
    kinds = {each.kind for one in archive.scans.findings(["K00001"]).scans for each in one.findings}
    assert "capture-pixels" not in kinds


def test_glare_on_the_print_alone_counts(tmp_path: Path) -> None:
    """A lamp on the table is none of the print's; the same lamp on the print is."""
    (tmp_path / "phone").mkdir()
    corners = capture().corners
    places = {"print": corners.mean(axis=0), "table": corners[0] * 0.35}
    for name, (x, y) in places.items():
        pixels = np.asarray(capture().picture, dtype=float)
        rows, columns = np.indices(pixels.shape[:2])
        away = np.hypot(columns - x, rows - y)
        lamp = 330 * np.exp(-((away / 55) ** 2))[..., None]
        lit = Image.fromarray(np.clip(pixels + lamp, 0, 255).astype(np.uint8))
        lit.save(tmp_path / "phone" / f"{name}.jpg", exif=exif(capture().lens), quality=95)
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([tmp_path / "phone"], check=True)
    kinds = {Path(one.scan).stem: {each.kind for each in one.findings} for one in archive.scans.findings().scans}
    assert "glare" in kinds["print"]
    assert "glare" not in kinds["table"]


def test_a_scan_and_a_capture_are_compared(tmp_path: Path) -> None:
    """Of one print the scan with twice the pixels along it is better, and said why; the pixels of the table do not
    count. The straightened capture and the scan are proposed as a pair, and nothing is set by itself."""
    (tmp_path / "phone").mkdir()
    capture().picture.save(tmp_path / "phone" / "taken.jpg", exif=exif(capture().lens), quality=95)
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([tmp_path / "phone"], check=True)
    archive.scans.straighten("K00001")
    flat = shown(archive, "K00001", tiles.LARGE_EDGE)
    scan = flat.resize((flat.width * 2, flat.height * 2), Image.Resampling.BICUBIC)
    scan = scan.crop((12, 12, scan.width - 30, scan.height - 20))
    scan.save(tmp_path / "phone" / "scanned.png", dpi=(300, 300))
    archive.scans.add([tmp_path / "phone"], check=True)
    found = archive.scans.compare("taken.jpg", "scanned.png")
    assert found.same
    along = next(each for each in found.compared if each.what == "pixels along the print")
    assert along.better == "other"
    counted = int(along.other.replace(",", ""))  # a white border may be taken for the lid
    assert 0.75 * max(scan.size) <= counted <= max(scan.size)
    assert any(each.what == "seen" and each.other == "flat on the glass" for each in found.compared)
    pairs = archive.scans.pairs().proposals
    assert [one.kind for one in pairs] == ["rescan"]
    assert pairs[0].compared
    assert not pairs[0].sure
    assert archive.photographs.details("K00001").scans[0].path.endswith("taken.jpg")


def test_a_changed_file_loses_its_corners(archive: Archive) -> None:
    """One that was straightened by another program is not straightened twice."""
    archive.scans.straighten("K00001")
    out = io.BytesIO()
    capture().picture.crop((50, 50, 900, 700)).save(out, "JPEG", exif=exif(26), quality=95)
    (archive.folder.parent / "phone" / "a.jpg").write_bytes(out.getvalue())
    archive.scans.add([archive.folder.parent / "phone"])
    assert archive.scans.capture("a.jpg").state != "straight"
