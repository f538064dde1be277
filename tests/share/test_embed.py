"""Metadata inside JPEG and TIFF files of every kind that Pillow writes, read with exiftool; pixels with Pillow."""

from __future__ import annotations

import io
import json
import mmap
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from asking_exiftool import exiftool
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, TiffImagePlugin

from kinphoto.share import embed
from kinphoto.share.facts import PersonFact, PictureFacts
from kinphoto.share.xmp import packet

FACTS = PictureFacts(identifier="K00042", size=(97, 61), people=(PersonFact("Ada", (0.1, 0.2, 0.3, 0.4)),))
INSIDE = embed.EmbeddedMetadata(packet(FACTS), 6, 300, "1931-06-12", "2019:03:02 10:00:00")
COLOUR = Image.fromarray(np.random.default_rng(3).integers(0, 255, (61, 97, 3), dtype=np.uint8))


def saved(image: Image.Image, kind: str, **options: Any) -> bytes:
    """The bytes of a file that Pillow writes."""
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def fields(data: bytes, path: Path) -> dict[str, Any]:
    """What exiftool reads."""
    path.write_bytes(data)
    found: dict[str, Any] = json.loads(exiftool("-j", "-n", "-G1", "-a", path))[0]
    return found


def same_pixels(one: bytes, other: bytes, page: int = 0) -> bool:
    """Whether both decode to the same."""
    with Image.open(io.BytesIO(one)) as first, Image.open(io.BytesIO(other)) as second:
        first.seek(page)
        return first.mode == second.mode and np.array_equal(np.asarray(first), np.asarray(second))


JPEGS = {
    "baseline": saved(COLOUR, "JPEG"),
    "progressive": saved(COLOUR, "JPEG", progressive=True, quality=95),
    "grey": saved(COLOUR.convert("L"), "JPEG"),
    "cmyk": saved(COLOUR.convert("CMYK"), "JPEG"),
    "restarts": saved(COLOUR, "JPEG", restart_marker_blocks=2),
    "profile": saved(COLOUR, "JPEG", icc_profile=b"\0" * 70_000),
    "fill bytes": saved(COLOUR, "JPEG").replace(b"\xff\xdb", b"\xff\xff\xff\xdb", 1),
}


@pytest.mark.parametrize("name", JPEGS)
def test_a_jpeg_keeps_every_pixel(name: str, tmp_path: Path) -> None:
    """And its profile; exiftool reads what was written."""
    made = embed.joined(JPEGS[name], embed.jpeg(JPEGS[name], INSIDE))
    assert same_pixels(JPEGS[name], made)
    found = fields(made, tmp_path / "a.jpg")
    assert found["XMP-dc:Identifier"] == "K00042"
    assert (found["IFD0:Orientation"], found["ExifIFD:DateTimeOriginal"]) == (6, "1931:06:12   :  :  ")
    assert found["ExifIFD:CreateDate"] == "2019:03:02 10:00:00"
    with Image.open(io.BytesIO(JPEGS[name])) as before, Image.open(io.BytesIO(made)) as after:
        assert before.info.get("icc_profile") == after.info.get("icc_profile")


@pytest.mark.parametrize("name", JPEGS)
@pytest.mark.parametrize("more", [b"", JPEGS["grey"]], ids=["alone", "a preview after it"])
def test_where_the_picture_ends_may_be_known(name: str, more: bytes) -> None:
    """The copy is the same as when it is looked for, and nothing that follows is in it."""
    whole = JPEGS[name] + more
    found = embed.joined(whole, embed.jpeg(whole, INSIDE))
    assert embed.joined(whole, embed.jpeg(whole, INSIDE, len(JPEGS[name]))) == found
    assert found.endswith(JPEGS[name][-40:])


def test_a_wrong_end_is_not_believed() -> None:
    """Where no picture ends at the place that was noted, its end is looked for."""
    data = JPEGS["baseline"]
    expected = embed.joined(data, embed.jpeg(data, INSIDE))
    for wrong in (1, 700, len(data) - 1, len(data) + 9):
        assert embed.joined(data, embed.jpeg(data, INSIDE, wrong)) == expected


def test_the_picture_begins_as_far_into_a_page_of_the_disk_as_it_did(tmp_path: Path) -> None:
    """Blanks in the packet see to it, so that the system copies whole pages; the packet is read as before."""
    data = saved(COLOUR.resize((970, 610)), "JPEG", quality=100)
    path = tmp_path / "scan.jpg"
    path.write_bytes(data)
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as mapped:
        pieces = embed.jpeg(mapped, INSIDE)
        made = embed.joined(mapped, pieces)
    (large,) = (each for each in pieces if isinstance(each, range))
    before = sum(len(each) for each in pieces[: pieces.index(large)])
    assert before % 4096 == large.start % 4096
    assert same_pixels(data, made)
    assert fields(made, tmp_path / "a.jpg")["XMP-dc:Identifier"] == "K00042"


