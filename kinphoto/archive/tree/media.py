"""The pictures of a tree file: which are included, their names there, and what goes into a package. The notes on their
people are included too."""

from __future__ import annotations

import os
import zipfile
from collections.abc import Collection, Iterator
from pathlib import Path
from urllib.parse import quote, unquote

from kinphoto.archive.tree.pictures import FrontScan, Region, TreePictures
from kinphoto.gedcom.packing import FOLDER, File
from kinphoto.gedcom.write import Crop, Medium, PicturesToWrite, Survey
from kinphoto.phrases import counted
from kinphoto.scans.kinds import FileType

_FORMS = {
    FileType.JPEG: ("jpg", "image/jpeg"),
    FileType.TIFF: ("tif", "image/tiff"),
    FileType.PNG: ("png", "image/png"),
    FileType.WEBP: ("webp", "image/webp"),
    FileType.HEIF: ("heic", "image/heic"),
    FileType.PDF: ("pdf", "application/pdf"),
}
"""FORM in 5.5.1 (its list is from 1999; the others are the usual suffix) and in 7.0."""


class MediaSelection:
    """Chooses the pictures for one file. `missing` are missing scans, `left_out` is the number of photographs left out
    because they show somebody who may be living, `files` the content of a package by its names there."""

    def __init__(
        self, shown: TreePictures, target: Path, survey: Survey, origin: Path, *, packed: bool, leave_out_living: bool
    ) -> None:
        self.shown, self.packed, self._survey = shown, packed, survey
        self._folder = Path(os.path.realpath(target.absolute().parent))
        self._leave_out = shown.living if leave_out_living else frozenset()
        self._no_notes = shown.people_living if leave_out_living else frozenset()
        self.files: dict[str, File] = {}
        self._packed: dict[str, str] = {}
        self.missing: list[str] = []
        self.warnings: list[str] = []
        self.left_out = 0
        if packed:
            self._pack_others(origin)
        else:
            self._warn_of_moved(origin)

    def pictures(self, people: Collection[str]) -> PicturesToWrite:
        """What to write about the people in the file."""
        here = {person: self.shown.links[person] for person in people if person in self.shown.links}
        wanted = {photo for photos in here.values() for photo in photos}
        self.left_out = len(wanted & self._leave_out)
        media = dict(self._media(sorted(wanted - self._leave_out)))
        links = {person: dict(self._links(photos, media)) for person, photos in here.items()}
        notes = {p: self.shown.notes[p] for p in people if p in self.shown.notes and p not in self._no_notes}
        return PicturesToWrite(media, {person: photos for person, photos in links.items() if photos}, notes)

    def _links(self, photos: dict[str, Region | None], media: dict[str, Medium]) -> Iterator[tuple[str, Crop | None]]:
        for photo, region in sorted(photos.items()):
            if photo in media:
                scan = self.shown.scans[photo]
                # No version of GEDCOM can say which page a crop belongs to.
                yield photo, scan.crop(region) if region is not None and scan.front and not scan.page else None

    def _media(self, photos: list[str]) -> Iterator[tuple[str, Medium]]:
        for photo in photos:
            scan = self.shown.scans[photo]
            if not os.access(scan.path, os.R_OK):
                self.missing.append(scan.path)
                if self.packed:
                    continue
            form = _FORMS[FileType(scan.file_type)][self._survey.seven]
            title = f"{scan.title} (page {scan.page})".strip() if scan.page else scan.title
            yield photo, Medium(photo, self._file(scan), form, title)

    def _file(self, scan: FrontScan) -> str:
        """The path in the file: relative below its own folder, absolute elsewhere; a URI reference in 7.0."""
        if self.packed:
            name = self._packed.get(scan.path) or self._free_name(scan)
            self.files[name] = File(Path(scan.path))
            if scan.page:  # the other pages are in the same file
                self._packed[scan.path] = name
            return name
        path = Path(scan.path)
        for place in (path, Path(os.path.realpath(path))):
            if place.is_relative_to(self._folder):
                relative = place.relative_to(self._folder).as_posix()
                return quote(relative) if self._survey.seven else relative
        return path.as_uri() if self._survey.seven else str(path)

    def _free_name(self, scan: FrontScan) -> str:
        """A name that no other file in the package has, in any letter case."""
        taken = {name.casefold() for name in self.files}
        suffix = _FORMS[FileType(scan.file_type)][0]
        name, number = f"{FOLDER}/{scan.code}.{suffix}", 2
        while name.casefold() in taken:
            name, number = f"{FOLDER}/{scan.code}_{number}.{suffix}", number + 1
        return name

    def _pack_others(self, origin: Path) -> None:
        """Pack the tree's own media files under the names they have in the tree."""
        lost = 0
        for name in dict.fromkeys(map(_local, self._survey.files)):
            file = None if name is None else _find(name, origin)
            if file is not None and name is not None:
                self.files[name] = file
            elif name != "":
                lost += 1
        if lost:
            self.warnings.append(
                f"{counted(lost, 'media file')} of the tree itself could not be found, so the package lacks them."
            )

    def _warn_of_moved(self, origin: Path) -> None:
        relative = [name for name in map(_local, self._survey.files) if name]
        if relative and Path(os.path.realpath(origin.parent)) != self._folder:
            self.warnings.append(
                f"The tree itself refers to {counted(len(relative), 'media file')} relative to "
                f"{origin.parent}; write the tree there so that these can still be found."
            )


def _local(file: str) -> str | None:
    """The path of a file relative to its tree, "" for a web address, None for an absolute path."""
    if "://" in file and not file.startswith("file:"):
        return ""
    path = unquote(file).replace("\\", "/")
    whole = file.startswith("file:") or path.startswith("/") or path[1:2] == ":" or ".." in path.split("/")
    return None if whole else path


def _find(name: str, origin: Path) -> File | None:
    """A file of the tree, in its package or beside the tree; None when it is missing."""
    file = File(origin, name) if zipfile.is_zipfile(origin) else File(origin.parent / name)
    try:
        return file if file.size >= 0 and (file.member or file.path.is_file()) else None
    except (OSError, KeyError, ValueError):
        return None
