"""Ages in other languages, put into the English that `ages` reads: "etwa sieben", "une vingtaine d'années", "begin
dertig". One table a language, as for dates; words are from memory, numbers are checked against a library.

German words are put into English wherever they stand. A text is of another language only when each of its words is
in that language's table, since short words mean different things in two of them ("a", "o", "en"). The tables of Polish,
Portuguese and Russian stand in `ages_further_afield`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping

from kinphoto.archive.catalogue.ages_further_afield import (
    POLISH_WORDS,
    PORTUGUESE_WORDS,
    RUSSIAN_WORDS,
    numbers,
    polish_numbers,
    portuguese_numbers,
    russian_numbers,
)
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
_PART = re.compile(rf"\b(early |mid |late |in the )(\d0|{'|'.join(TENS)})$")


_FRENCH_ONES = (
    "zéro un deux trois quatre cinq six sept huit neuf dix onze douze treize quatorze quinze seize dix-sept dix-huit "
    "dix-neuf"
).split()
_DUTCH_ONES = (
    "nul een twee drie vier vijf zes zeven acht negen tien elf twaalf dertien veertien vijftien zestien zeventien "
    "achttien negentien"
)
_SPANISH_ONES = (
    "cero uno dos tres cuatro cinco seis siete ocho nueve diez once doce trece catorce quince dieciséis diecisiete "
    "dieciocho diecinueve veinte veintiuno veintidós veintitrés veinticuatro veinticinco veintiséis veintisiete "
    "veintiocho veintinueve"
)
_ITALIAN_ONES = (
    "zero uno due tre quattro cinque sei sette otto nove dieci undici dodici tredici quattordici quindici sedici "
    "diciassette diciotto diciannove"
)


def french_numbers() -> Iterator[tuple[str, int]]:
    """From 0 to 99, as in France, and the tens of Belgium and Switzerland."""
    yield from zip(_FRENCH_ONES, range(20), strict=True)
    scores = {20: "vingt", 30: "trente", 40: "quarante", 50: "cinquante", 60: "soixante", 80: "quatre-vingt"}
    for ten, word in scores.items():
        for more in range(20 if ten >= 60 else 10):
            join = "-et-" if more in (1, 11) and ten < 80 else "-"
            yield f"{word}{join}{_FRENCH_ONES[more]}" if more else word, ten + more
    yield from (("quatre-vingts", 80), ("septante", 70), ("huitante", 80), ("octante", 80), ("nonante", 90))


def dutch_numbers() -> Iterator[tuple[str, int]]:
    """From 0 to 99."""
    tens = "twintig dertig veertig vijftig zestig zeventig tachtig negentig"
    return numbers(_DUTCH_ONES, tens, lambda ten, one: f"{one}{'ën' if one.endswith('e') else 'en'}{ten}")


def spanish_numbers() -> Iterator[tuple[str, int]]:
    """From 0 to 99."""
    tens = "treinta cuarenta cincuenta sesenta setenta ochenta noventa"
    return numbers(_SPANISH_ONES, tens, lambda ten, one: f"{ten} y {one}")


def italian_numbers() -> Iterator[tuple[str, int]]:
    """From 0 to 99; the ten loses its last letter before a vowel."""
    tens = "venti trenta quaranta cinquanta sessanta settanta ottanta novanta"
    return numbers(
        _ITALIAN_ONES, tens, lambda ten, one: (ten[:-1] if one[0] in "uo" else ten) + one.replace("tre", "tré")
    )


def _bare(text: str) -> str:
    """Without accents, and with words parted by single spaces: "d'années" is "d annees"."""
    plain = "".join(c for c in unicodedata.normalize("NFD", text.replace("ł", "l")) if not unicodedata.combining(c))
    return " ".join(re.sub(r"['’]|(?<=[^\W\d])-(?=[^\W\d])", " ", plain).split())


def _table(numbers: Iterator[tuple[str, int]], words: Mapping[str, str]) -> dict[str, str]:
    """A language's words, bare, with the English of each; several that mean one thing are parted by `|`."""
    table = {_bare(word): str(number) for word, number in numbers}
    return table | {_bare(word): english for many, english in words.items() for word in many.split("|")}


