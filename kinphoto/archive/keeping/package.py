"""A package of everything, for an archive or a grandchild in fifty years: a bag (BagIt 1.0, RFC 8493).

    PACKAGE/
      bagit.txt, bag-info.txt, manifest-sha256.txt, tagmanifest-sha256.txt
      data/
        START HERE.html, pages/          the pictures, for a browser and nothing else
        READ ME FIRST.txt                what this is and how it is put together
        failing/                         scans that are not what they should be, and what could be read of them
        scans/                           every scan under its own name
        archive/                         the other files of the archive's folder, recordings among them
        sounds as FLAC/                  copies of recordings that lose nothing
        tree/                            the family trees as they were imported
        tables/                          every table as CSV and as JSON, with what each column means
        package.json                     where each file belongs

`unpacking.py` makes the archive again from it. A package is made whatever state the scans are in, because the disk may
be dying, and never replaces another.
"""

from __future__ import annotations

import gzip
import hashlib
import os
import shutil
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path, PurePosixPath
from typing import Annotated, NamedTuple

from sqlalchemy import Connection, Engine, select

from kinphoto.archive.catalogue.stories import read_stories
from kinphoto.archive.keeping import package_pages
from kinphoto.archive.keeping.backup import listing
from kinphoto.archive.keeping.bag import Bag, names_for_any_disk
from kinphoto.archive.keeping.contents import ARCHIVE, KeptFile, own_files, refuse_inside, scan_files
from kinphoto.archive.keeping.notes import PACKAGE, write_note
from kinphoto.archive.keeping.package_tables import write_tables
from kinphoto.archive.keeping.restoring import new_places
from kinphoto.archive.tree.copies import FOLDER as TREES
from kinphoto.errors import ArchiveError
from kinphoto.gedcom.wording import month
from kinphoto.phrases import counted, listed, sized
from kinphoto.scans.copying import copy_hashed, free_space, several_at_once
from kinphoto.sounds.copying import lossless
from kinphoto.store import tables as t
from kinphoto.store.atomic import new_folder
from kinphoto.store.opening import folder_of
from kinphoto.store.root_rows import read_roots
from kinphoto.store.session import deriving, reading
from kinphoto.version import __version__

Progress = Callable[[int, int], None]
INDEX, FAILING = "package.json", "failing"
LOSSLESS = "sounds as FLAC"
DEPOSIT = "deposit.json"
"""In a package for an audience (`giving/deposit.py`), from which no archive can be made."""
_BLOCK = 1 << 16


class Packed(NamedTuple):
    """A file of the archive in the package. `path` is below `data`; empty when it is not in it."""

    file: KeptFile
    path: str
    sha256: str
    size: int
    problem: str = ""


@dataclass(frozen=True, slots=True)
class PackageMade:
    """A package that was made."""

    folder: Annotated[str, "the folder of the package"]
    at: Annotated[str, "when, UTC"]
    scans: Annotated[int, "how many image files are in it"]
    files: Annotated[int, "how many files are in it altogether"]
    bytes: Annotated[int, "their size together"]
    failing: Annotated[Sequence[str], "scans that are not what was added or cannot be read; they are in `failing` too"]
    missing: Annotated[Sequence[str], "scans that are not where they should be, and are not in it"]


def make_package(
    engine: Engine, target: Path | str, progress: Progress | None = None, *, now: datetime | None = None
) -> PackageMade:
    """Make a package of everything as a new folder in `target`, which gets the archive's name and the day.

    Raises InvalidValueError when `target` is a part of the archive, ArchiveError when it cannot be written or there is
    no room.
    """
    at, report = now or datetime.now().astimezone(), progress or (lambda _done, _total: None)
    place = Path(os.path.realpath(target))
    with reading(engine) as connection:
        refuse_inside(connection, place, "package")
        name = f"{Path(os.path.realpath(folder_of(engine))).name}-{at:%Y-%m-%d}"
        with new_folder(place, name, "the package cannot be written") as made:
            writer = _Writer(connection, made.part, at)
            writer.write(report)
    done = PackageMade(
        folder=str(made.path),
        at=at.astimezone(UTC).isoformat(timespec="seconds"),
        scans=sum(each.file.is_scan and bool(each.path) for each in writer.packed),
        files=len(writer.bag.sums),
        bytes=writer.bag.bytes,
        failing=[f"{each.file.source}: {each.problem}" for each in writer.failing if each.path],
        missing=[each.file.source for each in writer.packed if each.file.is_scan and not each.path],
    )
    with deriving(engine) as connection:
        write_note(connection, PACKAGE, {"folder": done.folder, "at": done.at, "scans": done.scans})
    return done


