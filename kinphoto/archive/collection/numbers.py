"""The numbers that scans have by their names: what is next in each theme, what is missing and why, what is named twice.

A number that was given once is never given again, whatever was renamed, removed, undone or deleted since: the highest
of each theme is kept in a counter that only grows, and older archives have it in their rows.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

from sqlalchemy import Connection, select

from kinphoto.archive.collection import moving
from kinphoto.errors import InvalidValueError
from kinphoto.phrases import counted
from kinphoto.scans.numbering import LARGEST, NumberedName, is_nameless, natural_key, numbered, slips, theme_of
from kinphoto.scans.pages import file_path
from kinphoto.store import tables as t
from kinphoto.store.session import Work

_COUNTER = "name:"
_YEARS = range(1800, 2100)
_NOT_SEEN = (
    "no scan in the archive has it: left out at the scanner, given and undone since, or deleted before it was added"
)
"""Only the highest number that was given is kept, so that these cannot be told from each other."""


@dataclass(frozen=True, slots=True)
class Gap:
    """Numbers between the first and the last of a theme that no scan has."""

    first: Annotated[int, "the first number of a gap"]
    last: Annotated[int, "the last one"]
    why: Annotated[str, "what became of them, as far as known"]


@dataclass(frozen=True, slots=True)
class ThemeNames:
    """A theme and its numbers."""

    theme: Annotated[str, "a theme: what a name begins with"]
    scans: Annotated[int, "how many scans have a number of it, backs and details among them"]
    first: Annotated[int | None, "the lowest number in use; null when none is"]
    last: Annotated[int | None, "the highest one"]
    next: Annotated[str, "the name that the next scan gets, without its ending"]
    gaps: Annotated[tuple[Gap, ...], "numbers in between that no scan has; they are not filled"] = ()


@dataclass(frozen=True, slots=True)
class SameName:
    """A name that several scans have."""

    name: Annotated[str, "a name that several scans have, without its ending"]
    paths: Annotated[tuple[str, ...], "their paths"]


@dataclass(frozen=True, slots=True)
class LikelySlip:
    """Two themes that are probably one."""

    theme: Annotated[str, "a theme that differs by a slip from another"]
    scans: Annotated[int, "how many scans have it"]
    meant: Annotated[str, "the other one, which has more scans"]


@dataclass(frozen=True, slots=True)
class NamelessScans:
    """Scans of one folder with the names that a scanner or camera gave them."""

    folder: Annotated[str, "a folder in which scans have names such as `IMG_2031` or `scan0007`"]
    scans: Annotated[int, "how many"]
    example: Annotated[str, "the first of them"]
    theme: Annotated[str, "the theme that is suggested for them; empty when the folder's name says nothing"]


@dataclass(frozen=True, slots=True)
class NamesReport:
    """How the scans are named."""

    themes: tuple[ThemeNames, ...]
    same: Annotated[tuple[SameName, ...], "names that several scans have"]
    slips: Annotated[tuple[LikelySlip, ...], "themes that differ by a slip of the finger"]
    nameless: Annotated[tuple[NamelessScans, ...], "folders of scans without names of their own"]
    others: Annotated[int, "how many scans have names of some other kind, which are left as they are"]
    interrupted: Annotated[
        int, "how many files a renaming was about to rename when it was interrupted; the next one puts that right"
    ]
    next: Annotated[str | None, "the next name of the theme that was asked for; null when none was"] = None


@dataclass
class _Series:
    theme: str
    paths: dict[int, list[str]] = field(default_factory=lambda: defaultdict(list))
    reasons: dict[int, str] = field(default_factory=dict)
    given: int = 0  # the highest number that was ever given, as far as a counter says

    @property
    def last(self) -> int:
        return max((*self.paths, *self.reasons, self.given), default=0)

    @property
    def years(self) -> bool:
        """Whether these are years and not numbers: summer_1924, summer_1931."""
        return not self.given and bool(self.paths) and all(number in _YEARS for number in self.paths)


class Numbers:
    """Every number that was given, by theme, as it is within one view of the rows; with `only`, of that theme."""

    def __init__(self, connection: Connection, only: str | None = None) -> None:
        self.series: dict[str, _Series] = {}
        self._spelled: dict[str, Counter[str]] = defaultdict(Counter)
        s, p = t.scan.c, t.photograph.c
        query = select(s.path, s.page, s.missing, p.code).join(t.photograph, p.id == s.photograph_id)
        if only is not None:
            query = query.where(s.path.contains(only, autoescape=True))
        seen: set[str] = set()
        for path, page, missing, code in connection.execute(query.order_by(s.id)):
            file = file_path(path, page)
            if file not in seen and (name := numbered(Path(file).stem)) is not None:
                self._of(name).paths[name.number].append(file)
                self._spelled[name.key][name.theme] += 1
                if missing:
                    self._of(name).reasons[name.number] = f"{code} has it, whose file is gone"
            seen.add(file)
        self._former(connection)
        self._reserved(connection)
        for key, series in self.series.items():
            if self._spelled[key]:
                series.theme = self._spelled[key].most_common(1)[0][0]
        self.series = {key: series for key, series in self.series.items() if not series.years}

    def _of(self, name: NumberedName) -> _Series:
        return self.series.setdefault(name.key, _Series(name.theme))

    def _former(self, connection: Connection) -> None:
        """Names that scans had before, or had when they were removed."""
        f, s, p, r = t.former_name.c, t.scan.c, t.photograph.c, t.removed_scan.c
        renamed = select(f.path, s.path, p.code).join(t.scan, s.id == f.scan_id)
        for old, new, code in connection.execute(renamed.join(t.photograph, p.id == s.photograph_id)):
            self._note(old, f"{code} had it until it was renamed to {Path(new).name}")
        for old, code in connection.execute(select(r.path, r.code)):
            self._note(old, f"{code} had it, which was removed from the archive")

    def _reserved(self, connection: Connection) -> None:
        h, c = t.held_number.c, t.counter.c
        for theme, number, why in connection.execute(select(h.theme, h.number, h.why)):
            self._of(NumberedName(theme, number)).reasons[number] = why
        counters = select(c.name, c.next).where(c.name.startswith(_COUNTER, autoescape=True))
        for name, following in connection.execute(counters):
            series = self._of(NumberedName(name.removeprefix(_COUNTER), 1))
            series.given = max(series.given, following - 1)

    def _note(self, path: str, why: str) -> None:
        if (name := numbered(Path(path).stem)) is not None:
            self._of(name).reasons.setdefault(name.number, why)

    def next(self, theme: str) -> int:
        """The number after the highest that was ever given in a theme."""
        series = self.series.get(theme.casefold())
        return series.last + 1 if series else 1

    def used(self, theme: str) -> bool:
        """Whether any scan has a number of this theme."""
        series = self.series.get(theme.casefold())
        return series is not None and bool(series.paths)

    def spelled(self, theme: str) -> str:
        """The theme as most of its names have it."""
        series = self.series.get(theme.casefold())
        return series.theme if series else theme

    def left_out(self, name: NumberedName) -> range:
        """The numbers right before a name that were never seen, nor kept free, back to the last that was."""
        series = self.series.get(name.key)
        if series is None:
            return range(0)
        before = [n for n in (*series.paths, *series.reasons) if n < name.number]
        return range(max(before) + 1, name.number) if before else range(0)

    def gaps(self, key: str) -> tuple[Gap, ...]:
        """The numbers of a theme that no scan has, neighbours with one reason together."""
        series = self.series[key]
        gaps: list[Gap] = []
        for number in range(1, series.last + 1):
            if series.paths.get(number):
                continue
            why = series.reasons.get(number) or _NOT_SEEN
            if gaps and gaps[-1].last == number - 1 and gaps[-1].why == why:
                gaps[-1] = Gap(gaps[-1].first, number, why)
            else:
                gaps.append(Gap(number, number, why))
        return tuple(gaps)


def names(connection: Connection, theme: str | None = None) -> NamesReport:
    """How the scans are named: the next name of each theme, gaps, names that occur twice, likely slips, and scans that
    have no name of their own yet. With a `theme`, of that one only. Raises InvalidValueError for none that can be."""
    found = Numbers(connection, None if theme is None else theme.strip())
    wanted = None
    if theme is not None:  # as it is written already, with capitals or spaces; or as it would be
        written = theme.strip().casefold()
        wanted = written if written in found.series else checked_theme(theme).casefold()
        if wanted not in found.series:
            found = Numbers(connection, wanted)
    themes = tuple(
        _theme(found, key) for key in sorted(found.series, key=natural_key) if wanted is None or key == wanted
    )
    spelled = {series.theme: sum(map(len, series.paths.values())) for series in found.series.values() if series.paths}
    likely = tuple(LikelySlip(one, spelled[one], other) for one, other in slips(spelled))
    interrupted = moving.interrupted(connection)
    if wanted is not None:
        return NamesReport(themes, _same_names(found, wanted), (), (), 0, interrupted, name_after(found, wanted))
    nameless, others = _nameless(connection, [path for path in _files(connection) if not numbered(Path(path).stem)])
    return NamesReport(themes, _same_names(found, None), likely, nameless, others, interrupted)


def name_after(found: Numbers, theme: str) -> str:
    """The next name of a theme, without its ending."""
    return NumberedName(found.spelled(theme), found.next(theme)).stem


def checked_theme(text: str) -> str:
    """A theme as names have it. Raises InvalidValueError when nothing is left of it."""
    theme = theme_of(text)
    if not theme:
        raise InvalidValueError(
            f"'{text.strip()}' says nothing about the prints" if text.strip() else "a theme is missing",
            remedy='Use a word or two that say where the prints come from, such as "tin" or "ada-album".',
        )
    return theme


def was_renamed(connection: Connection, path: str) -> bool:
    """Whether a file had this path until `scans rename` gave it another."""
    return connection.scalar(select(t.former_name.c.id).where(t.former_name.c.path == path).limit(1)) is not None


def note_given(work: Work, paths: Iterable[str]) -> None:
    """Keep in mind the highest number of each theme among these names, so that it is never given again."""
    highest: dict[str, int] = {}
    for path in paths:
        if (name := numbered(Path(path).stem)) is not None:
            highest[name.key] = max(highest.get(name.key, 0), name.number)
    for key, number in highest.items():
        c = t.counter.c
        following = work.connection.scalar(select(c.next).where(c.name == f"{_COUNTER}{key}")) or 1
        if number >= following and (following > 1 or number not in _YEARS):
            work.take(f"{_COUNTER}{key}", number - following + 1)


def hold_number(work: Work, theme: str, why: str = "") -> str:
    """Keep the next number of a theme free, as for a print that was missed; the name it would be."""
    found = Numbers(work.connection)
    key = theme.strip().casefold() if theme.strip().casefold() in found.series else checked_theme(theme)
    number, spelled = found.next(key), found.spelled(key)
    if number > LARGEST:
        raise InvalidValueError(f"'{spelled}' has no numbers left", remedy="Choose another theme.")
    why = why.strip() or f"kept free on {datetime.now(UTC).astimezone():%d %B %Y} for a print that was missed".replace(
        " 0", " "
    )
    work.insert_one(t.held_number, theme=spelled, number=number, why=why, said_at=work.at)
    name = NumberedName(spelled, number).stem
    note_given(work, [name])
    work.what = f"kept {name} free"
    return name


def _theme(found: Numbers, key: str) -> ThemeNames:
    series = found.series[key]
    numbers = sorted(series.paths)
    return ThemeNames(
        series.theme, sum(map(len, series.paths.values())), numbers[0] if numbers else None,
        numbers[-1] if numbers else None, name_after(found, key), found.gaps(key),
    )  # fmt: skip


def _same_names(found: Numbers, wanted: str | None) -> tuple[SameName, ...]:
    same = []
    for key, series in found.series.items():
        for paths in series.paths.values() if wanted in (None, key) else ():
            stems: dict[str, list[str]] = defaultdict(list)
            for path in paths:
                stems[Path(path).stem.casefold()].append(path)
            same += [SameName(Path(each[0]).stem, tuple(each)) for each in stems.values() if len(each) > 1]
    return tuple(sorted(same, key=lambda each: natural_key(each.name)))


def _files(connection: Connection) -> list[str]:
    s = t.scan.c
    rows = connection.execute(select(s.path, s.page).where(s.missing == 0).order_by(s.id))
    return list(dict.fromkeys(file_path(path, page) for path, page in rows))


def _nameless(connection: Connection, paths: list[str]) -> tuple[tuple[NamelessScans, ...], int]:
    by_folder: dict[str, list[str]] = defaultdict(list)
    for path in paths:
        if is_nameless(Path(path).stem):
            by_folder[str(Path(path).parent)].append(Path(path).name)
    boxes = box_names(connection)
    found = tuple(
        NamelessScans(folder, len(stems), min(stems, key=natural_key), theme_of(boxes.get(folder, Path(folder).name)))
        for folder, stems in sorted(by_folder.items())
    )
    return found, len(paths) - sum(each.scans for each in found)


def box_names(connection: Connection) -> Mapping[str, str]:
    """The names of the containers that stand for folders."""
    c = t.container.c
    return {row.folder: row.name for row in connection.execute(select(c.folder, c.name).where(c.folder.is_not(None)))}


def gap_words(gap: Gap) -> str:
    """ "0003", "0003 to 0005 (3 numbers)"."""
    one = f"{gap.first:04}"
    return one if gap.first == gap.last else f"{one} to {gap.last:04} ({counted(gap.last - gap.first + 1, 'number')})"
