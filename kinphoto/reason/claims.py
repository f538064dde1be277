"""What is said of a photograph's date other than by its people: the likelihood of each kind of statement.

**Dated claims.** With q the chance that the claim is wrong, f the density of its shape and R the days the laws allow,

    L(x) = (1 - q) R f(x) + q,

which is 1 - q on the span with its shape and q flat over what the laws allow, in units in which knowing nothing is 1.
"Before a" and "after a" said of the picture fade away from a: nobody says "before 1914" of a picture of 1860.

**Events.** A picture of an event at E was taken at x with density h(x - E): the day itself, or the days after, or some
weeks later, when the couple goes to the photographer when next in town. L(x) = c R (p_E * h)(x) + 1 - c, where c is
the chance that claim and date are both right.

**Print against exposure.** The making of a print, P, follows the exposure with the distribution

    K(t) = 0.85 min(t / 1 year, 1) + 0.15 (1 - exp(-t / 20 years)),      t = P - x >= 0;

a copy of another photograph with the exponential alone. Statements about P (a window of a process, a stamp, a postmark,
"written not later than") multiply into a step function u(P) in the same units, and P is summed out:

    L(x) = sum over steps s of u_s [K(end_s - x) - K(start_s - x)] / K(indexed - x).

The denominator keeps the prior of x flat: every print was made before it was indexed. What is written on a print is not
earlier than the print and so speaks of P; a photographer's mark speaks of the exposure, and on a copy of P.

All photographs are worked out together, on a ragged `grid`; a likelihood is its mean over each cell, as a logarithm.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from kinphoto.reason import evidence as ev
from kinphoto.reason.grid import Array, Grid, Ints, grid, starts
from kinphoto.reason.laws import FIRST_PHOTOGRAPH
from kinphoto.reason.lookup import Lookup
from kinphoto.reason.prior import ABOUT_NORMAL, AS_STATED, NEAR_BY, QUARTER, happened
from kinphoto.reason.span import DAYS_PER_YEAR, DOUBT_SPREAD, Dated, Shape, Span
from kinphoto.reason.walls import Walls

PROMPT_SHARE, PROMPT, LATER_MEAN = 0.85, DAYS_PER_YEAR, 20 * DAYS_PER_YEAR
"""Prints: 85 % were made within a year, the rest after 20 years in the mean (judgements of the project)."""
COMMON_SHARE = 0.85
"""Share of objects made in the years of common use of their process or format (a judgement of the project)."""
AFTER_EVENT: tuple[Array, Array] = (np.array([-1.0, 0.0, 1.0, 8.0, 61.0]), np.array([0.0, 0.05, 0.65, 0.85, 1.0]))
"""Distribution function of x - E in days: 5 % the day before, 60 % the day itself, 20 % within the week, the rest
within 60 days (judgements of the project)."""

FADE = 10 * DAYS_PER_YEAR
"""Mean distance of a picture from the day it is said to be before or after (a judgement of the project)."""

NOT_LATER = (ev.Claim.WRITTEN, ev.Claim.POSTMARK)
SMALLEST = 1e-300


@dataclass(frozen=True, slots=True)
class Clue:
    """A statement about one day: wrong with chance `q`, else `share` of it flat from `first` to `last`, the rest in the
    narrower years `within`, flat or, with a `fade`, falling off exponentially from their end (positive) or beginning
    (negative); or, with a `spread`, so much as `normal` normal about `centre`. Points on the line of days."""

    q: float
    first: float
    last: float
    share: float = 1.0
    within: tuple[float, float] = (0.0, 1.0)
    centre: float = 0.0
    spread: float = 0.0
    normal: float = ABOUT_NORMAL
    fade: float = 0.0

    def breaks(self) -> tuple[float, ...]:
        """Where the likelihood jumps."""
        return (self.first, self.last, *self.within) if self.share < 1 else (self.first, self.last)


class Clues:
    """Clues of many rows: `row` and `allowed` (R, in days) of each."""

    def __init__(self, clues: Sequence[tuple[int, float, Clue]]) -> None:
        self.row: Ints = np.array([row for row, _, _ in clues], dtype=np.int64)
        values = [
            (r, c.q, c.first, c.last, c.share, *c.within, c.centre, c.spread, c.normal, c.fade) for _, r, c in clues
        ]
        self.values: Array = np.array(values, dtype=np.float64).reshape(-1, 11).T

    def likelihood(self, cells: Grid, rows: Ints) -> Array:
        """The logarithm of the product of these rows' clues in each cell; `cells` has a row for each of `rows`."""
        mine, place = matching(self.row, rows)
        at, begin = cells.of(place)
        allowed, q, first, last, share, start, end, centre, spread, bell, fade = (
            np.repeat(v, np.diff(begin)) for v in self.values[:, mine]
        )
        something, last = last > first, np.maximum(last, first + 1e-9)

        def rising(day: Array) -> Array:
            inside = np.clip(day, first, last)
            narrow = np.clip((day - start) / (end - start), 0, 1)
            some = np.flatnonzero(fade)
            narrow[some] = faded(narrow[some], (end - start)[some], fade[some])
            total = share * (inside - first) / (last - first) + (1 - share) * narrow
            some = np.flatnonzero(spread > 0)
            normal = ndtr((inside[some] - centre[some] - 0.5) / spread[some])
            total[some] = bell[some] * normal + (1 - bell[some]) * total[some]
            return np.asarray(total)

        mass = something * (rising(cells.right[at]) - rising(cells.left[at]))
        value = q + allowed * (1 - q) * mass / cells.width[at]
        return cells.summed(at, np.log(np.maximum(value, SMALLEST)))


