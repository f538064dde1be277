"""Renaming scans: a theme and a number each, by a plan that is shown first and carried out as one step.

Nothing but names changes: no byte of a file, no code, no link. A name that is taken is never given, and neither is a
number that was ever given. Backs and details share the number of their photograph's front, other pages of a file the
file's. What a program keeps beside a picture under its name (`a.xmp`, `a.jpg.xmp`) moves along. Former names still find
a scan, and undoing the change renames the files back.
"""

from __future__ import annotations

import hashlib
import os
from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice, takewhile
from pathlib import Path
from typing import Annotated, Any

from sqlalchemy import Connection, Engine, RowMapping, select

from kinphoto.archive.catalogue.containers import within
from kinphoto.archive.catalogue.finding import find_container, find_scans, is_code
from kinphoto.archive.catalogue.vocabulary import Vocabulary
from kinphoto.archive.collection.grouping import ScanGroup, grouped
from kinphoto.archive.collection.moving import change_and_move
from kinphoto.archive.collection.numbers import Numbers, box_names, checked_theme, note_given
from kinphoto.archive.statements import history
from kinphoto.archive.statements.history import Undone
from kinphoto.errors import ChangedMeanwhileError, InvalidValueError
from kinphoto.phrases import counted
from kinphoto.scans.file_moves import FileMove
from kinphoto.scans.kinds import OTHER_SUFFIXES, SUFFIXES
from kinphoto.scans.numbering import (
    LARGEST,
    NumberedName,
    is_nameless,
    natural_key,
    numbered,
    renamed_sidecar,
    sidecars,
    theme_of,
)
from kinphoto.scans.pages import file_path, page_path
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.roots import below
from kinphoto.store.session import Work, last_change, rows_before

ORDERS = Vocabulary(
    "order",
    also={
        "name": ("names", "by name", "file name"),
        "time": ("by time", "scanned", "date", "oldest first"),
        "box": ("by box", "container", "as in the box", "position"),
        "looks": ("by looks", "likeness", "what they look like"),
    },
)
_MARKS = {"recto": "", "verso": "_back", "detail": "_detail"}


@dataclass(frozen=True, slots=True)
class NewName:
    """A file and the name it gets."""

    old: Annotated[str, "path of a file"]
    new: Annotated[str, "the path it gets"]
    photograph: Annotated[str, "the code of its photograph; empty for a file that moves along with a picture"]
    group: Annotated[int, "the number of its group, in the order of `looks`; 0 in any other"] = 0


@dataclass(frozen=True, slots=True)
class NamesGroup:
    """Files without an order that were probably kept together."""

    number: Annotated[int, "the number of a group"]
    words: Annotated[str, "by what its files belong together: day, size, paper"]
    files: Annotated[int, "how many files of it are renamed"]


@dataclass(frozen=True, slots=True)
class LeftAsItIs:
    """A scan that keeps its name."""

    path: Annotated[str, "path of a scan that keeps its name"]
    why: Annotated[str, "the reason"]


@dataclass(frozen=True, slots=True)
class RenamingPlan:
    """What is renamed."""

    names: Annotated[tuple[NewName, ...], "the files that are renamed, in the order of their new names"]
    beside: Annotated[tuple[NewName, ...], "files beside them that move along, such as `.xmp`"]
    left: Annotated[tuple[LeftAsItIs, ...], "scans that were meant and keep their names"]
    notes: Annotated[tuple[str, ...], "what to look at before"]
    key: Annotated[str, "a word that changes when the plan does"]
    groups: Annotated[tuple[NamesGroup, ...], "groups of files, in the order of `looks`; empty in any other"] = ()
    done: Annotated[bool, "whether it was carried out; false for a plan"] = False
    change: Annotated[int | None, "its number in the log, for `undo`; null for a plan"] = None


def plan(
    connection: Connection,
    what: Sequence[str] = (),
    theme: str | None = None,
    order: str = "name",
    group: int | None = None,
) -> RenamingPlan:
    """The names that scans would get: those of the photographs, files, folders and boxes named; without any, all that
    have no name of their own yet. The `theme` is made of the name of their folder unless it is given.

    Ordered by `name`, by `time`, as in the `box`, or by `looks`, for files that have no order: those of one day, size
    and paper together, and what is alike next to each other; with a `group`, only that one. Raises NotFoundError,
    AmbiguousError, InvalidValueError.
    """
    return _Planned(connection, what, theme, order, group).plan


