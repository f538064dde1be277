"""Files made from scans to be shown: all of them can be thrown away at any time and made again.

Two processes that make the same thing do not meet: the second one finds its equal in the place.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from kinphoto.store.atomic import atomic_write, remove

if TYPE_CHECKING:
    from PIL import Image

REMEDY = "Check free space and permissions of the archive folder."
_PROBLEM = "what is shown of a scan cannot be stored"
_QUALITY = 85


def make(path: Path, root: Path, write: Callable[[Path], None]) -> None:
    """Let `write` make a file or folder at a place below `root`, and give it its name `path` when it is finished.

    Raises ArchiveError when it cannot be stored.
    """
    with atomic_write(path, _PROBLEM, REMEDY, within=root, durable=False) as part:
        write(part)


def save(picture: Image.Image, path: Path) -> None:
    """Write the pixels as a JPEG and nothing else: what the scan's file says beside them stays behind."""
    picture.save(path, "JPEG", quality=_QUALITY, exif=b"", icc_profile=None, comment=b"", xmp=b"")


def discard(path: Path, root: Path) -> None:
    """Take away what is at `path`, at once for everybody who looks there. Raises ArchiveError."""
    with atomic_write(path, _PROBLEM, REMEDY, within=root, durable=False) as part:
        path.replace(part)
        remove(part)
