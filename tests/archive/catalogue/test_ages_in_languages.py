"""Ages as aunts from other countries give them; what each means was decided by reading them."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest

from kinphoto.archive.catalogue import ages_in_languages
from kinphoto.archive.catalogue.ages import parse_age
from kinphoto.archive.catalogue.folding import fold
from kinphoto.errors import InvalidValueError


@pytest.mark.parametrize(
    ("german", "english"),
    [
        ("sieben", "seven"), ("7 Jahre alt", "7 years old"), ("sieben oder acht", "7-8"), ("7 bis 8 Jahre", "7-8"),
        ("zwischen 7 und 8", "7-8"), ("etwa zehn", "about 10"), ("um die vierzig", "about 40"), ("einundzwanzig", "21"),
        ("Anfang 30", "early 30s"), ("Mitte vierzig", "mid 40s"), ("Ende der Vierziger", "late 40s"),
        ("in den Vierzigern", "forties"), ("über sechzig", "over 60"), ("unter zehn", "under 10"),
        ("noch nicht fünf", "not yet 5"), ("knapp zehn", "nearly 10"), ("ein halbes Jahr", "6m"), ("anderthalb", "1.5"),
        ("sechs Monate", "6m"), ("zwei Wochen", "2 weeks"), ("Säugling", "baby"), ("ein Kleinkind", "toddler"),
    ],
)  # fmt: skip
def test_a_german_age_is_read_like_its_english(german: str, english: str) -> None:
    """In words and figures, with what stands around them."""
    assert parse_age(german) == parse_age(english)


@pytest.mark.parametrize(
    ("theirs", "english"),
    [
        ("sept ans", "7"), ("environ 7 ans", "about 7"), ("une vingtaine d'années", "about 20"),
        ("la quarantaine", "40s"), ("début de la trentaine", "early 30s"), ("moins de 10 ans", "under 10"),
        ("plus de soixante ans", "over 60"), ("entre sept et huit ans", "7-8"), ("7 ou 8 ans", "7-8"),
        ("deux ans et demi", "2.5"), ("six mois", "6m"), ("bebe", "baby"), ("ado", "teenager"),
        ("nouveau-née", "newborn"), ("zeven jaar", "7"), ("een jaar of dertig", "about 30"),
        ("begin dertig", "early 30s"), ("in de twintig", "20s"), ("eind veertig", "late 40s"),
        ("anderhalf jaar", "1.5"), ("puber", "teenager"), ("ouder dan 60", "over 60"), ("bijna tien", "nearly 10"),
        ("drie maanden", "3m"), ("siete años", "7"), ("7 u 8 años", "7-8"), ("unos treinta y cinco", "about 35"),
        ("veintitantos", "20s"), ("más de 60", "over 60"), ("dos años y medio", "2.5"), ("recién nacido", "newborn"),
        ("los treinta", "30s"), ("sette anni", "7"), ("tra 7 e 8 anni", "7-8"), ("sulla trentina", "about 30"),
        ("una ventina d'anni", "about 20"), ("meno di 10 anni", "under 10"), ("un anno e mezzo", "1.5"),
        ("neonato", "newborn"), ("7 à 8 jaar", "7-8"),
    ],
)  # fmt: skip
def test_so_are_french_dutch_spanish_and_italian_ones(theirs: str, english: str) -> None:
    """With accents and without."""
    assert parse_age(theirs) == parse_age(english)


@pytest.mark.parametrize(
    ("theirs", "english"),
    [
        ("siedem lat", "7"), ("7 lat", "7"), ("ma 7 lat", "7"), ("około siedmiu lat", "about 7"),
        ("ok. 30 lat", "about 30"),
        ("dwa i pół roku", "2.5"), ("pół roku", "6m"), ("półtora roku", "1.5"), ("ponad 60 lat", "over 60"),
        ("7 lub 8 lat", "7-8"), ("między 7 a 8", "7-8"), ("prawie dziesięć", "nearly 10"), ("niemowlę", "baby"),
        ("trzydziestolatek", "30s"), ("dwadzieścia jeden lat", "21"), ("sete anos", "7"), ("uns sete anos", "about 7"),
        ("cerca de trinta", "about 30"), ("um ano e meio", "1.5"), ("um ano", "1"), ("seis meses", "6m"),
        ("entre sete e oito anos", "7-8"), ("trinta e poucos", "30s"), ("mais de 60 anos", "over 60"),
        ("na casa dos trinta", "30s"), ("recém-nascida", "newborn"), ("bebé", "baby"), ("vinte e um anos", "21"),
        ("семь лет", "7"), ("7 лет", "7"), ("ей 7 лет", "7"), ("около семи лет", "about 7"),
        ("примерно 30", "about 30"),
        ("полгода", "6m"), ("полтора года", "1.5"), ("два с половиной года", "2.5"), ("старше 60 лет", "over 60"),
        ("под сорок", "nearly 40"), ("между 7 и 8", "7-8"), ("7 или 8 лет", "7-8"), ("новорождённый", "newborn"),
        ("двадцать один год", "21"), ("три месяца", "3m"), ("подросток", "teenager"),
    ],
)  # fmt: skip
def test_and_polish_portuguese_and_russian_ones(theirs: str, english: str) -> None:
    """In figures, in words, and in the cases that words for about ask for."""
    assert parse_age(theirs) == parse_age(english)


def test_german_about_is_not_portuguese_one() -> None:
    """ "Um 30" stays about thirty."""
    assert parse_age("um 30") == parse_age("about 30")


@pytest.mark.parametrize(
    ("code", "numbers"),
    [
        ("fr", ages_in_languages.french_numbers), ("nl", ages_in_languages.dutch_numbers),
        ("es", ages_in_languages.spanish_numbers), ("it", ages_in_languages.italian_numbers),
        ("pl", ages_in_languages.polish_numbers), ("pt", ages_in_languages.portuguese_numbers),
        ("pt_BR", ages_in_languages.portuguese_numbers), ("ru", ages_in_languages.russian_numbers),
    ],
)  # fmt: skip
def test_every_number_is_spelled_as_a_library_spells_it(
    code: str, numbers: Callable[[], Iterator[tuple[str, int]]]
) -> None:
    """From nought to ninety-nine, by num2words."""
    from num2words import num2words

    known = {fold(word): number for word, number in numbers()}
    assert [known.get(fold(num2words(number, lang=code))) for number in range(100)] == list(range(100))


@pytest.mark.parametrize("text", ["alt", "Mädchen", "fast", "und", "vieille", "un'enfant", "de", "o"])
def test_what_says_no_age_is_refused(text: str) -> None:
    """As in English."""
    with pytest.raises(InvalidValueError):
        parse_age(text)
