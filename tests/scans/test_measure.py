"""Measuring scans, against imagehash, piexif and the EXIF, JFIF, PNG and TIFF standards."""

from __future__ import annotations

import hashlib
import io
import struct
import sys
import tempfile
import zlib
from pathlib import Path

import imagehash
import numpy as np
import piexif
import pillow_heif
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from kinphoto.errors import UnreadableFileError
from kinphoto.scans import measure as measuring
from kinphoto.scans.measure import Measurement, measure
from kinphoto.scans.picture import MAX_PIXELS, NeedsMemoryError
from kinphoto.scans.thumbnails import thumbnail_path

pillow_heif.register_heif_opener()


def picture(width: int = 60, height: int = 40, seed: int = 1) -> Image.Image:
    """Soft coloured shapes."""
    shapes = np.random.default_rng(seed).integers(0, 255, (4, 6, 3), dtype=np.uint8)
    return Image.fromarray(shapes).resize((width, height), Image.Resampling.BICUBIC)


def saved(folder: Path, name: str, image: Image.Image | None = None, **options: object) -> str:
    """The path of a picture stored in `folder`."""
    (image or picture()).save(folder / name, **options)
    return str(folder / name)


def exif(**tags: object) -> bytes:
    """An EXIF block written by piexif; keys are `IFD_Name`, such as `Exif_FNumber` or `Image_Make`."""
    block: dict[str, dict[int, object]] = {"0th": {}, "Exif": {}}
    for key, value in tags.items():
        part, name = key.split("_", 1)
        ids = piexif.ImageIFD if part == "Image" else piexif.ExifIFD
        block["0th" if part == "Image" else "Exif"][getattr(ids, name)] = value
    return piexif.dump(block)


def measured(path: str, thumbs: Path | None = None) -> Measurement:
    """The measurement, once the file's bytes were seen to be what they were."""
    before = Path(path).read_bytes()
    (result,) = measure(path, thumbs).scans
    assert Path(path).read_bytes() == before
    return result


# Bytes and pixels ----------------------------------------------------------------------------------------------


def test_bytes_are_told_by_size_time_and_sha256(tmp_path: Path) -> None:
    """SHA-256 of the file as hashlib has it, size and time as the file system has them."""
    path = saved(tmp_path, "a.jpg")
    found = measured(path)
    assert found.sha256 == hashlib.sha256(Path(path).read_bytes()).hexdigest()
    assert (found.size, found.mtime_ns) == (Path(path).stat().st_size, Path(path).stat().st_mtime_ns)


def test_a_four_by_six_inch_print_at_1200_ppi_is_a_scan_of_35_megapixels(tmp_path: Path) -> None:
    """Common practice: inches times pixels per inch; 4800 by 7200 pixels are 34.6 million."""
    found = measured(saved(tmp_path, "a.jpg", Image.new("L", (4800, 7200), 99), dpi=(1200, 1200)))
    assert (found.width, found.height, found.ppi) == (4800, 7200, 1200)
    assert (found.width / found.ppi, found.height / found.ppi) == (4, 6)
    assert round(found.width * found.height / 1e6) == 35


@pytest.mark.parametrize(
    ("name", "mode", "file_type", "bits"),
    [
        ("a.jpg", "RGB", "JPEG", 8),
        ("a.jpg", "L", "JPEG", 8),
        ("a.jpg", "CMYK", "JPEG", 8),
        ("a.tif", "RGB", "TIFF", 8),
        ("a.tif", "1", "TIFF", 1),
        ("a.tif", "CMYK", "TIFF", 8),
        ("a.tif", "LAB", "TIFF", 8),
        ("a.tif", "F", "TIFF", 32),
        ("a.png", "RGBA", "PNG", 8),
        ("a.png", "LA", "PNG", 8),
        ("a.png", "P", "PNG", 8),
        ("a.webp", "RGB", "WEBP", 8),
        ("a.webp", "RGBA", "WEBP", 8),
        ("a.heic", "RGB", "HEIF", 8),
    ],
)
def test_every_kind_of_file_is_measured_and_gets_a_thumbnail(
    tmp_path: Path, name: str, mode: str, file_type: str, bits: int
) -> None:
    """The modes and depths are those the pictures were written with."""
    image = picture().convert("L").convert(mode) if mode == "F" else picture().convert("RGB")
    image = Image.new("LAB", image.size, (128, 0, 0)) if mode == "LAB" else image.convert(mode)
    if mode in ("RGBA", "LA"):
        image.putalpha(128)
    found = measured(saved(tmp_path, name, image), tmp_path / "thumbs")
    assert (found.file_type, found.mode, found.bits, found.pages) == (file_type, mode, bits, 1)
    with Image.open(thumbnail_path(tmp_path / "thumbs", found.sha256)) as small:
        assert (small.format, small.size) == ("JPEG", (60, 40))
        assert small.mode in ("L", "RGB")


