"""What was made to be given, as one file to be downloaded: kept until the next is made or the pages end."""

from __future__ import annotations

import shutil
import tempfile
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from kinphoto.errors import ArchiveError
from kinphoto.phrases import sized
from kinphoto.scans.copying import free_space
from kinphoto.web.jobs import Progress

STORED = (".jpg", ".jpeg", ".png", ".webp", ".flac", ".mp3", ".ogg", ".m4a", ".webm", ".tif", ".tiff")
"""What would hardly become smaller."""


@dataclass(frozen=True, slots=True)
class MadeFile:
    """A file to be downloaded: where it is, what it is called, for whom it is, and how large."""

    path: Path
    name: str
    audience: str
    size: int


class MadeFiles:
    """The last file that was made, in a folder of its own among the temporary files of this computer."""

    def __init__(self) -> None:
        self.last: MadeFile | None = None
        self._folder: Path | None = None

    def make(self, name: str, audience: str, fill: Callable[[Path, Progress], object], progress: Progress) -> MadeFile:
        """Have a folder filled, and make it one zip of this name. Raises ArchiveError where there is no room, and
        whatever `fill` raises; nothing is left then."""
        self.remove()
        place = Path(tempfile.mkdtemp(prefix="kinphoto-given-"))
        try:
            inside = place / name
            fill(inside, lambda done, total: progress(done, 2 * total))
            packed = place / f"{name}.zip"
            _refuse_without_room(inside)
            _pack(inside, packed, lambda done, total: progress(total + done, 2 * total))
            shutil.rmtree(inside)
        except BaseException as problem:
            shutil.rmtree(place, ignore_errors=True)
            if isinstance(problem, OSError):
                raise ArchiveError(
                    f"it cannot be written ({problem.strerror or problem})", where=str(place),
                    remedy="Make room there, or name a folder.",
                ) from problem  # fmt: skip
            raise
        self._folder = place
        self.last = MadeFile(packed, packed.name, audience, packed.stat().st_size)
        return self.last

    def remove(self) -> None:
        """Remove the last one."""
        self.last = None
        if self._folder is not None:
            shutil.rmtree(self._folder, ignore_errors=True)
            self._folder = None


def _refuse_without_room(folder: Path) -> None:
    """Raise ArchiveError where the disk has no room for what is in a folder once more."""
    needed = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    if needed > (free := free_space(folder)):
        raise ArchiveError(
            f"the file to download needs {sized(needed)}, and this computer's disk for temporary files has "
            f"{sized(free)} free",
            where=str(folder.parent), remedy="Make room there, or name a folder.",
        )  # fmt: skip


def _pack(folder: Path, to: Path, progress: Progress) -> None:
    files = [path for path in sorted(folder.rglob("*")) if path.is_file()]
    with zipfile.ZipFile(to, "w", allowZip64=True) as packed:
        for done, path in enumerate(files, 1):
            kind = zipfile.ZIP_STORED if path.suffix.lower() in STORED else zipfile.ZIP_DEFLATED
            packed.write(path, Path(folder.name, path.relative_to(folder)), kind)
            progress(done, len(files))
