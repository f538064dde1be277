"""Every density over days, in plain numpy, and the mixture by which every statement counts.

Each is a pure function of points, which broadcast with its parameters. Day d is the interval [d, d + 1). A density is
written as its distribution function F, because what is needed is its mean over a cell: (F(end) - F(start)) / (end -
start).

Ages are in `perception`, lifespans in `survival`, and the priors made of them in `prior`. `kinphoto/reason/soft`
multiplies and tabulates these functions for a whole archive; it has no density of its own. *Ours* marks a judgement of
this project.
"""

from __future__ import annotations

import operator
from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from scipy.special import log_ndtr, ndtr

from kinphoto.reason.model.arrays import SMALLEST, Array, Ints
from kinphoto.reason.model.limits import EVENT_AFTER, EVENT_BEFORE, FIRST_PHOTOGRAPH, LAID_OUT_WITHIN
from kinphoto.reason.model.span import DAYS_PER_YEAR, DOUBT_SPREAD, SAME_YEAR, WIDENED, Dated, Shape, Span, whole_years

Value = Array | float

ABOUT_FLAT = 0.05
"""Share of an ABOUT date that is flat over its span; the rest is normal (ours)."""
NEAR_BY, ANYWHERE = 0.35, 0.05
"""Shares of a DOUBTFUL date: normal about its middle, and flat over all possible days; the rest is as stated (ours)."""
FADE = 10 * DAYS_PER_YEAR
"""Mean distance of a picture from the day it is stated to be before or after (ours)."""
SOON, SOON_SHARE, LATE_MEAN = 60.0, 0.8, 5 * DAYS_PER_YEAR
"""Christenings: 80 % come within 60 days, the others 5 years later in the mean (ours)."""
PROMPT_SHARE, PROMPT, LATER_MEAN = 0.85, DAYS_PER_YEAR, 20 * DAYS_PER_YEAR
"""Prints: 85 % were made within a year, the rest after 20 years in the mean (ours)."""
SENT_SHARE, SENT_PROMPT = 0.95, 60.0
"""Cards that went through the post: 95 % were made within 60 days, the rest as above (ours)."""
LABORATORY_SHARE, LABORATORY, WITHIN_WEEKS, WEEKS = 0.9, 1.5 * DAYS_PER_YEAR, 0.45, 90.0
"""Prints on which a laboratory printed the date: a film lies in the camera for weeks to a year or two. 45 % were made
within 90 days and as many within one and a half years, the rest after 20 years in the mean (ours)."""
UNCOMMON = 0.15
"""Share of objects made outside the years of common use of their process or format (ours)."""
AFTER_EVENT: tuple[Array, Array] = (
    np.array([-EVENT_BEFORE, 0.0, 1.0, 8.0, EVENT_AFTER + 1]),
    np.array([0.0, 0.05, 0.65, 0.85, 1.0]),
)
"""Distribution function of a picture's day after an event: 5 % the day before, 60 % the day itself, 20 % within the
week, the rest within 60 days (ours)."""


def mixture(share: Value, right: Value, otherwise: Value = 1.0) -> Array:
    """(1 - q) right + q otherwise. Of a statement or judgement, q is the chance that it is wrong, or careless.

    `otherwise` is then the likelihood of the statement: a broad density, or 1 in units in which knowing nothing is 1.
    """
    return np.asarray((1 - share) * right + share * otherwise)


def log_bell(at: Value, mean: Value, sd: Value) -> Array:
    """-((x - mean) / sd)^2 / 2: the logarithm of a normal density, up to a constant."""
    return np.asarray(-0.5 * ((at - mean) / sd) ** 2)


def normal(day: Value, centre: Value, spread: Value) -> Array:
    """Phi((x - centre - 1/2) / spread): normal about the noon of the day `centre`."""
    return np.asarray(ndtr((day - centre - 0.5) / spread))


def flat(day: Value, first: Value, last: Value) -> Array:
    """(x - first) / (last - first), cut to 0..1; nothing where `last` is not after `first`."""
    length = np.subtract(last, first)
    return np.asarray(np.clip((day - first) / np.where(length > 0, length, np.inf), 0.0, 1.0))


def fading(day: Value, first: Value, last: Value, mean: Value) -> Array:
    """Exponential inside `first` to `last`, falling off back from its end (`mean` > 0) or on from its beginning (< 0).

    With t the distance from that end, t is exponential with the mean |mean|, cut at last - first.
    """
    length, mean_ = np.subtract(last, first), np.abs(mean)
    part = flat(day, first, last)
    share = np.expm1(-np.where(np.greater(mean, 0), 1 - part, part) * length / mean_) / np.expm1(-length / mean_)
    return np.where(np.greater(mean, 0), 1 - share, share)


