"""Keeping going: how far the scanning has come, at what pace, and when it is likely to end.

An evening is a day on which something was scanned, and ends at four in the morning. Only what was done is counted,
never what was not.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import takewhile
from typing import Annotated, Any

from sqlalchemy import Connection, func, select

from kinphoto.archive.catalogue.containers import Containers
from kinphoto.archive.catalogue.finding import find_container
from kinphoto.archive.collection import arranging
from kinphoto.archive.collection.arranging import Arranged
from kinphoto.archive.collection.care import needed
from kinphoto.archive.collection.container_pages import ContainerRow, container_rows
from kinphoto.archive.collection.tonight import Tonight, evening, tonight
from kinphoto.documents import INTERNAL, Key
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.gedcom import wording
from kinphoto.phrases import counted
from kinphoto.store import tables as t
from kinphoto.store.session import Work

RECENT = 28
"""Days over which the pace is measured."""
PAST, AHEAD = 24, 36
"""Months that are shown, back and on from this one."""
_MOST = 1_000_000


@dataclass(frozen=True, slots=True)
class LentContainer:
    """Whose a container is, where somebody lent it."""

    container: Annotated[str, "the container it is kept in here"]
    lender: Annotated[str, "who lent it"]
    came: Annotated[date, INTERNAL]
    condition: Annotated[str, "in what condition it came"]
    holds: Annotated[str, "what came in it"]
    returned: Annotated[date | None, INTERNAL]
    number: Annotated[int, INTERNAL]

    @property
    def came_on(self) -> Annotated[str, Key("came"), "the day it came"]:
        """The day it came, ISO 8601."""
        return self.came.isoformat()

    @property
    def care(self) -> Annotated[tuple[str, ...], "what to know before it is scanned, as far as its words tell"]:
        """What to know before it is scanned."""
        return tuple(each.advice for each in needed((self.container, self.holds, self.condition)))

    @property
    def words(self) -> str:
        """ "lent by Clara Ombry, came on 9 May 2026, went back on 1 June 2026"."""
        back = f", went back on {wording.day(self.returned.toordinal())}" if self.returned else ""
        return f"lent by {self.lender}, came on {wording.day(self.came.toordinal())}{back}"

    @property
    def returned_on(self) -> Annotated[str | None, Key("returned"), "the day it went back, or null"]:
        """The day it went back."""
        return None if self.returned is None else self.returned.isoformat()


@dataclass(frozen=True, slots=True)
class BoxProgress:
    """How far one container has come."""

    container: Annotated[str, "a container; empty for the photographs in none"]
    photographs: Annotated[int, "how many photographs of it are scanned"]
    inside: Annotated[int, "how many more are, in the containers inside it"]
    expected: Annotated[int | None, "about how many prints are in it and in those, or null"]
    undated: Annotated[int, "how many of them have no date"]
    unnamed: Annotated[int, "in how many nobody is named"]

    @property
    def left(self) -> Annotated[int | None, Key("left"), "how many are left to scan; null when that is not known"]:
        """How many are left to scan."""
        return None if self.expected is None else max(0, self.expected - self.photographs - self.inside)


@dataclass(frozen=True, slots=True)
class MonthScanned:
    """One month of the scanning, past or to come."""

    month: Annotated[str, "a month, `2026-11`"]
    done: Annotated[int, "photographs scanned in it"]
    ahead: Annotated[int, "how many more are likely to be, at the present pace; 0 where nothing is left or known"]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far everything has come."""

    tonight: Tonight
    photographs: Annotated[int, "how many photographs are scanned, album pages among them"]
    left: Annotated[
        int | None, "how many are left, in the containers where that is known; null when it is known for none"
    ]
    evenings: Annotated[int, "evenings of the last four weeks on which something was scanned"]
    pace: Annotated[float | None, "photographs an evening, the median of those; null when there was none"]
    evenings_left: Annotated[int | None, "how many such evenings the rest takes; null when unknown"]
    ends: Annotated[str | None, "about when that is, at the rhythm of those four weeks: a month, `2027-03`; null"]
    months: Annotated[
        tuple[MonthScanned, ...], "the months from the first scan, two years back at most, to the likely end, three on"
    ]
    boxes: tuple[BoxProgress, ...]
    lent: Annotated[tuple[LentContainer, ...], "what somebody lent, the newest first"]
    encouragement: Annotated[str, "one friendly sentence"]


