"""Dates as relatives elsewhere write them; months and weekdays are compared with the Unicode CLDR, by Babel."""

from __future__ import annotations

from datetime import date

import pytest
from babel import Locale
from convertdate import holidays

from kinphoto.errors import InvalidValueError, UnclearDateError
from kinphoto.gedcom.dates import parse_photograph_date
from kinphoto.gedcom.dates_in_text import find_dates
from kinphoto.reason.model.span import Shape, iso

TODAY = date(2026, 3, 1)

# From memory, as backs and letters have them; the days were worked out by hand with the table of docs/method.md, and
# Easter of 1931 (5 April) is in the printed tables of test_feasts.
POLISH = [
    ("5 maja 1931 r.", "1931-05-05", "1931-05-05"),
    ("w niedzielę 5 maja 1931 roku", "1931-05-05", "1931-05-05"),
    ("5 sie 1931", "1931-08-05", "1931-08-05"),
    ("początek maja 1931", "1931-05-01", "1931-05-10"),
    ("w maju 1931", "1931-05-01", "1931-05-31"),
    ("latem 1931", "1931-06-01", "1931-08-31"),
    ("zimą 1931/32", "1931-12-01", "1932-02-29"),
    ("na Wielkanoc 1931", "1931-04-03", "1931-04-06"),
    ("Boże Narodzenie 1931", "1931-12-20", "1932-01-06"),
    ("lata 30.", "1930-01-01", "1939-12-31"),
    ("w latach trzydziestych", "1930-01-01", "1939-12-31"),
    ("początek lat 30.", "1930-01-01", "1934-12-31"),
    ("koniec XIX wieku", "1870-01-01", "1899-12-31"),
    ("między 1930 a 1935", "1930-01-01", "1935-12-31"),
    ("1930 lub 1931", "1930-01-01", "1931-12-31"),
    ("do 1930", None, "1930-12-31"),
    ("po II wojnie światowej", "1945-01-01", None),
]
PORTUGUESE = [
    ("5 de maio de 1931", "1931-05-05", "1931-05-05"),
    ("domingo, 5 de out. de 1931", "1931-10-05", "1931-10-05"),
    ("verão de 1931", "1931-06-01", "1931-08-31"),
    ("no verão de 1931", "1931-06-01", "1931-08-31"),
    ("Natal de 1931", "1931-12-20", "1932-01-06"),
    ("Páscoa de 1931", "1931-04-03", "1931-04-06"),
    ("nos anos 30", "1930-01-01", "1939-12-31"),
    ("início dos anos trinta", "1930-01-01", "1934-12-31"),
    ("década de 1930", "1930-01-01", "1939-12-31"),
    ("fim do século XIX", "1870-01-01", "1899-12-31"),
    ("entre 1930 e 1935", "1930-01-01", "1935-12-31"),
    ("antes de 1930", None, "1930-12-31"),
    ("durante a Segunda Guerra Mundial", "1939-01-01", "1945-12-31"),
]
CZECH = [
    ("5. května 1931", "1931-05-05", "1931-05-05"),
    ("ve středu 6. května 1931", "1931-05-06", "1931-05-06"),
    ("5. mája 1931", "1931-05-05", "1931-05-05"),
    ("v květnu 1931", "1931-05-01", "1931-05-31"),
    ("v létě 1931", "1931-06-01", "1931-08-31"),
    ("v lete 1931", "1931-06-01", "1931-08-31"),
    ("o Velikonocích 1931", "1931-04-03", "1931-04-06"),
    ("na Vianoce 1931", "1931-12-20", "1932-01-06"),
    ("začátek 30. let", "1930-01-01", "1934-12-31"),
    ("ve třicátých letech", "1930-01-01", "1939-12-31"),
    ("konec 19. století", "1870-01-01", "1899-12-31"),
    ("mezi 1930 a 1935", "1930-01-01", "1935-12-31"),
    ("před první světovou válkou", None, "1914-12-31"),
]
HUNGARIAN = [
    ("1931. május 5.", "1931-05-05", "1931-05-05"),
    ("1931. máj. 5-én", "1931-05-05", "1931-05-05"),
    ("1931. V. 5.", "1931-05-05", "1931-05-05"),
    ("1931.05.12.", "1931-05-12", "1931-05-12"),
    ("1931 májusában", "1931-05-01", "1931-05-31"),
    ("1931 nyarán", "1931-06-01", "1931-08-31"),
    ("1931 karácsonyán", "1931-12-20", "1932-01-06"),
    ("1930-as évek", "1930-01-01", "1939-12-31"),
    ("az 1930-as évek elején", "1930-01-01", "1934-12-31"),
    ("a harmincas években", "1930-01-01", "1939-12-31"),
    ("1930 és 1935 között", "1930-01-01", "1935-12-31"),
    ("1930 előtt", None, "1930-12-31"),
    ("az első világháború után", "1918-01-01", None),
]
# Days of before 14 February 1918 may be Julian, 12 days behind in the 19th century and 13 in the 20th (from memory).
RUSSIAN = [
    ("5 мая 1931 г.", "1931-05-05", "1931-05-05"),
    ("5-го мая 1931 года", "1931-05-05", "1931-05-05"),
    ("в мае 1931 г.", "1931-05-01", "1931-05-31"),
    ("лето 1931", "1931-06-01", "1931-08-31"),
    ("зима 1931/32", "1931-12-01", "1932-02-29"),
    ("начало 30-х", "1930-01-01", "1934-12-31"),
    ("30-е годы", "1930-01-01", "1939-12-31"),
    ("в тридцатых годах", "1930-01-01", "1939-12-31"),
    ("1930-1935 гг.", "1930-01-01", "1935-12-31"),
    ("с 1930 по 1935", "1930-01-01", "1935-12-31"),
    ("до 1930 г.", None, "1930-12-31"),
    ("конец XIX века", "1870-01-01", "1899-12-31"),
    ("после Первой мировой войны", "1918-01-01", None),
    ("во время Великой Отечественной войны", "1941-01-01", "1945-12-31"),
    ("5 марта 1931", "1931-03-05", "1931-03-05"),
    ("начало марта 1931", "1931-03-01", "1931-03-10"),
    ("5 марта 1912", "1912-03-05", "1912-03-18"),
    ("5 мая 1912", "1912-05-05", "1912-05-18"),
    ("5 мая 1912 ст. ст.", "1912-05-18", "1912-05-18"),
    ("5 мая 1912 г. (н. ст.)", "1912-05-05", "1912-05-05"),
    ("5/18 мая 1912", "1912-05-18", "1912-05-18"),
    ("5/17 мая 1898", "1898-05-17", "1898-05-17"),
    ("май 1912", "1912-05-01", "1912-06-13"),
    ("до 5 мая 1912", None, "1912-05-18"),
    ("29 февраля 1900", "1900-03-13", "1900-03-13"),  # the Julian calendar alone had that day
]
UKRAINIAN = [
    ("5 травня 1931 р.", "1931-05-05", "1931-05-05"),
    ("влітку 1931 року", "1931-06-01", "1931-08-31"),
    ("20-ті роки", "1920-01-01", "1929-12-31"),
    ("у 30-х роках", "1930-01-01", "1939-12-31"),
    ("між 1930 і 1935", "1930-01-01", "1935-12-31"),
]


