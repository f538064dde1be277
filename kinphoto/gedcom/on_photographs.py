"""Dates that somebody gives for a photograph: what only they can mean, and what is refused with a better suggestion.

In a tree "05" is the year 5 and "1904/5" the English year that ended in March; on the back of a photograph they are
1905 and either year. What has two meanings is refused with both (`UnclearDateError`), since whoever types it knows
which. All texts are in capitals and in English here, as in `spelling`.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from functools import partial
from typing import Protocol

from kinphoto.errors import InvalidValueError, UnclearDateError
from kinphoto.gedcom import known_times, vernacular
from kinphoto.gedcom.calendars import MONTH_NAMES, MONTHS, month_length
from kinphoto.gedcom.feasts import FEASTS

FIRST_YEAR = 1826
"""The year of the oldest surviving photograph from nature."""
WAYS = "1931, June 1931, 12 June 1931, about 1931, 1931?, the 1930s, before 1914 or 1930 to 1935"
REMEDY = f"Write it like {WAYS}."

_NAMES = dict(zip(MONTHS, MONTH_NAMES, strict=True))
_MONTH = f"(?P<month>{'|'.join(MONTHS)})"
_FEAST = vernacular.any_of(name.upper() for name in FEASTS)
_PART_AND_NAME = rf"(?:(?:EARLY|MID|LATE) )?(?:{'|'.join(MONTHS)}|SPRING|SUMMER|AUTUMN|WINTER|{_FEAST})"
"""A month, a season or a feast, and a part of it."""
_DECADES = {
    "TWENTIES": 20, "THIRTIES": 30, "FORTIES": 40, "FIFTIES": 50, "SIXTIES": 60, "SEVENTIES": 70, "EIGHTIES": 80,
    "NINETIES": 90, "TEENS": 10,
}  # fmt: skip
_CLOSE = 3
"""Years that "shortly before" lasts (a judgement of the project)."""
_LONGEST_RANGE = 50
"""The longest range with a shortened end, in years: 1923-21 is a season in EDTF."""
_LONG_AGO, _EARLIEST_DECADE, _LATEST_DECADE = 60, 20, 80
""" '60 may be 1860; but "the sixties" means the 1960s, while the 1910s, 1890s and 1990s have to be given in full."""


def in_full(text: str, today: date) -> str:
    """The date with its years in full and a single meaning, for `dates.parse_date`.

    Raises InvalidValueError for what is not a date, and UnclearDateError for what has several meanings, unless the day
    of the week beside it leaves one of them.
    """
    value = " ".join(text.upper().replace("’", "'").split()).rstrip(".,;!")
    undated, relative = vernacular.said_without_a_date()
    plain = vernacular.fold(value)
    for pattern, remedy in ((undated, _UNDATED), (_WHEN_SOMEBODY_WAS, _AGE_INSTEAD), (relative, REMEDY)):
        if pattern.search(plain):
            raise InvalidValueError(f'"{text}" is not a date', remedy=remedy)
    if found := vernacular.side_or_weekday().match(plain):
        rest = _in_words(vernacular.in_english(plain[found.end() :]))
        raise UnclearDateError(text, [rest, f"until {rest}"], remedy="Leave the weekday out, or write until.")
    value = vernacular.in_english(value)
    weekday = next((day for day in vernacular.WEEKDAYS if value.startswith(f"{day} ")), "")
    value = value.removeprefix(weekday).lstrip(" ,")
    try:
        return _single(value, text, today)
    except UnclearDateError as unclear:
        fitting = [choice for choice in unclear.choices if weekday and _weekday(choice) == weekday]
        if len(fitting) == 1:
            return fitting[0].upper()
        raise


def _single(value: str, text: str, today: date) -> str:
    value, *others = known_times.in_figures(_war(_certain_month(value, text), text))
    if others:
        each = [_in_words(one) for one in (value, *others)]
        raise UnclearDateError(text, each, remedy="Write the year as well.")
    for pattern, change in _CHANGES:
        value = pattern.sub(change if isinstance(change, str) else partial(change, text=text, today=today), value)
    return value