def progress(connection: Connection, today: date | None = None) -> Progress:
    """How far the scanning has come, the pace of the last four weeks, and when it is likely to end."""
    today, so_far, boxes = (
        today or evening(datetime.now().astimezone()),
        tonight(connection),
        boxes_scanned(connection),
    )
    per_evening = _per_evening(connection)
    recent = sorted(count for day, count in per_evening.items() if 0 <= (today - day).days < RECENT)
    pace = None if not recent else (recent[len(recent) // 2] + recent[(len(recent) - 1) // 2]) / 2
    known = [box.left for box in boxes if box.left is not None]
    left = sum(known) if known else None
    evenings_left = None if left is None or not pace else math.ceil(left / pace)
    end = None
    if evenings_left is not None and evenings_left <= 52 * 7 * len(recent):
        end = today + timedelta(days=round(evenings_left * RECENT / len(recent)))
    ends = None if end is None else end.isoformat()[:7]
    total = connection.scalar(select(func.count()).select_from(t.photograph)) or 0
    return Progress(
        so_far, total, left, len(recent), pace, evenings_left, ends,
        tuple(_months(per_evening, today, left or 0, end)), boxes, lent(connection),
        _encouragement(so_far, total, left, per_evening),
    )  # fmt: skip


def set_quota(work: Work, prints: int | None) -> int | None:
    """How many prints an evening are meant; None or 0 for no quota. Raises InvalidValueError for an odd number."""
    prints = prints or None
    if prints is not None and not 0 < prints <= _MOST:
        raise InvalidValueError(
            f"{prints} is not a number of prints", remedy="Give a number such as 40, or 0 for none."
        )
    rows = work.connection.execute(select(t.quota)).mappings().all()
    if [row["prints"] for row in rows] == ([] if prints is None else [prints]):
        return prints
    work.delete(t.quota, [row["id"] for row in rows])
    if prints is not None:
        work.insert_one(t.quota, prints=prints)
    work.what = f"set the quota to {counted(prints, 'print')} an evening" if prints else "removed the quota"
    return prints


def expect(work: Work, container: str | int, prints: int | None) -> Arranged:
    """About how many prints are in a container, which is made if it is not there, so that a box can be counted before
    its first scan; None when that is not known. Raises NotFoundError, AmbiguousError, InvalidValueError."""
    if prints is not None and not 0 <= prints <= _MOST:
        raise InvalidValueError(f"{prints} is not a number of prints", remedy="Give a number such as 400.")
    made = False
    if prints is not None:
        container, made = arranging.find_or_create(work, container)
    row = arranging.find(work.connection, container)
    changed = row["expected"] != prints
    if changed:
        work.update(t.container, [row["id"]], expected=prints)
        about = f"about {counted(prints, 'print')}" if prints is not None else "an unknown number of prints"
        work.what = f"{row['name']} holds {about}"
    return Arranged(row["id"], row["name"], None, (), row["arrangement"] or None, changed, made, work.id)


def lend(
    work: Work, container: str, by: str, came: date | None = None, condition: str = "", holds: str = ""
) -> tuple[LentContainer, ...]:
    """Note that somebody lent what is in a container, which is made if it is not there. Raises AmbiguousError,
    InvalidValueError when nobody is named."""
    if not by.strip():
        raise InvalidValueError("nobody is named", remedy="Say who lent it.")
    box = Containers(work).named(container)
    came = came or evening(datetime.now().astimezone())
    work.insert_one(
        t.envelope, container_id=box, lender=" ".join(by.split()), came=came.toordinal(), condition=condition.strip(),
        holds=holds.strip(),
    )  # fmt: skip
    work.what = f"noted that {by.strip()} lent {container.strip()}"
    return lent(work.connection)


def give_back(work: Work, container: str, on: date | None = None) -> tuple[LentContainer, ...]:
    """Note that what was lent in a container went back. Raises NotFoundError when nothing of it is here."""
    box = find_container(work.connection, container)
    name = container.strip() if box is None else str(box["name"])
    here = [each for each in lent(work.connection) if each.container == name and each.returned is None]
    if not here:
        raise NotFoundError(
            f"nothing that was lent and is still here is in a box called '{name}'",
            remedy="kinphoto progress lists what is.",
        )
    on = on or evening(datetime.now().astimezone())
    for each in here:
        if on < each.came:
            raise InvalidValueError(
                "it cannot have gone back before it came", remedy=f"It came on {wording.day(each.came.toordinal())}."
            )
    work.update(t.envelope, [each.number for each in here], returned=on.toordinal())
    work.what = f"noted that {name} went back to {here[0].lender}"
    return lent(work.connection)


def lent(connection: Connection) -> tuple[LentContainer, ...]:
    """What somebody lent, the newest first."""
    e, c = t.envelope.c, t.container.c
    query = select(t.envelope, c.name).outerjoin(t.container, c.id == e.container_id)
    query = query.order_by(e.came.desc(), e.id.desc())
    return tuple(
        LentContainer(
            row["name"] or "",
            row["lender"],
            date.fromordinal(row["came"]),
            row["condition"],
            row["holds"],
            None if row["returned"] is None else date.fromordinal(row["returned"]),
            row["id"],
        )
        for row in connection.execute(query).mappings()
    )


def boxes_scanned(connection: Connection, name: str = "") -> tuple[BoxProgress, ...]:
    """Every container with something in it or expected; with a `name`, that one and those inside it."""
    expected = dict(_pairs(connection, select(t.container.c.id, t.container.c.expected)))
    rows = container_rows(connection)
    found = []
    for at, row in enumerate(rows):
        below = _deeper(rows[at + 1 :], row.depth)
        inside = sum(other.tally.photographs for other in below)
        box = BoxProgress(
            row.name, row.tally.photographs, inside, expected.get(row.id), row.tally.undated, row.tally.unnamed
        )
        if row.tally.photographs or box.expected is not None or (name and row.name == name):
            found.append((box, {row.name, *(other.name for other in below)}))
    if not name:
        return tuple(box for box, _ in found)
    wanted = next((names for box, names in found if box.container == name), {name})
    return tuple(box for box, _ in found if box.container in wanted)


def _deeper(rows: Sequence[ContainerRow], depth: int) -> list[ContainerRow]:
    """Those inside a container of this depth, of the rows after it."""
    return list(takewhile(lambda row: row.depth > depth, rows))


def _pairs(connection: Connection, query: Any) -> Iterator[tuple[Any, Any]]:
    return ((row[0], row[1]) for row in connection.execute(query))


def _per_evening(connection: Connection) -> Counter[date]:
    """How many photographs were scanned on each evening: each counts on that of its first scan."""
    first: dict[int, str] = {}
    s = t.scan.c
    for photograph, at in _pairs(connection, select(s.photograph_id, s.indexed_at).order_by(s.indexed_at.desc())):
        first[photograph] = at
    return Counter(evening(datetime.fromisoformat(at).astimezone()) for at in first.values())


def _months(per_evening: Counter[date], today: date, left: int, end: date | None) -> Iterator[MonthScanned]:
    """Every month from the first scan on, also those without one, and those to come until the likely end."""
    done: Counter[int] = Counter()
    for day, count in per_evening.items():
        done[_month(day)] += count
    if not done:
        return
    this, a_day = _month(today), left / max(1, (end - today).days) if end else 0.0
    last = min(this + AHEAD, _month(end)) if end and left else this
    for month in range(max(min(done), this - PAST), last + 1):
        first = date(month // 12, month % 12 + 1, 1)
        following = date((month + 1) // 12, (month + 1) % 12 + 1, 1)
        days = (following - max(today + timedelta(days=1), first)).days if month >= this else 0
        ahead = min(left, round(a_day * days))
        if end and month == _month(end):
            ahead = left
        left -= ahead
        yield MonthScanned(first.isoformat()[:7], done[month], ahead)


def _month(day: date) -> int:
    return day.year * 12 + day.month - 1


def _encouragement(so_far: Tonight, total: int, left: int | None, evenings: Counter[date]) -> str:
    """One friendly sentence about what was done."""
    if so_far.quota and so_far.photographs >= so_far.quota:
        return f"{so_far.photographs} tonight: that is what you meant to do. Well done."
    best = max(evenings.values(), default=0)
    if so_far.photographs and so_far.photographs == best and len(evenings) > 2:
        return f"{so_far.photographs} tonight is your best evening so far."
    if so_far.photographs:
        return f"{so_far.photographs} more are safe since this evening."
    if left == 0:
        return f"Everything that was counted is scanned: {counted(total, 'photograph')}."
    return f"{counted(total, 'photograph')} are safe already." if total else "The first print is the hardest."
