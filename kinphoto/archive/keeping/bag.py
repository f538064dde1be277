"""A bag (BagIt 1.0, RFC 8493) while it is made: what is put into it is summed as it goes, and the manifests seal it."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path

from kinphoto.scans.copying import copy_hashed
from kinphoto.version import __version__

DATA = "data"
"""The folder of a bag that holds its payload."""


class Bag:
    """A bag that is being made in `folder`; paths of what is in it are below `data`."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.data = folder, folder / DATA
        self.sums: dict[str, str] = {}
        """SHA-256 of everything below `data`, by its path from the bag."""
        self.bytes = 0
        self.data.mkdir(parents=True)

    def text(self, path: str, text: str) -> None:
        """Write a file of text."""
        to = self.data / path
        to.parent.mkdir(parents=True, exist_ok=True)
        data = text.encode()
        to.write_bytes(data)
        self.add(path, hashlib.sha256(data).hexdigest(), len(data))

    def copy(self, source: Path, path: str) -> None:
        """Copy a file into it."""
        to = self.data / path
        self.add(path, *copy_hashed(source, self.data, lambda _: to))

    def add_written(self, path: Path) -> None:
        """Sum a file that was written into it."""
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        self.add(path.relative_to(self.data).as_posix(), digest, path.stat().st_size)

    def add(self, path: str, sha256: str, size: int) -> None:
        """Note a file in it, which was summed already."""
        self.sums[f"{DATA}/{path}"] = sha256
        self.bytes += size

    def seal(self, at: datetime, description: str) -> None:
        """The tag files (RFC 8493, 2.1 and 2.2): the manifest of the payload, then that of the others."""
        tags = {
            "bagit.txt": "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
            "bag-info.txt": (
                f"Bagging-Date: {at:%Y-%m-%d}\n"
                f"Bag-Software-Agent: kinphoto {__version__}\n"
                f"External-Description: {description}\n"
                f"Payload-Oxum: {self.bytes}.{len(self.sums)}\n"
            ),
            "manifest-sha256.txt": _manifest(self.sums),
        }
        found = {}
        for name, text in tags.items():
            data = text.encode()
            (self.folder / name).write_bytes(data)
            found[name] = hashlib.sha256(data).hexdigest()
        (self.folder / "tagmanifest-sha256.txt").write_text(_manifest(found), encoding="utf-8", newline="\n")


_NOT_EVERYWHERE = re.compile(r'[\x00-\x1f\x7f<>:"\\|?*%]|[. ]+(?=/|$)')
"""What names on some disks (exFAT, NTFS) cannot hold, and the `%` that bags encode and not every program decodes."""


def names_for_any_disk(paths: Sequence[str]) -> list[str]:
    """Names that every disk can hold and keep apart, whether it minds capitals or not; package.json has the true
    ones."""
    found: list[str] = []
    taken: set[str] = set()
    for path in paths:
        plain = _NOT_EVERYWHERE.sub("_", unicodedata.normalize("NFC", path))
        stem, dot, ending = plain.rpartition(".")
        name, number = plain, 1
        while name.casefold() in taken:
            number += 1
            name = f"{stem}-{number}{dot}{ending}" if dot and "/" not in ending else f"{plain}-{number}"
        taken.add(name.casefold())
        found.append(name)
    return found


def _manifest(sums: Mapping[str, str]) -> str:
    """Lines of a manifest. Nothing in our names has to be encoded (RFC 8493, 2.1.3)."""
    return "".join(f"{sums[path]}  {path}\n" for path in sorted(sums))