def faded(part: Array, length: Array, mean: Array) -> Array:
    """The distribution function at a `part` (0 to 1) of a stretch from whose end (mean > 0) or beginning (mean < 0)
    likelihood falls off exponentially with that mean."""
    gone = np.where(mean > 0, 1 - part, part) * length / np.abs(mean)
    share = np.expm1(-gone) / np.expm1(-length / np.abs(mean))
    return np.asarray(np.where(mean > 0, 1 - share, share))


class Prints:
    """What is said of the making of prints, summed out: u(P) in steps of height `height` from `left` to `right`."""

    def __init__(self, told: Sequence[Object]) -> None:
        told = [t for t in told if t.printed]
        self.row: Ints = np.array([t.row for t in told], dtype=np.int64)
        self.indexed: Array = np.array([t.indexed for t in told])
        self.copied = np.array([t.copied for t in told], dtype=bool)
        limits = np.array([t.limits for t in told]).reshape(-1, 2)
        cuts = [(i, day) for i, t in enumerate(told) for clue in t.printed for day in _cuts(clue)]
        which, days = (np.array([c[k] for c in cuts]) for k in (0, 1))
        self.made = grid(limits[:, 0], limits[:, 1], which.astype(np.int64), days, lattice=False)
        clues = Clues([(i, t.allowed, clue) for i, t in enumerate(told) for clue in t.printed])
        self.height: Array = np.exp(clues.likelihood(self.made, np.arange(len(told))))

    def likelihood(self, cells: Grid, rows: Ints) -> Array:
        """As of `Clues`."""
        mine, place = matching(self.row, rows)
        at, begin = cells.of(place)
        day, sizes = cells.middle[at], np.diff(begin)
        copied = np.repeat(self.copied[mine], sizes)
        total = np.zeros(len(at))
        most = int(self.made.sizes[mine].max(initial=0))
        for rank in range(most):
            some = np.flatnonzero(np.repeat(self.made.sizes[mine] > rank, sizes))
            step = np.repeat(self.made.start[mine] + rank, sizes)[some]
            ends = [made_within(edge[step] - day[some], copied[some]) for edge in (self.made.right, self.made.left)]
            total[some] += self.height[step] * (ends[0] - ends[1])
        total /= np.maximum(made_within(np.repeat(self.indexed[mine], sizes) - day, copied), SMALLEST)
        return cells.summed(at, np.log(np.maximum(total, SMALLEST)))