@dataclass(frozen=True, slots=True)
class DateDensity:
    """The parameters of `before`; numbers, or arrays that broadcast. Points on the line of days."""

    first: Value
    last: Value
    wide: Value = 1.0
    """Share of what is not normal that is flat from `first` to `last`; the rest is from `start` to `end`."""
    start: Value = 0.0
    end: Value = 0.0
    fade: Value = 0.0
    """The mean distance by which that rest falls off from its end (positive) or beginning (negative); 0: it is flat."""
    bell: Value = 0.0
    """Share that is normal about `centre` with the standard deviation `spread`."""
    centre: Value = 0.0
    spread: Value = 1.0

    @classmethod
    def stack(cls, dates: Sequence[DateDensity]) -> DateDensity:
        """Many dates, of numbers, as one of arrays."""
        names = [f.name for f in fields(cls)]
        values = list(map(operator.attrgetter(*names), dates))
        return cls(*np.array(values, dtype=np.float64).reshape(-1, len(names)).T)

    def take(self, which: Ints) -> DateDensity:
        """Some of many dates, each as often as it is named."""
        return DateDensity(*(getattr(self, f.name)[which] for f in fields(self)))


def before(day: Value, date: DateDensity) -> Array:
    """The distribution function of a date as somebody wrote it:

    F(x) = n Phi((x - c - 1/2) / s) + (1 - n) [w U(x; first, last) + (1 - w) V(x; start, end)],

    U flat, V flat or `fading`; nothing where nothing is left between `first` and `last`.
    """
    inner = flat(day, date.start, date.end)
    if np.any(date.fade):
        fade = np.where(date.fade, date.fade, 1.0)
        inner = np.where(date.fade, fading(day, date.start, np.maximum(date.end, date.start + 1e-9), fade), inner)
    total = mixture(date.wide, inner, flat(day, date.first, date.last))
    if np.any(date.bell):
        total = mixture(date.bell, total, normal(day, date.centre, date.spread))
    return total * np.greater(date.last, date.first)


def of_date(date: Dated, start: float, end: float, *, fades: bool = False) -> DateDensity:
    """The density of a date as it was written (the table "Dates as spans" of docs/method.md), cut to `start`..`end`.

    If it `fades`, an open end falls off from the stated day, as "before 1914" does for a picture.
    A christening is not among these: `before_christening`.
    """
    first, last = _clipped(date, start, end)
    if date.shape is Shape.ABOUT and date.centre is not None and date.spread:
        return DateDensity(first, last, bell=1 - ABOUT_FLAT, centre=date.centre, spread=date.spread)
    fade = _fade(date) if fades else 0.0
    if date.stated is None:
        return DateDensity(first, last, 0.0, first, last, fade) if fade else DateDensity(first, last)
    inner = _clipped(date.stated, start, end)
    if date.centre is not None and date.spread:
        return DateDensity(first, last, ANYWHERE / (1 - NEAR_BY), *inner, 0.0, NEAR_BY, date.centre, date.spread)
    if fade:  # a little beyond what was stated
        inner = max(inner[0] - DOUBT_SPREAD * (fade < 0), first), min(inner[1] + DOUBT_SPREAD * (fade > 0), last)
    return DateDensity(first, last, ANYWHERE, *inner, fade)


def _clipped(date: Dated, start: float, end: float) -> tuple[float, float]:
    span = date.span
    first = start if span.first is None else max(float(span.first), start)
    return first, end if span.last is None else min(span.last + 1.0, end)


def _fade(date: Dated) -> float:
    """Back from the last day of an open beginning, on from the first of an open end; 0 for a date without."""
    opens, closes = date.span.first is None, date.span.last is None
    return 0.0 if opens is closes else FADE if opens else -FADE


def before_christening(day: Value, last: Value) -> Array:
    """The birth of somebody christened on the day that ends at `last`: 0.8 flat on the 60 days before, 0.2 before those
    and exponential with a mean of five years."""
    soon = np.subtract(last, SOON)
    late = np.exp(np.minimum(day - soon, 0.0) / LATE_MEAN)
    return mixture(SOON_SHARE, late, np.clip((day - soon) / SOON, 0.0, 1.0))


@dataclass(frozen=True, slots=True)
class Lag:
    """How long something happens after a print was made: `share` of it after `soon` days in the mean, the rest after
    `late` days; both exponential."""

    share: Value
    soon: Value
    late: Value


POSTED = Lag(0.7, 60.0, 3 * DAYS_PER_YEAR)
"""A card is posted within a few years of being made (ours)."""
WRITTEN = Lag(0.5, DAYS_PER_YEAR, 25 * DAYS_PER_YEAR)
"""What is written on a print is as often an heir's caption, decades later (ours)."""


