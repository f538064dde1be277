"""The list for whoever owns a box: what is in it, gaps in its numbering, what should be scanned again and why, and what
must not be scanned at home."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from sqlalchemy import Connection, select

from kinphoto.archive.collection import arranging
from kinphoto.archive.collection.care import CARE, needed
from kinphoto.archive.collection.numbers import gap_words, names
from kinphoto.archive.collection.progress import BoxProgress, LentContainer, boxes_scanned, lent
from kinphoto.archive.collection.scan_checks import found
from kinphoto.gedcom import wording
from kinphoto.phrases import counted, listed, opening
from kinphoto.scans.checks.limits import Weight
from kinphoto.scans.numbering import numbered
from kinphoto.store import tables as t

_NOT_AT_HOME = {
    "nitrate-negative": "nitrate film, which can catch fire by itself: ask a film archive or the fire service",
    "safety-negative": "acetate film: if it smells of vinegar it is decaying; keep it apart, cool and dry",
    "glass-negative": "glass: two hands, never under pressure; ask before it goes on a scanner",
    "autochrome": "a glass plate whose dyes fade: never project it; ask a conservator",
    "daguerreotype": "a cased picture: leave it in its case, photograph it through the glass",
    "ambrotype": "a cased picture on glass: leave it in its case",
}


@dataclass(frozen=True, slots=True)
class HandOverGap:
    """Numbers of a theme that no scan has."""

    theme: Annotated[str, "the theme of the names"]
    numbers: Annotated[str, "the numbers, in words"]
    why: Annotated[str, "what became of them, as far as known"]


@dataclass(frozen=True, slots=True)
class ScanAgain:
    """A scan that should be made again."""

    photograph: Annotated[str, "the photograph's code"]
    scan: Annotated[str, "the scan's path"]
    container: Annotated[str, "the container its original is in; empty for none"]
    why: Annotated[tuple[str, ...], "the reasons, with what was measured"]

    @property
    def name(self) -> Annotated[str, "the name of its file"]:
        """The name of its file."""
        return Path(self.scan).name


@dataclass(frozen=True, slots=True)
class NotAtHome:
    """Originals that need advice before anybody scans them."""

    kind: Annotated[str, "what they are made of"]
    advice: Annotated[str, "why, and what to do"]
    photographs: Annotated[tuple[str, ...], "the codes of those that were recorded as such"]
    containers: Annotated[tuple[str, ...], "containers whose name, or the register of what was lent, speaks of it"] = ()

    @property
    def where(self) -> str:
        """Which they are: "K00003, what is in From Clara"."""
        return listed([*self.photographs, *(f"what is in {each}" for each in self.containers)])

    @property
    def words(self) -> str:
        """Which they are, why, and what to do, in sentences."""
        return f"{self.where}. {opening(self.advice)}."


@dataclass(frozen=True, slots=True)
class HandOver:
    """What whoever owns a box should know."""

    container: Annotated[str, "the container; empty for all"]
    boxes: tuple[BoxProgress, ...]
    to_return: Annotated[tuple[LentContainer, ...], "what was lent and is still here"]
    gaps: tuple[HandOverGap, ...]
    again: tuple[ScanAgain, ...]
    unchecked: Annotated[int, "scans of it that were not checked yet, so that nobody knows"]
    not_at_home: tuple[NotAtHome, ...]

    @property
    def lines(self) -> Annotated[tuple[str, ...], "the same in words, a line each"]:
        """The list in words."""
        return tuple(_lines(self))


def hand_over(connection: Connection, container: str | None = None) -> HandOver:
    """The list for whoever owns a container and those inside it, or all of them. What should be scanned again follows
    from the checks that were made (`scans check`). Raises NotFoundError, AmbiguousError."""
    name = "" if container is None else str(arranging.find(connection, container)["name"])
    boxes = boxes_scanned(connection, name)
    within = {box.container for box in boxes} if name else None
    here = tuple(
        each for each in lent(connection) if each.returned is None and (within is None or each.container in within)
    )
    places = _places(connection, within)
    again = (*_gone(connection, places), *_faulty(connection, places))
    return HandOver(
        name, boxes, here, tuple(_gaps(connection, within)), again, _unchecked(connection, places),
        (*_not_at_home(connection, places), *_by_words(boxes, here)),
    )  # fmt: skip


def _places(connection: Connection, within: Collection[str] | None) -> dict[str, str]:
    """The container of each photograph that is meant, by code."""
    p, c = t.photograph.c, t.container.c
    query = select(p.code, c.name).outerjoin(t.container, c.id == p.container_id).order_by(p.id)
    return {code: box or "" for code, box in connection.execute(query) if within is None or (box or "") in within}


def _faulty(connection: Connection, places: dict[str, str]) -> Iterator[ScanAgain]:
    """Scans that the checks found to be made again, but for what somebody accepted."""
    for scan in found(connection).scans:
        if scan.verdict == Weight.REDO and scan.photograph in places:
            open_ = [each for each in scan.findings if each.weight == Weight.REDO and not each.accepted]
            why = tuple(f"{each.title}: {each.measured}" for each in open_)
            yield ScanAgain(scan.photograph, scan.scan, places[scan.photograph], why)


def _unchecked(connection: Connection, places: dict[str, str]) -> int:
    """How many scans of these photographs were not measured yet."""
    s, p, k = t.scan.c, t.photograph.c, t.scan_check.c
    query = select(p.code).join(t.scan, s.photograph_id == p.id).outerjoin(t.scan_check, k.sha256 == s.sha256)
    return sum(code in places for code in connection.scalars(query.where(k.sha256.is_(None), s.superseded == 0)))


def _gaps(connection: Connection, within: Collection[str] | None) -> Iterator[HandOverGap]:
    themes = None if within is None else _themes_of(connection, within)
    for theme in names(connection).themes:
        if themes is None or theme.theme.casefold() in themes:
            yield from (HandOverGap(theme.theme, gap_words(gap), gap.why) for gap in theme.gaps)


def _gone(connection: Connection, places: dict[str, str]) -> Iterator[ScanAgain]:
    """Scans whose files are gone."""
    s, p = t.scan.c, t.photograph.c
    query = select(s.path, p.code).join(t.photograph, p.id == s.photograph_id).where(s.missing == 1).order_by(s.path)
    for path, code in connection.execute(query):
        if code in places:
            yield ScanAgain(code, path, places[code], ("its file is gone",))


def _not_at_home(connection: Connection, places: dict[str, str]) -> Iterator[NotAtHome]:
    """What somebody said is of a kind that needs care."""
    s, p = t.statement.c, t.photograph.c
    query = select(s.value, p.code).join(t.photograph, p.id == s.photograph_id)
    query = query.where(s.kind == "process", s.withdrawn == 0, s.value.in_(_NOT_AT_HOME)).order_by(p.code)
    kinds: dict[str, list[str]] = defaultdict(list)
    for value, code in connection.execute(query):
        if code in places:
            kinds[value].append(code)
    yield from (NotAtHome(kind, _NOT_AT_HOME[kind], tuple(dict.fromkeys(codes))) for kind, codes in kinds.items())


def _by_words(boxes: Sequence[BoxProgress], here: Sequence[LentContainer]) -> Iterator[NotAtHome]:
    """What the names of boxes and the register of what was lent speak of."""
    said: dict[str, list[str]] = {box.container: [box.container] for box in boxes if box.container}
    for each in here:
        said.setdefault(each.container, [each.container]).extend((each.holds, each.condition))
    for kind in CARE:
        boxes_of = tuple(box for box, words in said.items() if not kind.at_home and kind in needed(words))
        if boxes_of:
            yield NotAtHome(kind.kind, kind.advice.rstrip("."), (), boxes_of)


def _themes_of(connection: Connection, within: Collection[str]) -> set[str]:
    s, p, c = t.scan.c, t.photograph.c, t.container.c
    query = select(s.path).join(t.photograph, p.id == s.photograph_id).join(t.container, c.id == p.container_id)
    stems = (numbered(Path(path).stem) for path in connection.scalars(query.where(c.name.in_(within))))
    return {stem.key for stem in stems if stem is not None}


def _lines(found: HandOver) -> Iterator[str]:
    for box in found.boxes:
        left = f", about {box.left} left to scan" if box.left else ""
        yield f"{box.container or 'In no box'}: {counted(box.photographs, 'photograph')}{left}."
        wanting = [f"{box.undated} without a date"] * bool(box.undated)
        wanting += [f"{box.unnamed} without a name"] * bool(box.unnamed)
        if wanting:
            yield f"  {', '.join(wanting)}."
    for each in found.to_return:
        condition = f" ({each.condition})" if each.condition else ""
        since = wording.day(each.came.toordinal())
        yield f"To go back to {each.lender}: {each.container}, here since {since}{condition}."
    yield from (f"{gap.theme} {gap.numbers}: {gap.why}." for gap in found.gaps)
    for scan in found.again:
        yield f"To be scanned again: {scan.photograph} ({scan.name}), {'; '.join(scan.why)}."
    if found.unchecked:
        yield f"{counted(found.unchecked, 'scan')} not checked yet: kinphoto scans check."
    for kind in found.not_at_home:
        yield f"Not to be scanned at home without advice: {kind.words}"
