"""Builds the sample archive: an invented family, its tree, its box of drawn photographs, and what its people told us.

Everything goes through the methods that a real family would use, in the same order.
"""

from __future__ import annotations

import csv
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from kinphoto.archive import Archive
from kinphoto.archive.collection.scans_added import ScansAdded
from kinphoto.archive.tree.importing import TreeImported
from kinphoto.errors import ArchiveError, NotFoundError

SHEETS = (("objects", "objects.csv"), ("links", "links.csv"), ("statements", "statements.csv"),
          ("relations", "relations.csv"))  # fmt: skip


@dataclass(frozen=True, slots=True)
class Sample:
    """The archive that was built, and how much went into it."""

    archive: Archive
    tree: TreeImported
    scans: ScansAdded
    photographs: int
    informants: tuple[str, ...]
    links: int
    statements: int


def source() -> Path:
    """The folder that holds the sample: inside the installed package, or beside it in a checkout.

    Raises NotFoundError when neither is there.
    """
    package = Path(__file__).parents[1]
    for folder in (package / "sample_tree", package.parent / "sample_tree"):
        if (folder / "family.ged").is_file():
            return folder
    raise NotFoundError("the sample is missing from this installation", remedy="Install kinphoto again.")


def build(folder: Path) -> Sample:
    """Build the sample in `folder`, which must be new or empty. Raises ArchiveError otherwise."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise ArchiveError(
            "this folder is not empty", where=str(folder), remedy="Name a new one: kinphoto demo another-folder."
        )
    origin = source()
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copytree(origin / "scans", folder / "scans")
    archive = Archive.create(folder)
    tree = archive.tree.import_file(origin / "family.ged")
    for row in _rows(origin / "outside.csv"):
        archive.people.add(row["name"], row["born"] or None, row["died"] or None, row["note"])
    informants = [
        archive.statements.add_informant(row["name"], row["person"] or None, row["note"]).name
        for row in _rows(origin / "informants.csv")
    ]
    scans = archive.scans.add([folder / "scans"])
    for row in _rows(origin / "joins.csv"):
        archive.scans.join([row["first"], row["other"]], row["side"])
    applied = {name: archive.statements.apply_spreadsheet(name, origin / file).applied for name, file in SHEETS}
    photographs = len(archive.dates.estimates())
    statements = applied["statements"] + applied["relations"] + applied["objects"]
    return Sample(archive, tree, scans, photographs, tuple(informants), applied["links"], statements)


def _rows(path: Path) -> Iterator[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as lines:
        yield from csv.DictReader(lines)