class _Writer:
    """Writes one package from one view of the rows."""

    def __init__(self, connection: Connection, folder: Path, at: datetime) -> None:
        self._connection, self._at = connection, at
        self._folder = folder_of(connection.engine)
        self.bag = Bag(folder)
        self.packed: list[Packed] = []
        self._without_copy: list[str] = []

    @property
    def failing(self) -> list[Packed]:
        """The files that have something wrong with them."""
        return [each for each in self.packed if each.problem]

    def write(self, report: Progress) -> None:
        """Everything, the manifest last."""
        scans = scan_files(self._connection)
        files = [*scans, *own_files(self._folder, {each.source for each in scans})]
        self._refuse_without_room(files)
        places = self._places(files)
        for _, packed in several_at_once(lambda each: self._pack(*each), list(zip(files, places, strict=True))):
            self.packed.append(packed)
            if packed.path:
                self.bag.add(packed.path, packed.sha256, packed.size)
            report(len(self.packed), len(files))
        self.packed.sort(key=lambda each: (each.file.root, each.file.path))
        self._stand_apart()
        self._lossless()
        self._trees()
        write_tables(self._connection, self.bag)
        self._index()
        where = {each.file.source: each.path for each in self.packed if each.path}
        for path, content in package_pages.pages(self._connection, where, self._words(), self._notices()):
            if isinstance(content, Path):
                self.bag.copy(content, path)
            else:
                self.bag.text(path, content)
        self.bag.text("READ ME FIRST.txt", self._words())
        self.bag.seal(
            self._at,
            "A family's photographs, whole: scans, tree, and everything recorded about them. It includes living "
            "people.",
        )

    def _refuse_without_room(self, files: Sequence[KeptFile]) -> None:
        needed = int(1.05 * sum(each.size for each in files))
        if needed > (free := free_space(self.bag.folder)):
            raise ArchiveError(
                f"the package needs {sized(needed)}, and the disk has {sized(free)} free",
                where=str(self.bag.folder.parent),
                remedy="Make room, or name a folder on a larger disk.",
            )

    def _places(self, files: Sequence[KeptFile]) -> list[str]:
        """Where each file goes below `data`."""
        here = os.path.realpath(self._folder)
        roots = {root.id: root.path for root in read_roots(self._connection)}
        named = new_places(roots, here, Path(here))
        below = {id_: str(path.relative_to(here)) for id_, path in named.items()}
        found = []
        for each in files:
            if each.root == ARCHIVE:
                path = (
                    PurePosixPath("scans", "elsewhere" + each.path)
                    if each.is_scan
                    else PurePosixPath("archive", each.path)
                )
            else:
                root = PurePosixPath(below[each.root])
                path = PurePosixPath("scans", "in the archive", each.path) if str(root) == "." else root / each.path
            found.append(str(path))
        return names_for_any_disk(found)

    def _pack(self, file: KeptFile, path: str) -> Packed:
        """Copy one file; of one that cannot be read whole, what can be."""
        to = self.bag.data / path
        try:
            sha256, size = copy_hashed(file.source, self.bag.data, lambda _: to)
        except FileNotFoundError:
            return Packed(file, "", "", 0, "it is not where it should be")
        except OSError as problem:
            if not _is_of_the_source(file.source):
                raise
            return self._salvage(file, path, problem)
        changed = bool(file.sha256) and sha256 != file.sha256
        return Packed(file, path, sha256, size, "it is not what was added" if changed else "")

    def _salvage(self, file: KeptFile, path: str, problem: OSError) -> Packed:
        """Copy a file that cannot be read in parts, with zeros in their place."""
        to, found, lost = self.bag.data / path, hashlib.sha256(), 0
        to.parent.mkdir(parents=True, exist_ok=True)
        try:
            with Path(file.source).open("rb", buffering=0) as original, to.open("wb") as copy:
                size = os.fstat(original.fileno()).st_size
                for at in range(0, size, _BLOCK):
                    try:
                        block = os.pread(original.fileno(), _BLOCK, at)
                    except OSError:
                        block = b""
                    wanted = min(_BLOCK, size - at)
                    lost += wanted - len(block)
                    block = block.ljust(wanted, b"\0")
                    found.update(block)
                    copy.write(block)
        except OSError:
            to.unlink(missing_ok=True)
            return Packed(file, "", "", 0, f"it cannot be read ({problem.strerror})")
        words = f"{lost:,} of its {size:,} bytes cannot be read ({problem.strerror}); zeros are in their place"
        return Packed(file, path, found.hexdigest(), size, words)

    def _stand_apart(self) -> None:
        """Another copy of each failing file where it is seen first, and a list of them all."""
        if not self.failing:
            return
        lines = ["These files of the archive are not what they should be.", ""]
        for each in self.failing:
            lines += [each.path or each.file.source, f"    {each.problem}"]
            lines += [f"    SHA-256 when it was added: {each.file.sha256}", ""]
            if each.path:
                self.bag.copy(self.bag.data / each.path, f"{FAILING}/{each.path}")
        self.bag.text(f"{FAILING}/LIST.txt", "\n".join(lines))

    def _lossless(self) -> None:
        """For each recording a copy in FLAC, which every program of the future can decode from its open description, as
        far as that can be made; the words say for which not."""
        for one in read_stories(self._connection):
            sound = one.recording
            if sound is None or sound.missing or sound.kind == "FLAC":
                continue
            to = self.bag.data / LOSSLESS / f"{one.id}.flac"
            to.parent.mkdir(exist_ok=True)
            try:
                made = lossless(Path(sound.path), sound.kind, to)
            except OSError:
                made = False
            if made:
                self.bag.add_written(to)
            else:
                to.unlink(missing_ok=True)
                self._without_copy.append(one.id)

    def _trees(self) -> None:
        """The trees as they were imported, so that no program of ours is needed to read them."""
        tree = t.tree_file.c
        for number, (path, sha256) in enumerate(
            self._connection.execute(select(tree.path, tree.sha256).order_by(tree.id)), 1
        ):
            packed = self._folder / TREES / f"{sha256}.ged.gz"
            if not packed.exists():
                continue
            (name,) = names_for_any_disk([f"tree/{number:02} {Path(path).stem}.ged"])
            to = self.bag.data / name
            to.parent.mkdir(exist_ok=True)
            with gzip.open(packed) as source, to.open("wb") as file:
                shutil.copyfileobj(source, file)
            self.bag.add_written(to)

    def _index(self) -> None:
        head = {
            "made": self._at.astimezone(UTC).isoformat(timespec="seconds"),
            "kinphoto": __version__,
            "schema": t.SCHEMA,
            "archive": os.path.realpath(self._folder),
            "roots": {root.id: root.path for root in read_roots(self._connection)},
        }
        files = [
            {
                "root": each.file.root, "path": each.file.path, "packed": each.path, "sha256": each.sha256,
                "size": each.size, "mtime_ns": each.file.mtime_ns, "recorded": each.file.sha256,
                "problem": each.problem,
            }
            for each in self.packed
        ]  # fmt: skip
        self.bag.text(INDEX, listing(head, files))

    def _notices(self) -> list[str]:
        return [f"{each.path or each.file.source}: {each.problem}" for each in self.failing]

    def _words(self) -> str:
        name = Path(os.path.realpath(self._folder)).name
        scans = counted(sum(each.file.is_scan and bool(each.path) for each in self.packed), "scan")
        photographs = counted(len(self._connection.execute(select(t.photograph.c.id)).all()), "photograph")
        people = counted(len(self._connection.execute(select(t.person.c.id)).all()), "person", "people")
        failing = (
            f"\nBAD NEWS FIRST: {counted(len(self.failing), 'file')} could not be packed as they should be."
            f"\nThey are listed in {FAILING}/LIST.txt.\n"
            if self.failing
            else ""
        )
        indent = " " * 12
        alone = (
            f"{indent}The recordings of {listed(self._without_copy)} are there as they were put in and not in FLAC,\n"
            f"{indent}which cannot hold them exactly, or they could not be decoded.\n"
            if self._without_copy
            else ""
        )
        return _ACCOUNT.format(
            name=name, day=f"{self._at:%d} {month(self._at.toordinal())}", scans=scans, photographs=photographs,
            people=people, failing=failing, alone=alone, lossless=LOSSLESS,
        )  # fmt: skip


