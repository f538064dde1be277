"""A folder of this computer, as somebody types it into a page."""

from __future__ import annotations

import os
from contextlib import suppress
from difflib import get_close_matches
from pathlib import Path

from kinphoto.errors import InvalidValueError, NotFoundError


def typed_folder(typed: str | None) -> Path:
    """The folder meant. Raises InvalidValueError for none, NotFoundError (with the nearest names) where it is not."""
    if typed is None:
        raise InvalidValueError("no folder was named", remedy="Type where the scans are.")
    path = Path(os.path.abspath(os.path.expanduser(typed)))  # noqa: PTH100, PTH111 (Path.absolute keeps `..`)
    if os.path.isdir(path):  # noqa: PTH112 (Path.is_dir raises where a name is too long)
        return path
    near: list[str] = []
    with suppress(OSError):  # there may be no folder above it either, or none that may be read
        near = [one.name for one in path.parent.iterdir() if one.is_dir()]
    alike = get_close_matches(path.name, near, 3, 0.5)
    raise NotFoundError(
        f"there is no folder '{typed}' on this computer",
        remedy=f"Did you mean {' or '.join(alike)}?" if alike else "Type the whole path, as your files show it.",
    )
