"""A language is one table: its words are read wherever a date is, and they do not disturb those of another."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import pytest

from kinphoto.errors import InvalidValueError, UnclearDateError
from kinphoto.gedcom import feasts, languages, vernacular
from kinphoto.gedcom.dates import parse_date, parse_photograph_date
from kinphoto.gedcom.dates_in_text import find_dates
from kinphoto.gedcom.languages import LANGUAGES, Language
from kinphoto.reason.model.span import Shape, Span, iso

TODAY = date(2026, 3, 1)

# German, from memory: letters, albums and church books. What each covers was worked out by hand with the table "As
# people say it" of docs/method.md; feasts with the printed tables of test_feasts.
GERMAN = [
    ("Pfingsten 1900", "1900-06-02", "1900-06-04"),
    ("an Pfingsten 1900", "1900-06-02", "1900-06-04"),
    ("Pfingstmontag 1900", "1900-06-04", "1900-06-04"),
    ("Kriegsweihnacht 1916", "1916-12-20", "1917-01-06"),
    ("Heiligabend 1912", "1912-12-24", "1912-12-24"),
    ("2. Weihnachtstag 1912", "1912-12-26", "1912-12-26"),
    ("zu Ostern 1912", "1912-04-05", "1912-04-08"),
    ("Weißer Sonntag 1930", "1930-04-27", "1930-04-27"),
    ("1. Advent 1914", "1914-11-29", "1914-11-29"),
    ("Silvester 1899", "1899-12-31", "1899-12-31"),
    ("Mitte August 1908", "1908-08-11", "1908-08-20"),
    ("Anfang Februar 1908", "1908-02-01", "1908-02-10"),
    ("Ende Februar 1908", "1908-02-21", "1908-02-29"),
    ("Ende 1908", "1908-09-01", "1908-12-31"),
    ("Sommer 1900", "1900-06-01", "1900-08-31"),
    ("im Sommer des Jahres 1908", "1908-06-01", "1908-08-31"),
    ("Spätsommer 1908", "1908-07-16", "1908-09-15"),
    ("Kriegswinter 1916/17", "1916-12-01", "1917-02-28"),
    ("anno 1898", "1898-01-01", "1898-12-31"),
    ("im Jahre 1898", "1898-01-01", "1898-12-31"),
    ("12.VIII.1908", "1908-08-12", "1908-08-12"),
    ("12. VIII. 1908", "1908-08-12", "1908-08-12"),
    ("VIII/1908", "1908-08-01", "1908-08-31"),
    ("d. 12.8.1908", "1908-08-12", "1908-08-12"),
    ("den 12ten August 1908", "1908-08-12", "1908-08-12"),
    ("Mittwoch, 12. Aug. 1908", "1908-08-12", "1908-08-12"),
    ("12.-15. August 1908", "1908-08-12", "1908-08-15"),
    ("Juli/August 1908", "1908-07-01", "1908-08-31"),
    ("Hornung 1899", "1899-02-01", "1899-02-28"),
    ("Heumond 1899", "1899-07-01", "1899-07-31"),
    ("Christmonat 1899", "1899-12-01", "1899-12-31"),
    ("8ber 1872", "1872-10-01", "1872-10-31"),
    ("Jänner 1910", "1910-01-01", "1910-01-31"),
    ("in den zwanziger Jahren", "1920-01-01", "1929-12-31"),
    ("die 20er Jahre", "1920-01-01", "1929-12-31"),
    ("Ende der zwanziger Jahre", "1925-01-01", "1929-12-31"),
    ("Ende des 19. Jahrhunderts", "1870-01-01", "1899-12-31"),
    ("um die Jahrhundertwende", "1895-01-01", "1905-12-31"),
    ("vor dem Ersten Weltkrieg", None, "1914-12-31"),
    ("nach dem 2. Weltkrieg", "1945-01-01", None),
    ("zwischen den Kriegen", "1918-01-01", "1939-12-31"),
    ("kurz vor 1914", "1911-01-01", "1914-12-31"),
    ("kurz vor dem Ersten Weltkrieg", "1911-01-01", "1914-12-31"),
    ("Anfang des Zweiten Weltkriegs", "1939-01-01", "1940-12-31"),
    ("Frühjahr/Sommer 1931", "1931-03-01", "1931-08-31"),
    ("zwischen 1930 und 35", "1930-01-01", "1935-12-31"),
    ("entweder 1930 oder 31", "1930-01-01", "1931-12-31"),
    ("zwischen 1908 und 1910", "1908-01-01", "1910-12-31"),
    ("vom 1. Mai 1908 bis zum 3. Mai 1908", "1908-05-01", "1908-05-03"),
]

# English, likewise.
ENGLISH = [
    ("Whitsun 1900", "1900-06-02", "1900-06-04"),
    ("Easter Monday 1912", "1912-04-08", "1912-04-08"),
    ("Good Friday, 1912", "1912-04-05", "1912-04-05"),
    ("Christmas Day 1931", "1931-12-25", "1931-12-25"),
    ("Boxing Day '31", "1931-12-26", "1931-12-26"),
    ("1912 Easter", "1912-04-05", "1912-04-08"),
    ("August Bank Holiday 1914", "1914-08-03", "1914-08-03"),
    ("New Year's Eve 1899", "1899-12-31", "1899-12-31"),
    ("mid-August 1908", "1908-08-11", "1908-08-20"),
    ("end of February 1909", "1909-02-21", "1909-02-28"),
    ("late summer 1908", "1908-07-16", "1908-09-15"),
    ("Wednesday 12th August 1908", "1908-08-12", "1908-08-12"),
    ("12-15 August 1908", "1908-08-12", "1908-08-15"),
    ("before the First World War", None, "1914-12-31"),
    ("just after the first war", "1918-01-01", "1921-12-31"),
    ("towards the end of the Second World War", "1944-01-01", "1945-12-31"),
    ("spring/summer 1931", "1931-03-01", "1931-08-31"),
    ("autumn or winter 1931", "1931-09-01", "1932-02-29"),
    ("either 1930 or 31", "1930-01-01", "1931-12-31"),
    ("between 1930 and 35", "1930-01-01", "1935-12-31"),
    ("from 1930 to '35", "1930-01-01", "1935-12-31"),
]


@pytest.mark.parametrize(("text", "first", "last"), GERMAN + ENGLISH)
@pytest.mark.parametrize("spelled", [str, str.upper, str.lower])
def test_words_on_backs(text: str, first: str | None, last: str | None, spelled: type[str]) -> None:
    """Each is read as the days it means, however its letters are written, and keeps its words."""
    found = parse_photograph_date(spelled(text), TODAY)
    assert (iso(found.span.first), iso(found.span.last)) == (first, last)
    assert found.words == spelled(text)


@pytest.mark.parametrize(
    "text",
    [
        "um 1905",
        "etwa 1905",
        "gegen 1905",
        "ca. 1905",
        "about 1905",
        "c1905",
        "vers 1905",
        "1905 or so",
        "about 1905 or so",
        "1905-ish",
        "1905 or thereabouts",
        "um 1905 herum",
    ],
)
def test_about(text: str) -> None:
    """All of these mean about 1905."""
    assert parse_photograph_date(text, TODAY).shape is Shape.ABOUT


@pytest.mark.parametrize(
    "text",
    ["wohl 1905", "vermutlich 1905", "vielleicht um 1905", "perhaps 1905", "summer of 31?", "12 Aug 31?", "about 31?"],
)
def test_perhaps(text: str) -> None:
    """The date stands, and is doubtful."""
    assert parse_photograph_date(text, TODAY).doubtful


# What each can mean, by hand; weekdays by the calendar: 12 August 1900 was a Sunday, 8 December 1900 a Saturday.
UNCLEAR = [
    ("12/8/1900", ["12 August 1900", "8 December 1900"]),
    ("Montag 12/8/1900", ["12 August 1900", "8 December 1900"]),  # it was neither
    ("Aug. '08", ["August 1908", "August 2008"]),
    ("12. VIII. 08", ["12 August 1908", "12 August 2008"]),
    ("12/8/08", ["12 August 1908", "8 December 1908", "12 August 2008", "8 December 2008"]),
    ("Sommer 08", ["summer 1908", "summer 2008"]),
    ("Pfingsten 08", ["Whitsun 1908", "Whitsun 2008"]),
    ("anno 98", ["1898", "1998"]),
    ("before the war", ["before the First World War", "before the Second World War"]),
    ("vor dem Krieg", ["before the First World War", "before the Second World War"]),
    ("just before the war", ["shortly before the First World War", "shortly before the Second World War"]),
    ("around the time of the war", ["about the First World War", "about the Second World War"]),
    ("early in the war", ["early in the First World War", "early in the Second World War"]),
    ("gegen Ende des Krieges", ["late in the First World War", "late in the Second World War"]),
    ("im Krieg", ["the First World War", "the Second World War"]),
    ("Wintermonat 1899", ["November 1899", "December 1899", "January 1899"]),
]


@pytest.mark.parametrize(("text", "choices"), UNCLEAR)
def test_what_has_several_meanings_is_asked_about(text: str, choices: list[str]) -> None:
    """All of them are offered, and each can be given as a date instead."""
    with pytest.raises(UnclearDateError) as caught:
        parse_photograph_date(text, TODAY)
    assert caught.value.choices == choices
    assert text in str(caught.value)
    assert len({parse_photograph_date(choice, TODAY).span for choice in choices}) == len(choices)


@pytest.mark.parametrize(
    ("text", "day"),
    [("Sunday 12/8/1900", "1900-08-12"), ("Sonntag, 12/8/1900", "1900-08-12"), ("Saturday 12/8/1900", "1900-12-08"),
     ("Tuesday 12.8.08", "2008-08-12"), ("Mi. 12.8.08", "1908-08-12")],
)  # fmt: skip
def test_a_day_of_the_week_decides(text: str, day: str) -> None:
    """Where only one reading was on that day of the week, it is the one (weekdays by the calendar of Python)."""
    assert iso(parse_photograph_date(text, TODAY).span.first) == day


def test_the_future_decides() -> None:
    """In March 2026, Christmas '26 is that of 1926."""
    assert iso(parse_photograph_date("Xmas '26", TODAY).span.first) == "1926-12-20"
    with pytest.raises(UnclearDateError):
        parse_photograph_date("Xmas '26", date(2027, 3, 1))


