"""Copies of scans with names and dates inside, or as sidecars. The scans themselves are only read.

A copy in full size is the scan's own compressed picture with our metadata in place of what was there. Where a picture
cannot be taken out of its file untouched (a page of a PDF, HEIC) or is to be small enough to be mailed, it is made anew
as a JPEG; the result says which.
"""

from __future__ import annotations

import hashlib
import io
import mmap
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from functools import partial
from io import FileIO
from pathlib import Path
from typing import Annotated, NamedTuple

from sqlalchemy import Connection, Engine

from kinphoto.archive.catalogue.containers import folders
from kinphoto.archive.dates.estimates import refresh
from kinphoto.archive.giving.given import Given, GivenScan
from kinphoto.archive.giving.selection import Gift, Report, Wanted, gift, refuse_empty
from kinphoto.archive.giving.wording import facts, orientation_of
from kinphoto.errors import InvalidValueError, KinphotoError, UnreadableFileError
from kinphoto.scans.copying import several_at_once
from kinphoto.scans.fixity import sha256_at
from kinphoto.scans.kinds import FileType
from kinphoto.scans.parts import Upright, shown
from kinphoto.share import embed, xmp
from kinphoto.share.folder import GiftFolder, SplicedFile
from kinphoto.store.opening import folder_of
from kinphoto.store.session import reading

Progress = Callable[[int, int], None]
_Make = Callable[[embed.EmbeddedMetadata], bytes | SplicedFile]

INSIDE, BESIDE, ALONE = "inside", "beside", "alone"
"""Where the metadata go: into the copies; into sidecars beside them; into sidecars without any pictures."""
_QUALITY = 92
_SUFFIX = {FileType.JPEG: ".jpg", FileType.TIFF: ".tif", FileType.PNG: ".png", FileType.WEBP: ".webp"}


class Unusable(NamedTuple):
    """A scan that could not be given."""

    photograph: Annotated[str, "the code of a photograph whose scan could not be given"]
    why: Annotated[str, "why"]


@dataclass(frozen=True, slots=True)
class CopiesWritten:
    """What was written, or would be."""

    report: Annotated[Report, "what goes, and what is held back and why"]
    folder: Annotated[str, "the folder it is in"]
    done: Annotated[bool, "false without `--write`: nothing was written"]
    written: Annotated[int, "how many files were written"] = 0
    unchanged: Annotated[int, "how many were there already as they are now"] = 0
    removed: Annotated[int, "how many of an earlier run were removed, because they no longer go"] = 0
    size: Annotated[int, "bytes of all of them"] = 0
    converted: Annotated[tuple[str, ...], "photographs whose picture was made anew as a JPEG"] = ()
    sidecars: Annotated[
        tuple[str, ...], "photographs with a sidecar, because nothing can be written into their file"
    ] = ()
    unusable: tuple[Unusable, ...] = ()
    shortened: Annotated[
        tuple[str, ...],
        "photographs with more to say than a JPEG can hold: something was left out of the copy; with "
        "`--metadata beside` nothing is",
    ] = ()


@dataclass(frozen=True, slots=True)
class CopyOptions:
    """How to give copies: where metadata go, the longest edge in pixels (None for full size), the EXIF fields of the
    scans to keep, by name."""

    where: str = INSIDE
    edge: int | None = None
    keep: tuple[str, ...] = ()


def write_copies(
    engine: Engine,
    folder: Path | str,
    audience: str,
    wanted: Wanted = Wanted(),
    options: CopyOptions = CopyOptions(),
    *,
    write: bool = False,
    progress: Progress | None = None,
) -> CopiesWritten:
    """Write copies for an audience into a folder of their own; without `write` only say what would go.

    Raises NotFoundError, AmbiguousError, InvalidValueError for unusable options or folder, or where nothing may go,
    and ArchiveError for a folder with other things in it or a disk without room.
    """
    keep = _checked(options)
    refresh(engine)
    with reading(engine) as connection:
        found = gift(connection, audience, wanted)
        inside = GiftFolder(Path(folder), "copies", found.report.audience, kept_away(connection))
    if not write:
        return CopiesWritten(found.report, str(inside.folder), False)
    refuse_empty(found)
    work = _Copying(inside, options, keep)
    plan = list(_plan(found))
    inside.refuse_without_room({work.names(scan, stem)[0]: work.least(scan) for _, scan, stem in plan})
    inside.begin([name for given, scan, stem in plan for name in work.names(scan, stem)])
    for done, _ in enumerate(several_at_once(lambda each: work.copy(*each), plan), 1):
        if progress is not None:
            progress(done, len(plan))
    inside.finish()
    return CopiesWritten(
        found.report, str(inside.folder), True, inside.written, inside.unchanged, inside.removed, inside.size,
        tuple(sorted(set(work.converted))), tuple(sorted(set(work.sidecars))), tuple(sorted(work.unusable)),
        tuple(sorted(set(work.shortened))),
    )  # fmt: skip


