"""A folder of this computer, as somebody types it into a page."""

from __future__ import annotations

import os
from contextlib import suppress
from difflib import get_close_matches
from itertools import islice
from pathlib import Path

from kinphoto.errors import InvalidValueError, NotFoundError

LOOKED_AT = 2000
"""Folders among which one is looked for."""


def typed_folder(typed: str | None) -> Path:
    """The folder of scans that is meant. Raises InvalidValueError for none, NotFoundError where it is not."""
    if typed is None:
        raise InvalidValueError("no folder was named", remedy="Type where the scans are.")
    return existing_folder(Path(os.path.expanduser(typed)), typed)  # noqa: PTH111 (Path.expanduser raises for ~nobody)


def existing_folder(path: Path, typed: str | None, advice: str = "Type the whole path, as your files show it.") -> Path:
    """This folder, if it is there. Raises NotFoundError with the nearest names, or else with `advice`."""
    path = Path(os.path.abspath(path))  # noqa: PTH100 (Path.absolute keeps `..`)
    if os.path.isdir(path):  # noqa: PTH112 (Path.is_dir raises where a name is too long)
        return path
    near: list[str] = []
    with suppress(OSError):  # there may be no folder above it either, or none that may be read
        near = [one.name for one in islice(path.parent.iterdir(), LOOKED_AT) if one.is_dir()]
    alike = get_close_matches(path.name, near, 3, 0.5)
    remedy = f"Did you mean {' or '.join(alike)}?" if alike else advice
    raise NotFoundError(f"there is no folder '{typed}' on this computer", remedy=remedy)
