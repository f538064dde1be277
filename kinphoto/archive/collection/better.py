"""Which of two scans of one print is the better one, and why; one of them may be a photograph taken of it.

What counts is what can be seen of the print: the pixels along it, no narrower than its edges are blurred. Glare, tones
that are lost and a view from far aside spoil it, so a scan without them is better, unless it shows much less. Nothing
is set: the better one is offered.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple

from sqlalchemy import Connection, RowMapping

from kinphoto.archive.catalogue.finding import find_scan
from kinphoto.archive.collection.captured import captured, corners_on, print_size
from kinphoto.archive.collection.images import shown_size
from kinphoto.archive.collection.kept_measures import kept_measures
from kinphoto.archive.collection.same_print import laid_over, small_picture
from kinphoto.phrases import listed
from kinphoto.scans.checks.limits import BY_KIND
from kinphoto.scans.checks.measures import Measures
from kinphoto.scans.upright import Size
from kinphoto.store.opening import folder_of

_SHARPEST = 0.6
"""Pixels: an edge cannot be narrower than that, so a scan that is sharper than its pixels gains nothing."""
_MORE = 1.15
"""How many times as much one has to show before that counts."""
_MUCH_MORE = 4.0
"""The same from which on a flaw of the other kind counts less: twice the detail along each side."""


class ComparedAspect(NamedTuple):
    """One thing that two scans are compared by."""

    what: Annotated[str, "what is compared"]
    one: Annotated[str, "how it is on the first, in words"]
    other: Annotated[str, "how it is on the second"]
    better: Annotated[str, "`one`, `other`, or empty where they hardly differ or it is not known for both"]


class BetterScan(NamedTuple):
    """The one shown in front; `why`, empty where they hardly differ; and what both were compared by."""

    row: RowMapping
    why: str
    compared: tuple[ComparedAspect, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two scans of one print, side by side."""

    one: Annotated[str, "the path of the first scan"]
    other: Annotated[str, "that of the second"]
    better: Annotated[str, "the path of the better one; empty where they hardly differ"]
    why: Annotated[str, "why it is better, in words"]
    compared: Annotated[tuple[ComparedAspect, ...], "what was compared"]
    same: Annotated[bool | None, "whether they show the same picture; null where one cannot be looked at"] = None


@dataclass(frozen=True, slots=True)
class _Shown:
    """What a scan shows of its print."""

    size: Size
    angle: float | None = None
    measured: Measures | None = None

    @property
    def blur(self) -> float | None:
        return None if self.measured is None else self.measured.spread

    @property
    def pixels(self) -> float:
        return float(self.size[0] * self.size[1])

    def share(self, field: str) -> float | None:
        return None if self.measured is None else float(getattr(self.measured, field))


class _Flaw(NamedTuple):
    """Something that spoils a scan: from which limit on, its name, what the better one is without, and its measure."""

    kind: str
    field: str
    name: str
    without: str


_FLAWS = (
    _Flaw("glare", "glare", "glare", "it has no glare"),
    _Flaw("clipped-light", "clipped_light", "blown-out highlights", "its highlights are not blown out"),
    _Flaw("clipped-dark", "clipped_dark", "blocked shadows", "its shadows are not blocked"),
)


def better_scan(connection: Connection, one: RowMapping, other: RowMapping) -> BetterScan:
    """The scan that shows more of the print, and without what spoils it, as far as both were checked."""
    known = kept_measures(connection, [row["sha256"] for row in (one, other)])
    first, second = (_shown(row, known.get(row["sha256"])) for row in (one, other))
    better, why = _judged(first, second)
    return BetterScan(one if better == "one" else other, why, tuple(_compared(first, second)))


def compare(connection: Connection, one: str, other: str) -> Comparison:
    """Two scans of one print compared: which is the better one, and in what. Nothing is changed. Raises NotFoundError,
    AmbiguousError."""
    rows = find_scan(connection, one), find_scan(connection, other)
    folder = folder_of(connection.engine)
    first, second = (small_picture(row, folder) for row in rows)
    same = None if first is None or second is None else laid_over(first, second) is not None
    found = better_scan(connection, *rows)
    better = found.row["path"] if found.why else ""
    return Comparison(rows[0]["path"], rows[1]["path"], better, found.why, found.compared, same)