def _cuts(clue: Clue) -> Iterable[float]:
    if clue.spread > 0:
        steps = int(np.ceil((clue.last - clue.first) / QUARTER))
        return [*clue.breaks(), *(float(day) for day in np.linspace(clue.first, clue.last, steps + 1))]
    return clue.breaks()


def matching(row: Ints, rows: Ints) -> tuple[Ints, Ints]:
    """Of things in ascending order of their `row`: those of these `rows` (ascending), and the place of its row."""
    first, last = np.searchsorted(row, rows, side="left"), np.searchsorted(row, rows, side="right")
    begin = starts(last - first)
    return np.repeat(first - begin[:-1], last - first) + np.arange(begin[-1]), np.repeat(
        np.arange(len(rows)), last - first
    )


@dataclass(frozen=True, slots=True)
class Object:
    """What is said of one photograph of a group: clues to the exposure, clues to the print, events shown."""

    row: int
    photograph: str
    exposure: list[Clue]
    printed: list[Clue]
    events: tuple[tuple[float, str], ...]
    """Chance that the claim is right, and the event's key."""
    indexed: float
    copied: bool
    limits: tuple[float, float]
    """Within which it was printed."""

    @property
    def allowed(self) -> float:
        """R: the days that the laws allow."""
        return self.indexed - FIRST_PHOTOGRAPH

    def breaks(self) -> Iterator[float]:
        """Days on which the likelihood jumps."""
        for clue in self.exposure:
            yield from clue.breaks()
        for clue in self.printed:
            if clue.spread == 0:
                yield from (day - wait for day in clue.breaks() for wait in (0.0, PROMPT))


class Said:
    """All that is said of the photographs of some groups, but their people and their relations. The groups are rows."""

    def __init__(self, groups: Sequence[tuple[str, ...]], known: Lookup, walls: Walls) -> None:
        self.known, self.walls = known, walls
        copies = {r.photograph for r in known.relations if r.related is ev.Related.COPY_OF}
        told = known.claims.keys() | known.made.keys() | known.shown.keys()
        objects = [
            about(row, photograph, known, walls, copied=photograph in copies)
            for row, members in enumerate(groups)
            for photograph in members
            if photograph in told
        ]
        self.clues = Clues([(o.row, o.allowed, clue) for o in objects for clue in o.exposure])
        self.prints = Prints(objects)
        self.events = [(o.row, o.allowed, right, event) for o in objects for right, event in o.events]
        cuts = [(o.row, day) for o in objects for day in o.breaks()]
        self.break_row: Ints = np.array([row for row, _ in cuts], dtype=np.int64)
        self.breaks: Array = np.array([day for _, day in cuts])

    def breaks_of(self, rows: Ints) -> tuple[Ints, Array]:
        """Days on which the likelihood of these rows jumps: the place of the row, and the day."""
        mine, place = matching(self.break_row, rows)
        return place, self.breaks[mine]

    def likelihood(self, cells: Grid, rows: Ints) -> Array:
        """The logarithm of the product of everything said, in each cell; `cells` has a row for each of `rows`."""
        total = self.clues.likelihood(cells, rows) + self.prints.likelihood(cells, rows)
        place = {int(row): i for i, row in enumerate(rows)} if self.events else {}
        for row, allowed, right, event in self.events:
            if row in place:
                here = slice(cells.start[place[row]], cells.start[place[row] + 1])
                value = self._of_event(cells.left[here], cells.right[here], allowed, right, event)
                total[here] += np.log(np.maximum(value, SMALLEST))
        return np.asarray(total)

    def _of_event(self, left: Array, right: Array, allowed: float, chance: float, event: str) -> Array:
        when = happened(event, self.known, self.walls.of_event(event, self.known))
        if when is None:
            return np.ones(len(left))
        chance *= when.chance
        morning = when.days[:, None] - 0.5
        rise = [when.weight @ np.interp(edge - morning, *AFTER_EVENT) for edge in (left, right)]
        return np.asarray(chance * allowed * (rise[1] - rise[0]) / (right - left) + 1 - chance)


