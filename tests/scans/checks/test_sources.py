"""The first rows of a JPEG, against the decoder's whole picture (libjpeg, by Pillow)."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from scanned_prints import Print, as_jpeg, photograph, scanned

from kinphoto.scans.checks.findings import findings
from kinphoto.scans.checks.sources import JpegFile, lines_of_jpeg
from kinphoto.scans.measure import measure, measure_quality

LARGE = Print(size=(2600, 1900))


@cache
def large_scan(**how: float) -> Image.Image:
    """The scan of a large print, made in this way."""
    return scanned(photograph("coffee"), replace(LARGE, **how), 3)  # type: ignore[arg-type]


def rows(data: bytes, count: int) -> tuple[np.ndarray, np.ndarray]:
    """So many first rows as they are read, and the whole picture in grey as Pillow has it."""
    with Image.open(io.BytesIO(data)) as image:
        image.draft("L", image.size)
        whole = np.asarray(image)
    found = JpegFile(io.BytesIO(data), whole.shape[::-1], Image.new("L", (1, 1))).first_rows(count)
    return np.asarray(found), whole


def jpeg(**how: object) -> bytes:
    """A picture of 512 by 512 pixels."""
    file = io.BytesIO()
    Image.fromarray(photograph("astronaut")).save(file, "JPEG", quality=90, **how)
    return file.getvalue()


@pytest.mark.parametrize("how", [{}, {"subsampling": 0}, {"subsampling": 2}, {"restart_marker_blocks": 8}])
def test_the_first_rows_are_those_of_the_whole_picture(how: dict[str, object]) -> None:
    """Their number in the frame header (ITU-T T.81, B.2.2) decides how far a decoder goes."""
    found, whole = rows(jpeg(**how), 192)
    assert found.shape == (192, 512)
    assert (found == whole[:192]).all()


def test_a_progressive_jpeg_is_decoded_whole() -> None:
    """Its scans each go over the whole picture, so there is no place to stop at."""
    data = jpeg(progressive=True)
    assert lines_of_jpeg(io.BytesIO(data)) is None
    found, whole = rows(data, 192)
    assert found.shape == whole.shape


@pytest.mark.parametrize(("white", "rows"), [(0, 576), (400, 768)])
def test_only_as_many_rows_are_decoded_at_full_size_as_show_enough(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, white: int, rows: int
) -> None:
    """By hand: three rows of tiles of 192 pixels each. Where the first 400 rows are white, two of these would show
    nothing, and 576 rows are counted from a twenty-fifth of the height on: 92 + 576 lie in four."""
    picture = np.random.default_rng(1).normal(128, 25, (2300, 2500, 1)).clip(0, 255).astype(np.uint8).repeat(3, axis=2)
    picture[:white] = 255
    (tmp_path / "scan.jpg").write_bytes(as_jpeg(Image.fromarray(picture)))
    asked: list[int] = []
    first_rows = JpegFile.first_rows
    monkeypatch.setattr(JpegFile, "first_rows", lambda self, count: asked.append(count) or first_rows(self, count))
    measure_quality(str(tmp_path / "scan.jpg"))
    assert asked == [rows]


@pytest.mark.parametrize("data", [b"", b"\xff\xd8", b"\xff\xd8\xff\xe0\x00", b"nothing of the kind, but long enough"])
def test_what_is_no_jpeg_has_no_lines(data: bytes) -> None:
    """Cut off within its header, or something else."""
    assert lines_of_jpeg(io.BytesIO(data)) is None


@pytest.mark.parametrize("how", [{}, {"blur": 1.9}, {"tilt": 3.0}, {"cut": 80}, {"shake": 8}])
def test_a_large_jpeg_is_judged_as_the_same_picture_without_loss_is(tmp_path: Path, how: dict[str, float]) -> None:
    """The one is decoded smaller and read in part, the other is read whole."""
    scan = large_scan(**how)
    (tmp_path / "a.jpg").write_bytes(as_jpeg(scan, 97))
    scan.save(tmp_path / "a.tif", dpi=(600, 600))
    said = [
        {each.kind for each in findings(*scan.size, measure_quality(str(tmp_path / name)))}
        for name in ("a.jpg", "a.tif")
    ]
    assert said[0] == said[1]
    assert bool(said[0]) == bool(how)


@pytest.mark.parametrize("name", ["a.jpg", "a.tif"])
def test_checking_along_with_indexing_changes_neither(tmp_path: Path, name: str) -> None:
    """One decoding serves both; what is indexed is the same but for a bit or two of what its look is told by."""
    path = str(tmp_path / name)
    large_scan().save(path, dpi=(600, 600))
    alone, both = measure(path), measure(path, check=True)
    assert both.checks == (measure_quality(path),)
    assert alone.checks == ()
    one, other = alone.scans[0], both.scans[0]
    assert replace(one, phash="", look="") == replace(other, phash="", look="")
    assert (int(one.phash, 16) ^ int(other.phash, 16)).bit_count() <= 2


def test_a_tiff_that_asks_to_be_turned_is_measured_as_it_is_stored(tmp_path: Path) -> None:
    """Orientation 6 (TIFF 6.0, tag 274): Pillow turns it when it is read, and so the cut side came out wrong."""
    scan = scanned(photograph("coffee"), Print(cut=75), 3)
    plain, turned = tmp_path / "plain.tif", tmp_path / "turned.tif"
    scan.save(plain)
    scan.save(turned, tiffinfo={274: 6})
    assert measure_quality(str(turned)).cut == measure_quality(str(plain)).cut == ("left",)