def before_lag(day: Value, date: DateDensity, lag: Lag, start: float) -> Array:
    """P = D - T, from `start` to the last day of D: D flat, or where it has a bell as an ABOUT date has it, T a `Lag`.

    With w_i and m_i the shares and means of T, G(x) = sum of w_i P(D - T_i <= x), in closed form

        D flat on first..last:   U(x) + m / (last - first) [exp(-(first - x)+ / m) - exp(-(last - x)+ / m)],
        D normal, z = (x - c - 1/2) / s:   Phi(z) + exp(z s / m + (s / m)^2 / 2) Phi(-z - s / m),

    and F(x) = (G(x) - G(start)) / (G(last) - G(start)).
    """
    first, last = date.first, np.maximum(date.last, np.add(date.first, 1e-9))
    exponentials = (lag.share, lag.soon), (1 - lag.share, lag.late)

    def reached(at: Value) -> Array:
        near, far = np.maximum(np.subtract(first, at), 0.0), np.maximum(last - at, 0.0)
        total = flat(at, first, last)
        for share, mean in exponentials:
            total = total + share * mean / (last - first) * (np.exp(-near / mean) - np.exp(-far / mean))
        if np.any(date.bell):
            z, about = (at - date.centre - 0.5) / date.spread, normal(at, date.centre, date.spread)
            for share, mean in exponentials:
                s = date.spread / mean
                about = about + share * np.exp(z * s + s**2 / 2 + log_ndtr(-z - s))
            total = mixture(np.where(date.bell, 1 - ABOUT_FLAT, 0.0), total, about)
        return total

    early, whole = reached(start), reached(last)
    risen = (reached(np.clip(day, start, last)) - early) / np.maximum(whole - early, SMALLEST)
    return np.asarray(risen * np.greater(date.last, first))


def printed(wait: Value, share: Value = PROMPT_SHARE, prompt: Value = PROMPT, weeks: Value = 0.0) -> Array:
    """K(t) = w min(t / 90 days, 1) + (p - w) min(t / prompt, 1) + (1 - p) (1 - exp(-t / 20 years)): a print was made
    within `wait` days; 0 before."""
    days = np.maximum(wait, 0.0)
    soon = mixture(weeks / share, np.minimum(days / prompt, 1.0), np.minimum(days / WEEKS, 1.0))
    return mixture(share, -np.expm1(-days / LATER_MEAN), soon)


def printed_area(wait: Value, share: Value = PROMPT_SHARE, prompt: Value = PROMPT, weeks: Value = 0.0) -> Array:
    """The integral of K up to `wait`."""
    days = np.maximum(wait, 0.0)

    def within(most: Value) -> Array:
        soon = np.minimum(days, most)
        return np.asarray(soon * (days - soon / 2) / most)

    soon = mixture(weeks / share, within(prompt), within(WEEKS))
    return mixture(share, days + LATER_MEAN * np.expm1(-days / LATER_MEAN), soon)


def after_event(wait: Value) -> Array:
    """H(t): a picture of an event was taken before t days after the morning of its day; straight between the points of
    `AFTER_EVENT`."""
    return np.asarray(np.interp(wait, *AFTER_EVENT))


def taken_since(day: Array, events: Array, weight: Array, lapse: Span, end: float) -> Array:
    """F(x) = sum of w_i D(x; e_i + lapse): a picture dated by an event that was on the days `events` with `weight`.

    D is flat over the lapse, and falls off from the event where the lapse is open (`of_date`); over `SAME_YEAR` it is
    flat over the calendar year of e_i. No picture is after `end`.
    """
    total = np.zeros(np.shape(day))
    for on, share in zip(np.floor(events).astype(int).tolist(), weight.tolist(), strict=True):
        days = whole_years(Span(on, on)) if lapse == SAME_YEAR else lapse.moved(on)
        total += share * before(day, of_date(Dated(days), FIRST_PHOTOGRAPH, end, fades=True))
    return total


def laid_out(alive_then: Value, alive_now: Value, allowed: Value) -> Array:
    """R (P(D >= x - 60) - P(D >= x)) / 60: a portrait made on any of the 60 days after a death alike, from the chances
    to be alive on the day x - 60 and on x, with R the days the laws allow."""
    return np.maximum(np.subtract(alive_then, alive_now), 0.0) * allowed / LAID_OUT_WITHIN


def recalled(years: Array, wrong: float) -> Array:
    """P(answer | year): a year that is remembered, normal with the deviation of ABOUT in whole years, up to eight
    before the first of `years` and after the last; or, with the chance `wrong`, any of those: (years, answers)."""
    answers, spread = np.arange(years[0] - 8, years[-1] + 9), WIDENED["about"][1]
    off = answers[None, :] - years[:, None]
    right = ndtr((off + 0.5) / spread) - ndtr((off - 0.5) / spread)
    return mixture(wrong, right / right.sum(axis=1, keepdims=True), 1 / len(answers))


_EVENT_AREA = np.append(0.0, np.cumsum(np.diff(AFTER_EVENT[0]) * (AFTER_EVENT[1][1:] + AFTER_EVENT[1][:-1]) / 2))


def after_event_area(wait: Value) -> Array:
    """The integral of H up to `wait`."""
    days, inside = AFTER_EVENT[0], np.clip(wait, AFTER_EVENT[0][0], AFTER_EVENT[0][-1])
    at = np.clip(np.searchsorted(days, inside, side="right") - 1, 0, len(days) - 2)
    trapezium = (inside - days[at]) * (AFTER_EVENT[1][at] + after_event(inside)) / 2
    return np.asarray(_EVENT_AREA[at] + trapezium + np.maximum(wait - days[-1], 0.0))
