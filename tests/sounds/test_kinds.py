"""Recordings are known by their first bytes, and what is none is refused in one line."""

from __future__ import annotations

from pathlib import Path

import pytest
from recordings import KINDS, m4a, write

from kinphoto.errors import InvalidValueError, UnreadableFileError
from kinphoto.sounds.kinds import kind_of, recognised


@pytest.mark.parametrize("kind", KINDS)
def test_what_libsndfile_writes_is_known_whatever_it_is_called(tmp_path: Path, kind: str) -> None:
    """By its bytes alone, with how long it plays."""
    found, seconds = recognised(write(tmp_path / "from aunt edda.bin", kind))
    assert found == kind
    assert seconds == pytest.approx(1.0, abs=0.1)


def test_mpeg_4_sound_is_known_and_its_length_read(tmp_path: Path) -> None:
    """Four thousand of a thousandth of a second, as its movie header says (ISO/IEC 14496-12, 8.2.2)."""
    (tmp_path / "a.m4a").write_bytes(m4a(b"Edda"))
    assert recognised(tmp_path / "a.m4a") == ("M4A", 4.0)


def test_a_film_is_refused(tmp_path: Path) -> None:
    """One with a track of pictures: the words about stories are of sound."""
    (tmp_path / "a.mp4").write_bytes(m4a(b"Edda", handler=b"vide"))
    with pytest.raises(InvalidValueError, match=r"a\.mp4: this is a film.*Save its sound as WAV"):
        recognised(tmp_path / "a.mp4")


@pytest.mark.parametrize(
    "head",
    [
        b"", b"\xff\xd8\xff\xe0 JFIF", b"RIFF\0\0\0\0AVI LIST", b"%PDF-1.7", b"\xff\xf1\x50\x80 AAC in ADTS",
        b"MThd\0\0\0\x06",
        b"\x00\x00\x00\x18ftypheic\0\0\0\0mif1heic", b"\x1a\x45\xdf\xa3\x01\0\0\0\0\0\0\x1f\x42\x82\x88matroska",
    ],
)  # fmt: skip
def test_other_files_are_none(head: bytes) -> None:
    """Pictures, films, PDF, MIDI, by the marks with which their own descriptions say they begin (from memory)."""
    assert kind_of(head) is None


def test_what_only_begins_like_a_recording_is_refused(tmp_path: Path) -> None:
    """A damaged file: said in one line, and not kept as if it could be heard."""
    (tmp_path / "a.flac").write_bytes(b"fLaC" + bytes(200))
    with pytest.raises(InvalidValueError, match=r"a\.flac: it begins like a recording, but cannot be played"):
        recognised(tmp_path / "a.flac")


def test_a_file_that_is_not_there_is_said(tmp_path: Path) -> None:
    """In one line."""
    with pytest.raises(UnreadableFileError, match=r"b\.wav: it cannot be read"):
        recognised(tmp_path / "b.wav")
