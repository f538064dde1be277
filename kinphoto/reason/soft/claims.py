"""The likelihood of what is stated about a photograph's date, apart from the people in it.

The formulas are in docs/method.md ("The soft layer") and `density`. What is added here:

**Print and exposure.** A print was made at P, after the exposure x, with the distribution K(P - x) (`density.printed`).
Statements about P multiply into a step function u(P), and P is summed out:

    L(x) = sum over steps s of u_s [K(end_s - x) - K(start_s - x)] / K(indexed - x).

The denominator keeps the prior of x flat: every print was made before it was indexed. For an x before the documented
start of a process or format, that clue's factor in u is q, whatever P is.

**Copies** are made in any year alike, so a copy made at P says that x <= P and no more:

    L(x) = sum over steps of u_s |s after x| / R  +  (product of all q) (1 - (indexed - x) / R),

the last term because nothing is known if every clue is wrong.

All photographs are worked out together on a ragged `grid`; a likelihood is its mean over each cell, as a logarithm.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import prod

import numpy as np

from kinphoto.reason.hard.hard_bounds import HardBounds
from kinphoto.reason.model import density
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import SMALLEST, Array, Ints, ranges, starts
from kinphoto.reason.model.density import DateDensity, Lag, mixture, of_date
from kinphoto.reason.model.limits import FIRST_PHOTOGRAPH
from kinphoto.reason.model.lookup import Lookup
from kinphoto.reason.model.prior import QUARTER, RANGE, EventDay, event_day
from kinphoto.reason.model.span import SAME_YEAR, Span, whole_years
from kinphoto.reason.soft.grid import Grid, grid, matching

NOT_LATER = (ev.Claim.WRITTEN, ev.Claim.POSTMARK)
PAIRS = 1 << 18
"""Pairs of a cell and a step of a print's making that are worked out together: arrays of some MB."""
_LAGS = {ev.Claim.POSTMARK: density.POSTED, ev.Claim.WRITTEN: density.WRITTEN}


@dataclass(frozen=True, slots=True)
class DayStatement:
    """A statement about one day: wrong with chance `q`, else with the density `date`.

    With a `lag`, the date is that of something that happened later, by a wait of that distribution. For an exposure
    before `since`, the clue to the print is wrong.
    """

    q: float
    date: DateDensity
    lag: Lag | None = None
    since: float = 0.0

    def breaks(self) -> tuple[float, ...]:
        """Where the likelihood jumps."""
        d = self.date
        ends = (d.first, d.last, d.start, d.end) if d.wide < 1 else (d.first, d.last)
        return tuple(float(day) for day in ends)


class Clues:
    """Clues of many rows: `row` and `allowed` (R, in days) of each."""

    def __init__(self, clues: Sequence[tuple[int, float, DayStatement]]) -> None:
        self.row: Ints = np.array([row for row, _, _ in clues], dtype=np.int64)
        self.q, self.allowed = np.array([(c.q, r) for _, r, c in clues]).reshape(-1, 2).T
        self.dates = DateDensity.stack([c.date for _, _, c in clues])
        lags = [c.lag or Lag(0.0, 0.0, 0.0) for _, _, c in clues]
        self.lags: Array = np.array([(lag.share, lag.soon, lag.late) for lag in lags]).reshape(-1, 3).T

    def likelihood(self, cells: Grid, rows: Ints) -> Array:
        """The logarithm of the product of these rows' clues in each cell; `cells` has a row for each of `rows`."""
        mine, place = matching(self.row, rows)
        at, begin = cells.of(place)
        clue = np.repeat(mine, np.diff(begin))
        left, right, mass = cells.left[at], cells.right[at], np.zeros(len(at))
        waits = self.lags[2][clue] > 0
        some = np.flatnonzero(~waits)
        date = self.dates.take(clue[some])
        rising = (density.before(np.clip(day[some], date.first, date.last), date) for day in (right, left))
        mass[some] = next(rising) - next(rising)  # nothing beyond the span, where a bell has a little yet
        some = np.flatnonzero(waits)
        date, lag = self.dates.take(clue[some]), Lag(*self.lags[:, clue[some]])
        rising = (density.before_lag(day[some], date, lag, FIRST_PHOTOGRAPH) for day in (right, left))
        mass[some] = next(rising) - next(rising)
        value = mixture(self.q[clue], self.allowed[clue] * mass / cells.width[at])
        return cells.summed(at, np.log(np.maximum(value, SMALLEST)))


