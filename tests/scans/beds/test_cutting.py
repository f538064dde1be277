"""Parts of a bed: their pixels against a formula, their files against another reader."""

from __future__ import annotations

from pathlib import Path

import imagecodecs
import numpy as np
import pytest
import tifffile
from PIL import Image

from kinphoto.errors import UnreadableFileError
from kinphoto.scans.beds.cutting import WholeBed, margins, part, read_bed, write_part
from kinphoto.scans.beds.places import Place
from kinphoto.scans.fixity import sha256_at
from kinphoto.scans.upright import ScanFile


def bed(pixels: np.ndarray) -> WholeBed:
    return WholeBed(pixels, 600.0, True, None, {})


def slope(rows: int, columns: int) -> np.ndarray:
    """A picture whose every pixel is known: 20 x + 10 y + 1000, of 16 bits, in pixel middles."""
    y, x = np.indices((rows, columns)) + 0.5
    return np.rint(20 * x + 10 * y + 1000).astype(np.uint16)


def test_a_part_is_the_bed_seen_through_its_turned_frame() -> None:
    """Cubic splines reproduce a linear slope exactly (Unser 1999), so every pixel of a part turned by 6.5 degrees is
    known by the formula of rotation."""
    place = Place(210.3, 160.8, 150.0, 100.0, 6.5)
    found = part(bed(slope(320, 420)), place, 8.0).astype(float)
    assert found.shape == (116, 166)
    angle = np.radians(6.5)
    v, u = np.indices(found.shape) + 0.5
    u, v = u - 83, v - 58
    x, y = 210.3 + u * np.cos(angle) - v * np.sin(angle), 160.8 + u * np.sin(angle) + v * np.cos(angle)
    assert np.abs(found - (20 * x + 10 * y + 1000)).max() <= 1


def test_a_straight_print_is_copied_and_not_resampled() -> None:
    """Each pixel as it is; on its side, turned by a quarter without loss."""
    pixels = np.random.default_rng(1).integers(0, 65535, (300, 400, 3), dtype=np.uint16)
    assert (part(bed(pixels), Place(200, 150, 100, 60), 10.0) == pixels[110:190, 140:260]).all()
    # Its top looks to the right: a quarter turn to the left brings it up.
    assert (part(bed(pixels), Place(200, 150, 60, 100, 90), 10.0) == np.rot90(pixels[110:190, 140:260])).all()


def test_never_inside_the_paper_and_never_less_than_a_millimetre() -> None:
    """Alone 2 mm of bed stay; half the gap where another is nearer than 4 mm; 1 mm where it is nearer than 2."""
    one = Place(100, 100, 100, 100)
    for gap, expected in ((200.0, 20.0), (30.0, 15.0), (12.0, 10.0)):
        assert margins([one, Place(200 + gap, 100, 100, 100)], 10.0) == [expected, expected]


def test_where_the_bed_ends_its_level_goes_on() -> None:
    """A part that reaches over the edge has no black corner: black is no bed."""
    pixels = np.full((200, 300, 3), 240, dtype=np.uint8)
    found = part(bed(pixels), Place(60, 50, 100, 80, 5.0), 20.0)
    assert found.min() == 240


@pytest.mark.parametrize("kind", ["tif", "lzw", "png", "grey", "jpg"])
def test_a_bed_keeps_its_depth(tmp_path: Path, kind: str) -> None:
    """Sixteen bits a channel stay sixteen, from TIFF (also LZW) and PNG; a JPEG has eight. Written by tifffile,
    imagecodecs and Pillow."""
    colour = np.random.default_rng(2).integers(0, 65535, (60, 80, 3), dtype=np.uint16)
    path = tmp_path / f"bed.{'tif' if kind in ('lzw', 'grey') else kind}"
    if kind == "png":
        path.write_bytes(imagecodecs.png_encode(colour))
    elif kind == "jpg":
        Image.fromarray((colour >> 8).astype(np.uint8)).save(path, quality=95, dpi=(300, 300))
    else:
        pixels = colour[..., 0] if kind == "grey" else colour
        tifffile.imwrite(path, pixels, compression="lzw" if kind == "lzw" else None, resolution=(300, 300))
    found = read_bed(ScanFile(str(path), sha256_at(str(path))))
    if kind == "jpg":
        assert found.pixels.dtype == np.uint8
        assert found.ppi == 300
    else:
        assert (found.pixels == (colour[..., 0] if kind == "grey" else colour)).all()


def test_a_bed_is_read_as_it_is_shown(tmp_path: Path) -> None:
    """Turned by a person to the right, on top of what its file asks for: as Pillow turns it."""
    picture = Image.fromarray(np.random.default_rng(4).integers(0, 255, (40, 60, 3), dtype=np.uint8))
    exif = Image.Exif()
    exif[0x0112] = 3
    picture.save(tmp_path / "bed.png", exif=exif)
    path = str(tmp_path / "bed.png")
    found = read_bed(ScanFile(path, sha256_at(path), turn=1))
    expected = picture.transpose(Image.Transpose.ROTATE_180).transpose(Image.Transpose.ROTATE_270)
    assert (found.pixels == np.asarray(expected)).all()


def test_a_file_that_has_changed_is_not_cut(tmp_path: Path) -> None:
    """What was looked at is no longer there."""
    Image.new("L", (50, 50), 200).save(tmp_path / "bed.png")
    with pytest.raises(UnreadableFileError, match="has changed"):
        read_bed(ScanFile(str(tmp_path / "bed.png"), "0" * 64))


def test_a_part_is_written_without_loss(tmp_path: Path) -> None:
    """Pillow, which did not write it, finds the resolution, the profile and the scanner; tifffile every pixel."""
    pixels = np.random.default_rng(5).integers(0, 65535, (50, 70, 3), dtype=np.uint16)
    profile = b"\0\0\2\x0c" + bytes(520)
    write_part(tmp_path / "part.tif", pixels, WholeBed(pixels, 600.0, True, profile, {272: "Scanner 9"}), "Cut from é")
    assert (tifffile.imread(tmp_path / "part.tif") == pixels).all()
    with Image.open(tmp_path / "part.tif") as image:
        assert image.info["dpi"] == (600.0, 600.0)
        assert image.info["icc_profile"] == profile
        assert image.tag_v2[272] == "Scanner 9"  # type: ignore[attr-defined]
        assert image.tag_v2[258] == (16, 16, 16)  # type: ignore[attr-defined]
    assert [path.name for path in tmp_path.iterdir()] == ["part.tif"]