def test_grey_of_16_bits_keeps_its_tones_in_the_thumbnail(tmp_path: Path) -> None:
    """A ramp from black to white is still one, neither clipped nor black: the upper byte of each value."""
    ramp = np.tile(np.linspace(0, 65535, 256).astype(np.uint16), (64, 1))
    for name in ("a.tif", "a.png"):
        found = measured(saved(tmp_path, name, Image.fromarray(ramp)), tmp_path)
        assert (found.bits, found.mode) == (16, "I;16")
        with Image.open(thumbnail_path(tmp_path, found.sha256)) as small:
            assert np.abs(np.asarray(small)[32].astype(int) - (ramp[32] >> 8)).max() <= 3


def test_colour_of_16_bits_is_told_from_colour_of_8(tmp_path: Path) -> None:
    """A TIFF written by hand after the TIFF 6.0 specification (from memory): 2 by 1 pixels, 3 samples of 16 bits."""
    tags = [
        (256, 3, 1, 2),
        (257, 3, 1, 1),
        (258, 3, 3, 8 + 2 + 10 * 12 + 4),
        (259, 3, 1, 1),
        (262, 3, 1, 2),
        (273, 4, 1, 8 + 2 + 10 * 12 + 4 + 6),
        (277, 3, 1, 3),
        (278, 3, 1, 1),
        (279, 4, 1, 12),
        (284, 3, 1, 1),
    ]
    entries = b"".join(struct.pack("<HHII", *tag) for tag in tags)
    body = struct.pack("<H", len(tags)) + entries + struct.pack("<I", 0) + struct.pack("<3H", 16, 16, 16)
    (tmp_path / "a.tif").write_bytes(b"II*\0" + struct.pack("<I", 8) + body + bytes(12))
    found = measured(str(tmp_path / "a.tif"))
    assert (found.bits, found.mode, found.width, found.height) == (16, "RGB", 2, 1)


def test_pages_of_a_tiff_are_counted_without_its_reduced_copies(tmp_path: Path) -> None:
    """TIFF 6.0 (from memory): bit 0 of NewSubfileType marks a reduced version of another page."""
    pages = [picture(seed=seed) for seed in (1, 2, 3)]
    three = measure(saved(tmp_path, "three.tif", pages[0], save_all=True, append_images=pages[1:])).scans
    assert [(scan.pages, scan.page) for scan in three] == [(3, 1), (3, 2), (3, 3)]
    reduced = pages[0].copy()
    reduced.encoderinfo = {"tiffinfo": {254: 1}}
    path = saved(tmp_path, "one.tif", pages[0], save_all=True, append_images=[reduced])
    assert measured(path).pages == 1


# What the hash sees --------------------------------------------------------------------------------------------


@given(seed=st.integers(0, 2**32 - 1), width=st.integers(40, 300), height=st.integers(40, 300))
@settings(max_examples=25, deadline=None)
def test_perceptual_hash_against_imagehash(seed: int, width: int, height: int) -> None:
    """Reference: imagehash.phash of the same picture, which a PNG holds unchanged."""
    image = picture(width, height, seed)
    with tempfile.TemporaryDirectory() as folder:
        assert measured(saved(Path(folder), "a.png", image)).phash == str(imagehash.phash(image))


def test_perceptual_hash_of_a_large_jpeg_against_imagehash(tmp_path: Path) -> None:
    """Decoding at a quarter of the size turns at most two of imagehash's 64 bits."""
    path = saved(tmp_path, "a.jpg", picture(2400, 1600), quality=92)
    with Image.open(path) as image:
        assert imagehash.hex_to_hash(measured(path).phash) - imagehash.phash(image) <= 2


# EXIF, tag 0x0112: which side of the upright picture the first row and the first column are.
STORED = {
    1: lambda upright: upright,
    2: lambda upright: upright[:, ::-1],
    3: lambda upright: upright[::-1, ::-1],
    4: lambda upright: upright[::-1],
    5: lambda upright: upright.transpose(1, 0, 2),
    6: lambda upright: upright[:, ::-1].transpose(1, 0, 2),
    7: lambda upright: upright[::-1, ::-1].transpose(1, 0, 2),
    8: lambda upright: upright[::-1].transpose(1, 0, 2),
}