class Prints:
    """Statements about the making of prints, summed out.

    Each print has as many *readings* as it has starts before the exposure, and one: u(P) if the exposure is earlier
    than all starts, later than the first of them, and so on. A reading is a row of `made`, with u in steps of `height`.
    """

    def __init__(self, objects: Sequence[PhotographClues]) -> None:
        objects = [t for t in objects if t.printed]
        self.row: Ints = np.array([t.row for t in objects], dtype=np.int64)
        self.indexed, self.allowed, self.share, self.prompt, self.weeks, self.wrong = (
            np.array([(t.indexed, t.allowed, *t.promptness, prod(c.q for c in t.printed)) for t in objects])
            .reshape(-1, 6)
            .T
        )
        self.copied = np.array([t.copied for t in objects], dtype=bool)
        starts_of = [sorted({c.since for c in t.printed if c.since}) for t in objects]
        self.starts: Array = np.full((len(objects), max(map(len, starts_of), default=0)), np.inf)
        for row, days in zip(self.starts, starts_of, strict=True):
            row[: len(days)] = days
        self.reading = starts(np.array([len(days) + 1 for days in starts_of], dtype=np.int64))
        readings = [
            (t, [c for c in t.printed if c.since <= since], prod(c.q for c in t.printed if c.since > since))
            for t, days in zip(objects, starts_of, strict=True)
            for since in (0.0, *days)
        ]
        limits = np.array([t.limits for t, *_ in readings]).reshape(-1, 2)
        cuts = [(i, day) for i, (_, clues, _) in enumerate(readings) for clue in clues for day in _step_edges(clue)]
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
        kind = [v[which] for v in (self.share, self.prompt, self.weeks, self.copied)]
        total = np.empty(len(at))
        for part in np.split(np.arange(len(at)), np.flatnonzero(np.diff(np.cumsum(sizes) // PAIRS)) + 1):
            # Every cell with every step of its reading.
            some, step = np.repeat(part, sizes[part]), ranges(self.made.start[reading[part]], sizes[part])
            how = [v[some] for v in kind]
            ends = [
                _area(edge[step] - left[some], *how) - _area(edge[step] - right[some], *how)
                for edge in (self.made.right, self.made.left)
            ]
            total[part] = np.bincount(some, self.height[step] * (ends[0] - ends[1]), len(at))[part] / width[part]
        until, allowed, copied = self.indexed[which] - day, self.allowed[which], kind[3]
        total = np.where(
            copied,
            total / allowed + self.wrong[which] * (1 - until / allowed),
            total / np.maximum(density.printed(until, *kind[:3]), SMALLEST),
        )
        return cells.summed(at, np.log(np.maximum(total, SMALLEST)))


def _step_edges(clue: DayStatement) -> Iterable[float]:
    """The days at which the steps of u(P) begin."""
    first, last = float(clue.date.first), float(clue.date.last)
    if clue.lag is not None:
        width = last - first
        finest = min(clue.lag.soon / 5, max(width / 8, 0.1))
        back = np.concatenate([[0.0], finest * 1.2 ** np.arange(np.log(RANGE / finest) / np.log(1.2))])
        inside = np.linspace(first, last, int(np.clip(width / finest, 1, 40)) + 1)
        return [day for day in np.concatenate([last - back, inside]).tolist() if day > FIRST_PHOTOGRAPH]
    if clue.date.bell:
        steps = int(np.ceil((last - first) / QUARTER))
        return [*clue.breaks(), *(float(day) for day in np.linspace(first, last, steps + 1))]
    return clue.breaks()


def _area(wait: Array, share: Array, prompt: Array, weeks: Array, copied: Array) -> Array:
    """The integral of K up to `wait`; of a copy that of `wait` itself."""
    return np.where(copied, np.maximum(wait, 0.0) ** 2 / 2, density.printed_area(wait, share, prompt, weeks))


@dataclass(frozen=True, slots=True)
class PhotographClues:
    """The statements about one photograph of a group: clues to the exposure, clues to the print, events shown."""

    row: int
    photograph: str
    exposure: list[DayStatement]
    printed: list[DayStatement]
    events: tuple[tuple[float, str, Span | None], ...]
    """Chance that the claim is right, the event's key, and how long after it the picture was taken (None: it shows the
    event)."""
    indexed: float
    copied: bool
    posted: bool
    stamped: bool
    limits: tuple[float, float]
    """Within which it was printed."""

    @property
    def allowed(self) -> float:
        """R: the days that the laws allow."""
        return self.indexed - FIRST_PHOTOGRAPH

    @property
    def promptness(self) -> tuple[float, float, float]:
        """The share of such prints that are made soon, within how many days, and the share made within weeks."""
        if self.posted:
            return density.SENT_SHARE, density.SENT_PROMPT, 0.0
        if self.stamped:
            return density.LABORATORY_SHARE, density.LABORATORY, density.WITHIN_WEEKS
        return density.PROMPT_SHARE, density.PROMPT, 0.0

    def breaks(self) -> Iterator[float]:
        """Days on which the likelihood jumps."""
        for clue in self.exposure:
            yield from clue.breaks()
        for clue in self.printed:
            if clue.since:
                yield clue.since
            if not clue.date.bell:
                waits = (0.0, self.promptness[1], *((density.WEEKS,) if self.promptness[2] else ()))
                yield from (day - wait for day in clue.breaks() for wait in waits)


@dataclass(frozen=True, slots=True)
class EventStatement:
    """A picture of an event, or one dated by it: `right` with that chance, else any of the `allowed` days."""

    row: int
    allowed: float
    right: float
    when: EventDay
    lapse: Span | None
    indexed: float

    def before(self, day: Array) -> Array:
        """The chance that the picture was taken before these points, if claim and date are right."""
        if self.lapse is not None:
            return density.taken_since(day, self.when.days, self.when.weight, self.lapse, self.indexed)
        since, half, area = day - self.when.days[:, None], self.when.step / 2, density.after_event_area
        if self.when.step <= 1:
            return np.asarray(self.when.weight @ density.after_event(since + 0.5))
        # The event is on any of the days about each of `when.days` alike, so H is averaged over them.
        return np.asarray(self.when.weight @ (area(since + 0.5 + half) - area(since + 0.5 - half)) / self.when.step)

    def breaks(self) -> Iterator[float]:
        """Days on which the likelihood jumps."""
        first, last = float(self.when.days[0] - self.when.step / 2), float(self.when.days[-1] + self.when.step / 2)
        if self.lapse is None:
            eve, day, *later = density.AFTER_EVENT[0].tolist()
            yield from (first + eve, first + day, *(last - 1 + wait for wait in later))
            return
        if self.lapse == SAME_YEAR:
            ends = whole_years(Span(int(first), int(last)))
            yield from (float(ends.first or 0), (ends.last or 0) + 1.0)
            return
        yield from (
            day + lapse for lapse in (self.lapse.first, self.lapse.last) if lapse is not None for day in (first, last)
        )


class GroupStatements:
    """All statements about the photographs of some groups, apart from people and relations. The groups are rows."""

    def __init__(self, groups: Sequence[tuple[str, ...]], known: Lookup, bounds: HardBounds) -> None:
        self.known, self.bounds = known, bounds
        originals, negatives = _related(known)
        stated = known.claims.keys() | known.made.keys() | known.shown.keys() | known.by_event.keys()
        objects = [
            clues_of(
                row, photograph, known, bounds, copied=not originals[photograph].isdisjoint(members),
                prints=negatives[photograph].intersection(members),
            )
            for row, members in enumerate(groups)
            for photograph in members
            if photograph in stated
        ]  # fmt: skip
        self.clues = Clues([(o.row, o.allowed, clue) for o in objects for clue in o.exposure])
        self.prints = Prints(objects)
        self.events = [
            EventStatement(o.row, o.allowed, right * when.chance, when, lapse, o.indexed)
            for o in objects
            for right, key, lapse in o.events
            if (when := event_day(key, known, bounds.of_event(key, known))) is not None
        ]
        cuts = [(o.row, day) for o in objects for day in o.breaks()]
        cuts += [(event.row, day) for event in self.events for day in event.breaks()]
        cuts.sort()
        self.break_row: Ints = np.array([row for row, _ in cuts], dtype=np.int64)
        self.breaks: Array = np.array([day for _, day in cuts])

    def breaks_of(self, rows: Ints) -> tuple[Ints, Array]:
        """Days on which the likelihood of these rows jumps: the place of the row, and the day."""
        mine, place = matching(self.break_row, rows)
        return place, self.breaks[mine]

    def likelihood(self, cells: Grid, rows: Ints) -> Array:
        """The log-likelihood of all these statements, in each cell; `cells` has a row for each of `rows`."""
        total = self.clues.likelihood(cells, rows) + self.prints.likelihood(cells, rows)
        place = {int(row): i for i, row in enumerate(rows)} if self.events else {}
        for event in self.events:
            if event.row in place:
                here = slice(cells.start[place[event.row]], cells.start[place[event.row] + 1])
                rise = [event.before(edge[here]) for edge in (cells.left, cells.right)]
                value = mixture(1 - event.right, event.allowed * (rise[1] - rise[0]) / cells.width[here])
                total[here] += np.log(np.maximum(value, SMALLEST))
        return np.asarray(total)


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


def clues_of(
    row: int, photograph: str, known: Lookup, bounds: HardBounds, *, copied: bool, prints: Iterable[str] = ()
) -> PhotographClues:
    """The statements about one photograph apart from people and relations; `copied` if it is a copy of another.

    `prints` are others from the same negative.
    """
    object_ = known.photographs[photograph]
    limits = bounds.of_print(photograph, known)
    end = object_.indexed + 1.0
    of_print = copied or object_.printed
    exposure: list[DayStatement] = []
    printed: list[DayStatement] = []
    for claim in known.claims.get(photograph, ()):
        on_print = claim.claim is ev.Claim.PRINT_STAMP or (
            of_print if claim.claim in NOT_LATER else copied and claim.claim is ev.Claim.IMPRINT
        )
        lag = _LAGS.get(claim.claim)
        date = of_date(claim.date, FIRST_PHOTOGRAPH, end, fades=claim.claim.of_exposure)
        (printed if on_print else exposure).append(DayStatement(ev.CHANCE_WRONG[claim.trust], date, lag))
    earliest = min((_start(other, known) for other in prints), default=end)
    for made in known.made.get(photograph, ()):
        if copied or not made.original:
            window = _window(made, end)
            printed.append(window if copied else replace(window, since=min(float(window.date.first), earliest)))
        else:
            exposure.append(_window(made, end))
    stated = {claim.claim for claim in known.claims.get(photograph, ())}
    return PhotographClues(
        row,
        photograph,
        exposure,
        printed,
        (
            *((1 - ev.CHANCE_WRONG[s.trust], s.event, None) for s in known.shown.get(photograph, ())),
            *((1 - ev.CHANCE_WRONG[s.trust], s.event, s.lapse) for s in known.by_event.get(photograph, ())),
        ),
        end,
        copied,
        ev.Claim.POSTMARK in stated,
        ev.Claim.PRINT_STAMP in stated,
        (float(limits.first or 0), (limits.last or 0) + 1.0),
    )


def _start(photograph: str, known: Lookup) -> float:
    """The latest documented start of how a print was made; the first photograph, where none is known."""
    made = [m.window.first or FIRST_PHOTOGRAPH for m in known.made.get(photograph, ()) if not m.original]
    return float(max(made, default=FIRST_PHOTOGRAPH))


def _window(made: ev.Made, end: float) -> DayStatement:
    """The window of a process or format, with most of it in the years of common use."""
    first, last = _clipped(made.window, end)
    start, stop = (0.0, 0.0) if made.common is None else _clipped(made.common, end)
    uncommon = 1.0 if stop <= start else density.UNCOMMON
    return DayStatement(ev.CHANCE_WRONG[made.trust], DateDensity(first, last, uncommon, start, stop))


def _clipped(span: Span, end: float) -> tuple[float, float]:
    first = float(FIRST_PHOTOGRAPH if span.first is None else max(span.first, FIRST_PHOTOGRAPH))
    return first, end if span.last is None else min(span.last + 1.0, end)
