"""Measured image files become scans: each picture of a new file is a photograph of its own, and those of a file that
is another one now are found again by their pixels."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from sqlalchemy import RowMapping, or_, select

from kinphoto.archive.catalogue.containers import Containers
from kinphoto.archive.catalogue.finding import photograph_code
from kinphoto.archive.collection.known_files import free_paths
from kinphoto.archive.collection.numbers import note_given
from kinphoto.archive.collection.scans_added import Duplicate, IndexingTally, filed_scans
from kinphoto.scans.pages import file_path, page_path
from kinphoto.scans.walk import FoundFile
from kinphoto.scans.workers import FileMeasured
from kinphoto.store import tables as t
from kinphoto.store.roots import as_stored, stored
from kinphoto.store.session import Work


class KnownScans:
    """The scans for which some of these files may be known to the archive, as they are within one transaction."""

    def __init__(self, work: Work, measured: list[tuple[FoundFile, FileMeasured]]) -> None:
        self._work = work
        s, as_kept = t.scan.c, as_stored(t.scan.c.path)
        hashes = [answer.scans[0]["file_sha256"] or answer.scans[0]["sha256"] for _, answer in measured]
        files = [each.path for each, _ in measured]
        same = or_(
            s.path.in_(files), s.sha256.in_(hashes), s.file_sha256.in_(hashes),
            *(as_kept.startswith(f"{stored(work.connection, each.path)}#page=", autoescape=True)
              for each, a in measured if is_paged(a)),
        )  # fmt: skip
        rows = work.connection.execute(select(t.scan).where(same).order_by(s.id)).mappings().all()
        self._of_file: dict[str, list[RowMapping]] = defaultdict(list)
        self._where: dict[str, str] = {}
        for row in rows:
            path = file_path(row["path"], row["page"])
            self._of_file[path].append(row)
            self._where[row["file_sha256"] or row["sha256"]] = path

    def take(
        self, each: FoundFile, answer: FileMeasured, tally: IndexingTally
    ) -> list[tuple[FoundFile, dict[str, Any]]]:
        """Record what is known of a file anew; returns what is new in it."""
        sha256 = answer.scans[0]["file_sha256"] or answer.scans[0]["sha256"]
        rows = self._of_file.get(each.path)
        if rows:
            first_only = rows[0]["page"] == 0 and rows[0]["pages"] > 1
            if (rows[0]["file_sha256"] or rows[0]["sha256"]) == sha256 and not first_only:
                tally.unchanged += len(rows)  # another kinphoto was quicker
                return []
            return [(each, scan) for scan in self._change(rows, answer, tally, first_only)]
        if sha256 in self._where:
            tally.duplicates.append(Duplicate(each.path, self._where[sha256]))
            tally.unchanged += 1
            return []
        self._where[sha256] = each.path
        return [(each, scan) for scan in answer.scans]

    def _change(
        self, rows: list[RowMapping], answer: FileMeasured, tally: IndexingTally, first_only: bool
    ) -> list[dict[str, Any]]:
        """The file is another one now: each of its pages is found again by its pixels, else by its number. Returns the
        pages that are new; one that is not there any more is noted as missing."""
        pairs, fresh, gone = _matched(rows, answer.scans)
        _let_go(self._work, gone)
        if any(row["path"] != scan["path"] for row, scan in pairs):
            free_paths(self._work, [row["id"] for row, _ in pairs])
        # How it is shown was perhaps said by a person.
        self._work.rewrite(
            t.scan,
            [
                {**scan, "id": row["id"], "missing": 0, "turn": row["turn"], "straight": _corners_left(row, scan)}
                for row, scan in pairs
            ],
        )
        changed = [] if first_only else [row["id"] for row, scan in pairs if row["sha256"] != scan["sha256"]]
        tally.changed += filed_scans(self._work.connection, changed)
        tally.unchanged += len(pairs) - len(changed)
        tally.vanished += filed_scans(self._work.connection, [row["id"] for row in gone])
        tally.missing += len(gone)
        return fresh


def _corners_left(row: RowMapping, scan: Mapping[str, Any]) -> str:
    """The corners of a print on a file that is another one now: of another size it shows something else."""
    sides = ("width", "height", "orientation")
    return str(row["straight"]) if all(row[side] == scan[side] for side in sides) else ""


def _let_go(work: Work, gone: Sequence[RowMapping]) -> None:
    """Note pages that are not in their file any more as missing; their number is another page's now."""
    work.rewrite(
        t.scan,
        [
            {
                "id": row["id"],
                "missing": 1,
                "path": page_path(f"{file_path(row['path'], row['page'])}#former-{row['id']}", row["page"]),
            }
            for row in gone
        ],
    )


def is_paged(answer: FileMeasured) -> bool:
    return len(answer.scans) > 1 or answer.scans[0]["page"] > 0


def _matched(
    rows: list[RowMapping], scans: list[dict[str, Any]]
) -> tuple[list[tuple[RowMapping, dict[str, Any]]], list[dict[str, Any]], list[RowMapping]]:
    """Which known scans are which pages of a file that changed: by their pixels, then by their numbers (the only
    picture of a file is its first page). Then the pages that are new, and the scans without a page."""
    pairs: list[tuple[RowMapping, dict[str, Any]]] = []
    left, free = list(rows), list(scans)
    keys: tuple[Callable[[Mapping[Any, Any]], object], ...] = (
        lambda scan: scan["sha256"],
        lambda scan: max(scan["page"], 1),
    )
    for key in keys:
        for scan in list(free):
            row = next((row for row in left if key(row) == key(scan)), None)
            if row is not None:
                pairs.append((row, scan))
                left.remove(row)
                free.remove(scan)
    return pairs, free, left


def insert_scans(work: Work, fresh: list[tuple[FoundFile, dict[str, Any]]], container: str | None) -> list[str]:
    """A photograph and a scan for each picture, in the order of the files; their codes."""
    if not fresh:
        return []
    places = _places(work, [each for each, _ in fresh], container)
    codes, _ = insert_photographs(work, [scan for _, scan in fresh], places)
    note_given(work, [each.path for each, _ in fresh])
    return codes


def insert_photographs(
    work: Work, scans: Sequence[Mapping[str, Any]], places: Iterable[tuple[int | None, int]], *, private: int = 0
) -> tuple[list[str], Sequence[int]]:
    """A new photograph for each of these scans (columns of its row), in these containers and places in them; their
    codes and row ids."""
    codes = [photograph_code(number) for number in work.take("photograph.code", len(scans))]
    today = date.today().toordinal()
    photographs = work.insert(
        t.photograph,
        [
            {"code": code, "container_id": container_id, "position": position, "indexed": today, "private": private}
            for code, (container_id, position) in zip(codes, places, strict=True)
        ],
    )
    work.insert(
        t.scan,
        [
            {
                **scan,
                "photograph_id": photograph_id,
                "indexed_at": work.at,
                "first_sha256": scan["sha256"],
                "first_code": code,
            }
            for photograph_id, code, scan in zip(photographs, codes, scans, strict=True)
        ],
    )
    return codes, photographs


def _places(work: Work, files: list[FoundFile], container: str | None) -> Iterator[tuple[int, int]]:
    """The container and the place in it for each file."""
    containers = Containers(work)
    named = containers.named(container) if container is not None else None
    ids = [named or containers.of_folder(each.folder, each.root) for each in files]
    free = {id_: iter(containers.next_positions(id_, ids.count(id_))) for id_ in dict.fromkeys(ids)}
    return ((id_, next(free[id_])) for id_ in ids)
