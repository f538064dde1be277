"""Files made from scans for display: all of them can be deleted at any time and made again.

Two processes that make the same file do not clash: the second one replaces it by its equal.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from kinphoto.store.atomic import atomic_write, remove

if TYPE_CHECKING:
    from PIL import Image

REMEDY = "Check free space and permissions of the archive folder."
_PROBLEM = "the display copy of a scan cannot be stored"
_QUALITY = 85


def make(path: Path, root: Path, write: Callable[[Path], None]) -> None:
    """Let `write` make a file or folder below `root`, and name it `path` when it is complete.

    Raises ArchiveError when it cannot be stored.
    """
    with atomic_write(path, _PROBLEM, REMEDY, within=root, durable=False) as part:
        write(part)


def save(picture: Image.Image, path: Path) -> None:
    """Write the pixels as a JPEG, without any of the metadata of the scan's file."""
    picture.save(path, "JPEG", quality=_QUALITY, exif=b"", icc_profile=None, comment=b"", xmp=b"")


def discard(path: Path, root: Path) -> None:
    """Remove the file or folder at `path` in one step, so that nobody sees half of it. Raises ArchiveError."""
    with atomic_write(path, _PROBLEM, REMEDY, within=root, durable=False) as part:
        path.replace(part)
        remove(part)