TIFFS = {
    "plain": saved(COLOUR, "TIFF"),
    "lzw": saved(COLOUR, "TIFF", compression="tiff_lzw"),
    "deflate": saved(COLOUR, "TIFF", compression="tiff_adobe_deflate"),
    "jpeg": saved(COLOUR, "TIFF", compression="jpeg"),
    "fax": saved(COLOUR.convert("1"), "TIFF", compression="group4"),
    "palette": saved(COLOUR.quantize(16), "TIFF"),
    "sixteen bits": saved(Image.fromarray(np.arange(61 * 97, dtype=np.uint16).reshape(61, 97)), "TIFF"),
    "big": saved(COLOUR, "TIFF", big_tiff=True),
    "other order": saved(
        Image.fromarray(np.arange(61 * 97, dtype=">u2").reshape(61, 97)), "TIFF"
    ),
    "strips": saved(COLOUR, "TIFF", strip_size=500),
}  # fmt: skip


@pytest.mark.parametrize("name", TIFFS)
def test_a_tiff_keeps_every_pixel(name: str, tmp_path: Path) -> None:
    """Whatever its compression, depth, byte order and offsets; exiftool reads what was written and finds no fault."""
    inside = embed.EmbeddedMetadata(INSIDE.xmp, 1, 300, INSIDE.taken, INSIDE.digitized)
    made = embed.joined(TIFFS[name], embed.tiff(TIFFS[name], inside))
    assert same_pixels(TIFFS[name], made)
    found = fields(made, tmp_path / "a.tif")
    assert found["XMP-dc:Identifier"] == "K00042"
    group = "ExifOffset" if name == "big" else "ExifIFD"  # what exiftool calls it in BigTIFF
    assert found[f"{group}:DateTimeOriginal"] == "1931:06:12   :  :  "
    assert "ExifTool:Error" not in found


def test_a_page_of_a_tiff_goes_alone() -> None:
    """What the other pages show stays behind, also its bytes."""
    pages = [Image.new("RGB", (97, 61), colour) for colour in ((10, 20, 30), (40, 50, 60), (70, 80, 90))]
    whole = saved(pages[0], "TIFF", save_all=True, append_images=pages[1:])
    made = embed.joined(whole, embed.tiff(whole, INSIDE, 2))
    with Image.open(io.BytesIO(made)) as copy:
        assert copy.n_frames == 1  # type: ignore[attr-defined]
        assert copy.convert("RGB").getpixel((5, 5)) == (40, 50, 60)
    assert bytes((10, 20, 30)) * 9 not in made
    assert bytes((70, 80, 90)) * 9 not in made


def test_nothing_foreign_is_left_behind_in_any_kind_of_file(tmp_path: Path) -> None:
    """A name planted in every field that exiftool writes at once, in private tags and after the end."""
    path = tmp_path / "a.jpg"
    path.write_bytes(saved(COLOUR, "JPEG", comment=b"Zelda"))
    written = ["-EXIF:all=Zelda", "-XMP:all=Zelda", "-IPTC:all=Zelda", "-GPSLatitude=53.79", "-GPSLatitudeRef=N"]
    exiftool("-q", "-m", "-overwrite_original", *written, path)
    dirty = path.read_bytes() + b"Zelda after the end"
    assert dirty.count(b"Zelda") > 50
    made = embed.joined(dirty, embed.jpeg(dirty, INSIDE))
    assert b"Zelda" not in made
    info = TiffImagePlugin.ImageFileDirectory_v2()
    info[315], info[65000] = "Zelda", "Zelda"
    signed = saved(COLOUR, "TIFF", tiffinfo=info)
    made = embed.joined(signed, embed.tiff(signed, INSIDE))
    assert b"Zelda" not in made
    exif = Image.Exif()
    exif[315] = "Zelda"
    for kind, clean in (("PNG", embed.png), ("WEBP", embed.webp)):
        data = saved(COLOUR, kind, exif=exif, **({"xmp": b"<Zelda/>"} if kind == "WEBP" else {}), lossless=True)
        assert b"Zelda" in data
        made = clean(data)
        assert b"Zelda" not in made
        assert same_pixels(data, made)


@given(st.integers(0, 4000), st.binary(max_size=8))
def test_a_damaged_file_is_refused_in_words(at: int, noise: bytes) -> None:
    """Cut off, or with noise anywhere in it, a file is copied or refused, and nothing else happens."""
    for data, copy in ((JPEGS["progressive"], embed.jpeg), (TIFFS["lzw"], embed.tiff)):
        broken = data[:at] + noise + data[at + len(noise) :]
        for each in (broken, data[:at]):
            with suppress(embed.CannotEmbedError):
                assert INSIDE.xmp in embed.joined(each, copy(each, INSIDE))
