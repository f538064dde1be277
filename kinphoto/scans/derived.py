"""Files made from scans: each is there whole or not at all, and all of them can be thrown away at any time.

What is made gets its name only when it is finished; until then it is called `….part`. So whatever ends the process
in the middle leaves nothing that could be taken for whole, and two processes that make the same thing do not meet: the
second one finds its equal in the place.
"""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

from kinphoto.errors import ArchiveError

if TYPE_CHECKING:
    from PIL import Image

_QUALITY = 85
_STALE = 3600  # seconds after which nobody is still writing a part


def make(path: Path, root: Path, write: Callable[[Path], None]) -> None:
    """Let `write` make a file or folder at a place below `root`, and give it its name `path` when it is finished.

    Raises ArchiveError when it cannot be stored. What others left half made long ago is removed.
    """
    part = _part(root)
    with storing(root):
        root.mkdir(parents=True, exist_ok=True)
        remove_stale_parts(root)
    try:
        write(part)
        with storing(root):
            path.parent.mkdir(parents=True, exist_ok=True)
            _name(part, path)
    finally:
        _remove(part)


def save(picture: Image.Image, path: Path) -> None:
    """Write the pixels as a JPEG and nothing else: what the scan's file says beside them stays behind."""
    with storing(path.parent):
        picture.save(path, "JPEG", quality=_QUALITY, exif=b"", icc_profile=None, comment=b"", xmp=b"")


def discard(path: Path, root: Path) -> None:
    """Take away what is at `path`, at once for everybody who looks there."""
    part = _part(root)
    with storing(root):
        path.replace(part)
    _remove(part)


def remove_stale_parts(root: Path) -> None:
    """Remove what processes that were killed more than an hour ago left half made."""
    for part in root.glob("*.part"):
        with suppress(FileNotFoundError):  # somebody else was quicker
            if part.stat().st_mtime < time.time() - _STALE:
                _remove(part)


@contextmanager
def storing(where: Path) -> Iterator[None]:
    """Tell what keeps a file from being written as an ArchiveError."""
    try:
        yield
    except OSError as problem:
        raise ArchiveError(
            f"what is shown of a scan cannot be stored ({problem.strerror or problem})",
            where=str(where),
            remedy="Check free space and permissions of the archive folder.",
        ) from problem


def _part(root: Path) -> Path:
    return root / f"{uuid4().hex}.part"


def _name(part: Path, path: Path) -> None:
    try:
        part.replace(path)
    except OSError:
        if not (part.is_dir() and path.is_dir()):  # a folder of the same is there already
            raise


def _remove(part: Path) -> None:
    if part.is_dir():
        shutil.rmtree(part, ignore_errors=True)
    else:
        with suppress(OSError):
            part.unlink()