def rename(
    engine: Engine,
    what: Sequence[str] = (),
    theme: str | None = None,
    order: str = "name",
    key: str | None = None,
    group: int | None = None,
) -> RenamingPlan:
    """Carry out what `plan` shows for the same words, all of it or nothing. With its `key`, only if it is still that
    plan. Raises ChangedMeanwhileError, and ArchiveError when a file cannot be renamed."""

    def change(work: Work) -> tuple[RenamingPlan, Sequence[FileMove]]:
        planned = _Planned(work.connection, what, theme, order, group)
        found = planned.plan
        if key is not None and key != found.key:
            raise ChangedMeanwhileError(
                "the scans have changed since this plan was shown, so nothing was renamed",
                remedy="Look at the plan again.",
            )
        moves = [FileMove(each.old, each.new) for each in (*found.names, *found.beside)]
        planned.record(work)
        files = counted(len(found.names), "file")
        work.what = f"renamed {files}: {_in_short(found.names)}" if found.names else ""
        return replace(found, done=True, change=work.id), moves

    return change_and_move(engine, change)


def undo(engine: Engine, number: int | None = None) -> Undone:
    """Undo a change, or the newest that is in force and no undo itself. Files that it renamed get their old names back.

    Raises ArchiveError when there is none, it is undone already, a later change of the same entries is in force,
    something it needs is gone, or a file cannot be renamed; NotFoundError.
    """

    def change(work: Work) -> tuple[Undone, Sequence[FileMove]]:
        undone = number if number is not None else last_change(work.connection)
        known = undone is not None and 0 < undone < 1 << 63
        renamed = _renamed_in(work.connection, undone) if undone is not None and known else set()
        before = _paths(work.connection, renamed)
        done = history.undo(work, number)
        after = _paths(work.connection, renamed)
        moves = dict.fromkeys((before[id_], after[id_]) for id_ in sorted(before.keys() & after.keys()))
        there = [FileMove(*move) for move in moves if move[0] != move[1] and os.path.lexists(move[0])]
        return done, [*there, *_beside(there)]

    return change_and_move(engine, change)