_FRENCH = _table(french_numbers(), {
    "un|une": "1", "an|année": "year", "ans|années|d'années|piges": "years", "mois": "months", "semaine": "week",
    "semaines": "weeks", "jour": "day", "jours": "days", "âgé de|âgée de|à l'âge de|l'âge de|âge de|elle a|il a": "",
    "environ|vers|dans les|à peu près|autour de|près de|peut-être": "about", "presque|pas tout à fait": "nearly",
    "moins de|pas encore": "under", "plus de|au moins": "over", "ou": "or", "à": "to", "entre": "between", "et": "and",
    "et demi|et demie": "and a half", "six mois": "6 months", "un an et demi": "1.5 years",
    "dix-huit mois": "18 months",
    **{f"une {word}aine": f"about {ten}" for word, ten in {
        "diz": 10, "quinz": 15, "vingt": 20, "trent": 30, "quarant": 40, "cinquant": 50, "soixant": 60}.items()},
    **{f"{article}{word}aine": f"{ten}s" for article in ("la ", "dans la ") for word, ten in {
        "vingt": 20, "trent": 30, "quarant": 40, "cinquant": 50, "soixant": 60}.items()},
    "début de|au début de|le début de": "early", "milieu de|au milieu de": "mid", "fin de|à la fin de": "late",
    "bébé|un bébé|nourrisson|un nourrisson": "baby", "nouveau-né|un nouveau-né|nouveau-née": "newborn",
    "adolescent|adolescente|un adolescent|une adolescente|ado|un ado|une ado": "teenager",
    "enfant|un enfant|une enfant": "child", "adulte|un adulte|une adulte": "adult", "jeune": "young",
    "vieux|vieille": "old",
})  # fmt: skip
_DUTCH = _table(dutch_numbers(), {
    "jaar|jaren|jaartjes": "years", "maand": "month", "maanden": "months", "week": "week", "weken": "weeks",
    "dag": "day", "dagen": "days", "oud": "old", "ongeveer|zo'n|circa|rond de|een jaar of|om en nabij": "about",
    "misschien": "perhaps", "bijna|net geen|nog geen": "nearly", "onder de|jonger dan|minder dan": "under",
    "boven de|ouder dan|meer dan|ruim|minstens": "over", "of": "or", "tot": "to", "tussen": "between",
    "tussen de": "between", "en": "and", "een half jaar|half jaar": "half a year", "anderhalf": "1.5",
    "tweeënhalf|twee en een half": "2.5", "en een half": "and a half", "een": "1", "begin": "early",
    "midden|halverwege": "mid", "eind": "late", "achter in de": "late", "in de": "in the", "voor in de": "early",
    "baby|een baby|zuigeling": "baby", "pasgeboren": "newborn", "peuter|een peuter": "toddler",
    "tiener|een tiener|puber|een puber": "teenager", "kind|een kind": "child", "volwassen|volwassene": "adult",
    "jong": "young",
})  # fmt: skip
_SPANISH = _table(spanish_numbers(), {
    "un|una": "1", "año": "year", "años": "years", "añitos": "years", "mes": "month", "meses": "months",
    "semana": "week", "semanas": "weeks", "día": "day", "días": "days", "de edad|tiene|de": "",
    "unos|unas|alrededor de|aproximadamente|más o menos|como|cerca de|quizás|quizá|tal vez": "about",
    "casi|todavía no": "nearly", "menos de": "under", "más de|al menos|por lo menos": "over", "o|u": "or", "a": "to",
    "entre": "between", "y": "and", "los|en los": "in the", "y medio|y media": "and a half",
    "medio año": "half a year", "año y medio|un año y medio": "1.5 years", "bebé|un bebé|una bebé": "baby",
    "recién nacido|recién nacida": "newborn", "adolescente|un adolescente|una adolescente": "teenager",
    "niño|niña|un niño|una niña": "child", "adulto|adulta": "adult", "joven": "young", "viejo|vieja|mayor": "old",
    **{f"{word}itantos|{word}ipico|{word}iañero|{word}iañera": f"{ten}s"
       for word, ten in {"treint": 30, "cuarent": 40, "cincuent": 50}.items()},
    "veintitantos|veintipico|veinteañero|veinteañera": "20s", "treinta y tantos": "30s", "cuarenta y tantos": "40s",
})  # fmt: skip
_ITALIAN = _table(italian_numbers(), {
    "un|una": "1", "anno": "year", "anni|d'anni": "years", "mese": "month", "mesi": "months", "settimana": "week",
    "settimane": "weeks", "giorno": "day", "giorni": "days", "di età|dell'età di|ha|di": "",
    "circa|intorno ai|sui|verso i|più o meno|forse|all'incirca": "about", "quasi|non ancora": "nearly",
    "meno di|sotto i": "under", "più di|oltre i|sopra i|almeno": "over", "o|u": "or", "a": "to",
    "tra i|fra i|tra|fra|dai|da": "between", "e|ai": "and", "e mezzo|e mezza": "and a half", "sei mesi": "6 months",
    "mezzo anno": "half a year", "un anno e mezzo": "1.5 years", "neonato|neonata|un neonato|una neonata": "newborn",
    "lattante|bebè": "baby", "adolescente|un adolescente|una adolescente|un'adolescente": "teenager",
    "bambino|bambina|un bambino|una bambina": "child", "adulto|adulta": "adult", "giovane": "young",
    "vecchio|vecchia|anziano|anziana": "old",
    **{f"{article}{word}ina": f"about {ten}" for article in ("", "una ", "sulla ") for word, ten in {
        "vent": 20, "trent": 30, "quarant": 40, "cinquant": 50, "sessant": 60, "settant": 70}.items()},
    "trentenne": "30", "ventenne": "20", "quarantenne": "40", "cinquantenne": "50", "sessantenne": "60",
})  # fmt: skip
_POLISH = _table(polish_numbers(), POLISH_WORDS)
_PORTUGUESE = _table(portuguese_numbers(), PORTUGUESE_WORDS)
del _PORTUGUESE["um"]  # "um 30" is "about 30" in German; "um ano" is an entry of its own
_RUSSIAN = _table(russian_numbers(), RUSSIAN_WORDS)
_TABLES = (_FRENCH, _DUTCH, _SPANISH, _ITALIAN, _PORTUGUESE, _POLISH, _RUSSIAN)
_LONGEST = 5  # words that are one entry of a table