def about(row: int, photograph: str, known: Lookup, walls: Walls, *, copied: bool) -> Object:
    """Everything said of one photograph but its people and its relations; `copied` when it is a copy of another."""
    object_ = known.photographs[photograph]
    limits = walls.of_print(photograph, known)
    end = object_.indexed + 1.0
    of_print = copied or object_.printed
    exposure: list[Clue] = []
    printed: list[Clue] = []
    for claim in known.claims.get(photograph, ()):
        on_print = claim.claim is ev.Claim.PRINT_STAMP or (
            of_print if claim.claim in NOT_LATER else copied and claim.claim is ev.Claim.IMPRINT
        )
        date = Dated(Span(None, claim.date.span.last)) if claim.claim in NOT_LATER else claim.date
        (printed if on_print else exposure).append(
            _dated(date, end, ev.CHANCE_WRONG[claim.trust], fades=claim.claim in ev.OF_EXPOSURE)
        )
    for made in known.made.get(photograph, ()):
        on_print = copied or not made.original
        (printed if on_print else exposure).append(_window(made, end))
    return Object(
        row,
        photograph,
        exposure,
        printed,
        tuple((1 - ev.CHANCE_WRONG[s.trust], s.event) for s in known.shown.get(photograph, ())),
        end,
        copied,
        (float(limits.first or 0), (limits.last or 0) + 1.0),
    )


def _dated(date: Dated, end: float, q: float, *, fades: bool) -> Clue:
    """A date, cut to what the laws allow; where nothing of it is left, it says nothing."""
    first, last = _cut(date.span, end)
    if date.shape is Shape.ABOUT and date.centre is not None and date.spread:
        return Clue(q, first, last, centre=date.centre, spread=date.spread)
    if date.stated is None:
        fade = _fade(date.span) if fades else 0.0
        return Clue(q, first, last, share=0.0, within=(first, last), fade=fade) if fade and first < last else Clue(
            q, first, last
        )  # fmt: skip
    start, stop = _cut(date.stated.span, end)
    if date.centre is None or not date.spread:  # an open end, a little beyond what was stated
        fade = _fade(date.span) if fades else 0.0
        start, stop = max(start - DOUBT_SPREAD * (fade < 0), first), min(stop + DOUBT_SPREAD * (fade > 0), last)
        return Clue(q, first, last, 1 - AS_STATED - NEAR_BY, (start, max(stop, start + 1)), fade=fade)
    flat = 1 - AS_STATED - NEAR_BY
    within = (start, max(stop, start + 1))
    return Clue(q, first, last, flat / (flat + AS_STATED), within, date.centre, date.spread, NEAR_BY)


def _fade(span: Span) -> float:
    """The fade of a date with an open end: back from its last day, on from its first; 0 for one without."""
    return FADE * ((span.first is None and span.last is not None) - (span.last is None and span.first is not None))


def _window(made: ev.Made, end: float) -> Clue:
    """The window of a process or format, with most of it in the years of common use."""
    q, (first, last) = ev.CHANCE_WRONG[made.trust], _cut(made.window, end)
    within = (1.0, 0.0) if made.common is None else _cut(made.common, end)
    if within[1] <= within[0]:
        return Clue(q, first, last)
    return Clue(q, first, last, 1 - COMMON_SHARE, within)


def _cut(span: Span, end: float) -> tuple[float, float]:
    first = float(FIRST_PHOTOGRAPH if span.first is None else max(span.first, FIRST_PHOTOGRAPH))
    return first, end if span.last is None else min(span.last + 1.0, end)


def made_within(wait: Array, copied: Array) -> Array:
    """K: the chance that the object was made within `wait` days of the exposure; 0 before it."""
    days = np.maximum(wait, 0.0)
    later = -np.expm1(-days / LATER_MEAN)
    return np.where(copied, later, PROMPT_SHARE * np.minimum(days / PROMPT, 1.0) + (1 - PROMPT_SHARE) * later)
