"""How wide an approximate date is."""

from __future__ import annotations

from math import hypot, sqrt

from ged4py.date import DateValueTypes

from kinphoto.gedcom.calendars import years_later
from kinphoto.reason.model.span import DAYS_PER_YEAR, WIDENED, Dated, Shape, Span

WIDENING: dict[DateValueTypes, tuple[int, float]] = {
    DateValueTypes.ABOUT: WIDENED["about"],
    DateValueTypes.CALCULATED: WIDENED["calculated"],
    DateValueTypes.ESTIMATED: WIDENED["estimated"],
    DateValueTypes.INTERPRETED: WIDENED["about"],
}
_A_YEAR = 366


def approximate(first: int, last: int, kind: DateValueTypes = DateValueTypes.ABOUT, text: str = "") -> Dated:
    """The days `first` to `last` as an approximate date: widened each way, most likely in their middle.

    For more than a year (about a decade) their own width is added.
    """
    years, spread = WIDENING[kind]
    if last - first > _A_YEAR:
        spread = hypot(spread, (last + 1 - first) / DAYS_PER_YEAR / sqrt(12))
    return Dated(
        Span(years_later(first, -years), years_later(last, years)),
        Shape.ABOUT,
        centre=(first + last) / 2,
        spread=spread * DAYS_PER_YEAR,
        words=text,
    )
