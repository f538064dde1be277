"""Dates as people write them at home, in eight languages."""

from __future__ import annotations

import pytest

from kinphoto.gedcom.dates import read_gedcom
from kinphoto.reason.model.span import Shape, iso

# Months, and the words for about, before, after, between and from ... to, of each language, from memory.
LANGUAGES = {
    "German": (
        "Januar Februar März April Mai Juni Juli August September Oktober November Dezember",
        "{}. {} 1900", "um 1900", "vor 1900", "nach 1900", "zwischen 1900 und 1905", "von 1900 bis 1905",
    ),
    "French": (
        "janvier février mars avril mai juin juillet août septembre octobre novembre décembre",
        "le {} {} 1900", "vers 1900", "avant 1900", "après 1900", "entre 1900 et 1905", "de 1900 à 1905",
    ),
    "Norwegian": (
        "januar februar mars april mai juni juli august september oktober november desember",
        "{}. {} 1900", "omkring 1900", "før 1900", "etter 1900", "mellom 1900 og 1905", "fra 1900 til 1905",
    ),
    "Danish": (
        "januar februar marts april maj juni juli august september oktober november december",
        "den {}. {} 1900", "omkr. 1900", "før 1900", "efter 1900", "mellem 1900 og 1905", "fra 1900 til 1905",
    ),
    "Swedish": (
        "januari februari mars april maj juni juli augusti september oktober november december",
        "den {} {} 1900", "omkring 1900", "före 1900", "efter 1900", "mellan 1900 och 1905", "från 1900 till 1905",
    ),
    "Dutch": (
        "januari februari maart april mei juni juli augustus september oktober november december",
        "{} {} 1900", "omstreeks 1900", "voor 1900", "na 1900", "tussen 1900 en 1905", "van 1900 tot 1905",
    ),
    "Spanish": (
        "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre",
        "{} de {} de 1900", "hacia 1900", "antes de 1900", "después de 1900", "entre 1900 y 1905",
        "desde 1900 hasta 1905",
    ),
    "Italian": (
        "gennaio febbraio marzo aprile maggio giugno luglio agosto settembre ottobre novembre dicembre",
        "{} {} 1900", "intorno al 1900", "prima del 1900", "dopo il 1900", "tra il 1900 e il 1905", "dal 1900 al 1905",
    ),
}  # fmt: skip
SPANS = (
    (Shape.ABOUT, "1890-01-01", "1910-12-31"), (Shape.BEFORE, None, "1900-12-31"), (Shape.AFTER, "1900-01-01", None),
    (Shape.FLAT, "1900-01-01", "1905-12-31"), (Shape.FLAT, "1900-01-01", "1905-12-31"),
)  # fmt: skip


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("spelled", [str.lower, str.upper, str.title])
def test_months(language: str, spelled: object) -> None:
    """A day of each month, in any letter case, is that day; the keeper of the tree is told how it was read."""
    assert callable(spelled)
    months, day, *_ = LANGUAGES[language]
    for number, month in enumerate(months.split(), 1):
        reading = read_gedcom(day.format(2, spelled(month)))
        assert iso(reading.dated.span.first) == iso(reading.dated.span.last) == f"1900-{number:02}-02", month
        assert "understood as 2 " in reading.warning


@pytest.mark.parametrize("language", LANGUAGES)
def test_about_before_after_between_and_from(language: str) -> None:
    """Each says the same as its GEDCOM keyword, and is read with a warning."""
    for text, expected in zip(LANGUAGES[language][2:], SPANS, strict=True):
        reading = read_gedcom(text)
        span = reading.dated.span
        assert (reading.dated.shape, iso(span.first), iso(span.last)) == expected, text
        assert reading.warning
        assert reading.dated.words == text


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("1er mai 1917", "1917-05-01", "1917-05-01"),
        ("2.5.1917", "1917-05-02", "1917-05-02"),  # day first, as written with dots everywhere
        ("1917/05/02", "1917-05-02", "1917-05-02"),
        ("2-MAY-1917", "1917-05-02", "1917-05-02"),
        ("31/12/1917", "1917-12-31", "1917-12-31"),  # only one of the two readings is a day
        ("12/31/1917", "1917-12-31", "1917-12-31"),
        ("3/4/1917", "1917-03-04", "1917-04-03"),  # both readings lie within
        ("5/1917", "1917-05-01", "1917-05-31"),
        ("1914-18", "1914-01-01", "1918-12-31"),
        ("1917-05", "1917-05-01", "1917-05-31"),
        ("1900-05", "1900-01-01", "1905-12-31"),  # May 1900, or 1900 to 1905: both lie within
        ("1890s", "1890-01-01", "1899-12-31"),
        ("1890er", "1890-01-01", "1899-12-31"),
        ("1917 or 1918", "1917-01-01", "1918-12-31"),
        ("1917 oder 1918", "1917-01-01", "1918-12-31"),
        ("Jan-Mar 1917", "1917-01-01", "1917-03-31"),  # a quarter of the civil register
        ("EST BEF 1917", None, "1917-12-31"),
        ("ABT BET 1917 AND 1920", "1917-01-01", "1920-12-31"),
        ("ABT1917", "1907-01-01", "1927-12-31"),
        ("1917 A.D.", "1917-01-01", "1917-12-31"),
        ("10 FEB 1699/1700", "1700-02-10", "1700-02-10"),
        ("192X", "1920-01-01", "1929-12-31"),
        ("anno 1700", "1700-01-01", "1700-12-31"),
    ],
)
def test_other_ways_of_writing(text: str, first: str | None, last: str | None) -> None:
    """Each covers what it can mean, and is named."""
    reading = read_gedcom(text)
    assert (iso(reading.dated.span.first), iso(reading.dated.span.last)) == (first, last)
    assert "is not a standard date" in reading.warning


@pytest.mark.parametrize("text", ["unbekannt", "?", "dead", "13/13/1917", "nach dem Krieg", "1917-13-01", "mai"])
def test_what_cannot_be_read_is_kept_as_words(text: str) -> None:
    """It bounds nothing, and is named."""
    reading = read_gedcom(text)
    assert (reading.dated.span.first, reading.dated.span.last, reading.dated.words) == (None, None, text)
    assert "kept as text" in reading.warning
