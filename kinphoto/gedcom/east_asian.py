"""Dates of Chinese, Japanese and Korean backs in English: "1931年5月12日", "昭和六年夏", "1931년 5월 12일 경".

Numbers may be full-width or Chinese ("一九三一年五月十二日"). A year needs four digits or its era. What is
counted by the lunar calendar (農曆, 旧暦, 음력) or after another era stays as it is: it is not a date. "S6.5.12" stays
too: S is a page in German.
"""

from __future__ import annotations

import re
import unicodedata

from kinphoto.gedcom.calendars import ERAS, MONTHS, REPUBLIC_OF_CHINA, days_of_era, year_month_day

_WRITTEN = re.compile("[㐀-鿿豈-﫿가-힣０-９]")
_DIGITS = dict(zip("〇零○一二三四五六七八九", (0, 0, *range(10)), strict=True))
_NUMBER = r"[0-9〇零○一二三四五六七八九十百廿卅元]+"
_PART_OF_LONGER = tuple("0123456789和治正成國国緒绪統统慶庆隆")
"""Before a year: it has more digits, or an era that is not known or had no such year."""
_NO_DATE = re.compile("農曆|农历|陰曆|阴历|旧暦|舊曆|旧历|陰暦|음력|民國前|民国前|民前")
_UNIT = re.compile(
    rf"(?P<era>{'|'.join((*ERAS, *REPUBLIC_OF_CHINA))}|公元|西元|西暦)?\s?(?P<year>{_NUMBER})\s?[年년](?P<tens>代|대)?"
    rf"(?:\s?の?(?:(?P<month>{_NUMBER})\s?[月월](?:\s?(?P<day>{_NUMBER})\s?[日号號일])?|(?P<season>[春夏秋冬봄]|여름|가을|겨울)[天季]?))?"
    r"(?:\s?の?(?P<part>初め|初期|前半|中頃|中期|半ば|後半|后期|後期|末期|初|末|上旬|中旬|下旬|초|말))?"
    r"(?:\s?\(?[月火水木金土日一二三四五六](?:曜日?)\)?|\s?\([月火水木金土日]\)|\s?(?:星期|週|周|禮拜|礼拜)[一二三四五六日天]|\s?[월화수목금토일]요일)?"
)
_SEASONS = {
    "春": "SPRING", "夏": "SUMMER", "秋": "AUTUMN", "冬": "WINTER", "봄": "SPRING", "여름": "SUMMER", "가을": "AUTUMN",
    "겨울": "WINTER",
}  # fmt: skip
_PARTS = {
    **dict.fromkeys(("初め", "初期", "前半", "初", "上旬", "초"), "EARLY"),
    **dict.fromkeys(("中頃", "中期", "半ば", "中旬"), "MID"),
    **dict.fromkeys(("後半", "后期", "後期", "末期", "末", "下旬", "말"), "LATE"),
}
_BEFORE_IT = {"約": "ABOUT", "约": "ABOUT", "大約": "ABOUT", "大约": "ABOUT", "およそ": "ABOUT", "약": "ABOUT"}
_AFTER_IT = {
    **dict.fromkeys(("頃", "ころ", "ごろ", "左右", "前後", "前后", "경", "쯤", "무렵"), "ABOUT"),
    **dict.fromkeys(("以前", "之前", "より前", "이전"), "BEFORE"),
    **dict.fromkeys(("以後", "以后", "以降", "之後", "之后", "より後", "이후"), "AFTER"),
}
_SURROUNDED = re.compile(
    rf"(?:(?P<before>{'|'.join(_BEFORE_IT)})\s?)?<(?P<one>[^<>]+)>"
    rf"(?:(?:から|〜|～|~|-|–|到|至|부터)\s?<(?P<other>[^<>]+)>(?:まで|까지)?|\s?(?P<after>{'|'.join(_AFTER_IT)}))?"
)


def in_english(text: str) -> str:
    """The same with its dates in English; anything else stays."""
    if not _WRITTEN.search(text):
        return text
    plain = unicodedata.normalize("NFKC", text).replace("<", " ").replace(">", " ")
    if _NO_DATE.search(plain):
        return text
    plain = re.sub(r"(?<!\d)(\d{4})\s?[〜~-]\s?(?=\d{4}\s?[年년])", r"\1年~", plain)
    marked = _UNIT.sub(lambda found: _unit(found) or found[0], plain)
    return _SURROUNDED.sub(_surrounded, marked).strip() if "<" in marked else text


