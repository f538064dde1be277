"""Writing a tree and its pictures as one package (GEDZIP: a ZIP archive with gedcom.ged and the files it names).

The same tree and pictures give the same bytes, whatever the day, the machine or the order on the disk. Pictures are
stored as they are, since they are compressed already.
"""

from __future__ import annotations

import shutil
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from kinphoto.gedcom.package import MEMBER

FOLDER = "media"
"""The folder of our pictures in the package."""

_DATE = (1980, 1, 1, 0, 0, 0)  # the first that a ZIP archive can hold
_LARGE = 1 << 31  # bytes beyond which a member needs the longer form of its sizes


@dataclass(frozen=True, slots=True)
class File:
    """A file to be packed: its path, and its name in there if that is a package itself."""

    path: Path
    member: str = ""

    @property
    def size(self) -> int:
        """In bytes. Raises OSError or KeyError when it is not there."""
        if not self.member:
            return self.path.stat().st_size
        with zipfile.ZipFile(self.path) as package:
            return package.getinfo(self.member).file_size


def write_package(out: IO[bytes], tree: Iterable[bytes], size: int, files: Mapping[str, File]) -> None:
    """Write the package. `size` is about how many bytes the tree has; `files` by their names in the package."""
    with zipfile.ZipFile(out, "w") as package:
        with package.open(_entry(MEMBER, zipfile.ZIP_DEFLATED), "w", force_zip64=size > _LARGE) as member:
            for piece in tree:
                member.write(piece)
        for name, file in sorted(files.items()):
            with package.open(_entry(name, zipfile.ZIP_STORED), "w", force_zip64=file.size > _LARGE) as member:
                _copy(file, member)


def _entry(name: str, packing: int) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, _DATE)
    entry.compress_type = packing
    entry.create_system = 3  # Unix, whatever this is: what follows are its permissions
    entry.external_attr = 0o644 << 16
    return entry


def _copy(file: File, member: IO[bytes]) -> None:
    if file.member:
        with zipfile.ZipFile(file.path) as package, package.open(file.member) as data:
            shutil.copyfileobj(data, member)
    else:
        with file.path.open("rb") as data:
            shutil.copyfileobj(data, member)
