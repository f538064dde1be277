"""Days that may be counted by the Julian calendar, which Russia kept until 31 January 1918 (14 February was next).

"5 мая 1912" of a Russian back may be 5 May of that calendar, our 18 May, and Galicia wrote by the Gregorian one:
unless "ст. ст." or "н. ст." says which, a day or a month is read as all that it can mean. "5/18 мая 1912" gives both
and is one day. Years do not change. Texts are folded, as in `vernacular`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from ged4py.calendar import CalendarType

from kinphoto.gedcom.calendars import MONTHS, days_of, year_month_day

_LAST_YEAR, _LAST_MONTH = 1918, 2
"""For a date that may be meant by the old calendar; days of February 1918 are the last."""
_OLD, _NEW = r"(?:ПО )?СТ(?:\.|АРОМУ)? ?СТ(?:\.|ИЛЮ)?|С\. ?С\.", r"(?:ПО )?Н(?:\.|ОВОМУ)? ?СТ(?:\.|ИЛЮ)?|Н\. ?С\."


def in_new_style(text: str, months: Mapping[str, str], genitives: Mapping[str, str]) -> str:
    """The same with a day or a month that may be Julian in Gregorian days and in English. `months` are the words that
    name one in Russian and Ukrainian, folded, with GEDCOM's name, `genitives` those that do after a day alone."""
    known = {**months, **genitives}
    names = "|".join(sorted(map(re.escape, known), key=len, reverse=True))
    pattern = (
        rf"(?<![^\W_])(?:(?P<day>\d{{1,2}})(?:\s?[/(]\s?(?P<other>\d{{1,2}})\)?)?(?:-?ГО)? )?(?P<month>{names})\.?,? "
        rf"(?P<year>1[5-9]\d\d)(?!\d)(?: ?(?:ГОДА|ГОДУ|РОКУ|Г|Р)(?![^\W_])\.?)?"
        rf"(?:,? \(?(?:(?P<old>{_OLD})|(?P<new>{_NEW}))\)?)?"
    )

    def new(found: re.Match[str]) -> str:
        is_a_name = found["day"] is None and found["month"] in genitives
        return found[0] if is_a_name else _new(found, known[found["month"]])

    return re.sub(pattern, new, text)


def _new(found: re.Match[str], month: str) -> str:
    year, number, day = int(found["year"]), MONTHS.index(month) + 1, found["day"] and int(found["day"])
    plain = f"{day} {month} {year}" if day else f"{month} {year}"
    julian = days_of(CalendarType.JULIAN, year, number, day or None)
    gregorian = days_of(CalendarType.GREGORIAN, year, number, day or None)
    if (year, number) > (_LAST_YEAR, _LAST_MONTH) or found["new"] or julian is None:
        return plain if found["other"] is None else found[0]
    if found["other"] is not None:
        same = year_month_day(julian[0])[2] == int(found["other"])
        return _written(julian[0]) if same else found[0]
    first, last = (
        julian if found["old"] or gregorian is None else (min(julian[0], gregorian[0]), max(julian[1], gregorian[1]))
    )
    return _written(first) if first == last else f"BETWEEN {_written(first)} AND {_written(last)}"


def _written(day: int) -> str:
    year, month, of_month = year_month_day(day)
    return f"{of_month} {MONTHS[month - 1]} {year}"