def _is_of_the_source(path: str) -> bool:
    """Whether it is the file that cannot be read, not the package that cannot be written."""
    try:
        with Path(path).open("rb", buffering=0) as file:
            while file.read(1 << 20):
                pass
    except OSError:
        return True
    return False


_ACCOUNT = """{name}
made on {day}
{failing}
WHAT THIS IS

A family's collection of old photographs, complete: {scans} of {photographs}, {people}, and everything
that relatives told about them. It was put together with kinphoto, a program for family photographs, but you do not need
that program: everything here can be read with what any computer has.

It is complete, so it INCLUDES LIVING PEOPLE: their names, dates and pictures belong to them. Ask them before you pass
it on or publish it.

WHERE TO BEGIN

Open "START HERE.html" in a browser: it shows the photographs, box by box, with who is in them, when they were taken,
and what is written or was told about them.

HOW IT IS PUT TOGETHER

scans/      the scans, in their folders and under their own names
archive/    other files that belong to the archive; in its folder sounds the recordings of what was told, as they were
            put in. "{lossless}" has a copy of each in which no sound is lost
{alone}tree/       the family tree as it was imported (GEDCOM); the newest file has the highest number
tables/     everything else, table by table: as CSV for a spreadsheet, and as JSON for programs. "WHAT THE COLUMNS
            MEAN.txt" says what each holds. A photograph (photograph) has scans (scan) and is kept in a box (container).
            Who is in it: appearance, which refers to a person and perhaps to a face (region). What somebody said about
            it, or is written on it: statement, with who said it (informant). What was worked out from all that:
            estimate, which can be worked out again. The history of every change: change and change_row.
package.json  where each file was, with its checksum then and now

IS IT WHOLE?

This folder is a bag (BagIt, RFC 8493). The checksum (SHA-256) of every file is in manifest-sha256.txt, beside the
folder "data". Any BagIt program checks them, and so does: sha256sum -c manifest-sha256.txt

MAKING THE ARCHIVE AGAIN

With kinphoto: kinphoto init NEW-FOLDER --from THIS-PACKAGE
"""
