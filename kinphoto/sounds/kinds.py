"""What a sound file is, by its first bytes, and how long it plays.

WAV (also RF64, EBU Tech 3306), FLAC (RFC 9639), MP3, Ogg with Vorbis or Opus (RFC 3533), MPEG-4 sound (ISO/IEC
14496-12), and WebM, which browsers record in. Films of the last two kinds are none.
"""

from __future__ import annotations

from pathlib import Path

from kinphoto.errors import InvalidValueError, UnreadableFileError
from kinphoto.sounds.boxes import handlers, seconds_of

SUFFIXES = {"WAV": ".wav", "FLAC": ".flac", "MP3": ".mp3", "OGG": ".ogg", "M4A": ".m4a", "WEBM": ".webm"}
MEDIA_TYPES = {
    "WAV": "audio/wav", "FLAC": "audio/flac", "MP3": "audio/mpeg", "OGG": "audio/ogg", "M4A": "audio/mp4",
    "WEBM": "audio/webm",
}  # fmt: skip
READ = "WAV, FLAC, MP3, OGG, M4A or WebM"
DECODED = frozenset(("WAV", "FLAC", "MP3", "OGG"))
"""The kinds that libsndfile decodes."""
HEAD = 4096
_ISO_MEDIA = (b"M4A ", b"M4B ", b"mp4", b"iso", b"MSNV", b"dash", b"3gp", b"qt  ")


def kind_of(head: bytes) -> str | None:
    """The kind of a file that begins like this; None for no sound."""
    if head[:4] in (b"RIFF", b"RF64") and head[8:12] == b"WAVE":
        return "WAV"
    if head.startswith(b"fLaC"):
        return "FLAC"
    if head.startswith(b"OggS"):
        return "OGG"
    if head.startswith(b"\x1a\x45\xdf\xa3") and b"webm" in head[:64] and b"V_" not in head:
        return "WEBM"
    if head[4:8] == b"ftyp" and head[8:12].startswith(_ISO_MEDIA):
        return "M4A"
    return "MP3" if head.startswith(b"ID3") or _is_frame(head) else None


def _is_frame(head: bytes) -> bool:
    """Whether it begins with a frame of MPEG layer III (ISO/IEC 11172-3, 2.4.1.3)."""
    if len(head) < 4 or head[0] != 0xFF or head[1] & 0xE0 != 0xE0:
        return False
    version, layer, rate = head[1] >> 3 & 3, head[1] >> 1 & 3, head[2] >> 2 & 3
    return version != 1 and layer == 1 and rate != 3 and head[2] >> 4 not in (0, 15)


def recognised(path: Path, called: str = "") -> tuple[str, float | None]:
    """The kind of a sound file, and how many seconds it plays where that is known.

    Raises UnreadableFileError where it cannot be read, InvalidValueError for a kind of sound that is not kept.
    """
    name = called or path.name
    try:
        with path.open("rb") as file:
            head = file.read(HEAD)
    except OSError as problem:
        raise UnreadableFileError(
            f"it cannot be read ({problem.strerror or problem})", where=name, remedy="Check its name."
        ) from problem
    kind = kind_of(head)
    if kind is None:
        raise InvalidValueError("this is not a recording that can be kept", where=name, remedy=f"Use {READ}.")
    if kind == "M4A":
        if not handlers(path) or b"vide" in handlers(path):
            raise InvalidValueError(
                "this is a film, or there is no sound in it", where=name, remedy=f"Save its sound as {READ}."
            )
        return kind, seconds_of(path)
    return kind, _seconds(path, name) if kind in DECODED else None


def _seconds(path: Path, name: str) -> float | None:
    import soundfile

    try:
        return round(float(soundfile.info(str(path)).duration), 2)
    except (soundfile.LibsndfileError, RuntimeError) as problem:
        raise InvalidValueError(
            "it begins like a recording, but cannot be played", where=name, remedy="Try to play it; send it again."
        ) from problem
