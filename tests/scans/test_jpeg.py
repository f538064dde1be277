"""Where the picture of a JPEG file ends, for every way in which Pillow writes one, with and without more after it."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from kinphoto.scans.jpeg import picture_end

COLOUR = Image.fromarray(np.random.default_rng(3).integers(0, 255, (610, 970, 3), dtype=np.uint8))


def saved(image: Image.Image = COLOUR, **options: Any) -> bytes:
    """The bytes of a JPEG that Pillow writes."""
    out = io.BytesIO()
    image.save(out, "JPEG", **options)
    return out.getvalue()


def end_of(data: bytes, folder: Path) -> int:
    """What is found in a file with these bytes."""
    path = folder / "a.jpg"
    path.write_bytes(data)
    return picture_end(path)


KINDS = {
    "baseline": saved(quality=98),
    "progressive": saved(progressive=True, quality=95),
    "restarts": saved(restart_marker_blocks=2),
    "grey": saved(COLOUR.convert("L")),
    "a thumbnail inside": saved(exif=b"Exif\0\0" + saved(COLOUR.resize((30, 20)))),
}


@pytest.mark.parametrize("name", KINDS)
@pytest.mark.parametrize("more", [b"", b"\0" * 40, saved(COLOUR.resize((60, 40))), b"\0\0\0\x18ftypmp42"])
def test_the_picture_ends_where_the_encoder_ended_it(name: str, more: bytes, tmp_path: Path) -> None:
    """Whatever is appended: nothing, a few blanks, a preview that ends with the same two bytes, a film."""
    assert end_of(KINDS[name] + more, tmp_path) == len(KINDS[name])


@pytest.mark.parametrize(
    "data",
    [b"", b"\xff\xd8", b"GIF89a", KINDS["baseline"][:-2], KINDS["baseline"][:5000], saved()[:300]],
    ids=["empty", "begun", "no JPEG", "no end", "cut in its pixels", "cut in its head"],
)
def test_what_has_no_end_has_none(data: bytes, tmp_path: Path) -> None:
    """A damaged file is looked at when it is given."""
    assert end_of(data, tmp_path) == 0


def test_words_between_the_scans_of_a_picture_are_not_kept_silently(tmp_path: Path) -> None:
    """A comment after the first scan of a progressive picture would be copied with it, so its end counts as unknown and
    the copy is made segment by segment."""
    data = KINDS["progressive"]
    second = data.index(b"\xff\xda", data.index(b"\xff\xda") + 2)
    between = data.rindex(b"\xff\xc4", 0, second) if b"\xff\xc4" in data[:second] else second
    assert end_of(data[:between] + b"\xff\xfe\x00\x08secret" + data[between:], tmp_path) == 0
