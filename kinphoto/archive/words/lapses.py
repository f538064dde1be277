"""How long before or after an event of the tree a picture was taken: the days that people mean, and in words."""

from __future__ import annotations

from kinphoto.archive.words.ages import age_words
from kinphoto.phrases import counted, nth
from kinphoto.reason.model.limits import EVENT_AFTER, EVENT_BEFORE
from kinphoto.reason.model.span import DAYS_PER_YEAR, SAME_YEAR, Span, at_least, at_most

BEFORE, AFTER = Span(None, 0), Span(0, None)
ON_THE_DAY = Span(-EVENT_BEFORE, EVENT_AFTER)
"""At a wedding or a christening, or when the family next goes to town."""
SOON = 366
"""Days that "soon after" and "just before" mean at most (ours)."""
ABOUT_THEN = Span(-92, SOON)
"""When somebody was born, or died: from a season before to a year after (ours)."""
EXPECTING = Span(-280, 0)
"""The days before a birth when the mother is pregnant."""
PARTY = 14
"""Days after a birthday within which it was kept; half as many before (ours)."""


def aged(low: float, high: float) -> Span:
    """The days after a birth on which somebody is `low` to `high` completed years old."""
    return Span(at_least(low) if low else 0, at_most(high + 1))


def anniversary(years: int) -> Span:
    """About the day `years` years after an event, on which it is kept."""
    return Span(at_least(years) - PARTY // 2, at_most(years) + PARTY)


def lapse_words(event: str, lapse: Span, born: str = "") -> str:
    """When a picture was taken by an event ("the marriage of Ada and Tom"): "before the marriage of Ada and Tom".

    `born` is the name of whose birth it is: "when Ada Marsh was 3", "at the 7th birthday of Ada Marsh".
    """
    usual = {
        BEFORE: f"before {event}", AFTER: f"after {event}", SAME_YEAR: f"in the year of {event}",
        ON_THE_DAY: f"at {event}", ABOUT_THEN: f"about the time of {event}",
        EXPECTING: f"in the nine months before {event}", Span(0, SOON): f"soon after {event}",
        Span(-SOON, 0): f"shortly before {event}",
    }  # fmt: skip
    if lapse in usual:
        return usual[lapse]
    first, last = lapse.first, lapse.last
    if first is None or last is None:
        return _from_then(event, lapse, born)
    years = round(first / DAYS_PER_YEAR + 0.05)
    if years > 0 and lapse == anniversary(years):
        return f"at the {nth(years)} birthday of {born}" if born else f"{counted(years, 'year')} after {event}"
    low, high = first / DAYS_PER_YEAR, last / DAYS_PER_YEAR - 1
    if born and first >= 0:
        youngest, oldest = (round(age) if age > 2.5 else round(age * 12) / 12 for age in (low, high))
        if lapse == aged(youngest, oldest):
            return f"when {born} was {age_words(youngest, oldest)}"
    if last <= 0:
        return f"{_between(-last, -first)} before {event}"
    return f"{_between(max(first, 0), last)} after {event}"


def _from_then(event: str, lapse: Span, born: str) -> str:
    """With one end open."""
    way, days = ("after", lapse.first) if lapse.last is None else ("before", lapse.last)
    years = round((days or 0) / DAYS_PER_YEAR)
    if born and years > 0:
        return f"{way} {born} was {years}"
    return f"{way} {event}" if not days else f"more than {_some(abs(days))} {'after' if days > 0 else 'before'} {event}"


def _between(low: int, high: int) -> str:
    return f"up to {_some(high)}" if not low else f"{_some(low)} to {_some(high)}"


def _some(days: int) -> str:
    """About this many days: "5 days", "7 weeks", "9 months", "2 and a half years"."""
    if days < 28:
        return counted(days, "day")
    if days < 60:
        return counted(round(days / 7), "week")
    months = round(days / (DAYS_PER_YEAR / 12))
    if months < 20:
        return counted(months, "month")
    halves = round(days / (DAYS_PER_YEAR / 2))
    return f"{halves // 2} and a half years" if halves % 2 else counted(halves // 2, "year")