def test_a_day_in_figures_is_asked_about_in_a_life_too() -> None:
    """Where somebody gives a birth, as where they give the date of a photograph."""
    with pytest.raises(UnclearDateError, match="12 August 1870 or 8 December 1870"):
        parse_date("12/8/1870")


@pytest.mark.parametrize("text", ["Pfingsten", "12. August", "im Sommer", "Christmas Eve", "Mitte August"])
def test_what_is_missing_is_said(text: str) -> None:
    """A date without a year is not just "not understood"."""
    with pytest.raises(InvalidValueError) as caught:
        parse_date(text)
    assert f'"{text}" has no year. Add it, such as "{text} 1931".' in str(caught.value)


def test_no_word_means_two_things() -> None:
    """One that did would be read in the wrong language, since nobody says which language a back is written in."""
    seen: dict[str, str] = {}
    for language in LANGUAGES.values():
        for word, english in vernacular._terms(language):
            assert seen.setdefault(word, english) == english, word
    for language in LANGUAGES.values():
        for group in ("about", "before", "after", "since", "until", "perhaps", "year"):
            assert seen.keys().isdisjoint(vernacular.words(getattr(language, group)))


def test_english_is_left_as_it_is() -> None:
    """Since a date is translated at each step of reading it, translating twice is the same as once."""
    for text, *_ in GERMAN + ENGLISH + [(text,) for text, _ in UNCLEAR]:
        once = vernacular.in_english(text.upper())
        assert vernacular.in_english(once) == once, text