def _weekday(choice: str) -> str:
    """The day of the week of "12 August 1900"; "" for what is not a day."""
    found = re.fullmatch(r"(\d{1,2}) (\w+) (\d{4})", choice)
    if found is None:
        return ""
    return vernacular.WEEKDAYS[date(int(found[3]), MONTH_NAMES.index(found[2]) + 1, int(found[1])).weekday()]


def _certain_month(value: str, text: str) -> str:
    """Raises UnclearDateError for a month's name that stood for different months."""
    for name, months in vernacular.unclear_months().items():
        if re.search(rf"\b{name}\b", value):
            each = [_in_words(re.sub(rf"\b{name}\b", MONTHS[month - 1], value)) for month in months]
            raise UnclearDateError(text, each, remedy="Write the month as we call it now.")
    return value


def _in_words(value: str) -> str:
    """A choice as it is shown, and can be typed: "12 August 1900", "before the First World War"."""
    small = (
        "About Before After Since Until In The Of Between And Perhaps Early Mid Late Shortly Spring Summer Autumn "
        "Winter From To Year Years".split()
    )
    words = [_NAMES.get(word.rstrip(".,"), word.capitalize()) for word in value.split()]
    return " ".join(word.lower() if word in small else word for word in words)


def refuse_incomplete(value: str, text: str) -> None:
    """Say of a date that cannot be read what is missing, whatever it is a date of.

    Raises UnclearDateError for a day in figures where either number can be the month, InvalidValueError where there
    is no year, or only its last two digits.
    """
    found = _DAY_IN_FIGURES.fullmatch(value)
    if found is not None and len(found["year"]) == 4:
        _day_month_year(found, text, date.max)
    value = vernacular.in_english(value)
    if _WITHOUT_A_YEAR.fullmatch(value):
        known = "If you do not know it, write what you know: about 1931, the 1930s, before 1914."
        raise InvalidValueError(f'"{text}" has no year', remedy=f'Add it, such as "{text.strip()} 1931". {known}')
    if re.search(r"'\d\d(?!\d)", value):
        raise InvalidValueError(f'"{text}" does not give the year in full', remedy=f"Write all four digits. {REMEDY}")


def meant_instead(year: int, today: date) -> str:
    """The years that somebody may have meant by an impossible one: "1905", "1850 or 1950"."""
    near = [century + year % 100 for century in ((1900,) if year >= today.year else (1800, 1900, 2000))]
    return " or ".join(str(other) for other in near if FIRST_YEAR <= other <= today.year and other != year)


def _years(two: str, today: date) -> list[int]:
    """The years that two digits can mean."""
    short = int(two)
    if today.year % 100 < short < _LONG_AGO:
        return [1900 + short]
    return sorted([1900 + short, (2000 if short <= today.year % 100 else 1800) + short])


def _two_digits(found: re.Match[str], text: str, today: date) -> str:
    whole, start, end = found.string, found.start(), found.end()
    years = _years(found["two"], today)
    if len(years) == 1:
        return f"{found['before']}{years[0]}"
    each = [_in_words(f"{whole[:start]}{found['before']}{year}{whole[end:]}") for year in years]
    raise UnclearDateError(text, each, remedy="Write the year in full.")


def _decade(found: re.Match[str], text: str, today: date) -> str:
    """ "The thirties", "30s": those of the last century, where no other is likely."""
    word = found["word"]
    ten = _DECADES[word] if word in _DECADES else int(found["tens"])
    if _EARLIEST_DECADE <= ten <= _LATEST_DECADE:
        return f"{1900 + ten}S"
    each = [f"the {century}{ten:02}s" for century in ((18, 19) if ten > _LATEST_DECADE else (19, 20))]
    raise UnclearDateError(text, each, remedy="Write the decade in full.")