@pytest.mark.parametrize("turn", range(1, 9))
@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.webp", "a.tif"])
def test_every_orientation_is_turned_upright(tmp_path: Path, name: str, turn: int) -> None:
    """Reference: the EXIF standard's table of orientations (from memory), applied to an array by slicing."""
    upright = np.asarray(picture(64, 48))
    stored = Image.fromarray(np.ascontiguousarray(STORED[turn](upright)))
    tags = {"tiffinfo": {274: turn}} if name == "a.tif" else {"exif": exif(Image_Orientation=turn)}
    found = measured(saved(tmp_path, name, stored, **tags), tmp_path)
    assert (found.orientation, found.width, found.height) == (turn, *stored.size)
    with Image.open(thumbnail_path(tmp_path, found.sha256)) as small:
        assert small.size == (64, 48)
        assert np.abs(np.asarray(small).astype(int) - upright).mean() < 8


def test_a_heic_file_is_measured_upright_already(tmp_path: Path) -> None:
    """Its decoder turns the picture, so there is nothing left to turn."""
    found = measured(saved(tmp_path, "a.heic", picture(64, 48), exif=exif(Image_Orientation=6)))
    assert (found.width, found.height, found.orientation) == (48, 64, 1)


# Resolution ----------------------------------------------------------------------------------------------------

INCH, CENTIMETRE, NO_UNIT = 2, 3, 1


def resolution(value: int, unit: int = INCH, **more: object) -> bytes:
    """EXIF with a resolution across and up."""
    return exif(Image_XResolution=(value, 1), Image_YResolution=(value, 1), Image_ResolutionUnit=unit, **more)


@pytest.mark.parametrize(
    ("name", "options", "ppi"),
    [
        ("jfif.jpg", {"dpi": (600, 600)}, 600),
        ("no-word.jpg", {}, None),
        ("exif.jpg", {"exif": resolution(400)}, 400),
        ("exif-in-cm.webp", {"exif": resolution(100, CENTIMETRE)}, 254),
        ("png.png", {"dpi": (600, 600)}, 600),
        ("tiff.tif", {"dpi": (1200, 1200)}, 1200),
        ("tiff-in-cm.tif", {"resolution_unit": "cm", "x_resolution": 100.0, "y_resolution": 100.0}, 254),
        ("heic.heic", {"exif": resolution(300)}, 300),
        ("unit-none.tif", {"tiffinfo": {282: 300.0, 283: 300.0, 296: NO_UNIT}}, None),
        ("means-unknown.jpg", {"dpi": (72, 72)}, None),
        ("means-unknown.png", {"dpi": (72, 72)}, None),
        ("phone.jpg", {"exif": resolution(72, Image_Make="Fern", Exif_FNumber=(18, 10))}, None),
        ("camera.jpg", {"exif": resolution(300, Exif_ExposureTime=(1, 60))}, None),
        ("camera-said.jpg", {"dpi": (240, 240), "exif": exif(Exif_FileSource=b"\x03")}, None),
        ("scanner.jpg", {"exif": resolution(300, Exif_FileSource=b"\x02", Exif_ExposureTime=(1, 60))}, 300),
        ("zero.jpg", {"exif": resolution(0)}, None),
        ("absurd.jpg", {"exif": resolution(4_000_000)}, None),
        ("uneven.jpg", {"dpi": (204, 98)}, None),
    ],
)
def test_resolution_is_read_where_it_means_something(
    tmp_path: Path, name: str, options: dict[str, object], ppi: float | None
) -> None:
    """EXIF 2.3 (from memory): 72 stands for unknown; FileSource 3 is a camera, which cannot know the print's size."""
    found = measured(saved(tmp_path, name, **options)).ppi
    assert found == (None if ppi is None else pytest.approx(ppi, abs=0.05))


# EXIF dates ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.webp", "a.heic", "a.tif"])
def test_dates_and_device_as_piexif_wrote_them(tmp_path: Path, name: str) -> None:
    """EXIF 2.3 (from memory): dates are YYYY:MM:DD HH:MM:SS; reference: piexif writes them."""
    block = exif(
        Image_Make="Fern",
        Image_Model="Fern Flat 9",
        Exif_DateTimeOriginal="2019:03:30 14:05:59",
        Exif_DateTimeDigitized="2019:03:31 00:00:00",
    )
    found = measured(saved(tmp_path, name, exif=block))
    assert (found.exif_original, found.exif_digitized) == ("2019:03:30 14:05:59", "2019:03:31 00:00:00")
    assert found.device == "Fern Flat 9"


@pytest.mark.parametrize("blank", ["    :  :     :  :  ", "0000:00:00 00:00:00", ""])
def test_an_unknown_exif_date_is_none(tmp_path: Path, blank: str) -> None:
    """EXIF 2.3 (from memory): blanks with the colons left standing mean that the date is unknown."""
    assert measured(saved(tmp_path, "a.jpg", exif=exif(Exif_DateTimeOriginal=blank))).exif_original is None


