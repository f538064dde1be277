"""Ages as a German aunt gives them; what each means was decided by reading them."""

from __future__ import annotations

import pytest

from kinphoto.archive.catalogue.ages import parse_age
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


@pytest.mark.parametrize("text", ["alt", "Mädchen", "fast", "und"])
def test_what_says_no_age_is_refused(text: str) -> None:
    """As in English."""
    with pytest.raises(InvalidValueError):
        parse_age(text)
