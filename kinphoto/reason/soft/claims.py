"""What is said of a photograph's date other than by its people: the likelihood of each kind of statement.

**Dated claims.** With q the chance that the claim is wrong, f the density of its shape and R the days the laws allow,

    L(x) = (1 - q) R f(x) + q,

which is 1 - q on the span with its shape and q flat over what the laws allow, in units in which knowing nothing is 1.
"Before a" and "after a" said of the picture fade away from a: nobody says "before 1914" of a picture of 1860.

**Events.** A picture of an event at E was taken at x with density h(x - E): the day itself, or the days after, or some
weeks later, when the couple goes to the photographer when next in town. L(x) = c R (p_E * h)(x) + 1 - c, where c is
the chance that claim and date are both right.

**Print against exposure.** The making of a print, P, follows the exposure with the distribution

    K(t) = 0.85 min(t / 1 year, 1) + 0.15 (1 - exp(-t / 20 years)),      t = P - x >= 0,

a card that went through the post with 0.95, 60 days and 0.05, for it was made to be sent. Statements about P (a window
of a process, a stamp, a postmark, something written) multiply into a step function u(P) in the same units, and P is
summed out:

    L(x) = sum over steps s of u_s [K(end_s - x) - K(start_s - x)] / K(indexed - x).

The denominator keeps the prior of x flat: every print was made before it was indexed. A photographer's mark speaks of
the exposure, and on a copy of P.

**Documented starts.** Where a process or format is identified rightly and nobody says that the print is a copy, the
picture itself was not taken before the start of the window: it was taken to be printed so. For earlier x the clue's
factor in u is q, whatever P is. Another print from the same negative moves that start to its own, if that is earlier.

**Postmarks and what is written** are some time after the print. With D the day they tell, P = D - T, where T is a
mixture of two exponentials (`POSTED`, `WRITTEN`); the density of P takes the place of f.

**Copies.** A picture is copied in one year as well as in another, so a copy made at P says that x <= P and no more:

    L(x) = sum over steps of u_s |s after x| / R  +  (product of all q) (1 - (indexed - x) / R),

the last term since nothing is said if all the clues are wrong.

All photographs are worked out together, on a ragged `grid`; a likelihood is its mean over each cell, as a logarithm.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import prod

import numpy as np
from scipy.special import log_ndtr, ndtr

from kinphoto.reason.hard.laws import FIRST_PHOTOGRAPH
from kinphoto.reason.hard.walls import Walls
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.lookup import Lookup
from kinphoto.reason.model.prior import ABOUT_NORMAL, AS_STATED, NEAR_BY, QUARTER, RANGE, Happened, happened
from kinphoto.reason.model.span import DAYS_PER_YEAR, DOUBT_SPREAD, Dated, Shape, Span
from kinphoto.reason.soft.grid import Grid, grid, starts

PROMPT_SHARE, PROMPT, LATER_MEAN = 0.85, DAYS_PER_YEAR, 20 * DAYS_PER_YEAR
"""Prints: 85 % were made within a year, the rest after 20 years in the mean (judgements of the project)."""
SENT_SHARE, SENT_PROMPT = 0.95, 60.0
"""Cards that went through the post: 95 % were made within 60 days, the rest as above (judgements of the project)."""
COMMON_SHARE = 0.85
"""Share of objects made in the years of common use of their process or format (a judgement of the project)."""
AFTER_EVENT: tuple[Array, Array] = (np.array([-1.0, 0.0, 1.0, 8.0, 61.0]), np.array([0.0, 0.05, 0.65, 0.85, 1.0]))
"""Distribution function of x - E in days: 5 % the day before, 60 % the day itself, 20 % within the week, the rest
within 60 days (judgements of the project)."""

FADE = 10 * DAYS_PER_YEAR
"""Mean distance of a picture from the day it is said to be before or after (a judgement of the project)."""

_AFTER_EVENT_AREA: Array = np.concatenate(
    [[0.0], np.cumsum(np.diff(AFTER_EVENT[0]) * (AFTER_EVENT[1][1:] + AFTER_EVENT[1][:-1]) / 2)]
)

NOT_LATER = (ev.Claim.WRITTEN, ev.Claim.POSTMARK)
SMALLEST = 1e-300


@dataclass(frozen=True, slots=True)
class Lag:
    """How long something happens after a print was made: `share` of it after `soon` days in the mean, the rest after
    `late` days; both exponential."""

    share: float
    soon: float
    late: float


POSTED = Lag(0.7, 60.0, 3 * DAYS_PER_YEAR)
"""A card is posted within a few years of being made (a judgement of the project)."""
WRITTEN = Lag(0.5, DAYS_PER_YEAR, 25 * DAYS_PER_YEAR)
"""What is written on a print is as often an heir's caption, decades later (a judgement of the project)."""
_LAGS = {ev.Claim.POSTMARK: POSTED, ev.Claim.WRITTEN: WRITTEN}
_NO_LAG = Lag(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class DayStatement:
    """A statement about one day: wrong with chance `q`, else `share` of it flat from `first` to `last`, the rest in the
    narrower years `within`, flat or, with a `fade`, falling off exponentially from their end (positive) or beginning
    (negative); or, with a `spread`, so much as `normal` normal about `centre`. Points on the line of days.

    With a `lag`, that tells the day of something that happened so long after the day in question, which lies anywhere
    up to `last`. An exposure before `since` is one of which a clue to the print is wrong.
    """

    q: float
    first: float
    last: float
    share: float = 1.0
    within: tuple[float, float] = (0.0, 1.0)
    centre: float = 0.0
    spread: float = 0.0
    normal: float = ABOUT_NORMAL
    fade: float = 0.0
    lag: Lag = _NO_LAG
    since: float = 0.0

    def breaks(self) -> tuple[float, ...]:
        """Where the likelihood jumps."""
        return (self.first, self.last, *self.within) if self.share < 1 else (self.first, self.last)


class Clues:
    """Clues of many rows: `row` and `allowed` (R, in days) of each."""

    def __init__(self, clues: Sequence[tuple[int, float, DayStatement]]) -> None:
        self.row: Ints = np.array([row for row, _, _ in clues], dtype=np.int64)
        values = [
            (
                *(r, c.q, c.first, c.last, c.share, *c.within, c.centre, c.spread, c.normal, c.fade),
                *(c.lag.share, c.lag.soon, c.lag.late),
            )
            for _, r, c in clues
        ]
        self.values: Array = np.array(values, dtype=np.float64).reshape(-1, 14).T

    def likelihood(self, cells: Grid, rows: Ints) -> Array:
        """The logarithm of the product of these rows' clues in each cell; `cells` has a row for each of `rows`."""
        mine, place = matching(self.row, rows)
        at, begin = cells.of(place)
        allowed, q, first, last, share, start, end, centre, spread, bell, fade, *lag = (
            np.repeat(v, np.diff(begin)) for v in self.values[:, mine]
        )
        something, last = last > first, np.maximum(last, first + 1e-9)
        waiting = np.flatnonzero(lag[2])
        parts = [v[waiting] for v in (first, last, centre, spread, *lag)]

        def rising(day: Array) -> Array:
            inside = np.clip(day, first, last)
            narrow = np.clip((day - start) / (end - start), 0, 1)
            some = np.flatnonzero(fade)
            narrow[some] = faded(narrow[some], (end - start)[some], fade[some])
            total = share * (inside - first) / (last - first) + (1 - share) * narrow
            some = np.flatnonzero(spread > 0)
            normal = ndtr((inside[some] - centre[some] - 0.5) / spread[some])
            total[some] = bell[some] * normal + (1 - bell[some]) * total[some]
            total[waiting] = _before(day[waiting], *parts)
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


def _before(
    day: Array, first: Array, last: Array, centre: Array, spread: Array, share: Array, soon: Array, late: Array
) -> Array:
    """The distribution function of D - T, which lies between the first photograph and `last`; D is flat from `first`
    to `last` or, with a `spread`, mostly normal about `centre`."""
    start, width = float(FIRST_PHOTOGRAPH), last - first

    def reached(at: Array) -> Array:
        near, far = np.maximum(first - at, 0.0), np.maximum(last - at, 0.0)
        total = np.clip(at - first, 0.0, width) / width
        about = np.flatnonzero(spread > 0)
        s = spread[about]
        z = (at[about] - centre[about] - 0.5) / s
        normal = ndtr(z)
        for weight, mean in ((share, soon), (1 - share, late)):
            total += weight * mean / width * (np.exp(-near / mean) - np.exp(-far / mean))
            m = mean[about]
            normal += weight[about] * np.exp(z * s / m + (s / m) ** 2 / 2 + log_ndtr(-z - s / m))
        total[about] = ABOUT_NORMAL * normal + (1 - ABOUT_NORMAL) * total[about]
        return np.asarray(total)

    inside = np.clip(day, start, last)
    early, whole = reached(np.full_like(day, start)), reached(last)
    return np.asarray((reached(inside) - early) / np.maximum(whole - early, SMALLEST))


class Prints:
    """What is said of the making of prints, summed out.

    Each print has as many *readings* as it has starts before the exposure, and one: u(P) if the exposure is earlier
    than all starts, later than the first of them, and so on. A reading is a row of `made`, with u in steps of `height`.
    """

    def __init__(self, told: Sequence[Object]) -> None:
        told = [t for t in told if t.printed]
        self.row: Ints = np.array([t.row for t in told], dtype=np.int64)
        self.indexed, self.allowed, self.share, self.prompt, self.wrong = (
            np.array([(t.indexed, t.allowed, *t.promptness, prod(c.q for c in t.printed)) for t in told])
            .reshape(-1, 5)
            .T
        )
        self.copied = np.array([t.copied for t in told], dtype=bool)
        starts_of = [sorted({c.since for c in t.printed if c.since}) for t in told]
        self.starts: Array = np.full((len(told), max(map(len, starts_of), default=0)), np.inf)
        for row, days in zip(self.starts, starts_of, strict=True):
            row[: len(days)] = days
        self.reading = starts(np.array([len(days) + 1 for days in starts_of], dtype=np.int64))
        readings = [
            (t, [c for c in t.printed if c.since <= since], prod(c.q for c in t.printed if c.since > since))
            for t, days in zip(told, starts_of, strict=True)
            for since in (0.0, *days)
        ]
        limits = np.array([t.limits for t, *_ in readings]).reshape(-1, 2)
        cuts = [(i, day) for i, (_, clues, _) in enumerate(readings) for clue in clues for day in _cuts(clue)]
        which, at = (np.array([c[k] for c in cuts]) for k in (0, 1))
        self.made = grid(limits[:, 0], limits[:, 1], which.astype(np.int64), at, lattice=False)
        clues = Clues([(i, t.allowed, clue) for i, (t, some, _) in enumerate(readings) for clue in some])
        log = clues.likelihood(self.made, np.arange(len(readings)))
        self.height: Array = np.exp(log) * np.array([rest for *_, rest in readings])[self.made.row]

    def likelihood(self, cells: Grid, rows: Ints) -> Array:
        """As of `Clues`."""
        mine, place = matching(self.row, rows)
        at, begin = cells.of(place)
        which = np.repeat(mine, np.diff(begin))
        left, right, day, width = cells.left[at], cells.right[at], cells.middle[at], cells.width[at]
        reading = self.reading[which] + (self.starts[which] <= day[:, None]).sum(axis=1)
        sizes = self.made.sizes[reading]
        kind = [v[which] for v in (self.share, self.prompt, self.copied)]
        total = np.zeros(len(at))
        for rank in range(int(sizes.max(initial=0))):
            some = np.flatnonzero(sizes > rank)
            step = self.made.start[reading[some]] + rank
            how = [v[some] for v in kind]
            ends = [
                made_by(edge[step] - left[some], *how) - made_by(edge[step] - right[some], *how)
                for edge in (self.made.right, self.made.left)
            ]
            total[some] += self.height[step] * (ends[0] - ends[1]) / width[some]
        until, allowed, copied = self.indexed[which] - day, self.allowed[which], kind[2]
        total = np.where(
            copied,
            total / allowed + self.wrong[which] * (1 - until / allowed),
            total / np.maximum(made_within(until, *kind[:2]), SMALLEST),
        )
        return cells.summed(at, np.log(np.maximum(total, SMALLEST)))


def _cuts(clue: DayStatement) -> Iterable[float]:
    """Where to cut u(P) into steps."""
    if clue.lag.late:
        width = clue.last - clue.first
        finest = min(clue.lag.soon / 5, max(width / 8, 0.1))
        back = np.concatenate([[0.0], finest * 1.2 ** np.arange(np.log(RANGE / finest) / np.log(1.2))])
        inside = np.linspace(clue.first, clue.last, int(np.clip(width / finest, 1, 40)) + 1)
        return [day for day in np.concatenate([clue.last - back, inside]).tolist() if day > FIRST_PHOTOGRAPH]
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
    exposure: list[DayStatement]
    printed: list[DayStatement]
    events: tuple[tuple[float, str], ...]
    """Chance that the claim is right, and the event's key."""
    indexed: float
    copied: bool
    posted: bool
    limits: tuple[float, float]
    """Within which it was printed."""

    @property
    def allowed(self) -> float:
        """R: the days that the laws allow."""
        return self.indexed - FIRST_PHOTOGRAPH

    @property
    def promptness(self) -> tuple[float, float]:
        """The share of such prints that are made soon, and within how many days."""
        return (SENT_SHARE, SENT_PROMPT) if self.posted else (PROMPT_SHARE, PROMPT)

    def breaks(self) -> Iterator[float]:
        """Days on which the likelihood jumps."""
        for clue in self.exposure:
            yield from clue.breaks()
        for clue in self.printed:
            if clue.since:
                yield clue.since
            if clue.spread == 0:
                yield from (day - wait for day in clue.breaks() for wait in (0.0, self.promptness[1]))


class GroupStatements:
    """All that is said of the photographs of some groups, but their people and their relations. The groups are rows."""

    def __init__(self, groups: Sequence[tuple[str, ...]], known: Lookup, walls: Walls) -> None:
        self.known, self.walls = known, walls
        originals, negatives = _related(known)
        told = known.claims.keys() | known.made.keys() | known.shown.keys()
        objects = [
            about(
                row, photograph, known, walls, copied=not originals[photograph].isdisjoint(members),
                prints=negatives[photograph].intersection(members),
            )
            for row, members in enumerate(groups)
            for photograph in members
            if photograph in told
        ]  # fmt: skip
        self.clues = Clues([(o.row, o.allowed, clue) for o in objects for clue in o.exposure])
        self.prints = Prints(objects)
        shown = [
            (o, right, happened(key, known, walls.of_event(key, known))) for o in objects for right, key in o.events
        ]
        self.events = [(o.row, o.allowed, right, when) for o, right, when in shown if when is not None]
        cuts = [(o.row, day) for o in objects for day in o.breaks()]
        cuts += [(row, day) for row, _, _, when in self.events for day in _breaks_of_event(when)]
        cuts.sort()
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
        for row, allowed, right, when in self.events:
            if row in place:
                here = slice(cells.start[place[row]], cells.start[place[row] + 1])
                rise = [_shown_before(edge[here], when) for edge in (cells.left, cells.right)]
                chance = right * when.chance
                value = chance * allowed * (rise[1] - rise[0]) / cells.width[here] + 1 - chance
                total[here] += np.log(np.maximum(value, SMALLEST))
        return np.asarray(total)


def _shown_before(day: Array, when: Happened) -> Array:
    """The chance that a picture of an event was taken before these points, if claim and date are right.

    The event is on any of the `when.step` days about each of `when.days` alike, so h is averaged over them.
    """
    since = day - when.days[:, None]
    if when.step <= 1:
        return np.asarray(when.weight @ np.interp(since + 0.5, *AFTER_EVENT))
    half = when.step / 2
    return np.asarray(when.weight @ (_area(since + 0.5 + half) - _area(since + 0.5 - half)) / when.step)


def _area(day: Array) -> Array:
    """The integral of the distribution function AFTER_EVENT up to `day`."""
    days, rising = AFTER_EVENT
    inside = np.clip(day, days[0], days[-1])
    at = np.clip(np.searchsorted(days, inside, side="right") - 1, 0, len(days) - 2)
    past = inside - days[at]
    slope = (np.diff(rising) / np.diff(days))[at]
    return np.asarray(_AFTER_EVENT_AREA[at] + past * (rising[at] + past * slope / 2) + np.maximum(day - days[-1], 0.0))


def _breaks_of_event(when: Happened) -> Iterator[float]:
    """Days on which the likelihood of a picture of an event jumps."""
    first, last = float(when.days[0] - when.step / 2), float(when.days[-1] + when.step / 2)
    eve, day, *later = AFTER_EVENT[0].tolist()
    yield from (first + eve, first + day, *(last - 1 + wait for wait in later))


def _related(known: Lookup) -> tuple[dict[str, set[str]], dict[str, set[str]]]:
    """What each photograph is a copy of, and the other prints from its negative."""
    originals, negatives = defaultdict[str, set[str]](set), defaultdict[str, set[str]](set)
    for r in known.relations:
        if r.related is ev.Related.COPY_OF:
            originals[r.photograph].add(r.other)
        elif r.related is ev.Related.SAME_NEGATIVE:
            negatives[r.photograph].add(r.other)
            negatives[r.other].add(r.photograph)
    return originals, negatives


def about(
    row: int, photograph: str, known: Lookup, walls: Walls, *, copied: bool, prints: Iterable[str] = ()
) -> Object:
    """Everything said of one photograph but its people and its relations; `copied` when it is a copy of another.

    `prints` are others from the same negative.
    """
    object_ = known.photographs[photograph]
    limits = walls.of_print(photograph, known)
    end = object_.indexed + 1.0
    of_print = copied or object_.printed
    exposure: list[DayStatement] = []
    printed: list[DayStatement] = []
    for claim in known.claims.get(photograph, ()):
        on_print = claim.claim is ev.Claim.PRINT_STAMP or (
            of_print if claim.claim in NOT_LATER else copied and claim.claim is ev.Claim.IMPRINT
        )
        lag = _LAGS.get(claim.claim)
        clue = (
            _dated(claim.date, end, ev.CHANCE_WRONG[claim.trust], fades=claim.claim in ev.OF_EXPOSURE)
            if lag is None
            else _happened_later(claim.date, end, ev.CHANCE_WRONG[claim.trust], lag)
        )
        (printed if on_print else exposure).append(clue)
    earliest = min((_start(other, known) for other in prints), default=end)
    for made in known.made.get(photograph, ()):
        if copied or not made.original:
            window = _window(made, end)
            printed.append(window if copied else replace(window, since=min(window.first, earliest)))
        else:
            exposure.append(_window(made, end))
    return Object(
        row,
        photograph,
        exposure,
        printed,
        tuple((1 - ev.CHANCE_WRONG[s.trust], s.event) for s in known.shown.get(photograph, ())),
        end,
        copied,
        any(claim.claim is ev.Claim.POSTMARK for claim in known.claims.get(photograph, ())),
        (float(limits.first or 0), (limits.last or 0) + 1.0),
    )


def _start(photograph: str, known: Lookup) -> float:
    """The latest documented start of how a print was made; the first photograph, where none is known."""
    made = [m.window.first or FIRST_PHOTOGRAPH for m in known.made.get(photograph, ()) if not m.original]
    return float(max(made, default=FIRST_PHOTOGRAPH))


def _happened_later(date: Dated, end: float, q: float, lag: Lag) -> DayStatement:
    """The day of something that happened after the print was made, cut to what the laws allow."""
    first, last = _cut(date.span, end)
    if date.centre is not None and date.spread:
        return DayStatement(q, first, last, centre=date.centre, spread=date.spread, lag=lag)
    return DayStatement(q, first, last, lag=lag)


def _dated(date: Dated, end: float, q: float, *, fades: bool) -> DayStatement:
    """A date, cut to what the laws allow; where nothing of it is left, it says nothing."""
    first, last = _cut(date.span, end)
    if date.shape is Shape.ABOUT and date.centre is not None and date.spread:
        return DayStatement(q, first, last, centre=date.centre, spread=date.spread)
    if date.stated is None:
        fade = _fade(date.span) if fades else 0.0
        if fade and first < last:
            return DayStatement(q, first, last, share=0.0, within=(first, last), fade=fade)
        return DayStatement(q, first, last)
    start, stop = _cut(date.stated.span, end)
    if date.centre is None or not date.spread:  # an open end, a little beyond what was stated
        fade = _fade(date.span) if fades else 0.0
        start, stop = max(start - DOUBT_SPREAD * (fade < 0), first), min(stop + DOUBT_SPREAD * (fade > 0), last)
        return DayStatement(q, first, last, 1 - AS_STATED - NEAR_BY, (start, max(stop, start + 1)), fade=fade)
    flat = 1 - AS_STATED - NEAR_BY
    within = (start, max(stop, start + 1))
    return DayStatement(q, first, last, flat / (flat + AS_STATED), within, date.centre, date.spread, NEAR_BY)


def _fade(span: Span) -> float:
    """The fade of a date with an open end: back from its last day, on from its first; 0 for one without."""
    return FADE * ((span.first is None and span.last is not None) - (span.last is None and span.first is not None))


def _window(made: ev.Made, end: float) -> DayStatement:
    """The window of a process or format, with most of it in the years of common use."""
    q, (first, last) = ev.CHANCE_WRONG[made.trust], _cut(made.window, end)
    within = (1.0, 0.0) if made.common is None else _cut(made.common, end)
    if within[1] <= within[0]:
        return DayStatement(q, first, last)
    return DayStatement(q, first, last, 1 - COMMON_SHARE, within)


def _cut(span: Span, end: float) -> tuple[float, float]:
    first = float(FIRST_PHOTOGRAPH if span.first is None else max(span.first, FIRST_PHOTOGRAPH))
    return first, end if span.last is None else min(span.last + 1.0, end)


def made_within(wait: Array, share: Array, prompt: Array) -> Array:
    """K: the chance that a print was made within `wait` days of the exposure; 0 before it."""
    days = np.maximum(wait, 0.0)
    return np.asarray(share * np.minimum(days / prompt, 1.0) - (1 - share) * np.expm1(-days / LATER_MEAN))


def made_by(wait: Array, share: Array, prompt: Array, copied: Array) -> Array:
    """The integral of K up to `wait`; of a copy that of `wait` itself."""
    days = np.maximum(wait, 0.0)
    soon = np.minimum(days, prompt)
    prompt_part = soon * (days - soon / 2) / prompt
    late_part = days + LATER_MEAN * np.expm1(-days / LATER_MEAN)
    return np.where(copied, days**2 / 2, share * prompt_part + (1 - share) * late_part)
