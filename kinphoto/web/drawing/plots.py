"""Plots: when the pictures were taken, box by box and decade by decade; how the archive came to be named and dated; and
the months of the scanning."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, sqrt

from kinphoto.archive.collection.progress import MonthScanned
from kinphoto.archive.people.overview import BoxDecades, DayProgress
from kinphoto.gedcom import wording
from kinphoto.phrases import listed
from kinphoto.web.drawing.axis import Axis, Tick, path
from kinphoto.web.wording import NOT_IN_A_BOX

MOST_BOXES = 18
_MONTH_LABEL = 120.0  # of the drawing's width: the longest name of a month with its year, and a space
LEFT, CELL, ROW, TOP = 210.0, 46.0, 34.0, 30.0


@dataclass(frozen=True, slots=True)
class Cell:
    """A square whose area shows how many there are."""

    x: float
    y: float
    side: float
    count: int
    words: str
    href: str


@dataclass(frozen=True, slots=True)
class BoxRow:
    """One container's row: its label and squares; `undated` is the hatched one at the end, None where all are dated."""

    name: str
    href: str
    y: float
    cells: tuple[Cell, ...]
    undated: Cell | None


@dataclass(frozen=True, slots=True)
class Decades:
    """Containers down, decades across, the undated last."""

    width: float
    height: float
    columns: tuple[Tick, ...]
    rows: tuple[BoxRow, ...]
    left_out: int
    undated_x: float


def decades(boxes: Sequence[BoxDecades]) -> Decades | None:
    """The plot of the fullest containers; None when nothing is in any."""
    shown = [box for box in boxes if box.decades or box.undated][:MOST_BOXES]
    if not shown:
        return None
    known = sorted({decade for box in shown for decade in box.decades})
    every = list(range(known[0], known[-1] + 10, 10)) if known else []
    most = max(count for box in shown for count in (*box.decades.values(), box.undated))
    last = LEFT + CELL * len(every) + CELL * 0.8

    def cell(x: float, y: float, count: int, words: str, href: str) -> Cell:
        side = round(max(4.0, (ROW - 6) * sqrt(count / most)), 1)
        return Cell(round(x - side / 2, 1), round(y - side / 2, 1), side, count, words, href)

    rows = []
    for number, box in enumerate(shown):
        y = TOP + ROW * (number + 0.5)
        cells = tuple(
            cell(
                LEFT + CELL * (at + 0.5), y, box.decades[decade], f"the {decade}s: {box.decades[decade]}",
                f"/search?box={box.id}&from={decade}&to={decade + 9}",
            )
            for at, decade in enumerate(every)
            if decade in box.decades
        )  # fmt: skip
        words = f"without a date: {box.undated}"
        wanting = cell(last, y, box.undated, words, f"/box/{box.id}?wanting=undated") if box.undated else None
        rows.append(BoxRow(box.name or NOT_IN_A_BOX, f"/box/{box.id}", y, cells, wanting))
    columns = tuple(Tick(LEFT + CELL * (at + 0.5), f"{decade}s") for at, decade in enumerate(every))
    return Decades(last + CELL, TOP + ROW * len(rows) + 8, columns, tuple(rows), len(boxes) - len(shown), last)


@dataclass(frozen=True, slots=True)
class Growth:
    """Two lines that climb day by day: photographs with somebody named, and with a date."""

    width: float
    height: float
    named: str
    dated: str
    all_y: float
    ticks: tuple[Tick, ...]
    last: DayProgress
    total: int


def growth(progress: Sequence[DayProgress], total: int) -> Growth | None:
    """The plot from the first day to the last; None while there are fewer than two days to compare."""
    if len(progress) < 2 or not total:
        return None
    axis = Axis(progress[0].day, progress[-1].day, 10, 590)
    foot, top = 170.0, 20.0

    def steps(values: Sequence[int]) -> str:
        """A line that stays as it was until the day on which it grows."""
        levels = zip(progress, (0, *values), values, strict=False)
        return path((axis.x(one.day), foot - (foot - top) * level / total) for one, *both in levels for level in both)

    days = sorted({progress[0].day, progress[-1].day})
    ticks = tuple(Tick(axis.x(day), wording.day(day)) for day in days)
    return Growth(
        600, 200, steps([one.named for one in progress]), steps([one.dated for one in progress]), top, ticks,
        progress[-1], total,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class MonthColumn:
    """One month: what was scanned in it, and above that what is likely still to come."""

    x: float
    done_y: float
    done: float
    ahead_y: float
    ahead: float
    label: str
    words: str


@dataclass(frozen=True, slots=True)
class Months:
    """The months of the scanning as columns, up to the likely end."""

    width: float
    height: float
    floor: float
    column: float
    columns: tuple[MonthColumn, ...]
    words: str


def months(scanned: Sequence[MonthScanned]) -> Months | None:
    """The picture of the months; None before the first scan."""
    if not scanned:
        return None
    width, floor, top = 600.0, 150.0, 20.0
    step = min(60.0, (width - 20) / len(scanned))
    most = max(1, *(each.done + each.ahead for each in scanned))
    every = ceil(_MONTH_LABEL / step)
    columns = []
    for at, each in enumerate(scanned):
        done, ahead = ((floor - top) * count / most for count in (each.done, each.ahead))
        counts = [f"{each.done:,} scanned"] * bool(each.done or not each.ahead)
        counts += [f"about {each.ahead:,} to come"] * bool(each.ahead)
        columns.append(MonthColumn(
            round(10 + at * step, 1), round(floor - done, 1), round(done, 1), round(floor - done - ahead, 1),
            round(ahead, 1), wording.month_words(each.month) if at % every == 0 else "",
            f"{wording.month_words(each.month)}: {listed(counts)}",
        ))  # fmt: skip
    return Months(
        width, floor + 24, floor, round(step * 0.8, 1), tuple(columns), "; ".join(each.words for each in columns)
    )
