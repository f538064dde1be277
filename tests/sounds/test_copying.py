"""Copies of recordings lose no sound, and those that are given away say nothing but what is heard."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from asking_exiftool import exiftool
from recordings import KINDS, RATE, contained, m4a, noise, write

from kinphoto.sounds.copying import lossless, without_tags

NAME = "Zelda Quickenborough"


def test_the_samples_of_a_wav_are_all_in_the_flac(tmp_path: Path) -> None:
    """Compared with the noise that was written, sample by sample."""
    wav = write(tmp_path / "a.wav")
    assert lossless(wav, "WAV", tmp_path / "a.flac")
    found, rate = soundfile.read(str(tmp_path / "a.flac"), dtype="int16")
    assert rate == RATE
    assert np.array_equal(found, noise())


@pytest.mark.parametrize("kind", ["MP3", "OGG"])
def test_what_was_coded_with_loss_loses_nothing_more(tmp_path: Path, kind: str) -> None:
    """What is decoded differs by less than half a step of 24 bits (2^-24 of full scale), as FLAC has no finer."""
    sound = write(tmp_path / "a", kind)
    assert lossless(sound, kind, tmp_path / "a.flac")
    was, now = (soundfile.read(str(path), dtype="float64")[0] for path in (sound, tmp_path / "a.flac"))
    assert len(was) == len(now)
    assert np.abs(was - now).max() <= 2**-23


def test_what_a_browser_records_is_what_is_in_the_flac(tmp_path: Path) -> None:
    """Opus in WebM, as Chromium and Firefox record: the same sound in Ogg, as libsndfile decodes it, is the reference.
    The two begin alike, and one may end with a frame more."""
    tone = (9000 * np.sin(np.arange(48_000) / 30)).astype("int16")
    webm, ogg = contained(tmp_path / "a.webm", "libopus", tone), contained(tmp_path / "a.ogg", "libopus", tone)
    assert lossless(webm, "WEBM", tmp_path / "a.flac")
    was, now = (soundfile.read(str(path), dtype="float64")[0] for path in (ogg, tmp_path / "a.flac"))
    length = min(len(was), len(now))
    assert length > 47_000
    assert np.abs(was[:length] - now[:length]).max() < 2**-12


def test_sound_without_loss_in_mpeg_4_keeps_every_sample(tmp_path: Path) -> None:
    """Apple's lossless coding: sample by sample what was written."""
    samples = np.random.default_rng(7).normal(0, 3000, 48_000).astype("int16")
    alac = contained(tmp_path / "a.m4a", "alac", samples)
    assert lossless(alac, "M4A", tmp_path / "a.flac")
    found, rate = soundfile.read(str(tmp_path / "a.flac"), dtype="int32")
    assert rate == 48_000
    assert np.array_equal(found >> 16, samples[: len(found)])
    assert len(found) == len(samples)


@pytest.mark.parametrize(("kind", "data"), [("M4A", m4a(b"x")), ("WEBM", b"\x1a\x45\xdf\xa3\x87\x42\x82\x84webm")])
def test_a_container_that_cannot_be_decoded_gets_no_copy(tmp_path: Path, kind: str, data: bytes) -> None:
    """And nothing is left over."""
    (tmp_path / "a").write_bytes(data)
    assert not lossless(tmp_path / "a", kind, tmp_path / "a.flac")
    assert not (tmp_path / "a.flac").exists()


def test_floating_point_is_not_called_lossless(tmp_path: Path) -> None:
    """FLAC holds whole numbers of at most 24 bits here, so no copy is made of such a WAV, and nothing is left over."""
    soundfile.write(str(tmp_path / "a.wav"), noise() / 7e4, RATE, subtype="FLOAT")
    assert not lossless(tmp_path / "a.wav", "WAV", tmp_path / "a.flac")
    assert not (tmp_path / "a.flac").exists()


@pytest.mark.parametrize("kind", KINDS)
def test_tags_do_not_go_with_the_sound(tmp_path: Path, kind: str) -> None:
    """A name in the tags of each kind that libsndfile writes them to: exiftool finds it before and not after."""
    sound = write(tmp_path / f"a.{kind.lower()}", kind, artist=NAME)
    assert NAME.encode() in sound.read_bytes()
    given = without_tags(sound, kind, tmp_path, "T1")
    assert given is not None
    assert soundfile.info(str(given)).frames == soundfile.info(str(sound)).frames
    said = exiftool("-a", "-u", "-U", given)
    assert NAME not in said
    assert NAME.encode() not in given.read_bytes()


def test_mpeg_4_sound_keeps_its_sound_and_loses_every_name(tmp_path: Path) -> None:
    """Names, a place, and days: none of the bytes is left, while the sound stays where the tables say it is."""
    data = m4a(NAME.encode())
    (tmp_path / "a.m4a").write_bytes(data)
    given = without_tags(tmp_path / "a.m4a", "M4A", tmp_path, "T1")
    assert given is not None
    clean = given.read_bytes()
    assert NAME.encode() not in clean
    assert b"53.79" not in clean
    assert (3_800_000_000).to_bytes(4, "big") not in clean
    sound = b"\x01\x02\x03\x04" * 100
    assert clean.index(sound) == data.index(sound)
    said = exiftool("-a", "-u", given)
    assert "Duration" in said
    assert "2024" not in said


def test_words_among_the_sound_keep_a_file_at_home(tmp_path: Path) -> None:
    """A track of text, as chapters are: it stands among the sound and cannot be told from it."""
    two = m4a(b"x").replace(b"soun", b"text", 1)
    (tmp_path / "a.m4a").write_bytes(two)
    assert without_tags(tmp_path / "a.m4a", "M4A", tmp_path, "T1") is None


@pytest.mark.parametrize(
    ("told", "goes"),
    [
        (b"", True), (b"\x12\x54\xc3\x67\x84tags", False), (b"\x7b\xa9\x85Zelda", False),
        (b"\x19\x41\xa4\x69\x84file", False),
    ],
)  # fmt: skip
def test_webm_goes_only_when_it_says_nothing_of_itself(tmp_path: Path, told: bytes, goes: bool) -> None:
    """Tags, a title and attachments, by their ids in RFC 9559; browsers write none."""
    head = b"\x1a\x45\xdf\xa3\x87\x42\x82\x84webm"
    (tmp_path / "a.webm").write_bytes(head + told + b"\x1f\x43\xb6\x75\x84opus")
    given = without_tags(tmp_path / "a.webm", "WEBM", tmp_path, "T1")
    assert (given is not None) is goes