def kept_away(connection: Connection) -> list[Path]:
    """The folders where nothing that is given away is written: the archive and the scans."""
    return [folder_of(connection.engine), *(Path(each) for each in folders(connection))]


def _checked(options: CopyOptions) -> frozenset[int]:
    if options.where not in (INSIDE, BESIDE, ALONE):
        raise InvalidValueError(
            f"'{options.where}' is not a place for metadata", remedy=f"Use {INSIDE}, {BESIDE} or {ALONE}."
        )
    if options.edge is not None and not 200 <= options.edge <= 20_000:
        raise InvalidValueError(
            f"{options.edge} pixels is not a usable size", remedy="Give between 200 and 20000, such as --edge 2048."
        )
    try:
        return frozenset(embed.field_numbers(options.keep))
    except KeyError as problem:
        raise InvalidValueError(
            f"'{problem.args[0]}' is not an EXIF field that can be kept",
            remedy="Give names such as Make, Model or Software.",
        ) from None


def _plan(found: Gift) -> Iterator[tuple[Given, GivenScan, str]]:
    """Each scan to be given, and what to call it."""
    for given in found.photographs:
        yield given, given.front, given.code
        counts: dict[str, int] = {}
        for scan in given.others:
            word = {"verso": "back", "detail": "detail"}.get(scan.side, "again")
            counts[word] = counts.get(word, 0) + 1
            yield given, scan, f"{given.code}-{word}{counts[word] if counts[word] > 1 else ''}"


@dataclass
class _Copying:
    """One run of copying into a folder."""

    folder: GiftFolder
    options: CopyOptions
    keep: frozenset[int]
    converted: list[str] = field(default_factory=list)
    sidecars: list[str] = field(default_factory=list)
    unusable: list[Unusable] = field(default_factory=list)
    shortened: list[str] = field(default_factory=list)

    def _room(self, scan: GivenScan) -> int:
        """How many bytes a packet may have: what a JPEG holds in one segment, where it goes inside one."""
        is_jpeg = self._is_converted(scan) or scan.file_type == FileType.JPEG
        return embed.MOST_XMP if is_jpeg and self.options.where == INSIDE else sys.maxsize

    def least(self, scan: GivenScan) -> int:
        """The bytes that a copy will have at least: those of its scan, unless the picture is made anew or not given."""
        return 0 if self.options.where == ALONE or self._is_converted(scan) else scan.picture_end or scan.bytes

    def names(self, scan: GivenScan, stem: str) -> tuple[str, str]:
        """The picture, and the sidecar that it may have."""
        name = f"{stem}{'.jpg' if self._is_converted(scan) else _SUFFIX[FileType(scan.file_type)]}"
        return name, f"{name}.xmp"

    def copy(self, given: Given, scan: GivenScan, stem: str) -> None:
        """Give one scan; what cannot be read is noted."""
        name, beside = self.names(scan, stem)
        try:
            if self.options.where == ALONE:
                self._sidecar(given, scan, beside)
            elif self._is_converted(scan):
                self._anew(given, scan, name, beside)
            else:
                self._as_it_is(given, scan, name, beside)
        except OSError as problem:
            self.unusable.append(Unusable(given.code, problem.strerror or str(problem)))
        except KinphotoError as problem:
            if not isinstance(problem, UnreadableFileError):
                raise
            self.unusable.append(Unusable(given.code, problem.what))

    def _is_converted(self, scan: GivenScan) -> bool:
        """Whether the picture has to be made anew: smaller, or out of a file that holds more than it."""
        kind = FileType(scan.file_type)
        together = scan.page and kind is not FileType.TIFF
        return self.options.where != ALONE and bool(self.options.edge or kind not in _SUFFIX or together)

    def _anew(self, given: Given, scan: GivenScan, name: str, beside: str) -> None:
        edge = self.options.edge or max(scan.size)
        size = fitted(scan.upright, edge)
        said = facts(given, scan, 1, size)
        packet, shortened = xmp.packet_within(said, self._room(scan))
        if shortened:
            self.shortened.append(given.code)
        inside = embed.EmbeddedMetadata(packet, 1, None, said.taken, said.digitized)
        if not self.options.edge:
            self.converted.append(given.code)
        self._put(scan, name, beside, inside, lambda inside: _drawn(scan, edge, inside), given.code)

    def _as_it_is(self, given: Given, scan: GivenScan, name: str, beside: str) -> None:
        orientation = orientation_of(scan)
        said = facts(given, scan, orientation, scan.size, whole=True)
        packet, shortened = xmp.packet_within(said, self._room(scan))
        if shortened:
            self.shortened.append(given.code)
        inside = embed.EmbeddedMetadata(packet, orientation, scan.ppi, said.taken, said.digitized, self.keep)
        self._put(scan, name, beside, inside, partial(_copied, scan), given.code)

    def _put(
        self, scan: GivenScan, name: str, beside: str, inside: embed.EmbeddedMetadata, make: _Make, code: str
    ) -> None:
        """Write the picture with what is to be said inside it, where that is wanted and the file can hold it."""
        kind = FileType.JPEG if name.endswith(".jpg") else FileType(scan.file_type)
        alone = self.options.where == BESIDE or kind in (FileType.PNG, FileType.WEBP)
        said = b"" if alone else inside.xmp
        key = key_of(
            scan.sha256, *scan.corners, inside.xmp, inside.orientation, sorted(self.keep), self.options.where,
            self.options.edge,
        )  # fmt: skip
        mute = embed.EmbeddedMetadata(said, inside.orientation, inside.ppi, inside.taken, inside.digitized, inside.keep)
        try:
            self.folder.put(name, key, lambda: make(mute))
        except embed.CannotEmbedError as problem:
            raise UnreadableFileError(str(problem), where=scan.path) from problem
        if alone:
            self.folder.put(beside, key, lambda: inside.xmp)
            self.sidecars.append(code)

    def _sidecar(self, given: Given, scan: GivenScan, beside: str) -> None:
        said = facts(given, scan, orientation_of(scan), scan.size, whole=True)
        packet = xmp.packet(said, wrapped=False)
        self.folder.put(beside, key_of(packet), lambda: packet)
        self.sidecars.append(given.code)


