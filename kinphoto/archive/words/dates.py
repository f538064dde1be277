"""Dates as every list shows them: when a photograph was taken, when somebody lived, and the birth that photographs
suggest.

A conclusion is given in years and always marked as worked out, because no day, month or season may be named that no
statement supports: the median of a flat year is always July. A date that somebody stated is as exact as they stated it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from kinphoto.gedcom.wording import MONTHS, day, words, year
from kinphoto.phrases import counted
from kinphoto.reason.model.findings import BirthEstimate, Estimate
from kinphoto.reason.model.span import Dated, Shape, year_of

if TYPE_CHECKING:
    from kinphoto.gedcom.dates_in_text import DateFound, DateReading

NO_PROOF = "What photographs suggest is not proof: whoever judged the ages may have known the tree."
"""Shown once with any births that photographs suggest."""


def on_the_clock(at: str) -> datetime:
    """A moment that the archive noted (UTC, ISO 8601), as the clock on the reader's wall showed it. In Boston the
    evening has the day before that of UTC."""
    return datetime.fromisoformat(at).astimezone()


@dataclass(frozen=True, slots=True)
class Vital:
    """A date that begins or ends a life; `verb` is born, christened, died or buried."""

    verb: str
    date: Dated

    @property
    def text(self) -> str:
        """The date as exactly as it is known; a christening or burial says that it is one."""
        return words(self.date) if self.verb in ("born", "died") else self.said(words(self.date))

    def said(self, date: str) -> str:
        """The date in words, with what happened then: "christened 1890"."""
        return _VITALS[self.verb].format(date)


_VITALS = {"born": "born {}", "christened": "christened {}", "died": "died {}", "buried": "buried {}"}


def when(estimate: Estimate) -> str:
    """When a photograph was taken: "between 1919 and 1926, about 1924 (worked out)", or "12 June 1931" as stated."""
    if estimate.likely_from is None or estimate.likely_to is None or estimate.best is None:
        first, last = year_of(estimate.earliest), year_of(estimate.latest)
        return f"not dated yet, {f'some time in {first}' if first == last else f'between {first} and {last}'}"
    if not estimate.inferred and estimate.edtf:
        return _stated(estimate.edtf)
    first, last, best = (year_of(day) for day in (estimate.likely_from, estimate.likely_to, estimate.best))
    return f"{best} (worked out)" if first == last else f"between {first} and {last}, about {best} (worked out)"


def years_from_to(first: int, last: int) -> str:
    """Two days as years: "1908 to 1912", "1911"."""
    years = dict.fromkeys((str(year_of(first)), str(year_of(last))))
    return " to ".join(years)


def from_collection(estimate: Estimate) -> str:
    """The range of what is kept with an undated photograph, which is not a date; "" where that is nothing."""
    if estimate.collection_from is None or estimate.collection_to is None:
        return ""
    years = years_from_to(estimate.collection_from, estimate.collection_to)
    return (
        f"From the collection alone: it may be from {years}, like what is kept with it. That is not a date of its own"
    )


def taken(estimate: Estimate | None, *, page: bool) -> str:
    """The same for what may not have a date: an album page, or something nobody has looked at yet."""
    if page:
        return "an album page"
    return "not dated yet" if estimate is None else when(estimate)


def life_years(begin: Vital | None, end: Vital | None) -> str:
    """A life in years: "about 1890 to 1961", "born 1890", "christened 1890, died 1961"; "" when nothing is known."""
    if begin and end and (begin.verb, end.verb) == ("born", "died") and _is_short(begin.date) and _is_short(end.date):
        return f"{_years(begin.date)} to {_years(end.date)}"
    return ", ".join(vital.said(_years(vital.date)) for vital in (begin, end) if vital)


def born(birth: BirthEstimate) -> str:
    """A birth that photographs suggest: "born about 1891 (between 1886 and 1896, from 4 photographs)"."""
    first, last, best = (year_of(day) for day in (birth.likely_from, birth.likely_to, birth.best))
    between = "" if first == last else f"between {first} and {last}, "
    return f"born about {best} ({between}from {counted(birth.photographs, 'photograph')})"


def found_in_words(found: DateFound) -> str:
    """A date that was found in a text: "“Pfingsten 1900” is read as between 2 and 4 June 1900"."""
    if found.problem:
        return found.problem.rstrip("?.") + ("?" if found.problem.endswith("?") else "")
    each = [reading_in_words(reading) for reading in found.readings]
    if found.certain:
        return f"“{found.text}” is read as {found.readings[0].words}"
    return f"“{found.text}” could be {' or '.join(each)}: say which"


def reading_in_words(reading: DateReading) -> str:
    """ "before the First World War (before 1914)": a choice, and what it means where that is something else."""
    return reading.date if reading.date == reading.words else f"{reading.date} ({reading.words})"


def _stated(edtf: str) -> str:
    """A date as somebody stated it, from its EDTF: a day, month, year, decade or `[a..b]`, perhaps qualified."""
    bare = edtf.rstrip("?~%")
    mark = edtf[len(bare) :]
    text = _range(bare) if bare.startswith("[") else _value(bare)
    if mark in ("~", "%"):
        text = f"about {text}"
    return f"perhaps {text}" if mark in ("?", "%") else text


def one_of(edtf: str) -> list[str]:
    """The dates (EDTF) to choose from, where equal testimonies contradict each other: `[1931,1935]`."""
    inside = edtf.strip("[]").split(",") if edtf.startswith("[") else []
    return [date if ".." not in date else f"[{date}]" for date in inside] if len(inside) > 1 else []


def _range(edtf: str) -> str:
    if each := [_stated(date) for date in one_of(edtf)]:
        return f"{', '.join(each[:-1])} or {each[-1]}"
    first, _, last = edtf.strip("[]").partition("..")
    if not first:
        return f"before {_value(last)}"
    if len(first) == len(last) == len("1931-06") and first[:4] == last[:4]:
        return f"between {MONTHS[int(first[5:]) - 1]} and {_value(last)}"
    return f"between {_value(first)} and {_value(last)}" if last else f"after {_value(first)}"


def _value(edtf: str) -> str:
    """`1931-06-12`, `1931-06`, `1931` or `193X` in words."""
    if edtf.endswith("X"):
        return f"the {int(edtf[:-1])}0s"
    if len(edtf) == len("1931-06"):
        return f"{MONTHS[int(edtf[5:]) - 1]} {edtf[:4]}"
    return day(date.fromisoformat(edtf).toordinal()) if "-" in edtf else edtf


def _years(dated: Dated) -> str:
    """A date by its years only."""
    first, last = dated.span.first, dated.span.last
    if first is None and last is None:
        return words(dated)
    text = _certain_years(dated, first, last)
    return f"perhaps {text}" if dated.doubtful else text


def _certain_years(dated: Dated, first: int | None, last: int | None) -> str:
    if first is None or last is None:
        return f"after {year(first)}" if first is not None else f"before {year(last or 0)}"
    if dated.shape is Shape.ABOUT and dated.centre is not None:
        return f"about {year(int(dated.centre))}"
    one, other = year(first), year(last)
    return one if one == other else f"between {one} and {other}"


def _is_short(dated: Dated) -> bool:
    """Whether its years are one year, so that "A to B" cannot be misread."""
    first, last = dated.span.first, dated.span.last
    if first is None or last is None:
        return False
    if dated.shape is Shape.ABOUT and dated.centre is not None:
        return year(int(dated.centre)).isdecimal()
    return year(first) == year(last) and year(first).isdecimal()