@pytest.mark.parametrize(("text", "first", "last"), RUSSIAN + UKRAINIAN + POLISH + PORTUGUESE + CZECH + HUNGARIAN)
@pytest.mark.parametrize("spelled", [str, str.upper, str.lower])
def test_dates_of_relatives(text: str, first: str | None, last: str | None, spelled: type[str]) -> None:
    """Each is read as the days it means, however its letters are written."""
    found = parse_photograph_date(spelled(text), TODAY)
    assert (iso(found.span.first), iso(found.span.last)) == (first, last)


@pytest.mark.parametrize("text", [
    "około 1930", "ok. 1930", "por volta de 1930", "cerca de 1930", "kolem roku 1930", "asi 1930", "1930 körül",
    "kb. 1930", "ок. 1930", "около 1930 г.", "близько 1930",
])  # fmt: skip
def test_about(text: str) -> None:
    """All of these mean about 1930, and none loses its "about"."""
    assert parse_photograph_date(text, TODAY).shape is Shape.ABOUT


@pytest.mark.parametrize(
    "text", ["przed wojną", "antes da guerra", "před válkou", "a háború előtt", "до войны", "до війни"]
)
def test_which_war_is_asked(text: str) -> None:
    """As for "before the war"."""
    with pytest.raises(UnclearDateError) as caught:
        parse_photograph_date(text, TODAY)
    assert caught.value.choices == ["before the First World War", "before the Second World War"]


