"""What is said of a photograph's date other than by its people: the likelihood of each kind of statement.

**Dated claims.** With q the chance that the claim is wrong, f the density of its shape and R the days the laws allow,

    L(x) = (1 - q) R f(x) + q,

which is 1 - q on the span with its shape and q flat over what the laws allow, in units in which knowing nothing is 1.

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
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from kinphoto.reason import evidence as ev
from kinphoto.reason.grid import Array, Cells
from kinphoto.reason.laws import FIRST_PHOTOGRAPH
from kinphoto.reason.lookup import Lookup
from kinphoto.reason.prior import QUARTER, cumulative, happened
from kinphoto.reason.span import DAYS_PER_YEAR, Dated, Shape, Span
from kinphoto.reason.walls import Walls

PROMPT_SHARE, PROMPT, LATER_MEAN = 0.85, DAYS_PER_YEAR, 20 * DAYS_PER_YEAR
"""Prints: 85 % were made within a year, the rest after 20 years in the mean (judgements of the project)."""
COMMON_SHARE = 0.85
"""Share of objects made in the years of common use of their process or format (a judgement of the project)."""
AFTER_EVENT: tuple[Array, Array] = (np.array([-1.0, 0.0, 1.0, 8.0, 61.0]), np.array([0.0, 0.05, 0.65, 0.85, 1.0]))
"""Distribution function of x - E in days: 5 % the day before, 60 % the day itself, 20 % within the week, the rest
within 60 days (judgements of the project)."""

NOT_LATER = (ev.Claim.WRITTEN, ev.Claim.POSTMARK)
OF_EXPOSURE = (ev.Claim.TAKEN, ev.Claim.INSCRIPTION, ev.Claim.RECOLLECTION)


@dataclass(frozen=True, slots=True)
class Step:
    """One term of a likelihood of a day: density `height` (per day) from `start` to `end`."""

    start: float
    end: float
    height: float


@dataclass(frozen=True, slots=True)
class Clue:
    """A statement about one day, as steps: L = q + R * (1 - q) * sum of the steps' heights."""

    q: float
    steps: tuple[Step, ...]

    def breaks(self) -> Iterable[float]:
        """Where the likelihood jumps, if it jumps at few places."""
        return (day for s in self.steps for day in (s.start, s.end)) if len(self.steps) <= 2 else ()

    def average(self, cells: Cells, allowed: float) -> Array:
        """The mean of L over each cell; `allowed` is R, in days."""
        value = np.full(len(cells), self.q)
        for s in self.steps:
            inside = np.minimum(cells.edges[1:], s.end) - np.maximum(cells.edges[:-1], s.start)
            value += allowed * (1 - self.q) * s.height * np.maximum(inside, 0.0) / cells.width
        return value


@dataclass(frozen=True)
class About:
    """What is said of one photograph: clues to the exposure, clues to the print, events shown; its limits in days."""

    photograph: str
    exposure: tuple[Clue, ...]
    printed: tuple[Clue, ...]
    events: tuple[tuple[float, str], ...]
    """Chance that the claim is right, and the event's key."""
    indexed: float
    copied: bool
    print_first: float
    print_last: float

    @property
    def allowed(self) -> float:
        """R: the days that the laws allow."""
        return self.indexed - FIRST_PHOTOGRAPH

    def breaks(self) -> list[float]:
        """Days on which the likelihood jumps."""
        of_print = [day for clue in self.printed for day in clue.breaks()]
        return [day for clue in self.exposure for day in clue.breaks()] + of_print + [d - PROMPT for d in of_print]

    def likelihood(self, cells: Cells, known: Lookup, walls: Walls) -> Array:
        """L(x), the mean over each cell."""
        value = np.ones(len(cells))
        for clue in self.exposure:
            value *= clue.average(cells, self.allowed)
        if self.printed:
            value *= self._of_print(cells)
        for right, event in self.events:
            value *= self._of_event(cells, right, event, known, walls)
        return value

    def _of_print(self, cells: Cells) -> Array:
        """u(P) summed over P, given x."""
        limits = (self.print_first, self.print_last)
        days = {day for clue in self.printed for s in clue.steps for day in (s.start, s.end)}
        inner = (day for day in days if limits[0] < day < limits[1])
        steps = Cells(np.array(sorted({*limits, *inner})))
        height = np.ones(len(steps))
        for clue in self.printed:
            height *= clue.average(steps, self.allowed)
        wait = np.diff(made_within(steps.edges[:, None] - cells.middle, copied=self.copied), axis=0)
        return (height @ wait) / made_within(self.indexed - cells.middle, copied=self.copied)

    def _of_event(self, cells: Cells, right: float, event: str, known: Lookup, walls: Walls) -> Array:
        when = happened(event, known, walls.of_event(event, known))
        if when is None:
            return np.ones(len(cells))
        right *= when.chance
        morning = when.days[:, None] - 0.5
        rise = when.weight @ np.interp(cells.edges - morning, *AFTER_EVENT)
        return right * self.allowed * np.diff(rise) / cells.width + 1 - right


def about(photograph: str, known: Lookup, walls: Walls, *, copied: bool) -> About:
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
        (printed if on_print else exposure).append(Clue(ev.CHANCE_WRONG[claim.trust], _steps(date, end)))
    for made in known.made.get(photograph, ()):
        on_print = copied or not made.original
        (printed if on_print else exposure).append(Clue(ev.CHANCE_WRONG[made.trust], _window(made, end)))
    return About(
        photograph,
        tuple(exposure),
        tuple(printed),
        tuple((1 - ev.CHANCE_WRONG[s.trust], s.event) for s in known.shown.get(photograph, ())),
        end,
        copied,
        float(limits.first or 0),
        (limits.last or 0) + 1.0,
    )


def _steps(date: Dated, end: float, share: float = 1.0) -> tuple[Step, ...]:
    """A date as steps that hold `share` together, cut to what the laws allow."""
    first = float(FIRST_PHOTOGRAPH if date.span.first is None else max(date.span.first, FIRST_PHOTOGRAPH))
    last = end if date.span.last is None else min(date.span.last + 1.0, end)
    if last <= first:
        return ()
    if date.shape is not Shape.ABOUT:
        return (Step(first, last, share / (last - first)),)
    edges = np.linspace(first, last, int(np.ceil((last - first) / QUARTER)) + 1)
    heights = share * np.diff(cumulative(date, edges, first, last)) / np.diff(edges)
    return tuple(Step(a, b, h) for a, b, h in zip(edges[:-1], edges[1:], heights, strict=True))


def _window(made: ev.Made, end: float) -> tuple[Step, ...]:
    """The window of a process or format, with most of it in the years of common use."""
    if made.common is None:
        return _steps(Dated(made.window), end)
    common = _steps(Dated(made.common), end, COMMON_SHARE)
    return common + _steps(Dated(made.window), end, 1 - COMMON_SHARE if common else 1.0)


def made_within(wait: Array, *, copied: bool) -> Array:
    """K: the chance that the object was made within `wait` days of the exposure; 0 before it."""
    days = np.maximum(wait, 0.0)
    later = -np.expm1(-days / LATER_MEAN)
    return later if copied else PROMPT_SHARE * np.minimum(days / PROMPT, 1.0) + (1 - PROMPT_SHARE) * later
