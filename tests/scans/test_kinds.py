"""Pictures told from their first bytes, against files that Pillow and pillow-heif write."""

from __future__ import annotations

import io

import pillow_heif
import pytest
from PIL import Image

from kinphoto.scans.kinds import HEAD, FileType, other_kind, suffix, type_of

pillow_heif.register_heif_opener()


def first_bytes(kind: str, **options: object) -> bytes:
    """The first bytes of a picture of this kind."""
    file = io.BytesIO()
    Image.new("RGB", (16, 16)).save(file, kind, **options)
    return file.getvalue()[:HEAD]


@pytest.mark.parametrize("kind", list(FileType))
def test_every_kind_is_told_by_its_first_bytes(kind: FileType) -> None:
    """Reference: the encoders' own files."""
    assert type_of(first_bytes(kind.value)) is kind


def test_big_tiffs_are_tiffs() -> None:
    """BigTIFF has 43 in place of 42 (from memory), in either order of bytes."""
    assert type_of(first_bytes("TIFF", big_tiff=True)) is FileType.TIFF
    assert type_of(b"MM\0+\0\x08") is FileType.TIFF


@pytest.mark.parametrize(
    ("kind", "words"), [("GIF", "a GIF picture"), ("BMP", "a BMP picture"), ("AVIF", "an AVIF picture")]
)
def test_pictures_of_other_kinds_are_named(kind: str, words: str) -> None:
    """They are no scans, and said to be what they are."""
    head = first_bytes(kind)
    assert type_of(head) is None
    assert other_kind(head) == words


@pytest.mark.parametrize("head", [b"", b"\xff", b"plain words", b"RIFF\0\0\0\0WAVE", b"\0\0\0\x18ftypmp42", bytes(32)])
def test_anything_else_is_no_picture(head: bytes) -> None:
    """Text, sound, film and rubbish."""
    assert type_of(head) is None
    assert other_kind(head) == "not a picture file"


@pytest.mark.parametrize(
    ("name", "ending"), [("A.JPG", ".jpg"), ("a.b.Tif", ".tif"), ("noend", ""), (".jpg", ""), ("a.", ".")]
)
def test_suffixes(name: str, ending: str) -> None:
    """In lower case, and none for a name that is all dot."""
    assert suffix(name) == ending
