"""Tree files in every encoding, told from one another by their bytes."""

from __future__ import annotations

import hashlib
import unicodedata
import zipfile
from pathlib import Path

import ansel
import pytest

from kinphoto.errors import NotFoundError, UnreadableFileError
from kinphoto.gedcom import decode
from kinphoto.gedcom.records import Warnings

TREE = "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR {}\n0 @I1@ INDI\n1 NAME Zoé /Grünwald/\n1 NOTE ñ, å, ß\n0 TRLR\n"


def read(path: Path, data: bytes) -> tuple[str, str, list[tuple[int, str]]]:
    """The text of a file with these bytes, the encoding it was found to be in, and the warnings."""
    path.write_bytes(data)
    source, warn = decode.examine(path), Warnings()
    return b"".join(decode.blocks(source, warn)).decode(), source.encoding, warn.kept


@pytest.mark.parametrize(
    ("declared", "codec", "found"),
    [
        ("UTF-8", "utf-8", "UTF-8"),
        ("UTF-8", "utf-8-sig", "UTF-8"),
        ("UNICODE", "utf-16", "UTF-16 LE"),
        ("UNICODE", "utf-16-le", "UTF-16 LE"),
        ("UNICODE", "utf-16-be", "UTF-16 BE"),
        ("ANSI", "cp1252", "Windows-1252"),
        ("IBMPC", "cp437", "IBM 437"),
        ("MACINTOSH", "mac-roman", "Mac Roman"),
    ],
)
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(tmp_path: Path, declared: str, codec: str, found: str, end: str) -> None:
    """The same text comes out of every encoding (Python's own codecs) and every kind of line end."""
    text = TREE.format(declared)
    assert read(tmp_path / "t.ged", text.replace("\n", end).encode(codec)) == (text, found, [])


# ANSI/NISO Z39.47 and the marks of MARC-8, from memory: marks come before their letter.
ANSEL = [
    (b"\xa1", "Ł"), (b"\xa2", "Ø"), (b"\xa3", "Đ"), (b"\xa4", "Þ"), (b"\xa5", "Æ"), (b"\xa6", "Œ"), (b"\xb1", "ł"),
    (b"\xb2", "ø"), (b"\xb3", "đ"), (b"\xb4", "þ"), (b"\xb5", "æ"), (b"\xb6", "œ"), (b"\xb9", "£"), (b"\xc3", "©"),
    (b"\xc5", "¿"), (b"\xc6", "¡"), (b"\xcf", "ß"), (b"\xe1a", "à"), (b"\xe2e", "é"), (b"\xe3o", "ô"), (b"\xe4n", "ñ"),
    (b"\xe5a", "ā"), (b"\xe6g", "ğ"), (b"\xe7z", "ż"), (b"\xe8u", "ü"), (b"\xe9c", "č"), (b"\xeaa", "å"),
    (b"\xf0c", "ç"), (b"\xf1a", "ą"), (b"\xeeo", "ő"),
]  # fmt: skip


@pytest.mark.parametrize(("data", "letter"), ANSEL)
def test_ansel_letters(tmp_path: Path, data: bytes, letter: str) -> None:
    """Each comes out as one composed letter."""
    lines = b"0 HEAD\n1 CHAR ANSEL\n0 @I1@ INDI\n1 NAME x" + data + b"y /z/\n0 TRLR\n"
    text, encoding, warnings = read(tmp_path / "t.ged", lines)
    assert (encoding, warnings) == ("ANSEL", [])
    assert unicodedata.normalize("NFC", letter) in text
    assert f"x{unicodedata.normalize('NFC', letter)}y" in text


def test_ansel_against_its_package(tmp_path: Path) -> None:
    """Taking only the runs that are not ASCII through the codec gives what the codec gives for the whole."""
    ansel.register()
    marks = "\u0300\u0301\u0302\u0308\u030a\u030c\u0327"
    known = "".join(c for c in map(chr, range(0xC0, 0x17F)) if unicodedata.normalize("NFD", c)[-1] in marks)
    text = f"0 HEAD\n1 CHAR ANSEL\n0 @I1@ INDI\n1 NAME {known} /x/\n0 TRLR\n"
    data = unicodedata.normalize("NFD", text).encode("gedcom")
    assert len(known) > 50
    assert unicodedata.normalize("NFC", data.decode("gedcom")) == text
    assert read(tmp_path / "t.ged", data)[0] == text