def _day_month_year(found: re.Match[str], text: str, today: date) -> str:
    """ "12.6.31": with dots the day comes first; with slashes it is unclear unless one number is above 12."""
    one, other, year = int(found["one"]), int(found["other"]), found["year"]
    orders = [(one, other)] if found["mark"] == "." and other <= 12 else [(one, other), (other, one)]
    days = [
        f"{day} {MONTHS[month - 1]} {full}"
        for full in ([int(year)] if len(year) == 4 else _years(year, today))
        for day, month in dict.fromkeys(orders)
        if 1 <= month <= 12 and 1 <= day <= month_length(full or 1, month)
    ]
    if len(days) > 1:
        several = len({day.split()[2] for day in days}) > 1
        remedy = "Write the year in full." if several else "Write the month as a word."
        raise UnclearDateError(text, [_in_words(day) for day in days], remedy=remedy)
    return days[0] if days else found[0]


def _month_and_number(found: re.Match[str], text: str, today: date) -> str:
    """ "Aug. 05", "Dec. 25": a day or a year; "Jun 31" cannot be a day."""
    month, number = _NAMES[found["month"]], found["number"]
    years = _years(number, today) if len(number) == 2 else [1900 + int(number), 2000 + int(number)]
    if int(number) > month_length(1904, MONTHS.index(found["month"]) + 1) and len(years) == 1:
        return f"{found['month']} {years[0]}"
    remedy, is_day = "Write the year in full", 1 <= int(number) <= month_length(1904, MONTHS.index(found["month"]) + 1)
    if is_day:
        remedy += f", or the day with its year: {int(number)} {month} 1931"
    each = [f"{month} {year}" for year in years]
    raise UnclearDateError(text, each, otherwise=is_day, remedy=f"{remedy}.")


def _digit_missing(found: re.Match[str], text: str, today: date) -> str:
    """ "190?", "19--": with digits that nobody can read."""
    known = found["three"] or found["two"]
    return f"BET {known:0<4} AND {known:9<4}"


def _either_year(found: re.Match[str], text: str, today: date) -> str:
    """ "1904/5" is either year, "1914/18" and "1930-35" the years between."""
    first, short = int(found["year"]), found["short"]
    number = int(short)
    last = first - first % 10 ** len(short) + number
    last += 10 ** len(short) if last <= first else 0
    standard = found["mark"] == "-" and len(short) == 2 and number <= 12  # a month, as EDTF writes it
    if standard or last - first > _LONGEST_RANGE:
        return found[0]
    if last > first + 1 and (number <= 12 or (found["mark"] == "-" and 21 <= number <= 24)):
        seasons = ("spring", "summer", "autumn", "winter")
        month = _NAMES[MONTHS[number - 1]] if 1 <= number <= 12 else seasons[number - 21]
        raise UnclearDateError(
            text, [f"{first} to {last}", f"{month} {first}"], remedy="Write both years in full, or the month as a word."
        )
    return f"{found['before']}{first}-{last}"


def _too_short(found: re.Match[str], text: str, today: date) -> str:
    missing = f"Write {found[0]}? if a digit cannot be read. " if len(found[0]) == 3 else ""
    raise InvalidValueError(f'"{text}" is not a year that a photograph can have', remedy=missing + REMEDY)


def _war(value: str, text: str) -> str:
    """The years of the named wars. Raises UnclearDateError for "the war"."""
    found = _OF_A_WAR.fullmatch(_SHORTLY.sub("SHORTLY ", value))
    if found is None:
        return value
    when = found["when"] or ""
    if found["apart"] is not None and found["which"] is not None:
        first, last = _WARS[found["which"]]
        apart = int(found["apart"])
        return f"ABOUT {first - apart if when.endswith('BEFORE') else last + apart}{found['doubt']}"
    if found["which"] is None:
        within = " IN" if when in ("EARLY", "MID", "LATE") else ""
        choices = {_in_words(f"{when}{within} THE {which} WORLD WAR"): years for which, years in _WARS.items()}
        means = [f"{choice} ({first} to {last})" for choice, (first, last) in choices.items()]
        raise UnclearDateError(text, list(choices), means=means, remedy="Write which war, or the years.")
    first, last = _WARS[found["which"]]
    return _OF_WARS[when](first, last) + found["doubt"]


