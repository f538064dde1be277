"""Which file, turned how, is behind the number of a scan or of a face: what whoever shows pictures has to look up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, RowMapping, select

from kinphoto.archive.catalogue.finding import is_row_id
from kinphoto.archive.catalogue.regions import Region, box
from kinphoto.errors import NotFoundError
from kinphoto.scans import upright
from kinphoto.scans.pages import file_path
from kinphoto.scans.upright import ScanFile, Size, region_word
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class ScanPicture:
    """A scan to be shown; the row id of its photograph, and which side of it this is, decide who may see it. `as_filed`
    is its size in pixels as its file asks to be turned."""

    id: int
    photograph_id: int
    source: ScanFile
    side: str
    as_filed: tuple[int, int] = (1, 1)


@dataclass(frozen=True, slots=True)
class FacePicture:
    """A face to be shown: where it is on the upright picture of `scan`."""

    id: int
    region: Region
    scan: ScanPicture

    @property
    def version(self) -> str:
        """A short word for its address, another one whenever what is shown changes."""
        return f"{self.scan.source.version}-{region_word(self.region)}"


def scan_picture(connection: Connection, scan_id: int) -> ScanPicture:
    """The scan with this row id. Raises NotFoundError."""
    s = t.scan.c
    row = connection.execute(select(t.scan).where(s.id == _row_id(scan_id))).mappings().first()
    if row is None:
        raise NotFoundError(f"there is no scan {scan_id}", remedy="It may have been undone: see kinphoto log.")
    return picture_of(row)


def face_picture(connection: Connection, region_id: int) -> FacePicture:
    """The face with this row id (3 for `R3`). Raises NotFoundError, also when its photograph has no scan."""
    r = t.region.c
    row = connection.execute(select(t.region).where(r.id == _row_id(region_id))).mappings().first()
    scan = None if row is None else front_of(connection, row["photograph_id"])
    if row is None or scan is None:
        raise NotFoundError(f"there is no face R{region_id}", remedy="It may have been undone: see kinphoto log.")
    return FacePicture(region_id, box(row), picture_of(scan))


def front_of(connection: Connection, photograph_id: int) -> RowMapping | None:
    """The scan that shows the picture and that regions are drawn on: the first recto, of several rescans too."""
    s = t.scan.c
    order = (s.side != "recto", s.position, s.id)
    query = select(t.scan).where(s.photograph_id == photograph_id).order_by(*order)
    return connection.execute(query).mappings().first()


def shown_size(row: RowMapping | Mapping[str, Any]) -> Size:
    """Width and height of a scan as it is shown, in pixels."""
    return upright.shown_size((row["width"], row["height"]), row["orientation"], row["turn"], row.get("straight", ""))


def filed_size(row: RowMapping | Mapping[str, Any]) -> Size:
    """The same of the picture as its file asks to be turned."""
    return upright.upright_size((row["width"], row["height"]), row["orientation"])


def picture_of(row: RowMapping) -> ScanPicture:
    """A row of table scan, to be shown."""
    return ScanPicture(row["id"], row["photograph_id"], source_of(row), row["side"], filed_size(row))


def source_of(row: RowMapping) -> ScanFile:
    """The file and page that a row of table scan stands for."""
    path = file_path(row["path"], row["page"])
    return ScanFile(path, row["sha256"], row["turn"], row["page"], row["file_sha256"], row["straight"])


def _row_id(number: int) -> int:
    """A number that a database can hold; 0, which is nobody's, for any other."""
    return number if is_row_id(number) else 0
