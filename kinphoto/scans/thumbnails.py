"""Where thumbnails are: in one folder of the archive, named after the bytes of their scan, so that a renamed scan keeps
its own and identical copies share one. The folder can be deleted at any time."""

from __future__ import annotations

from pathlib import Path

FOLDER = "thumbs"
"""The folder of thumbnails within an archive."""
TILES = "tiles"
"""The folder of everything else that is made from scans for display."""


def thumbnail_path(thumbs: Path, sha256: str) -> Path:
    """The place below the folder `thumbs` of the thumbnail of the scan with this SHA-256."""
    return thumbs / sha256[:2] / f"{sha256}.jpg"
