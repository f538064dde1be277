"""What adding image files did: which scans are new, moved, changed, second copies or gone, as it is reported and as it
is counted while it goes on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Annotated, NamedTuple

from sqlalchemy import Connection, func, select

from kinphoto.archive.collection.removing import LeftOut
from kinphoto.documents import Key
from kinphoto.phrases import listed
from kinphoto.scans.walk import Refused
from kinphoto.store import tables as t
from kinphoto.store.among import among


@dataclass(frozen=True, slots=True)
class FiledScan:
    """A scan of a photograph."""

    path: Annotated[str, "the scan; `#page=3` at the end is a page of a file with several"]
    photograph: Annotated[str, "the code of its photograph"]
    faces: Annotated[int, "how many faces are framed on the photograph, which may not fit any more"] = 0


@dataclass(frozen=True, slots=True)
class PagedFile:
    """A file with several pages."""

    path: Annotated[str, "a file with several pages"]
    pages: Annotated[int, "how many of its pages hold a picture"]
    photographs: Annotated[tuple[str, ...], "codes of the photographs that were made of them now"]


class Move(NamedTuple):
    """A file that was known under another name or in another folder."""

    old: Annotated[str, Key("from"), "where a moved file was"]
    new: Annotated[str, Key("to"), "where it is now"]


class Duplicate(NamedTuple):
    """A second copy of a file."""

    path: Annotated[str, "a second copy of a file"]
    of: Annotated[str, "the file it is a copy of"]


@dataclass(frozen=True, slots=True)
class ScansAdded:
    """What indexing did."""

    seen: Annotated[int, "image files found"]
    added: Annotated[int, "files that are new"]
    unchanged: Annotated[int, "files known and as they were, second copies among them"]
    moved: Annotated[tuple[Move, ...], Key("moves"), "known files found under a new name or in a new folder"]
    changed: Annotated[tuple[FiledScan, ...], Key("changes"), "scans whose bytes have changed since they were indexed"]
    unreadable: Annotated[tuple[Refused, ...], "files and folders that could not be read"]
    duplicates: Annotated[tuple[Duplicate, ...], "second copies of a file"]
    photographs: Annotated[int, "how many photographs the archive holds now"]
    left_out: Annotated[
        tuple[LeftOut, ...], "files that were removed from the archive and are not indexed again without `--again`"
    ] = ()
    new: Annotated[tuple[FiledScan, ...], "photographs that were made"] = ()
    telling: Annotated[
        tuple[FiledScan, ...],
        "photographs whose files had names, captions or dates from other programs, now recorded: see `scans inside`",
    ] = ()
    telling_change: Annotated[int | None, "the change in which these were recorded, for `undo`; or null"] = None
    paged: tuple[PagedFile, ...] = ()
    vanished: Annotated[tuple[FiledScan, ...], "scans that are not where they were"] = ()

    @property
    def moved_count(self) -> Annotated[int, Key("moved"), "known files found under a new name or in a new folder"]:
        """How many files were found elsewhere."""
        return len(self.moved)

    @property
    def changed_count(self) -> Annotated[int, Key("changed"), "files whose bytes have changed since they were indexed"]:
        """How many scans have changed."""
        return len(self.changed)

    @property
    def codes(self) -> str:
        """The photographs that were made: "K00012 to K00031 and K00040"."""
        return code_ranges([each.photograph for each in self.new])


@dataclass
class IndexingTally:
    """What was done so far."""

    unchanged: int = 0
    new: list[FiledScan] = field(default_factory=list)
    telling: list[FiledScan] = field(default_factory=list)
    telling_change: int | None = None
    paged: list[PagedFile] = field(default_factory=list)
    moved: list[Move] = field(default_factory=list)
    changed: list[FiledScan] = field(default_factory=list)
    vanished: list[FiledScan] = field(default_factory=list)
    missing: int = 0  # of those that vanished, how many were there the last time
    unreadable: list[Refused] = field(default_factory=list)
    duplicates: list[Duplicate] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)

    def counts(self) -> tuple[int, int, int, int]:
        """Added, moved, changed, missing since the last time."""
        return len(self.new), len(self.moved), len(self.changed), self.missing


def code_ranges(codes: Sequence[str]) -> str:
    """Codes in few words: "K00012 to K00031 and K00040"."""
    runs: list[list[str]] = []
    for code in codes:
        if runs and int(code[1:]) == int(runs[-1][-1][1:]) + 1:
            runs[-1] = [runs[-1][0], code]
        else:
            runs.append([code])
    return listed([" to ".join(run) for run in runs])


def filed_scans(connection: Connection, scans: Sequence[int]) -> list[FiledScan]:
    """These scans (row ids) with their photographs and the faces framed on them."""
    s, p, r = t.scan.c, t.photograph.c, t.region.c
    faces = select(func.count()).select_from(t.region).where(r.photograph_id == s.photograph_id).scalar_subquery()
    query = select(s.id, s.path, p.code, faces).join(t.photograph, p.id == s.photograph_id)
    found = {
        row[0]: FiledScan(*row[1:]) for row in connection.execute(query.where(among(connection, s.id, set(scans))))
    }
    return [found[id_] for id_ in scans if id_ in found]