@pytest.mark.parametrize("text", ["do 12 maja 1930", "Do 12.5.1930"])
def test_thursday_or_until_is_asked(text: str) -> None:
    """German "Do" is Thursday, Polish and Czech "do" until: before a day it is one or the other."""
    with pytest.raises(UnclearDateError) as caught:
        parse_photograph_date(text, TODAY)
    each = [parse_photograph_date(choice, TODAY).span for choice in caught.value.choices]
    assert [(iso(span.first), iso(span.last)) for span in each] == [("1930-05-12", "1930-05-12"), (None, "1930-05-12")]


@pytest.mark.parametrize(
    "text", ["Maja 1931", "Augusta 1931", "Марта 1931", "Марта 1912", "Natal 1931", "jar 1931", "Marc 1931", "ate 1931"]
)
def test_names_of_people_places_and_things_are_no_months(text: str) -> None:
    """Genitives of months that are names stand after a day: "5 maja 1931"; a jar is Slovak spring."""
    with pytest.raises(InvalidValueError):
        parse_photograph_date(text, TODAY)


@pytest.mark.parametrize("text", ["sie 1931", "out 1931", "led 1931", "tél 1931"])
def test_short_words_of_other_languages_are_no_months(text: str) -> None:
    """Without a day before it, "sie" is "she" in German and "out" English."""
    with pytest.raises(InvalidValueError):
        parse_photograph_date(text, TODAY)


@pytest.mark.parametrize("year", [1899, 1912, 1931, 1960])
def test_orthodox_easter(year: int) -> None:
    """Easter is that of the Julian calendar, as convertdate reckons it and turns it into the Gregorian one."""
    sunday = holidays.easter(year, "orthodox")
    span = parse_photograph_date(f"Пасха {year}", TODAY).span
    assert (span.first, span.last) == (date(*sunday).toordinal() - 2, date(*sunday).toordinal() + 1)


CODES = ["en", "de", "fr", "nl", "es", "it", "nb", "da", "sv", "pl", "pt", "cs", "sk", "hu", "ru", "uk"]


@pytest.mark.parametrize("code", CODES)
def test_months_are_those_of_cldr(code: str) -> None:
    """Each month, as it stands alone and beside a day, by its name in the Unicode CLDR."""
    months = Locale(code).months
    for number in range(1, 13):
        for context in ("format", "stand-alone"):
            name = months[context]["wide"][number]
            written = f"1931. {name} 2." if code == "hu" else f"2 {name} 1931"
            assert iso(parse_photograph_date(written, TODAY).span.first) == f"1931-{number:02}-02", name


@pytest.mark.parametrize("code", CODES)
def test_short_months_are_those_of_cldr(code: str) -> None:
    """The abbreviations too, beside a day."""
    months = Locale(code).months
    for number, name in months["format"]["abbreviated"].items():
        written = f"1931. {name} 2." if code == "hu" else f"2 {name} 1931"
        assert iso(parse_photograph_date(written, TODAY).span.first) == f"1931-{number:02}-02", name


@pytest.mark.parametrize("code", ["en", "de", "pl", "pt", "cs", "sk", "ru", "uk"])
def test_weekdays_are_those_of_cldr(code: str) -> None:
    """They stand before a day and decide between its readings: 6 to 12 April 1931 were Monday to Sunday (by Python)."""
    for number, name in Locale(code).days["stand-alone"]["wide"].items():
        day = date(1931, 4, 6 + number)
        assert parse_photograph_date(f"{name}, {day.day}/4/1931", TODAY).span.first == day.toordinal(), name


BACKS = [
    ("Zakopane, latem 1931, z ciocią Anną", ["latem 1931"]),
    ("Anna, ur. 1890, Kraków, 5 maja 1931 r.", ["5 maja 1931"]),
    ("Babcia na wakacjach w latach trzydziestych", ["w latach trzydziestych"]),
    ("Lisboa, verão de 1931, com a tia Ana", ["verão de 1931"]),
    ("Москва, 5 мая 1931 г., тётя Анна, род. 1890", ["5 мая 1931"]),
    ("майор Иванов, лето 1931", ["лето 1931"]),
    ("Praha, 5. května 1931, teta Anna", ["5. května 1931"]),
    ("Szeged, 1931. május 5., Anna néni", ["1931. május 5"]),
]


@pytest.mark.parametrize(("text", "expected"), BACKS)
def test_on_backs(text: str, expected: list[str]) -> None:
    """Each date among other words, and nothing else."""
    assert [one.text for one in find_dates(text, TODAY)] == expected
