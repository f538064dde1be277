"""Ages in German, put into the English that `ages` reads: "etwa sieben", "Anfang vierzig", "ein halbes Jahr". One table
a language, as for dates; words are from memory."""

from __future__ import annotations

import re

from kinphoto.archive.catalogue.vocabulary import NUMBERS, TENS

_ONES = "null ein zwei drei vier fünf sechs sieben acht neun".split()
_TO_NINETEEN = [
    *_ONES, *"zehn elf zwölf dreizehn vierzehn fünfzehn sechzehn siebzehn achtzehn neunzehn".split()
]  # fmt: skip
_TENS = "zwanzig dreißig vierzig fünfzig sechzig siebzig achtzig neunzig".split()
_WORDS = {
    **dict(zip(_TO_NINETEEN, NUMBERS, strict=True)), "eins": "one", "eine": "a", "einem": "one", "zwo": "two",
    **dict(zip(_TENS, TENS, strict=True)), "dreissig": "thirty",
    **{
        f"{article}{word}er{ending}": f"{english[:-1]}ies"
        for word, english in zip(_TENS, TENS, strict=True) for ending in ("", "n") for article in ("", "der ")
    },
    "etwa": "about", "ungefähr": "about", "circa": "about", "zirka": "about", "rund": "about", "um die": "about",
    "in den": "in", "um": "about", "gut": "about", "vielleicht": "perhaps", "wohl": "perhaps",
    "fast": "nearly", "beinahe": "nearly", "knapp": "nearly", "noch nicht": "not yet", "unter": "under", "über": "over",
    "mindestens": "at least", "wenigstens": "at least", "gerade": "just", "bis": "to", "oder": "or",
    "und": "and", "zwischen": "between",
    "jahr": "year", "jahre": "years", "jahren": "years", "monat": "month", "monate": "months", "monaten": "months",
    "woche": "week", "wochen": "weeks", "tag": "day", "tage": "days", "tagen": "days", "alt": "old",
    "ein halbes jahr": "half a year", "halbes jahr": "half a year", "anderthalb": "1.5", "eineinhalb": "1.5",
    "zweieinhalb": "2.5", "dreieinhalb": "3.5",
    "anfang": "early", "mitte": "mid", "ende": "late",
    "säugling": "baby", "wickelkind": "baby", "neugeboren": "newborn", "neugeborenes": "newborn",
    "kleinkind": "toddler", "kind": "child", "junge": "boy",
    "mädchen": "girl", "mann": "man", "frau": "woman", "erwachsen": "grown up",
}  # fmt: skip
_PATTERN = re.compile(rf"\b(?:{'|'.join(sorted(map(re.escape, _WORDS), key=len, reverse=True))})\b")
_COMPOUND = re.compile(rf"\b({'|'.join(_ONES[1:])})und({'|'.join([*_TENS, 'dreissig'])})\b")
_ARTICLE = re.compile(r"^eine?[mnr]? (?=[a-zäöüß]+$)")
_PART = re.compile(rf"\b(early|mid|late) (\d0|{'|'.join(TENS)})$")


def in_english(plain: str) -> str:
    """An age in lower case with its German words in English; anything else stays."""
    text = _COMPOUND.sub(lambda found: f"{_WORDS[found[2]]}-{_WORDS[found[1]]}", _ARTICLE.sub("a ", plain))
    text = _PATTERN.sub(lambda found: _WORDS[found[0]], text)
    return _PART.sub(
        lambda found: f"{found[1]} {found[2]}s" if found[2].isdigit() else f"{found[1]} {found[2][:-1]}ies", text
    )