@pytest.fixture
def without_polish(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """One table fewer."""
    monkeypatch.delitem(languages.LANGUAGES, "Polish")
    yield from _with_other_tables(monkeypatch)


@pytest.fixture
def polish(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """One small table in place of that of Polish."""
    table = Language(
        months=("styczeń|stycznia", "luty|lutego", "marzec|marca", "kwiecień|kwietnia", "maj|maja", "czerwiec|czerwca",
                "lipiec|lipca", "sierpień|sierpnia", "wrzesień|września", "październik|października",
                "listopad|listopada", "grudzień|grudnia"),
        seasons={"summer": "lato|latem"}, feasts={"Easter": "Wielkanoc"}, about="około", before="przed", after="po",
    )  # fmt: skip
    monkeypatch.setitem(languages.LANGUAGES, "Polish", table)
    yield from _with_other_tables(monkeypatch)


def _with_other_tables(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Forget what was made of the tables, before and after."""
    made = [one for one in vars(vernacular).values() if hasattr(one, "cache_clear")]
    for each in made:
        each.cache_clear()
    yield
    monkeypatch.undo()
    for each in made:
        each.cache_clear()


@pytest.mark.usefixtures("polish")
def test_a_language_is_one_table() -> None:
    """With nothing but a table, dates of a language are read, also within other words (Polish, from memory)."""
    for text, first in (
        ("12 sierpnia 1908", "1908-08-12"), ("lato 1908", "1908-06-01"), ("Wielkanoc 1912", "1912-04-05"),
        ("około 1905", "1895-01-01"), ("po 1918", "1918-01-01"),
    ):  # fmt: skip
        assert iso(parse_photograph_date(text, TODAY).span.first) == first
    assert [found.text for found in find_dates("Zakopane, 12 sierpnia 1908, ciocia", TODAY)] == ["12 sierpnia 1908"]


@pytest.mark.usefixtures("without_polish")
def test_without_the_table_it_is_not_read() -> None:
    """The same words are no date then; the message says what to write."""
    with pytest.raises(InvalidValueError, match="Write it like 1931"):
        parse_photograph_date("12 sierpnia 1908", TODAY)


@pytest.mark.parametrize("name", LANGUAGES)
def test_every_word_of_the_tables_is_read(name: str) -> None:
    """A season, a feast, a month, with its year, like its English; whatever stands before a date, with one after it.
    No word is lost to another language's."""
    language = LANGUAGES[name]
    for table in (language.seasons, language.feasts):
        for english, group in table.items():
            for word in group.split("|"):
                assert parse_photograph_date(f"{word} 1931", TODAY).span == spoken_span(english), word
    for month, group in enumerate(language.months, 1):
        for word in group.split("|"):
            assert iso(parse_photograph_date(f"{word} 1931", TODAY).span.first) == f"1931-{month:02}-01", word
    for before in ("about", "before", "after", "since", "until", "perhaps", "within", "year"):
        for word in filter(None, getattr(language, before).split("|")):
            assert parse_photograph_date(f"{word} 1931", TODAY).words, word


def spoken_span(english: str) -> Span:
    """The days of a season or a feast in 1931, by its English name."""
    days = feasts.days_of(english, 1931) if english in feasts.FEASTS else None
    if days is None:
        return parse_photograph_date(f"{english} 1931", TODAY).span
    return Span(days[0].toordinal(), days[1].toordinal())
