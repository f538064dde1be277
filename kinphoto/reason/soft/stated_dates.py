"""Where the answer is a date that somebody stated: as exact as it was stated, or one of several.

**As stated.** The most exact stated date stays the answer where nothing has narrowed it (`AS_WIDE`) or moved the best
day out of it.

**One of several dates.** Where the dates of equal testimonies are mixture components with at least a fifth of the
posterior each, the answer is "one of these", EDTF `[1931,1935]`, and the best day is the median of the likeliest
component: the median of the mixture could be a day that nobody stated.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from functools import lru_cache

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.density import before, of_date
from kinphoto.reason.model.findings import HOLDS, HOLDS_SD
from kinphoto.reason.model.span import Dated, Shape
from kinphoto.reason.soft.births import Lives
from kinphoto.reason.soft.summary import Posterior, shortest

Components = tuple[tuple[float, float, Dated], ...]
"""Of equal testimonies: share of the posterior, median in it, and the date."""

AS_WIDE = 0.75
"""A stated date stays as stated unless the likely range is narrower than this share of its own."""
ONE_OF = 0.2
"""The least share of the posterior that one of several dates needs to be listed (a judgement of the project)."""


def alternative_dates(lives: Lives, equally_trusted: Collection[str]) -> dict[str, list[Dated]]:
    """By photograph the dates of equal testimonies, each once, the earlier first."""
    found: dict[str, list[Dated]] = defaultdict(list)
    for statement in (lives.known.statements[s] for s in equally_trusted):
        if isinstance(statement, ev.DateClaim) and all(
            d.span != statement.date.span for d in found[statement.photograph]
        ):
            found[statement.photograph].append(statement.date)
    return {p: sorted(dates, key=lambda d: d.span.first or 0) for p, dates in found.items()}


def mixture_components(alternatives: Sequence[Dated], found: Posterior) -> Components:
    """The dates that are likely enough to be listed as "one of these"; none if only one is, or if the picture may well
    be of a different time."""
    likely = []
    for date in alternatives:
        ends = (
            -np.inf if date.span.first is None else date.span.first,
            np.inf if date.span.last is None else date.span.last + 1,
        )
        below, above = (float(share) for share in np.interp(ends, found.edges, found.rising))
        if above - below >= ONE_OF:
            likely.append((round(above - below, 3), found.quantile((below + above) / 2), date))
    return tuple(likely) if len(likely) > 1 and sum(share for share, *_ in likely) >= HOLDS else ()


def stated_date(claims: Iterable[ev.DateClaim], first: int, best: int, last: int) -> Dated | None:
    """The most exact of the dates that somebody stated and that nothing has narrowed or moved."""
    fitting = [(width, c.date) for c in claims if c.claim.of_exposure for width in _width(c.date, first, last)]
    fitting = [(width, date) for width, date in fitting if last + 1 - first >= AS_WIDE * width and _is_in(date, best)]
    return min(fitting, key=lambda pair: pair[0])[1] if fitting else None


def _is_in(date: Dated, best: int) -> bool:
    """Whether the best day is one that somebody named: in a date as it was stated, or near the middle of an "about"."""
    stated = date.as_stated
    if stated.shape is Shape.ABOUT and stated.centre is not None and stated.spread:
        return abs(best - stated.centre) <= stated.spread / 2
    return (stated.span.first or best) <= best <= (stated.span.last or best)


@lru_cache(maxsize=1 << 10)
def _days_of_90(date: Dated) -> float:
    """The days that hold 90 % of a date that doubt has widened."""
    edges = np.arange(date.span.first or 0, (date.span.last or 0) + 2, 1.0)
    start, end = shortest(Posterior(edges, np.diff(before(edges, of_date(date, edges[0], edges[-1])))))
    return end - start


def _width(date: Dated, first: int, last: int) -> Iterator[float]:
    """The days that hold 90 % of a stated date by itself, if the range from `first` to `last` is inside its span."""
    start, end = date.span.first, date.span.last
    if start is None or end is None or not start <= first <= last <= end:
        return
    if date.stated is not None:
        yield _days_of_90(date)
        return
    about = date.shape is Shape.ABOUT and date.spread
    yield 2 * HOLDS_SD * date.spread if about and date.spread else HOLDS * (end + 1 - start)