class _Planned:
    """A plan with the rows behind it."""

    def __init__(
        self, connection: Connection, what: Sequence[str], theme: str | None, order: str, group: int | None = None
    ) -> None:
        self._connection = connection
        self._numbers = Numbers(connection)
        self._boxes = box_names(connection)
        self._order = ORDERS.read(order)
        self._group = group
        if group is not None and self._order != "looks":
            raise InvalidValueError(
                "there are groups only when scans are ordered by looks", remedy="Ask for that order as well."
            )
        self._groups: list[ScanGroup] = []
        self._left: list[LeftAsItIs] = []
        self._notes: list[str] = []
        self._theme = None if theme is None else self._spelled(theme)
        self._listings: dict[str, list[str]] = {}
        self._used: dict[str, set[str]] = {}  # the stems that names of a folder have, or will have
        files = self._meant(what)
        self._names = dict(self._new_names(files))
        self._scans = [scan for file in self._names for scan in files[file]]
        self.plan = self._plan(files)

    def record(self, work: Work) -> None:
        """Write the new paths, and keep the old ones."""
        new = {
            scan["id"]: page_path(self._names[file_path(scan["path"], scan["page"])], scan["page"])
            for scan in self._scans
        }
        work.insert(t.former_name, [{"scan_id": scan["id"], "path": scan["path"]} for scan in self._scans])
        work.rewrite(t.scan, [{"id": id_, "path": path} for id_, path in new.items()])
        note_given(work, self._names.values())

    def _spelled(self, theme: str) -> str:
        """A theme as it is in use, or made of the words."""
        written = theme.strip()
        if written.casefold() in self._numbers.series:
            return self._numbers.spelled(written)
        made = checked_theme(theme)
        if made != written:
            self._notes.append(f"The theme is written {made}: names have plain letters, digits and hyphens only.")
        return self._numbers.spelled(made)

    def _meant(self, what: Sequence[str]) -> dict[str, list[RowMapping]]:
        """The scans meant, by their files, in their order."""
        found: dict[int, RowMapping] = {}
        for text in what:
            for scan in self._meant_by(text):
                found[scan["id"]] = scan
        if not what:
            rows = self._connection.execute(select(t.scan).order_by(t.scan.c.id)).mappings()
            found = {row["id"]: row for row in rows if is_nameless(_stem(row))}
        paged = {file_path(s["path"], s["page"]) for s in found.values() if s["page"]}
        if paged:  # all pages of a file are renamed with it
            s = t.scan.c
            for row in self._connection.execute(select(t.scan).where(s.page > 0).order_by(s.id)).mappings():
                if file_path(row["path"], row["page"]) in paged:
                    found[row["id"]] = row
        files: dict[str, list[RowMapping]] = defaultdict(list)
        for scan in sorted(found.values(), key=lambda scan: scan["id"]):
            files[file_path(scan["path"], scan["page"])].append(scan)
        if self._order == "looks":
            self._groups = grouped(self._connection, {path: scans[0] for path, scans in files.items()})
            if self._group is not None and not 1 <= self._group <= len(self._groups):
                raise InvalidValueError(
                    f"there is no group {self._group}", remedy=f"There are {counted(len(self._groups), 'group')}."
                )
            chosen = self._groups if self._group is None else self._groups[self._group - 1 : self._group]
            return {path: files[path] for group in chosen for path in group.paths}
        return dict(sorted(files.items(), key=self._place()))

    def _meant_by(self, text: str) -> Sequence[RowMapping]:
        """The scans of a photograph, a file, a folder or a box."""
        inside = self._in_folder(os.path.realpath(text)) if os.path.isdir(text) else []  # noqa: PTH112 (Path.is_dir raises for a name that is too long)
        if inside:
            return inside
        if not is_code(text):
            box = find_container(self._connection, text)
            if box is not None:
                return self._in_box(box["id"])
        return find_scans(self._connection, text)

    def _in_folder(self, folder: str) -> Sequence[RowMapping]:
        start = folder.rstrip(os.sep) + os.sep
        query = select(t.scan).where(below(self._connection, t.scan.c.path, folder)).order_by(t.scan.c.path)
        return [row for row in self._connection.execute(query).mappings() if row["path"].startswith(start)]

    def _in_box(self, box: int) -> Sequence[RowMapping]:
        c, p = t.container.c, t.photograph.c
        parents = {row.id: row.parent_id for row in self._connection.execute(select(c.id, c.parent_id))}
        boxes = within(parents, [box])
        query = select(t.scan).join(t.photograph, p.id == t.scan.c.photograph_id)
        return self._connection.execute(query.where(among(self._connection, p.container_id, boxes))).mappings().all()

    def _place(self) -> Any:
        """By what the files are put in order."""
        p = t.photograph.c
        rows = self._connection.execute(select(p.id, p.container_id, p.position))
        places = {row.id: (row.container_id or 0, row.position) for row in rows}

        def key(item: tuple[str, list[RowMapping]]) -> tuple[Any, ...]:
            path, (scan, *_) = item
            name = (natural_key(str(Path(path).parent)), natural_key(Path(path).name))
            if self._order == "time":
                return (scan["exif_digitized"] or "", scan["mtime_ns"], *name)
            if self._order == "box":
                return (*places[scan["photograph_id"]], scan["position"], *name)
            return name

        return key

    def _new_names(self, files: dict[str, list[RowMapping]]) -> Iterator[tuple[str, str]]:
        """Each file that can be renamed, with its new path."""
        following: dict[str, int] = {}
        of_photograph: dict[int, tuple[str, int]] = {}
        for path, scans in files.items():
            scan = scans[0]
            stem = Path(path).stem
            theme = self._theme or self._theme_of_folder(str(Path(path).parent))
            if (why := self._unfit(path, scan, theme, numbered(stem))) is not None:
                self._left.append(LeftAsItIs(path, why))
                continue
            given = of_photograph.get(scan["photograph_id"]) or self._number_of_front(scan, theme)
            if given is None:
                following.setdefault(theme, self._numbers.next(theme))
                given = theme, following[theme]
                following[theme] += 1
            if given[1] > LARGEST:
                raise InvalidValueError(f"'{theme}' has no numbers left", remedy="Choose another theme.")
            of_photograph[scan["photograph_id"]] = given
            yield path, self._free(path, given, _MARKS.get(scan["side"], ""))

    def _unfit(self, path: str, scan: RowMapping, theme: str, has: NumberedName | None) -> str | None:
        """Why a file keeps its name; None when it does not."""
        if has is not None and has.key == theme.casefold():
            return "it has a number of this theme already"
        try:
            state = os.lstat(path)
        except OSError:
            return "the file is not there; if it was moved, add its folder again"
        if (state.st_size, state.st_mtime_ns) != (scan["size"], scan["mtime_ns"]):
            return "the file has changed since it was added; add its folder again first"
        if not os.access(Path(path).parent, os.W_OK):
            return "you may not rename files in its folder"
        return None

    def _theme_of_folder(self, folder: str) -> str:
        name = self._boxes.get(folder, Path(folder).name)
        made = theme_of(name)
        if not made:
            raise InvalidValueError(
                f"the name of the folder {name} says nothing about the pictures", where=folder,
                remedy='Choose a theme, such as --theme "ada-album".',
            )  # fmt: skip
        return self._numbers.spelled(made)

    def _number_of_front(self, scan: RowMapping, theme: str) -> tuple[str, int] | None:
        """The number that another scan of the same photograph has already."""
        s = t.scan.c
        others = select(s.path, s.page).where(s.photograph_id == scan["photograph_id"], s.id != scan["id"])
        for path, page in self._connection.execute(others.order_by(s.position, s.id)):
            name = numbered(Path(file_path(path, page)).stem)
            if name is not None and not page and (self._theme is None or name.key == theme.casefold()):
                return name.theme, name.number
        return None

    def _free(self, path: str, given: tuple[str, int], mark: str) -> str:
        """The path with the new name, counted on where a photograph has several scans of a side."""
        folder, ending = str(Path(path).parent), Path(path).suffix
        if folder not in self._used:
            self._used[folder] = {Path(name).stem.casefold() for name in self._listing(folder)}
        count = 1
        while (stem := NumberedName(*given, mark if count == 1 else f"{mark}_{count}").stem).casefold() in (
            self._used[folder]
        ):
            count += 1
        self._used[folder].add(stem.casefold())
        return str(Path(folder, f"{stem}{ending}"))

    def _listing(self, folder: str) -> list[str]:
        if folder not in self._listings:
            self._listings[folder] = _names_in(folder)
        return self._listings[folder]

    def _plan(self, files: dict[str, list[RowMapping]]) -> RenamingPlan:
        codes = self._codes()
        of_file = {path: number for number, group in enumerate(self._groups, 1) for path in group.paths}
        names = tuple(
            NewName(old, new, codes[files[old][0]["photograph_id"]], of_file.get(old, 0))
            for old, new in sorted(self._names.items(), key=lambda item: natural_key(item[1]))
        )
        moves = [FileMove(each.old, each.new) for each in names]
        beside = tuple(NewName(*move, "") for move in _beside(moves, self._listing))
        for theme in {name.theme for each in names if (name := numbered(Path(each.new).stem))}:
            if any(part.isdecimal() and len(part) == 4 for part in theme.split("-")):
                self._notes.append(f"{theme} has a year in it. If it is a guess, leave it out: a name stays.")
        word = repr((names, beside)).encode()
        key = hashlib.sha256(word).hexdigest()[:12]
        count = Counter(each.group for each in names)
        groups = tuple(
            NamesGroup(number, group.words, count[number])
            for number, group in enumerate(self._groups, 1)
            if count[number]
        )
        return RenamingPlan(names, beside, tuple(self._left), tuple(self._notes), key, groups)

    def _codes(self) -> dict[int, str]:
        p = t.photograph.c
        ids = {scan["photograph_id"] for scan in self._scans}
        return {row.id: row.code for row in self._connection.execute(
            select(p.id, p.code).where(among(self._connection, p.id, ids)))}  # fmt: skip


