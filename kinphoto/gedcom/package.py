"""Opening a tree file: plain, compressed (`.gz`), or in a package (GEDZIP, a ZIP with a `gedcom.ged`).

A package may be built to become huge when unpacked, so its unpacked size is checked first. Nothing is ever unpacked to
the disk.
"""

from __future__ import annotations

import gzip
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, cast

from kinphoto.errors import NotFoundError, UnreadableFileError

MEMBER = "gedcom.ged"
"""The name of the tree in its package (GEDCOM 7.0, section GEDZIP)."""
LARGEST = 4 << 30
"""Bytes of the largest tree that is read from a package."""
LARGEST_RATIO, SMALL = 250, 64 << 20
"""A tree of more than SMALL bytes that was compressed more than LARGEST_RATIO times is not a tree."""
REMEDY = "Export the tree from your family tree program as GEDCOM (a file ending in .ged) and import that."


@contextmanager
def opened(path: Path) -> Iterator[IO[bytes]]:
    """The bytes of the tree, to be read once from the start.

    Raises NotFoundError when there is no such file and UnreadableFileError when it, or its package, cannot be read, now
    or while it is being read.
    """
    try:
        with path.open("rb") as file:
            if path.suffix.lower() == ".gz":
                with gzip.open(file) as tree:
                    yield cast(IO[bytes], tree)
            elif _is_package(path, file):
                with zipfile.ZipFile(file) as package, package.open(_member(path, package)) as member:
                    yield member
            else:
                yield file
    except FileNotFoundError as problem:
        raise NotFoundError("there is no such file", where=str(path), remedy="Check the spelling.") from problem
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError) as problem:
        raise _refused(path, f"the package is damaged ({problem})") from problem
    except (OSError, ValueError) as problem:  # ValueError: a name that no file can have
        why = getattr(problem, "strerror", None) or problem
        raise UnreadableFileError(
            f"the file cannot be read ({why})", where=str(path), remedy="Check that it is a file you may read."
        ) from problem


def _is_package(path: Path, file: IO[bytes]) -> bool:
    """Whether it is named as a package, or is a ZIP archive that holds a tree."""
    if path.suffix.lower() == ".gdz":
        return True
    start = file.read(4)
    file.seek(0)
    if start != b"PK\x03\x04":
        return False
    try:
        with zipfile.ZipFile(file) as package:
            return MEMBER in package.NameToInfo
    except (zipfile.BadZipFile, ValueError, NotImplementedError):
        return False
    finally:
        file.seek(0)


def _member(path: Path, package: zipfile.ZipFile) -> zipfile.ZipInfo:
    """The tree in a package. Raises UnreadableFileError when there is none, or none that can be unpacked."""
    found = package.NameToInfo.get(MEMBER)
    if found is None:
        raise _refused(path, f"this package holds no family tree ({MEMBER})")
    if found.flag_bits & 0x1:
        raise _refused(path, f"the tree in this package ({MEMBER}) is locked with a password")
    if found.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise _refused(path, f"the tree in this package ({MEMBER}) is compressed in a way that GEDZIP does not allow")
    too_packed = found.file_size > SMALL and found.file_size > LARGEST_RATIO * found.compress_size
    if too_packed or found.file_size > LARGEST:
        raise _refused(
            path, f"the tree in this package ({MEMBER}) would unpack to {found.file_size >> 20} MB, which no tree needs"
        )
    return found


def _refused(path: Path, what: str) -> UnreadableFileError:
    return UnreadableFileError(what, where=str(path), remedy=REMEDY)
