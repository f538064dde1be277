"""Where thumbnails lie: in one folder of the archive, named after the bytes of their scan, so that a renamed scan keeps
its own and identical copies share one. The folder can be thrown away at any time."""

from __future__ import annotations

from pathlib import Path

FOLDER = "thumbs"
"""The folder of thumbnails within an archive."""
TILES = "tiles"
"""The folder of everything else that is made from scans to be shown."""


def thumbnail_path(thumbs: Path, sha256: str) -> Path:
    """Where the thumbnail of the scan with this SHA-256 lies below the folder `thumbs`."""
    return thumbs / sha256[:2] / f"{sha256}.jpg"