_SHORTLY = re.compile(r"^(?:A FEW YEARS|SHORTLY|JUST|SOON|RIGHT) (?=BEFORE|AFTER)")
_WARS = {"FIRST": (1914, 1918), "SECOND": (1939, 1945)}
_OF_WARS: dict[str, Callable[[int, int], str]] = {
    "": lambda first, last: f"BET {first} AND {last}",
    "ABOUT": lambda first, last: f"BET {first} AND {last}",
    "EARLY": lambda first, _: f"BET {first} AND {first + 1}",
    "MID": lambda first, last: f"BET {first + 1} AND {last - 1}",
    "LATE": lambda _, last: f"BET {last - 1} AND {last}",
    "BEFORE": lambda first, _: f"BEF {first}",
    "AFTER": lambda _, last: f"AFT {last}",
    "SHORTLY BEFORE": lambda first, _: f"BET {first - _CLOSE} AND {first}",
    "SHORTLY AFTER": lambda _, last: f"BET {last} AND {last + _CLOSE}",
}
"""The years of what was when of a war, by its first and last."""
_OF_A_WAR = re.compile(
    r"(?:(?P<when>(?P<apart>\d{1,2}) YEARS (?:BEFORE|AFTER)|BEFORE|AFTER|ABOUT|EARLY|MID|LATE|SHORTLY BEFORE|"
    r"SHORTLY AFTER) (?:IN )?(?:THE )?)?"
    r"(?:WARTIME|(?P<which>FIRST|SECOND) WORLD WAR)(?P<doubt>\??)"
)


def _winter(found: re.Match[str], text: str, today: date) -> str:
    year = int(found["year"])
    return f"BET DEC {year} AND FEB {year + 1}" if _follows(year, found["next"]) else found[0]


def _one_or_the_next(found: re.Match[str], text: str, today: date) -> str:
    """ "Summer 1931/32", "12 May 1931/2": one of the two, where a tree may mean a dual year."""
    year, named = int(found["year"]), found["named"]
    return f"BETWEEN {named} {year} AND {named} {year + 1}" if _follows(year, found["next"]) else found[0]


def _two_years(found: re.Match[str], text: str, today: date) -> str:
    """ "Summer 31 or 32"; after a month the numbers may be days, unless no month has that many."""
    days = found["before"].split()[-1] in MONTHS and int(found["other"]) <= 31
    return found[0] if days else _two_digits(found, text, today)


def _follows(year: int, next_: str) -> bool:
    """Whether these digits are the last of the year after."""
    return f"{year + 1}".endswith(next_.lstrip("'"))


def _years_from(found: re.Match[str], text: str, today: date) -> str:
    """ "Three years before 1930", as somebody remembers it."""
    apart, year = int(found["apart"]), int(found["year"])
    return f"ABOUT {year - apart if found['side'] == 'BEFORE' else year + apart}"


def _give_or_take(found: re.Match[str], text: str, today: date) -> str:
    """ "1931, give or take two years": roughly those years, since whoever says so is counting on their fingers."""
    apart, year = int(found["apart"]), int(found["year"])
    return f"ABOUT {year - apart}-{year + apart}"


def _close_to(found: re.Match[str], text: str, today: date) -> str:
    year = int(found["year"])
    return f"BET {year - _CLOSE} AND {year}" if found["side"] == "BEFORE" else f"BET {year} AND {year + _CLOSE}"


_UNDATED = "Leave the date out, and write what you know in words (--text)."
_WHEN_SOMEBODY_WAS = re.compile(
    r"\bWHEN\b.*\b(?:WAS|WERE)\b|\b(?:TURNED|WAS|WERE|WURDE|WAR) (?:ABOUT |ETWA )?\d{1,2}\b(?!.*\d)"
)
_AGE_INSTEAD = "Give an age together with the name: kinphoto link K00001 “Ada Marsh” --stated-age 7."


_WITHOUT_A_YEAR = re.compile(
    rf"(?:(?:ABOUT|BEFORE|AFTER|SINCE|UNTIL) )?(?:(?:EARLY|MID|LATE) )?(?:\d{{1,2}} )?"
    rf"(?:{'|'.join(MONTHS)}|SPRING|SUMMER|AUTUMN|WINTER|{_FEAST})(?: \d{{1,2}})?\??"
)
_DAY_IN_FIGURES = re.compile(
    r"^(?P<one>\d{1,2})(?P<mark>[./-])\s?(?P<other>\d{1,2})(?P=mark)\s?'?(?P<year>\d{4}|\d\d)(?=\??$)"
)


