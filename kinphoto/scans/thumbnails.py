"""Where thumbnails lie: in one folder of the archive, named after the bytes of their scan, so that a renamed scan keeps
its own and identical copies share one. The folder can be thrown away at any time."""

from __future__ import annotations

import time
from pathlib import Path

FOLDER = "thumbs"
"""The folder of thumbnails within an archive."""


def thumbnail_path(thumbs: Path, sha256: str) -> Path:
    """Where the thumbnail of the scan with this SHA-256 lies below the folder `thumbs`."""
    return thumbs / sha256[:2] / f"{sha256}.jpg"


def part_path(thumbs: Path, process: int) -> Path:
    """Where the process of this number writes a thumbnail before it gets its name."""
    return thumbs / f"{process}.part"


def remove_stale_parts(thumbs: Path) -> None:
    """Remove what processes that were killed more than an hour ago left half written."""
    for part in thumbs.glob("*.part"):
        if part.stat().st_mtime < time.time() - 3600:
            part.unlink(missing_ok=True)