def _stem(scan: RowMapping) -> str:
    return Path(file_path(scan["path"], scan["page"])).stem


def _beside(moves: Sequence[FileMove], listing: Any = None) -> list[FileMove]:
    """The files that move along with these, each once."""
    listing, pictures = listing or _names_in, frozenset((*SUFFIXES, *OTHER_SUFFIXES))
    listed: dict[str, list[str]] = {}
    found: dict[str, str] = {}
    for old, new in moves:
        folder, name = str(Path(old).parent), Path(old).name
        if folder not in listed:
            listed[folder] = listing(folder)
        for sidecar in sidecars(_beginning(listed[folder], f"{Path(name).stem}."), name, pictures):
            target = str(Path(Path(new).parent, renamed_sidecar(sidecar, name, Path(new).name)))
            found.setdefault(str(Path(folder, sidecar)), target)
    return [FileMove(old, new) for old, new in found.items()]


def _beginning(names: list[str], start: str) -> list[str]:
    """Those of sorted names that begin like this."""
    first = bisect_left(names, start)
    return list(takewhile(lambda name: name.startswith(start), islice(names, first, None)))


def _names_in(folder: str) -> list[str]:
    try:
        return sorted(os.listdir(folder))  # noqa: PTH208
    except OSError:
        return []


def _in_short(names: Sequence[NewName]) -> str:
    """ "IMG_1.jpg is now tin_0001.jpg, and 11 more"."""
    first = f"{Path(names[0].old).name} is now {Path(names[0].new).name}"
    return first if len(names) == 1 else f"{first}, and {len(names) - 1} more"


def _renamed_in(connection: Connection, change: int) -> set[int]:
    """The scans (row ids) that a change renamed, or that its undoing did: it wrote or deleted their former names."""
    r, f = t.change_row.c, t.former_name.c
    notes = select(t.change_row).where(r.change_id == change, r.table_name == t.former_name.name)
    found: set[int] = set()
    for note in connection.execute(notes).mappings().all():
        inside = f.id.between(note["first_id"], note["last_id"])
        found.update(connection.scalars(select(f.scan_id).where(inside)))
        found.update(row["scan_id"] for row in rows_before(note))
    return found


def _paths(connection: Connection, scans: set[int]) -> dict[int, str]:
    """The files of scans by their row ids."""
    s = t.scan.c
    query = select(s.id, s.path, s.page).where(among(connection, s.id, scans))
    return {row.id: file_path(row.path, row.page) for row in connection.execute(query)}