def _shown(row: RowMapping, measured: Measures | None) -> _Shown:
    if measured is None:
        return _Shown(print_size(row, None) if corners_on(row, None) else shown_size(row))
    capture = captured(row, measured)
    if corners_on(row, measured) is not None:
        return _Shown(print_size(row, measured), None if capture is None else capture.angle, measured)
    size = width, height = shown_size(row)
    if len(measured.box) == 4:
        left, top, right, lower = measured.box
        stored = round(row["width"] * (right - left)), round(row["height"] * (lower - top))
        size = stored if (width, height) == (row["width"], row["height"]) else stored[::-1]
    return _Shown(size, None, measured)


def _judged(one: _Shown, other: _Shown) -> tuple[str, str]:
    """Which is better, "one" or "other", and why."""
    shows = [one.pixels, other.pixels]
    pixels = shows[0] / max(shows[1], 1.0)
    if one.blur is not None and other.blur is not None:
        shows = [each.pixels / max(each.blur or 0.0, _SHARPEST) ** 2 for each in (one, other)]
    better, ratio = (
        ("one", shows[0] / max(shows[1], 1.0)) if shows[0] > shows[1] else ("other", shows[1] / max(shows[0], 1.0))
    )
    flaws = {name: set(_flaws(each)) for name, each in (("one", one), ("other", other))}
    worse = {"one": "other", "other": "one"}[better]
    spoilt = len(flaws[better]) > len(flaws[worse])
    if spoilt and ratio < _MUCH_MORE:
        better, worse = worse, better
        reasons = _without(flaws[worse] - flaws[better])
        return better, listed(reasons) + (", though it shows less detail" if ratio >= _MORE else "")
    reasons = _without(flaws[worse] - flaws[better])
    if ratio >= _MORE:
        share = pixels if better == "one" else 1 / max(pixels, 1e-6)
        captures = one.angle is not None or other.angle is not None
        counts = [max(each.size) for each in (one, other)]
        most, least = counts if better == "one" else counts[::-1]
        exact = f" along the print ({most:,} against {least:,})" if captures and most > least else ""
        sharper = "it is sharper" + (", though it has fewer pixels" if share < 1 / _MORE else "")
        reasons = [f"it has more pixels{exact}" if share >= _MORE else sharper, *reasons]
    elif not reasons:
        return better, ""
    return better, listed(reasons)


def _flaws(shown: _Shown) -> list[str]:
    found = [flaw.kind for flaw in _FLAWS if (shown.share(flaw.field) or 0.0) > BY_KIND[flaw.kind].limit]
    return found + (["perspective"] if (shown.angle or 0.0) > BY_KIND["perspective"].limit else [])


def _without(kinds: set[str]) -> list[str]:
    words = [flaw.without for flaw in _FLAWS if flaw.kind in kinds]
    return words + (["it was not taken at an angle"] if "perspective" in kinds else [])


def _compared(one: _Shown, other: _Shown) -> list[ComparedAspect]:
    along = [max(each.size) for each in (one, other)]
    found = [_row("pixels along the print", along, [f"{each:,}" for each in along], more=True)]
    blurs = [one.blur, other.blur]
    found.append(
        _row(
            "blur of the sharpest edges",
            blurs,
            ["not checked" if each is None else f"{each:.1f} pixels" for each in blurs],
        )
    )
    if None not in blurs:
        detail = [
            each.size and max(each.size) * min(1.0, _SHARPEST / max(each.blur or 0.0, _SHARPEST))
            for each in (one, other)
        ]
        found.append(_row("detail along the print", detail, [f"{each:,.0f} pixels" for each in detail], more=True))
    for flaw in _FLAWS:
        shares = [one.share(flaw.field), other.share(flaw.field)]
        limit = BY_KIND[flaw.kind].limit
        beyond = [None if each is None else max(0.0, each - limit) for each in shares]
        words = ["not checked" if each is None else f"{each:.1%}" if each > limit else "none" for each in shares]
        found.append(_row(flaw.name, beyond, words))
    if one.angle is not None or other.angle is not None:
        angles = [one.angle, other.angle]
        words = ["flat on the glass" if each is None else f"{each:.0f} degrees from straight above" for each in angles]
        beyond = [max(0.0, (each or 0.0) - BY_KIND["perspective"].limit) for each in angles]
        found.append(_row("seen", beyond, words))
    return found


def _row(
    what: str, values: list[float | None] | list[float] | list[int], words: list[str], *, more: bool = False
) -> ComparedAspect:
    first, second = values
    if first is None or second is None or first == second:
        return ComparedAspect(what, words[0], words[1], "")
    large, small = max(first, second), min(first, second)
    if small > 0 and large / small < _MORE**0.5:
        return ComparedAspect(what, words[0], words[1], "")
    return ComparedAspect(what, words[0], words[1], "one" if (first > second) is more else "other")