def in_english(plain: str) -> str:
    """An age in lower case with its words of other languages in English; anything else stays."""
    plain = re.sub(r"(\d)\s*à\s*(\d)", r"\1-\2", plain)  # without its accent "a" means other things
    wholes = (_whole_in_english(_bare(plain), table) for table in _TABLES)
    english = next((whole for whole in wholes if whole is not None), None) or _german_in_english(plain)
    return _PART.sub(_decade, english)


def _decade(found: re.Match[str]) -> str:
    """ "early 30s" for "early 30", as "Anfang dreißig" is said."""
    part = "" if found[1] == "in the " else found[1]
    return f"{part}{found[2]}s" if found[2].isdigit() else f"{part}{found[2][:-1]}ies"


def _whole_in_english(bare: str, table: Mapping[str, str]) -> str | None:
    """A text all of whose words are in the table or figures; None for any other."""
    words, english = bare.split(), []
    while words:
        if any(c.isalpha() for c in words[0]):
            length = next((n for n in range(_LONGEST, 0, -1) if " ".join(words[:n]) in table), 0)
            if not length:
                return None
            english.append(table[" ".join(words[:length])])
        else:
            length = 1
            english.append(words[0])
        words = words[length:]
    return " ".join(filter(None, english))


def _german_in_english(plain: str) -> str:
    """German words in English, wherever they stand; anything else stays."""
    text = _COMPOUND.sub(lambda found: f"{_WORDS[found[2]]}-{_WORDS[found[1]]}", _ARTICLE.sub("a ", plain))
    return _PATTERN.sub(lambda found: _WORDS[found[0]], text)
