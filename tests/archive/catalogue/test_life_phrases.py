"""Dates told by a life, as people say them: which event is meant, whose, and how long after it."""

from __future__ import annotations

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta

from kinphoto.archive.catalogue.life_phrases import read_life_phrase
from kinphoto.archive.words.lapses import lapse_words

EVENTS = {
    "before Clara was born": ("before the birth of Clara", "Clara"),
    "until Clara's birth": ("before the birth of Clara", "Clara"),
    "after Grandpa died": ("after the death of Grandpa", "Grandpa"),
    "since grandfather's funeral": ("after the funeral of grandfather", "grandfather"),
    "the year Peter was born": ("in the year of the birth of Peter", "Peter"),
    "in the same year that Peter was born": ("in the year of the birth of Peter", "Peter"),
    "the summer Clara was born": ("in the year of the birth of Clara", "Clara"),
    "just after Clemence died": ("soon after the death of Clemence", "Clemence"),
    "not long before Clara’s wedding": ("shortly before the wedding of Clara", "Clara"),
    "Clara's wedding": ("at the wedding of Clara", "Clara"),
    "the day Lambert and Agnes got married": ("at the wedding of Lambert and Agnes", "Lambert and Agnes"),
    "when Ada married Tom": ("about the time of the wedding of Ada and Tom", "Ada and Tom"),
    "Ada's christening": ("at the christening of Ada", "Ada"),
    "Clara's confirmation day": ("at the confirmation of Clara", "Clara"),
    "my father's death": ("about the time of the death of my father", "my father"),
    "when Maud was expecting Peter": ("in the nine months before the birth of Peter", "Peter"),
    "the summer before Peter was born": ("up to 2 years before the birth of Peter", "Peter"),
    "a year after Ada died": ("3 months to 1 and a half years after the death of Ada", "Ada"),
    "about 10 years after Clemence died": ("8 years to 12 years after the death of Clemence", "Clemence"),
    "a few years before Ada was born": ("2 years to 6 years before the birth of Ada", "Ada"),
    "half a year before Peter was born": ("3 months to 9 months before the birth of Peter", "Peter"),
    "when Clara was three": ("when Clara was 3", "Clara"),
    "when Clara was about three": ("when Clara was 2 to 4", "Clara"),
    "Clara, aged 7": ("when Clara was 7", "Clara"),
    "Clara as a baby": ("when Clara was 0 to 1", "Clara"),
    "when I was seven": ("when I was 7", "I"),
    "after Clara was ten": ("after Clara was 10", "Clara"),
    "Clara's 7th birthday": ("at the 7th birthday of Clara", "Clara"),
    "Clara's first birthday party": ("at the 1st birthday of Clara", "Clara"),
    "the seventh birthday of James": ("at the 7th birthday of James", "James"),
    "James' 21st": ("at the 21st birthday of James", "James"),
    "before Clara's 7th birthday": ("before Clara was 7", "Clara"),
    "silver wedding of Ada and Tom": ("25 years after the wedding of Ada and Tom", "Ada and Tom"),
    "Ada and Tom's 10th wedding anniversary": ("10 years after the wedding of Ada and Tom", "Ada and Tom"),
    "bevor Clara geboren wurde": ("before the birth of Clara", "Clara"),
    "vor der Geburt von Clara": ("before the birth of Clara", "Clara"),
    "kurz nach der Hochzeit von Ada und Tom": ("soon after the wedding of Ada and Tom", "Ada and Tom"),
    "nach dem Tod von Opa": ("after the death of Opa", "Opa"),
    "im Jahr, als Peter geboren wurde": ("in the year of the birth of Peter", "Peter"),
    "zwei Jahre vor der Taufe von Ada": ("15 months to 2 and a half years before the christening of Ada", "Ada"),
    "als Clara drei war": ("when Clara was 3", "Clara"),
    "als Clara drei Jahre alt war": ("when Clara was 3", "Clara"),
    "als Opa starb": ("about the time of the death of Opa", "Opa"),
    "their wedding": ("at the wedding of their", "their"),
    "shortly before they married": ("shortly before the wedding of they", "they"),
    "when they were engaged": ("about the time of the engagement of they", "they"),
    "their silver wedding": ("25 years after the wedding of their", "their"),
    "on her 7th birthday": ("at the 7th birthday of her", "her"),
    "ihre Hochzeit": ("at the wedding of ihr", "ihr"),
    "kurz vor ihrer Hochzeit": ("shortly before the wedding of ihr", "ihr"),
    "bevor sie heirateten": ("before the wedding of they", "they"),
    "nachdem sie geheiratet hatten": ("after the wedding of they", "they"),
    "bevor sie heiratete": ("before the wedding of she", "she"),
    "als sie sich verlobten": ("about the time of the engagement of they", "they"),
    "als sie drei war": ("when she was 3", "she"),
    "nach seiner Taufe": ("after the christening of his", "his"),
    "ihre Silberhochzeit": ("25 years after the wedding of ihr", "ihr"),
    "Goldene Hochzeit von Ada und Tom": ("50 years after the wedding of Ada and Tom", "Ada and Tom"),
}  # fmt: skip


@pytest.mark.parametrize("said", EVENTS)
def test_what_is_meant(said: str) -> None:
    """In the words in which it is shown afterwards, and of whom."""
    found = read_life_phrase(said)
    assert found is not None
    born, died = f"the birth of {found.who}", f"the death of {found.who}"
    event = {"born": born, "died": died}.get(found.what, f"the {found.what.removesuffix(' day')} of {found.who}")
    assert (lapse_words(event, found.lapse, found.who if found.what == "born" else ""), found.who) == EVENTS[said]


@pytest.mark.parametrize(
    "said",
    [
        "soon after they moved to Leeds", "in the war", "when Ada was born in 1931", "the big picnic", "summer of 1931",
        "Clara was very young", "before Clara went to school", "when the roof came off", "", "before", "the wedding",
        "before 1931", "Leeds, with the children", "before " + "Ada Marsh " * 100_000 + "was born",
    ],
)  # fmt: skip
def test_other_words_are_left_alone(said: str) -> None:
    """What names no event of a life, or has a date besides, is read as what it is, or refused."""
    assert read_life_phrase(said) is None


@pytest.mark.parametrize("born", [date(1917, 5, 2), date(1920, 2, 29), date(1899, 12, 31), date(1896, 2, 29)])
@pytest.mark.parametrize("years", [1, 3, 7, 21, 80])
def test_an_age_and_a_birthday_hold_the_days_they_mean(born: date, years: int) -> None:
    """From the birthday to the eve of the next, by the calendar of `dateutil`, with three days to spare at most."""
    age, birthday = read_life_phrase(f"when Clara was {years}"), read_life_phrase(f"Clara's {years}th birthday")
    assert age is not None
    assert birthday is not None
    first, last = ((born + relativedelta(years=n) - born).days for n in (years, years + 1))
    assert age.lapse.first is not None
    assert age.lapse.last is not None
    assert first - 3 <= age.lapse.first <= first
    assert last - 1 <= age.lapse.last <= last + 3
    assert birthday.lapse.first is not None
    assert birthday.lapse.last is not None
    assert birthday.lapse.first < first < birthday.lapse.last < first + 21
