"""Small recordings for tests, each of the same second of noise, as libsndfile writes them; and one in the boxes of
ISO/IEC 14496-12, put together here by hand with names and places wherever telephones write them."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import soundfile

KINDS = {"WAV": "PCM_16", "FLAC": "PCM_16", "MP3": "MPEG_LAYER_III", "OGG": "VORBIS"}
RATE = 16_000


def noise(seconds: float = 1.0) -> np.ndarray:
    """Noise of a fixed seed, as 16-bit samples."""
    return np.random.default_rng(7).normal(0, 3000, round(RATE * seconds)).astype("int16")


def write(path: Path, kind: str = "WAV", *, seconds: float = 1.0, artist: str = "") -> Path:
    """A recording of this kind, in whose tags stands an artist."""
    with soundfile.SoundFile(str(path), "w", RATE, 1, KINDS[kind], format=kind) as file:
        if artist:
            file.artist = file.title = file.comment = artist
        file.write(noise(seconds))
    return path


def contained(path: Path, codec: str, samples: np.ndarray, rate: int = 48_000) -> Path:
    """A recording in a container as its suffix says (WebM, M4A, Ogg), written by FFmpeg's libraries: mono, 16 bits."""
    import av

    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=rate, layout="mono")
        size = 960
        for start in range(0, len(samples) - size + 1, size):
            frame = av.AudioFrame.from_ndarray(samples[None, start : start + size], format="s16", layout="mono")
            frame.sample_rate, frame.pts = rate, start
            for packet in stream.encode(frame):
                container.mux(packet)
        for packet in stream.encode(None):
            container.mux(packet)
    return path


def box(kind: bytes, content: bytes) -> bytes:
    """A box: its length, its kind, and what is in it (ISO/IEC 14496-12, 4.2)."""
    return struct.pack(">I4s", 8 + len(content), kind) + content


def m4a(name: bytes, *, handler: bytes = b"soun", sound: bytes = b"\x01\x02\x03\x04" * 100) -> bytes:
    """A file of MPEG-4 sound of four seconds, with a name in its tags, in the name of its handler, in what is free, and
    behind it; and the days on which it was made. The sound itself is noise: nothing here decodes it."""
    day = 3_800_000_000  # seconds since 1904
    movie = box(b"mvhd", struct.pack(">IIIII", 0, day, day, 1000, 4000) + bytes(80))
    track = box(b"tkhd", struct.pack(">III", 0, day, day) + bytes(72))
    media = box(b"mdhd", struct.pack(">IIIIII", 0, day, day, 1000, 4000, 0))
    media += box(b"hdlr", struct.pack(">II4s", 0, 0, handler) + bytes(12) + name + b"\0")
    table = b"".join(box(each, bytes(8)) for each in (b"stsd", b"stts", b"stsc", b"stsz"))
    table += box(b"stco", struct.pack(">III", 0, 1, 0))
    media += box(b"minf", box(b"smhd", bytes(8)) + box(b"stbl", table))
    tags = box(b"udta", box(b"\xa9xyz", b"+53.79-001.54/") + box(b"meta", b"artist " + name))
    inside = movie + box(b"trak", track + box(b"mdia", media) + box(b"udta", name)) + tags
    return (
        box(b"ftyp", b"M4A \0\0\0\0M4A mp42isom") + box(b"free", name) + box(b"mdat", sound) + box(b"moov", inside)
        + box(b"uuid", bytes(16) + name) + name
    )  # fmt: skip
