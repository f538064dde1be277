"""Dates as people give them by a life in the family: "before Ada was born", "when Tom was three", "Ada's 7th birthday",
"the year grandfather died", "two years after Ada's wedding". What is meant is an event and how long after it.

Nobody is looked up here (`by_life`). Words are English and German, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from kinphoto.archive.catalogue.ages import parse_age
from kinphoto.archive.catalogue.vocabulary import EVENTS
from kinphoto.archive.words.lapses import (
    ABOUT_THEN,
    AFTER,
    BEFORE,
    EXPECTING,
    ON_THE_DAY,
    PARTY,
    SOON,
    aged,
    anniversary,
)
from kinphoto.errors import InvalidValueError
from kinphoto.reason.model.span import DAYS_PER_YEAR, SAME_YEAR, Span, at_least

LONGEST = 200
"""Letters of such a phrase at most."""
_DAYS = {"day": 1.0, "week": 7.0, "month": DAYS_PER_YEAR / 12, "year": DAYS_PER_YEAR}
_SOME = {"couple": (1, 3), "few": (2, 6), "several": (2, 10)}
"""How many are a couple, a few, several (ours)."""
_JUBILEES = {"silver": 25, "ruby": 40, "golden": 50, "diamond": 60}


@dataclass(frozen=True, slots=True)
class LifePhrase:
    """The event meant: `what` is "born", "died" or a name of `vocabulary.EVENTS`; of `who`, as it was said. A picture
    was taken `lapse` days after it."""

    what: str
    who: str
    lapse: Span


def read_life_phrase(text: str) -> LifePhrase | None:
    """What somebody means who dates a picture by a life; None for other words, and for more than anybody says."""
    if len(text) > LONGEST:
        return None
    plain = _in_english(" ".join(re.sub(r"[’´`]", "'", text).strip(" .,;").split()))
    return next((found for form in _FORMS if (found := form(plain)) is not None), None)


_GERMAN = re.compile(
    r"\b(?:bevor|ehe|vor|nach|nachdem|als|jahr|jahre|jahren|kurz|geburt|geburtstag|hochzeit|silberhochzeit|taufe|tod|"
    r"beerdigung|verlobung|scheidung|konfirmation|kommunion|starb|geboren|heirat)\b",
    re.IGNORECASE,
)
_OF_TWO = (
    "geheiratet ha(?:ben|tten)|heirateten|sich verlobt ha(?:ben|tten)|sich verlobten|verlobt waren|geschieden wurden|"
    "sich scheiden ließen"
)
"""What two do together, by the ending of the verb: "sie" is "they" before it, and else "she"."""
_FROM_GERMAN = tuple(
    (re.compile(rf"\b(?:{german})(?!\w)", re.IGNORECASE), english)
    for german, english in (
        (rf"sie(?= (?:{_OF_TWO})(?!\w))", "they"), (r"sie", "she"), (r"er", "he"),
        (r"ihre[rmns]?|ihr", "ihr"), (r"seine[rmns]?|sein", "his"),  # "ihr" is her and their: `by_life` decides which
        (r"(?:im|in dem|das) jahre?,? (?:in dem|als|da)", "the year"), (r"(?:im|in dem) jahre?", "the year of"),
        (r"(?:geboren (?:wurde|war|ist)|zur welt kam|auf die welt kam)", "was born"),
        (r"(?:gestorben (?:ist|war)|verstorben ist|starb|verstarb)", "died"),
        (r"(?:geheiratet (?:hat|haben|hatte|hatten)|heirateten?)", "married"), (r"getauft wurde", "was christened"),
        (r"konfirmiert wurde", "was confirmed"), (r"(?:begraben|beerdigt) wurde", "was buried"),
        (r"sich (?:.+ )?(?:verlobt(?: hat| haben| hatten?)|verlobten?)|verlobt waren?", "was engaged"),
        (r"geschieden wurden?|sich scheiden ließ(?:en)?", "divorced"),
        (r"(\w+) jahre alt war", r"was \1"), (r"nachdem|nach", "after"), (r"bevor|ehe|vor", "before"),
        (r"kurz", "shortly"), (r"silberhochzeit", "silver wedding"), (r"goldenen? hochzeit", "golden wedding"),
        (r"geburtstags?", "birthday"), (r"geburt", "birth"), (r"tod(?:es)?", "death"),
        (r"hochzeit|heirat|trauung", "wedding"),
        (r"taufe", "christening"), (r"konfirmation", "confirmation"), (r"(?:erst)?kommunion", "communion"),
        (r"beerdigung|begräbnis", "funeral"), (r"verlobung", "engagement"), (r"scheidung", "divorce"),
        (r"jahre?n?", "year"), (r"monate?n?", "month"), (r"wochen?", "week"), (r"tage?n?", "day"),
        (r"einige|ein paar|mehrere", "several"), (r"eine[mnrs]?|ein", "one"), (r"zwei", "two"), (r"drei", "three"),
        (r"vier", "four"), (r"fünf", "five"), (r"sechs", "six"), (r"sieben", "seven"), (r"acht", "eight"),
        (r"neun", "nine"), (r"zehn", "ten"), (r"etwa|ungefähr|rund", "about"),
        (r"am|an|bei|auf|zu|zur|zum", "at"), (r"de[rmns]|die|das", "the"), (r"von", "of"), (r"und|mit", "and"),
        (r"als|wie", "when"), (r"ich", "I"), (r"meine[rmns]?|mein|unsere[rmns]?|unser", "my"),
    )
)  # fmt: skip
_LAST_WAS = re.compile(
    r"when (?P<who>.+?) (?P<age>(?:about |just |still )?\S+(?: (?:month|week)s?)?) war", re.IGNORECASE
)


def _in_english(text: str) -> str:
    """The same words in English order, where they are German."""
    if not _GERMAN.search(text):
        return text
    for german, english in _FROM_GERMAN:
        text = german.sub(english, text)
    return _LAST_WAS.sub(r"when \g<who> was \g<age>", text)


# --- an event ---------------------------------------------------------------------------------------------------------

_WHO = r"(?P<who>.+?)"
_BE = r"(?:was|were|is|are|got|had been|has been|had|has)"
_VERBS = {
    "born": rf"{_BE} born",
    "died": rf"(?:{_BE} )?(?:died|passed(?: away)?|killed in .+)|{_BE} dead",
    "wedding": rf"(?:{_BE} )?(?:married|wed|wedded)",
    "christening": rf"{_BE} (?:christened|baptised|baptized)",
    "confirmation": rf"{_BE} confirmed",
    "engagement": rf"{_BE} engaged",
    "divorce": rf"(?:{_BE} )?divorced",
    "graduation": rf"(?:{_BE} )?graduated",
    "emigration": rf"(?:{_BE} )?emigrated",
    "retirement": rf"(?:{_BE} )?retired",
    "burial": rf"{_BE} buried",
}
_ING = {"born": "being born", "died": "dying", "wedding": "(?:getting married|marrying)"}
_NOUNS = {"birth": "born", "death": "died", **{noun: noun for noun in EVENTS if noun not in ("birth", "death")}}
_NOUN = "|".join(sorted(map(re.escape, _NOUNS), key=len, reverse=True))
_THE = r"(?:(?:the|a|their|day of|day of the) )*"
_OF_SOMEBODY = re.compile(rf"{_THE}(?P<what>{_NOUN})(?: day| party)? of {_WHO}", re.IGNORECASE)
_SOMEBODYS = re.compile(rf"{_WHO}(?:'s|(?<=s)'|(?<=s)) (?P<what>{_NOUN})(?: day| party)?", re.IGNORECASE)
_MY = re.compile(rf"(?P<who>(?:my|our|her|their|ihr)) (?P<what>{_NOUN})(?: day| party)?", re.IGNORECASE)
_SAID = tuple(
    (what, re.compile(rf"{_WHO} (?:{verb})(?: to)?(?: (?P<whom>.+))?", re.IGNORECASE))
    for what, verb in (*_VERBS.items(), *_ING.items())
)


_NOBODY = re.compile(r"in |at |on |by |from |\d", re.IGNORECASE)
"""Begins what is not a name: "married in 1931"."""


def _event(text: str) -> tuple[str, str] | None:
    """What and whose: "Ada was born", "the wedding of Ada and Tom", "grandfather's death"."""
    for form in (_OF_SOMEBODY, _MY, _SOMEBODYS):
        if found := form.fullmatch(text):
            return _NOUNS[found["what"].casefold()], found["who"]
    for what, said in _SAID:
        if found := said.fullmatch(text):
            whom = found["whom"]
            if whom and (what != "wedding" or _NOBODY.match(whom)):
                continue
            return what, f"{found['who']} and {whom}" if whom else found["who"]
    return None


# --- how long before or after it --------------------------------------------------------------------------------------

_NUMBER = r"(?P<n>\d+(?:[.,]\d+)?|an?|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|half an?)"
_WORDS = {word: n for n, word in enumerate("one two three four five six seven eight nine ten eleven twelve".split(), 1)}
_COUNTED = re.compile(
    rf"(?P<about>about |around |roughly |some |almost |nearly |over )?{_NUMBER} (?P<unit>day|week|month|year)s? "
    r"(?P<way>before|after) (?P<event>.+)",
    re.IGNORECASE,
)
_SOME_OF = re.compile(
    r"(?:an? )?(?P<some>couple|few|several|some)(?: of)? (?P<unit>day|week|month|year)s? (?P<way>before|after) "
    r"(?P<event>.+)",
    re.IGNORECASE,
)
_CLOSE = re.compile(
    r"(?:just|right|shortly|soon|a little|a bit|a short time|a short while|not long|immediately|directly) "
    r"(?P<way>before|after) (?P<event>.+)",
    re.IGNORECASE,
)
_NEXT = re.compile(
    r"(?:(?:in|during|taken) )*(?:the|that) (?P<unit>year|summer|winter|spring|autumn|fall|month|week|day) "
    r"(?P<way>before|after) (?P<event>.+)",
    re.IGNORECASE,
)
_ORDER = re.compile(
    r"(?:(?:some time|sometime|any time|long|well|taken|years) )?(?P<way>before|until|prior to|after|since|following) "
    r"(?P<event>.+)",
    re.IGNORECASE,
)
_YEAR = re.compile(
    r"(?:(?:in|during|taken) )*(?:the|that|same) (?:same )?(?:year|summer|winter|spring|autumn|fall) "
    r"(?:that |when |in which |of |as |where |(?=\S))(?P<event>.+)",
    re.IGNORECASE,
)
_DAY = re.compile(r"(?:(?:on|at|taken at|taken on) )?(?:the )?day (?:that |when |of )?(?P<event>.+)", re.IGNORECASE)
_AT = re.compile(r"(?:(?:at|on|for|during|taken at) )?(?P<event>.+)", re.IGNORECASE)
_THEN = re.compile(r"(?:(?:about|around|at) )?(?:the time )?(?:when|that|of|about|around) (?P<event>.+)", re.IGNORECASE)
_ORDINALS = {
    word: n
    for n, word in enumerate(
        "first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth "
        "fifteenth sixteenth seventeenth eighteenth nineteenth twentieth".split(), 1
    )
} | {"thirtieth": 30, "fortieth": 40, "fiftieth": 50, "sixtieth": 60, "seventieth": 70, "eightieth": 80,
     "ninetieth": 90, "hundredth": 100}  # fmt: skip
_NTH = rf"(?P<n>\d{{1,3}}(?:st|nd|rd|th|\.)?|{'|'.join(_ORDINALS)})"
_POSSESSIVE = rf"{_WHO}(?:'s|(?<=s)'|(?<=s)|(?<=\bmy)|(?<=\bher)|(?<=\btheir)|(?<=\bihr)) "
_BIRTHDAY = re.compile(
    rf"(?:(?:at|on|for) )?(?:the )?(?:{_POSSESSIVE})?{_NTH} birthday(?: party)?(?: of (?P<whom>.+))?", re.IGNORECASE
)
_ITS_NUMBER = re.compile(rf"{_POSSESSIVE}(?P<n>\d{{1,3}}(?:st|nd|rd|th))", re.IGNORECASE)
_TURNED = re.compile(rf"(?:(?:the day|when|as) )?{_WHO} (?:turned|became) (?P<n>\w+)", re.IGNORECASE)
_JUBILEE = re.compile(
    rf"(?:(?:at|on|for) )?(?:the )?(?:{_POSSESSIVE})?"
    rf"(?:(?P<metal>{'|'.join(_JUBILEES)}) (?:wedding|jubilee)(?: anniversary)?|{_NTH} (?:wedding )?anniversary)"
    r"(?: of (?:the )?(?P<whom>.+))?",
    re.IGNORECASE,
)
_PREGNANT = re.compile(
    rf"(?:(?:when|while|as) )?.+ (?:was )?(?:expecting|pregnant with|carrying) {_WHO}", re.IGNORECASE
)
_AGED = re.compile(
    rf"(?:(?:when|while|as) )?{_WHO}(?: (?:was|were|is|would have been|must have been)|,)"
    r"(?: (?:only|still|just|already|then))?(?: (?:at the age of|aged))? (?P<age>.+)",
    re.IGNORECASE,
)
_AGED_SHORT = re.compile(rf"{_WHO},? (?:aged|at the age of|at age) (?P<age>.+)", re.IGNORECASE)
_AS_A = re.compile(
    rf"{_WHO} as an? (?P<age>.+)|when {_WHO.replace('who', 'whom')} was an? (?P<young>.+)", re.IGNORECASE
)


def _by_event(form: re.Pattern[str], lapse: Callable[[re.Match[str], str], Span]) -> Callable[[str], LifePhrase | None]:
    """What reads this form, whose `event` is one; `lapse` is how long after it, by the form and by what it is."""

    def read(text: str) -> LifePhrase | None:
        found = form.fullmatch(text)
        event = _event(found["event"]) if found else None
        return LifePhrase(*event, lapse(found, event[0])) if found and event else None

    return read


def _way(found: re.Match[str], near: float, far: float) -> Span:
    first, last = max(round(near), 0), round(far)
    return Span(-last, -first) if found["way"].casefold() == "before" else Span(first, last)


def _counted(found: re.Match[str], _what: str) -> Span:
    said, unit = found["n"].casefold(), _DAYS[found["unit"].casefold()]
    n = 0.5 if said.startswith("half") else float(_WORDS.get(said, 1) if said.isalpha() else said.replace(",", "."))
    room = n * unit / 2 if n < 1 else max(unit * (1.5 if found["about"] else 0.75), n * unit / 5)
    return _way(found, n * unit - room, n * unit + room)


def _some_of(found: re.Match[str], _what: str) -> Span:
    low, high = _SOME[found["some"].casefold().replace("some", "several")]
    unit = _DAYS[found["unit"].casefold()]
    return _way(found, low * unit, high * unit)


def _close(found: re.Match[str], _what: str) -> Span:
    return _way(found, 0, SOON)


def _next(found: re.Match[str], _what: str) -> Span:
    """ "The summer before Ada was born": the one before, so up to two years."""
    return _way(found, 0, 2 * _DAYS.get(found["unit"].casefold(), _DAYS["year"]))


def _at(_found: re.Match[str], what: str) -> Span:
    """ "At Ada's wedding" is that day; "Ada's death", about then."""
    return ABOUT_THEN if what in ("born", "died") else ON_THE_DAY


def _before_or_after(found: re.Match[str], _what: str = "") -> Span:
    return BEFORE if found["way"].casefold() in ("before", "until", "prior to") else AFTER


def _order_by_age(text: str) -> LifePhrase | None:
    """ "Before Ada's 7th birthday", "after she was ten"."""
    found = _ORDER.fullmatch(text)
    then = found and (_birthday(found["event"]) or _jubilee(found["event"]) or _age(found["event"]))
    if not found or then is None or then.lapse.first is None or then.lapse.last is None:
        return None
    if _before_or_after(found) is BEFORE:
        return LifePhrase(then.what, then.who, Span(None, then.lapse.last))
    return LifePhrase(then.what, then.who, Span(at_least((then.lapse.first + PARTY) / DAYS_PER_YEAR), None))


def _birthday(text: str) -> LifePhrase | None:
    found = _BIRTHDAY.fullmatch(text) or _ITS_NUMBER.fullmatch(text) or _TURNED.fullmatch(text)
    if not found:
        return None
    who = found["who"] or found.groupdict().get("whom")
    n = _ordinal(found["n"])
    return LifePhrase("born", who, anniversary(n)) if who and n is not None else None


def _jubilee(text: str) -> LifePhrase | None:
    found = _JUBILEE.fullmatch(text)
    if not found or not (who := found["who"] or found["whom"]):
        return None
    n = _JUBILEES[found["metal"].casefold()] if found["metal"] else _ordinal(found["n"])
    return None if n is None else LifePhrase("wedding", who, anniversary(n))


def _ordinal(word: str) -> int | None:
    plain = word.casefold()
    figures = re.match(r"\d{1,3}(?!\d)", plain)
    return int(figures[0]) if figures else _ORDINALS.get(plain) or _WORDS.get(plain)


def _pregnant(text: str) -> LifePhrase | None:
    found = _PREGNANT.fullmatch(text)
    return LifePhrase("born", found["who"], EXPECTING) if found else None


def _age(text: str) -> LifePhrase | None:
    for who, age in _ages(text):
        try:
            low, high = parse_age(age)
        except InvalidValueError:
            continue
        return LifePhrase("born", who, aged(low, high))
    return None


def _ages(text: str) -> Iterator[tuple[str, str]]:
    for form in (_AGED_SHORT, _AS_A, _AGED):
        if found := form.fullmatch(text):
            named = found.groupdict()
            yield named["who"] or named.get("whom") or "", named["age"] or named.get("young") or ""


_FORMS: tuple[Callable[[str], LifePhrase | None], ...] = (
    _by_event(_COUNTED, _counted), _by_event(_SOME_OF, _some_of), _by_event(_CLOSE, _close), _by_event(_NEXT, _next),
    _by_event(_ORDER, _before_or_after), _order_by_age, _birthday, _jubilee, _by_event(_YEAR, lambda *_: SAME_YEAR),
    _by_event(_DAY, lambda *_: ON_THE_DAY), _by_event(_THEN, lambda *_: ABOUT_THEN), _pregnant,
    _by_event(_AT, _at), _age,
)  # fmt: skip
