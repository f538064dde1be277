"""Times that everybody remembered without their year: "late Victorian", "VE Day", "the coronation".

Reigns, states and days as history books have them, from memory: Victoria 1837 to 1901, Edward VII to 1910; the German
Empire 1871 to 1918, the Weimar Republic to 1933; the day the war in Europe ended, and that in Asia (the fifteenth of
August in Britain, the second of September in America); the coronations in Westminster; the Great Patriotic War of the
Soviet Union; the German currency reform. All texts are in capitals and in the English of `languages`, as in
`on_photographs`.
"""

from __future__ import annotations

import re

_TURN, _CENTURY = "TURN OF CENTURY", 1900
_ERAS = {
    "INTERWAR": (1918, 1939),
    _TURN: (_CENTURY - 5, _CENTURY + 5),
    "VICTORIAN": (1837, 1901),
    "EDWARDIAN": (1901, 1910),
    "GERMAN EMPIRE": (1871, 1918),
    "WEIMAR REPUBLIC": (1919, 1933),
    "GREAT PATRIOTIC WAR": (1941, 1945),
}
"""Their first and last years; those of the turn of the century are a judgement of the project."""
_DAYS = {
    "ARMISTICE 1918": ("11 NOV 1918",),
    "D-DAY": ("6 JUN 1944",),
    "VE DAY": ("8 MAY 1945",),
    "VJ DAY": ("15 AUG 1945", "2 SEP 1945"),
    "CURRENCY REFORM": ("20 JUN 1948",),
    "CORONATION DAY": ("9 AUG 1902", "22 JUN 1911", "12 MAY 1937", "2 JUN 1953"),
    "CORONATION YEAR": ("1902", "1911", "1937", "1953"),
}
ADJECTIVES = ("VICTORIAN", "EDWARDIAN")
"""What may be said of a house as well."""
NAMES = (*_ERAS, *_DAYS)
_SIDES = {"BEFORE": ("BEF", 0), "UNTIL": ("TO", 1), "AFTER": ("AFT", 1), "SINCE": ("FROM", 0)}
_THIRDS = {"EARLY": (0, 1), "MID": (1, 2), "LATE": (2, 3)}
_KNOWN = re.compile(
    rf"(?:(?P<side>{'|'.join(_SIDES)}) )?(?P<about>ABOUT )?(?:THE )?(?:(?P<part>EARLY|MID|LATE)[ -](?:THE )?)?"
    rf"(?P<name>{'|'.join(NAMES)})(?:,? (?P<year>\d{{4}}))?(?P<doubt>\??)"
)


def in_figures(value: str) -> tuple[str, ...]:
    """The years or the day of such a time, for `dates.parse_date`, several where it came several times; anything else
    stays as it was."""
    found = _KNOWN.fullmatch(value)
    if found is None:
        return (value,)
    side, doubt = found["side"], found["doubt"]
    if found["name"] in _ERAS:
        if found["year"]:
            return (value,)
        first, last = _part_of(*_ERAS[found["name"]], found["part"])
        if side and found["name"] == _TURN:
            first = last = _CENTURY
        if side:
            word, end = _SIDES[side]
            return (f"{word} {(first, last)[end]}{doubt}",)
        return (f"BET {first} AND {last}{doubt}",)
    if found["part"]:
        return (value,)
    before = f"{side or ''} {found['about'] or ''}".strip()
    days = [day for day in _DAYS[found["name"]] if day.endswith(found["year"] or "")]
    return tuple(f"{before} {day}{doubt}".strip() for day in days) or (value,)


def _part_of(first: int, last: int, part: str | None) -> tuple[int, int]:
    """Its years, or those of a third of it."""
    if part is None:
        return first, last
    begin, end = _THIRDS[part]
    length = last - first
    return first + round(length * begin / 3), first + round(length * end / 3)