def test_exif_that_is_rubbish_does_not_keep_a_scan_out(tmp_path: Path) -> None:
    """The pixels are good, so the scan is; the metadata count as absent."""
    found = measured(saved(tmp_path, "a.jpg", exif=b"Exif\0\0MM\0*\xff\xff\xff\xff" + bytes(40)))
    assert (found.orientation, found.exif_original, found.device, found.ppi) == (1, None, None, None)


# What cannot be read -------------------------------------------------------------------------------------------


def half(data: bytes) -> bytes:
    """The first half."""
    return data[: len(data) // 2]


def stored(kind: str, **options: object) -> bytes:
    """A picture of noise, which does not compress to a few bytes."""
    noise = Image.fromarray(np.random.default_rng(5).integers(0, 255, (200, 300, 3), dtype=np.uint8))
    file = io.BytesIO()
    noise.save(file, kind, **options)
    return file.getvalue()


def png_of(width: int, height: int) -> bytes:
    """A PNG whose header claims these dimensions."""
    data = stored("PNG")
    header = data[12:16] + struct.pack(">II", width, height) + data[24:29]
    return data[:12] + header + struct.pack(">I", zlib.crc32(header)) + data[33:]


def png_with_a_wrong_checksum() -> bytes:
    """A PNG with one byte of its header turned."""
    data = bytearray(stored("PNG"))
    data[30] ^= 255
    return bytes(data)


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("empty.jpg", b"", "empty"),
        ("text.jpg", b"Dear aunt, here are the pictures.", "not a picture file"),
        ("gif.jpg", stored("GIF"), "a GIF picture"),
        ("pdf.tif", b"%PDF-1.7 and so on", "damaged or cut off"),
        ("start-only.jpg", stored("JPEG")[:20], "damaged"),
        ("half.jpg", half(stored("JPEG")), "cut off"),
        ("half.png", half(stored("PNG")), "cut off"),
        ("half.tif", half(stored("TIFF")), ""),
        ("half-lzw.tif", half(stored("TIFF", compression="tiff_lzw")), ""),
        ("half.webp", half(stored("WEBP")), ""),
        ("half.heic", half(stored("HEIF")), ""),
        ("bomb.png", png_of(60_000, 60_000), "60000 × 60000 pixels"),
        ("wrong-crc.png", png_with_a_wrong_checksum(), "damaged"),
        ("zeros.jpg", b"\xff\xd8\xff" + bytes(5000), "damaged"),
    ],
)
def test_what_is_no_whole_picture_is_refused_in_plain_words(tmp_path: Path, name: str, data: bytes, words: str) -> None:
    """One short reason with the path, whatever the decoder thought of it."""
    (tmp_path / name).write_bytes(data)
    with pytest.raises(UnreadableFileError) as caught:
        measure(str(tmp_path / name), tmp_path / "thumbs")
    assert words in caught.value.what
    assert caught.value.where == str(tmp_path / name)
    assert "\n" not in str(caught.value)
    assert not list((tmp_path / "thumbs").glob("**/*.jpg"))


def test_the_largest_bomb_is_refused_by_its_header() -> None:
    """The limit is above a glass plate of 24 by 30 cm at 2400 ppi: 22,677 by 28,346 pixels."""
    assert 22_677 * 28_346 < MAX_PIXELS < 60_000 * 60_000


def test_a_picture_larger_than_the_memory_allowed_says_what_it_needs(tmp_path: Path) -> None:
    """Four bytes for each of 3 million pixels, twice; a JPEG is decoded small and fits."""
    image = picture(2000, 1500)
    with pytest.raises(NeedsMemoryError) as caught:
        measure(saved(tmp_path, "a.tif", image), memory=10_000_000)
    assert caught.value.needed == 24_000_000
    assert measure(saved(tmp_path, "a.jpg", image), memory=10_000_000).scans[0].width == 2000


def test_a_file_that_is_still_being_written_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The scanner adds to the file while it is measured."""
    path = saved(tmp_path, "a.tif")
    inner = measuring._measured

    def with_a_scanner_at_work(*arguments: object) -> Measurement:
        result = inner(*arguments)  # type: ignore[arg-type]
        with Path(path).open("ab") as file:
            file.write(b"more")
        return result

    monkeypatch.setattr(measuring, "_measured", with_a_scanner_at_work)
    with pytest.raises(UnreadableFileError, match="being written while it was read"):
        measure(path)


def test_a_library_that_is_missing_is_no_damage_of_a_scan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An incomplete installation must not tell anybody to scan their photographs again."""
    monkeypatch.setitem(sys.modules, "imagehash", None)
    with pytest.raises(ImportError):
        measure(saved(tmp_path, "a.png"))
