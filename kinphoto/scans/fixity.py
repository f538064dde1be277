"""The bytes of a file: opening it for reading, and the SHA-256 that shows whether it has changed."""

from __future__ import annotations

import hashlib
from io import BufferedReader
from pathlib import Path

from kinphoto.errors import UnreadableFileError


def reading_bytes(path: str) -> BufferedReader:
    """The file, open for reading. Raises UnreadableFileError."""
    try:
        return Path(path).open("rb")
    except FileNotFoundError as problem:
        raise UnreadableFileError(
            "the file is no longer there", where=path, remedy="If it was moved, add it again: kinphoto scans add."
        ) from problem
    except PermissionError as problem:
        raise UnreadableFileError(
            "you do not have permission to read it", where=path, remedy="Change its permissions, then add it again."
        ) from problem
    except OSError as problem:
        raise UnreadableFileError(f"the disk could not read it ({problem.strerror})", where=path) from problem


def sha256_of(file: BufferedReader, path: str) -> str:
    """The SHA-256 of an open file's bytes in hexadecimal. Raises UnreadableFileError when the disk fails."""
    try:
        return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as problem:
        raise UnreadableFileError(f"the disk could not read it ({problem.strerror})", where=path) from problem


def sha256_at(path: str) -> str:
    """The SHA-256 of the file at `path`. Raises UnreadableFileError."""
    with reading_bytes(path) as file:
        return sha256_of(file, path)
