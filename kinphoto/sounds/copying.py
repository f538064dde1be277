"""Copies of recordings: one in FLAC that loses nothing, for keeping, and one without what a file says of itself, for
giving."""

from __future__ import annotations

import shutil
from mmap import ACCESS_READ, mmap
from pathlib import Path
from typing import Any

from kinphoto.sounds.boxes import strip
from kinphoto.sounds.kinds import DECODED

_AT_ONCE = 1 << 16  # frames in memory
_EXACT = {"PCM_S8": "PCM_S8", "PCM_U8": "PCM_S8", "PCM_16": "PCM_16", "PCM_24": "PCM_24"}
"""What FLAC holds to the last bit (RFC 9639), by what a file has."""
_LOSSY = frozenset(("MPEG_LAYER_III", "VORBIS", "OPUS"))
"""What was coded with loss: nothing more is lost of it in 24 bits."""
_TELLS = (b"\x12\x54\xc3\x67", b"\x19\x41\xa4\x69", b"\x10\x43\xa7\x70")
"""Tags, attachments and chapters of a WebM file (RFC 9559, 5.1)."""
_TITLES = (b"\x7b\xa9", b"\x73\x84")
_CLUSTER = b"\x1f\x43\xb6\x75"


def lossless(source: Path, kind: str, to: Path) -> bool:
    """Write a FLAC file that has every sample of a recording; False where FLAC cannot hold it, it cannot be decoded, or
    it is FLAC already."""
    if kind == "FLAC":
        return False
    return _decoded(source, to, exactly=True) if kind in DECODED else _decoded_from_a_container(source, to)


def without_tags(source: Path, kind: str, folder: Path, stem: str) -> Path | None:
    """A copy of a recording that holds nothing but the sound, in `folder`; None where that cannot be made."""
    if kind in DECODED:
        to = folder / f"{stem}.flac"
        return to if _decoded(source, to, exactly=False) else None
    to = folder / f"{stem}.{kind.lower()}"
    if kind == "WEBM":
        return _copy(source, to) if _tells_nothing(source) else None
    _copy(source, to)
    return to if strip(to) else None


def _copy(source: Path, to: Path) -> Path:
    shutil.copyfile(source, to)
    return to


def _tells_nothing(path: Path) -> bool:
    with path.open("rb") as file, mmap(file.fileno(), 0, access=ACCESS_READ) as data:
        head = data[: max(0, data.find(_CLUSTER))]
        return all(data.find(one) < 0 for one in _TELLS) and not any(one in head for one in _TITLES)


def _decoded_from_a_container(source: Path, to: Path) -> bool:
    """The same of MPEG-4 and WebM, which libsndfile does not read: what telephones and browsers record."""
    import av
    import numpy as np
    import soundfile

    try:
        with av.open(str(source)) as container:
            sound = container.streams.audio[0]
            channels = sound.channels
            if channels > 8:
                return False
            with soundfile.SoundFile(str(to), "w", sound.rate, channels, "PCM_24", format="FLAC") as written:
                for frame in container.decode(sound):
                    some: Any = frame.to_ndarray()
                    some = some.T if frame.format.is_planar else some.reshape(-1, channels)
                    if some.dtype.kind == "f":
                        some = np.clip(some, -1, 1 - 2**-23)
                    elif some.dtype != np.int16 and (some.dtype != np.int32 or (some & 0xFF).any()):
                        raise ValueError(some.dtype)  # more bits than the 24 that FLAC has here
                    written.write(np.ascontiguousarray(some))
    except (av.FFmpegError, soundfile.LibsndfileError, IndexError, ValueError, RuntimeError, OSError):
        to.unlink(missing_ok=True)
        return False
    return True


def _decoded(source: Path, to: Path, *, exactly: bool) -> bool:
    import numpy as np
    import soundfile

    try:
        with soundfile.SoundFile(str(source)) as sound:
            lossy = sound.subtype in _LOSSY
            subtype = _EXACT.get(sound.subtype, "" if exactly and not lossy else "PCM_24")
            if not subtype or sound.channels > 8:  # more channels than FLAC has (RFC 9639, 9.1.3)
                return False
            numbers: Any = "int32" if sound.subtype in _EXACT else "float32"
            with soundfile.SoundFile(str(to), "w", sound.samplerate, sound.channels, subtype, format="FLAC") as written:
                while len(some := sound.read(_AT_ONCE, numbers, always_2d=True)):
                    written.write(some if numbers == "int32" else np.clip(some, -1, 1 - 2**-23))
    except (soundfile.LibsndfileError, RuntimeError, OSError):
        to.unlink(missing_ok=True)
        return False
    return True