def spans(text: str) -> list[tuple[int, int]]:
    """Where dates of these scripts stand in a text, each with what says about, before or after it."""
    if not _WRITTEN.search(text):
        return []
    side = rf"(?:(?:{'|'.join(_BEFORE_IT)})\s?)?"
    after = rf"(?:\s?(?:{'|'.join(_AFTER_IT)}))?"
    one = re.sub(r"\?P<\w+>", "", _UNIT.pattern)
    pattern = rf"{side}{one}(?:\s?(?:から|〜|～|~|-|–|到|至|부터)\s?{one}(?:まで|까지)?)?{after}"
    plain = "".join(_one_letter(letter) for letter in text)
    if _NO_DATE.search(plain):
        return []
    return [found.span() for found in re.finditer(pattern, plain) if "年" in found[0] or "년" in found[0]]


def _one_letter(letter: str) -> str:
    """Full-width as plain, where that is one letter too."""
    plain = unicodedata.normalize("NFKC", letter)
    return plain if len(plain) == 1 else letter


def number(written: str) -> int | None:
    """十二 is 12, 廿五 25, 一九三一 1931, 元 the first; None for what is not a number."""
    if written.isascii():
        return int(written)
    if written == "元":
        return 1
    if all(one in _DIGITS for one in written):
        return int("".join(str(_DIGITS[one]) for one in written))
    tens = written.replace("廿", "二十").replace("卅", "三十")
    found = re.fullmatch(
        r"(?:([一二三四五六七八九])?(百))?[零〇]?(?:([一二三四五六七八九])?(十))?([一二三四五六七八九])?", tens
    )
    if found is None:
        return None
    hundreds = _DIGITS.get(found[1] or "一", 1) * 100 if found[2] else 0
    return hundreds + (_DIGITS[found[3] or "一"] * 10 if found[4] else 0) + (_DIGITS[found[5]] if found[5] else 0)


def _unit(found: re.Match[str]) -> str:
    """One date between < and >; "" for what is none, or was none."""
    outside = found.string[max(0, found.start() - 1) : found.start()]
    year = number(found["year"])
    month, day = (number(found[name]) if found[name] else None for name in ("month", "day"))
    era = found["era"] if found["era"] not in ("公元", "西元", "西暦") else None
    if year is None or (found["month"] and month is None) or (found["day"] and day is None):
        return ""
    if found["tens"]:
        return _decade(year, era, found["part"])
    if era is None:
        if not 1000 <= year <= 9999 or outside in _PART_OF_LONGER:
            return ""
        if month is None:
            return f"<{_named(found, str(year))}>"
        if not 1 <= month <= 12:
            return ""
        return f"<{_named(found, f'{day} {MONTHS[month - 1]} {year}' if day else f'{MONTHS[month - 1]} {year}')}>"
    days = days_of_era(era, year, month, day)
    if days is None:
        return ""
    if month or found["season"] or found["part"]:
        year = year_month_day(days[0])[0]
        if found["season"] or found["part"]:
            return f"<{_named(found, f'{MONTHS[month - 1]} {year}' if month else str(year))}>"
    return f"<{_between(*days)}>"


def _named(found: re.Match[str], date: str) -> str:
    """With its season or its part before it."""
    words = _PARTS.get(found["part"] or "", ""), _SEASONS.get(found["season"] or "", ""), date
    return " ".join(filter(None, words))


def _decade(year: int, era: str | None, part: str | None) -> str:
    """1930年代, 昭和30年代; of 三十年代 nobody says the century but everybody means the last one."""
    if year % 10 or (era is None and not (1000 <= year <= 9999 or 20 <= year <= 80)):
        return ""
    if era is None:
        first = year if year > 99 else 1900 + year
        return f"<{' '.join(filter(None, (_PARTS.get(part or '', ''), f'{first}S')))}>"
    ends = days_of_era(era, year), days_of_era(era, year + 9)
    if ends[0] is None or ends[1] is None or part:
        return ""
    return f"<{_between(ends[0][0], ends[1][1])}>"


def _between(first: int, last: int) -> str:
    """A day, a whole year or month by itself, or a range, in GEDCOM's months."""
    (year, month, day), (last_year, last_month, last_day) = year_month_day(first), year_month_day(last)
    if first == last:
        return f"{day} {MONTHS[month - 1]} {year}"
    if (month, day, last_month, last_day) == (1, 1, 12, 31):
        return str(year) if year == last_year else f"BETWEEN {year} AND {last_year}"
    if day == 1 and (year, month) == (last_year, last_month) and last_day >= 28:
        return f"{MONTHS[month - 1]} {year}"
    return f"BETWEEN {day} {MONTHS[month - 1]} {year} AND {last_day} {MONTHS[last_month - 1]} {last_year}"


def _surrounded(found: re.Match[str]) -> str:
    one, other = found["one"], found["other"]
    if other:
        return f" BETWEEN {one} AND {other} " if "BETWEEN" not in one + other else found[0]
    side = _BEFORE_IT.get(found["before"] or "") or _AFTER_IT.get(found["after"] or "", "")
    return f" {side} {one} " if side else f" {one} "