@pytest.mark.parametrize(
    ("declared", "codec", "found"),
    [
        ("ANSEL", "utf-8", "UTF-8"),
        ("ANSI", "utf-8", "UTF-8"),
        ("ASCII", "utf-8", "UTF-8"),
        ("UTF-8", "cp1252", "Windows-1252"),
        ("ANSEL", "utf-16-le", "UTF-16 LE"),
        ("KLINGON", "utf-8", "UTF-8"),
    ],
)
def test_a_header_that_is_wrong_is_not_believed(tmp_path: Path, declared: str, codec: str, found: str) -> None:
    """The letters decide, and the line of the header is named."""
    text = TREE.format(declared)
    out, encoding, warnings = read(tmp_path / "t.ged", text.encode(codec))
    assert (out, encoding) == (text, found)
    assert [line for line, _ in warnings] == [4]
    assert declared in warnings[0][1]
    assert found in warnings[0][1]


def test_ansel_that_is_windows_1252(tmp_path: Path) -> None:
    """Where marks would stand before blanks and slashes again and again, it was never ANSEL."""
    text = "0 HEAD\n1 CHAR ANSEL\n0 @I1@ INDI\n1 NAME René /Doré/\n1 NAME Zoé /Noé/\n0 TRLR\n"
    out, encoding, warnings = read(tmp_path / "t.ged", text.encode("cp1252"))
    assert (out, encoding, len(warnings)) == (text, "Windows-1252", 1)


def test_a_few_stray_letters_do_not_spoil_a_file(tmp_path: Path) -> None:
    """UTF-8 with one line pasted in from elsewhere: that line is read as Windows-1252 and named."""
    data = TREE.format("UTF-8").encode().replace(b"1 NOTE", b"1 NOTE Caf\xe9 au lait\n1 NOTE")
    text, encoding, warnings = read(tmp_path / "t.ged", data)
    assert ("Café" in text, "Grünwald" in text, encoding) == (True, True, "UTF-8")
    assert [line for line, _ in warnings] == [7]


def test_nul_bytes_are_left_out(tmp_path: Path) -> None:
    """With the line where the first one is."""
    text, _, warnings = read(tmp_path / "t.ged", TREE.format("UTF-8").encode().replace(b"ald", b"a\0ld"))
    assert "Grünwald" in text
    assert [line for line, _ in warnings] == [6]


@pytest.mark.parametrize("size", [3, 4, 5, 7, 16])
def test_letters_and_line_ends_cut_between_blocks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: int) -> None:
    """A letter of several bytes, or a CR LF, may lie across two blocks."""
    monkeypatch.setattr(decode, "BLOCK", size)
    monkeypatch.setattr(decode, "_HEAD", 40)
    for codec in ("utf-8", "utf-16"):
        text = TREE.format("UTF-8")
        assert read(tmp_path / "t.ged", text.replace("\n", "\r\n").encode(codec))[0] == text


def test_the_checksum_is_that_of_the_file(tmp_path: Path) -> None:
    """SHA-256 of the bytes as they lie there."""
    data = TREE.format("UTF-8").encode("utf-16")
    (tmp_path / "t.ged").write_bytes(data)
    source = decode.examine(tmp_path / "t.ged")
    assert (source.sha256, source.size) == (hashlib.sha256(data).hexdigest(), len(data))


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b"", "empty"),
        (b" \r\n\r\n", "empty"),
        (b"\xff\xd8\xff\xe0\0\x10JFIF", "JPEG"),
        (b"\x89PNG\r\n\x1a\n", "PNG"),
        (b"PK\x03\x04", "ZIP"),
        (b"Dear Aunt Nora,\nthank you for the cake.\n", "0 HEAD"),
        (bytes(range(256)) * 20, "0 HEAD"),
        (b"0\n1\n2\n", "0 HEAD"),
    ],
)
def test_what_is_no_gedcom_is_refused_in_one_line(tmp_path: Path, data: bytes, word: str) -> None:
    """The message names the file, says what it seems to be, and what to do."""
    path = tmp_path / "odd.ged"
    path.write_bytes(data)
    with pytest.raises(UnreadableFileError, match=word) as caught:
        decode.examine(path)
    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)
    assert caught.value.remedy


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    """Neither is a tree."""
    with pytest.raises(NotFoundError):
        decode.examine(tmp_path / "none.ged")
    with pytest.raises(UnreadableFileError, match="directory"):
        decode.examine(tmp_path)


def test_a_tree_in_its_package(tmp_path: Path) -> None:
    """GEDZIP: a ZIP archive that holds gedcom.ged (GEDCOM 7.0, section GEDZIP, from memory)."""
    path = tmp_path / "tree.gdz"
    with zipfile.ZipFile(path, "w") as package:
        package.writestr("gedcom.ged", TREE.format("UTF-8"))
    warn = Warnings()
    assert b"".join(decode.blocks(decode.examine(path), warn)).decode() == TREE.format("UTF-8")
    with zipfile.ZipFile(path, "w") as package:
        package.writestr("photo.jpg", b"")
    with pytest.raises(UnreadableFileError, match=r"gedcom\.ged"):
        decode.examine(path)