def _copied(scan: GivenScan, inside: embed.EmbeddedMetadata) -> bytes | SplicedFile:
    """The picture as its file has it with this inside, or with nothing where such a file can hold nothing."""
    kind, file = FileType(scan.file_type), _opened(scan)
    try:
        data = _mapped(file, whole=not scan.picture_end)
        if kind in (FileType.PNG, FileType.WEBP):
            with file:
                return embed.png(data) if kind is FileType.PNG else embed.webp(data)
        if kind is FileType.JPEG:
            return SplicedFile(file, embed.jpeg(data, inside, scan.picture_end))
        return SplicedFile(file, embed.tiff(data, inside, scan.page))
    except BaseException:
        file.close()
        raise


def _opened(scan: GivenScan) -> FileIO:
    """The file as it was indexed. Raises UnreadableFileError when it has changed since: it may show somebody else."""
    file = Path(scan.path).open("rb", buffering=0)  # noqa: SIM115 (it is closed when it is copied)
    there = os.fstat(file.fileno())
    if (there.st_size, there.st_mtime_ns) != (scan.bytes, scan.mtime_ns) and sha256_at(scan.path) != (
        scan.file_sha256 or scan.sha256
    ):
        file.close()
        raise UnreadableFileError(
            "the file has changed since it was added", where=scan.path, remedy="Add its folder again first."
        )
    return file


def _mapped(file: FileIO, *, whole: bool) -> embed.Data:
    """The file as memory. All of it at once, where all of it will be read, takes a third of the time."""
    try:
        if whole and hasattr(mmap, "MAP_POPULATE"):
            return mmap.mmap(file.fileno(), 0, mmap.MAP_PRIVATE | mmap.MAP_POPULATE, mmap.PROT_READ)
        return mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
    except ValueError:  # it is empty
        return b""


def opened_scan(scan: GivenScan, edge: int) -> AbstractContextManager[Upright]:
    """A scan to be drawn, decoded with at least this many pixels along its longest edge."""
    return shown(scan.source, lambda size: edge / max(size))


def made_anew(scan: GivenScan, edge: int) -> tuple[bytes, tuple[int, int]]:
    """The upright picture in sRGB as a JPEG of at most `edge` pixels, without any metadata; and its size."""
    with opened_scan(scan, edge) as picture:
        whole = picture.fitted(picture.whole, edge)
    out = io.BytesIO()
    whole.save(out, "JPEG", quality=_QUALITY, exif=b"", icc_profile=None, comment=b"", xmp=b"")
    return out.getvalue(), whole.size


def _drawn(scan: GivenScan, edge: int, inside: embed.EmbeddedMetadata) -> bytes:
    data, _ = made_anew(scan, edge)
    return embed.joined(data, embed.jpeg(data, inside))


def fitted(size: tuple[int, int], edge: int) -> tuple[int, int]:
    """Width and height of a picture whose longer edge is at most this."""
    shrink = min(1.0, edge / max(size))
    return max(1, round(size[0] * shrink)), max(1, round(size[1] * shrink))


def key_of(*what: object) -> str:
    """A word for what a file is made from, by which a second run knows that nothing changed."""
    return hashlib.sha256(repr(what).encode()).hexdigest()[:24]