class _Change(Protocol):
    def __call__(self, found: re.Match[str], /, text: str, today: date) -> str: ...


_CHANGES: tuple[tuple[re.Pattern[str], str | _Change], ...] = tuple(
    (re.compile(pattern), change)
    for pattern, change in (
        (r"(?<!\d)(?:(?P<three>\d{3})[?_–-]|(?P<two>\d\d)(?:\?\?|__|--|––))(?!\S)", _digit_missing),
        (r"^(?:THE )?(1[78])00'?S$", r"BET \g<1>00 AND \g<1>99"),
        (r"^WINTER (?:OF )?(?=.*\d)", "WINTER "),
        (r"(?P<before>^WINTER )'?(?P<two>\d\d)(?=\s?[/–-]\s?'?\d\d\??$)", _two_digits),
        (r"^WINTER (?P<year>\d{4})\s?[/–-]\s?(?P<next>'?\d{1,2}|\d{4})(?=\??$)", _winter),
        (rf"(?P<before>^(?:{_PART_AND_NAME}) )'?(?P<two>\d\d)(?=\s?(?:/|\bOR\b)\s?'?(?P<other>\d\d)\??$)", _two_years),
        (rf"^(?P<named>(?:\d{{1,2}} )?(?:{_PART_AND_NAME})) (?P<year>\d{{4}})\s?/\s?"
         r"(?P<next>'?\d{1,2}|\d{4})(?=\??$)", _one_or_the_next),
        (rf"{_SHORTLY.pattern}(?P<side>BEFORE|AFTER) (?P<year>\d{{4}})$", _close_to),
        (r"^(?:ABOUT )?(?P<year>\d{4}) GIVE OR TAKE (?P<apart>\d{1,2})$", _give_or_take),
        (r"^(?P<apart>\d{1,2}) YEARS? (?P<side>BEFORE|AFTER) (?P<year>\d{4})$", _years_from),
        (r"(?<=\d{4})\s?\.\.+\s?(?=\d{4}$)", "-"),
        (r"^(\d{4}):?(\d\d):?(\d\d)$", r"\1-\2-\3"),
        (r"(?:\bTHE )?(?<!\d)(?P<word>'?(?P<tens>\d0)S|TWENTIES|THIRTIES|FORTIES|FIFTIES|SIXTIES|SEVENTIES|EIGHTIES|"
         r"NINETIES|TEENS)\b", _decade),
        (_DAY_IN_FIGURES.pattern, _day_month_year),
        (r"(?P<before>)'(?P<two>\d\d)(?!\d)", _two_digits),
        (rf"(?P<before>^(?:(?:EARLY|MID|LATE) {_MONTH}|\d{{1,2}} (?:OF )?{_MONTH.replace('month', 'month_')}|"
         rf"{_MONTH.replace('month', 'month__')} \d{{1,2}}),? )(?P<two>\d\d)(?=\??$)", _two_digits),
        (rf"(?P<before>^(?:(?:EARLY|MID|LATE) )?(?:SPRING|SUMMER|AUTUMN|WINTER|{_FEAST}),? (?:OF )?)"
         r"(?P<two>\d\d)(?=\??$)", _two_digits),
        (r"(?P<before>^(?:ABOUT|BEFORE|AFTER|SINCE|UNTIL) )(?P<two>\d\d)(?=\??$)", _two_digits),
        (rf"^{_MONTH},? (?P<number>\d{{1,2}})(?=\??$)", _month_and_number),
        (r"^(?P<before>)(?P<two>\d\d)(?=\??$)", _two_digits),
        (r"^(?:\d|\d{3})$", _too_short),
        (r"(?P<before>^(?:ABOUT|~)? ?)(?P<year>\d{4})\s?(?P<mark>[/–—-])\s?"
         r"(?P<short>\d{1,2})(?=\??$)", _either_year),
    )
)  # fmt: skip
