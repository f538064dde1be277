"""Dates of Chinese, Japanese and Korean backs.

Eras are from memory: Taisho began on 30 July 1912, Showa on 25 December 1926, Heisei on 8 January 1989, Reiwa on 1 May
2019; the first year of the Republic of China was 1912. Java's `JapaneseDate` and `MinguoDate` gave the same once.
"""

from __future__ import annotations

from datetime import date

import pytest

from kinphoto.errors import InvalidValueError
from kinphoto.gedcom.dates import parse_photograph_date
from kinphoto.gedcom.dates_in_text import find_dates
from kinphoto.gedcom.east_asian import number
from kinphoto.reason.model.span import Shape, iso

TODAY = date(2026, 3, 1)


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("1931年5月12日", "1931-05-12", "1931-05-12"),
        ("1931年5月12号", "1931-05-12", "1931-05-12"),
        ("1931年5月12日（火）", "1931-05-12", "1931-05-12"),
        ("１９３１年５月", "1931-05-01", "1931-05-31"),
        ("一九三一年五月", "1931-05-01", "1931-05-31"),
        ("一九三一年十二月廿五日", "1931-12-25", "1931-12-25"),
        ("1931年5月上旬", "1931-05-01", "1931-05-10"),
        ("1931年夏", "1931-06-01", "1931-08-31"),
        ("1931年秋天", "1931-09-01", "1931-11-30"),
        ("1930年代", "1930-01-01", "1939-12-31"),
        ("1930年代初め", "1930-01-01", "1934-12-31"),
        ("三十年代", "1930-01-01", "1939-12-31"),
        ("1930～1935年", "1930-01-01", "1935-12-31"),
        ("1930年から1935年まで", "1930-01-01", "1935-12-31"),
        ("1931年以前", None, "1931-12-31"),
        ("1931年以降", "1931-01-01", None),
        ("昭和6年", "1931-01-01", "1931-12-31"),
        ("昭和六年五月十二日", "1931-05-12", "1931-05-12"),
        ("昭和6年の夏", "1931-06-01", "1931-08-31"),
        ("昭和元年", "1926-12-25", "1926-12-31"),
        ("昭和64年", "1989-01-01", "1989-01-07"),
        ("昭和30年代", "1955-01-01", "1964-12-31"),
        ("大正元年", "1912-07-30", "1912-12-31"),
        ("明治45年", "1912-01-01", "1912-07-29"),
        ("明治40年5月", "1907-05-01", "1907-05-31"),
        ("平成元年", "1989-01-08", "1989-12-31"),
        ("令和元年", "2019-05-01", "2019-12-31"),
        ("民國二十年", "1931-01-01", "1931-12-31"),
        ("民国20年5月12日", "1931-05-12", "1931-05-12"),
        ("1931년 5월 12일", "1931-05-12", "1931-05-12"),
        ("1931년 여름", "1931-06-01", "1931-08-31"),
    ],
)
def test_the_days_that_are_meant(text: str, first: str | None, last: str | None) -> None:
    """Each is read as the days of the Gregorian calendar."""
    span = parse_photograph_date(text, TODAY).span
    assert (iso(span.first), iso(span.last)) == (first, last)


@pytest.mark.parametrize("text", ["1931年頃", "昭和六年頃", "約1931年", "1931年左右", "1931년경"])
def test_about(text: str) -> None:
    """None of them loses its "about"."""
    assert parse_photograph_date(text, TODAY).shape is Shape.ABOUT


@pytest.mark.parametrize(
    "text",
    ["31年5月", "光緒30年", "農曆1931年5月", "民國前3年", "大正20年", "昭和6年2月30日", "昭和一年十三月", "明治3年5月",
     "S6.5.12", "11931年", "1931年13月"],
)  # fmt: skip
def test_what_may_mean_something_else_is_refused(text: str) -> None:
    """A year without its century or after another era, a lunar month, and days that an era did not have."""
    with pytest.raises(InvalidValueError):
        parse_photograph_date(text, TODAY)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("東京にて 昭和六年五月 祖母と", ["昭和六年五月"]),
        ("上海，1931年5月12日，姑姑", ["1931年5月12日"]),
        ("祖母1931年頃撮影", ["1931年頃"]),
        ("서울, 1931년 5월, 할머니", ["1931년 5월"]),
        ("Ada in 東京 1931年5月, and Whitsun 1900", ["1931年5月", "Whitsun 1900"]),
        ("家族100年", []),
    ],
)
def test_on_backs(text: str, expected: list[str]) -> None:
    """Each date among other words, though no blank parts it from them."""
    assert [one.text for one in find_dates(text, TODAY)] == expected


def test_numbers_are_spelled_as_a_library_spells_them() -> None:
    """From one to ninety-nine, by num2words."""
    from num2words import num2words

    assert [number(num2words(each, lang="ja")) for each in range(1, 100)] == list(range(1, 100))
