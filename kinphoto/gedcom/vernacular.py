"""Dates in German, French, Dutch, Spanish, Italian and the Scandinavian languages, translated into English.

Words are in capitals without accents. A word that means different things in two languages is recognised by its
context: "fra 1900 til 1905" is Norwegian, "fra il 1900 e il 1905" Italian. Months and words from memory.
"""

from __future__ import annotations

import re
import unicodedata

_MONTHS = {
    "JAN": "JANUAR JANNER JANVIER JANV JANUARI ENERO ENE GENNAIO GENN GEN",
    "FEB": "FEBRUAR FEBER FEVRIER FEVR FEV FEBRUARI FEBRERO FEBBRAIO FEBR",
    "MAR": "MARZ MARS MARTS MAART MRT MARZO MAERZ MRZ",
    "APR": "AVRIL AVR ABRIL ABR APRILE",
    "MAY": "MAI MAJ MEI MAYO MAGGIO MAG",
    "JUN": "JUNI JUIN JUNIO GIUGNO GIU",
    "JUL": "JULI JUILLET JUIL JULIO LUGLIO LUG",
    "AUG": "AOUT AUGUSTI AUGUSTUS AGOSTO AGO",
    "SEP": "SEPTEMBRE SEPTIEMBRE SETTEMBRE SETT SETIEMBRE",
    "OCT": "OKTOBER OKT OCTOBRE OCTUBRE OTTOBRE OTT",
    "NOV": "NOVEMBRE NOVIEMBRE",
    "DEC": "DEZEMBER DEZ DESEMBER DES DECEMBRE DICIEMBRE DIC DICEMBRE",
}
_MONTH_OF = {word: month for month, words in _MONTHS.items() for word in words.split()}
_WORD = re.compile(r"\b([A-Z]{3,10})\b\.?")

_THE = r"(?:IL |EL |L')?"  # before a year
_PHRASES: tuple[tuple[str, str], ...] = (
    # between ... and ...
    (r"^(?:ZWISCHEN|ZW\.?) (.+) (?:UND|U\.) (.+)$", r"BET \1 AND \2"),
    (r"^ENTRE (.+) (?:ET|Y) (.+)$", r"BET \1 AND \2"),
    (r"^MELL[OEA][MN] (.+) (?:OG|OCH) (.+)$", r"BET \1 AND \2"),
    (r"^TUSSEN (.+) EN (.+)$", r"BET \1 AND \2"),
    (rf"^(?:TRA|FRA) {_THE}(.+) E {_THE}(.+)$", r"BET \1 AND \2"),
    # from ... to ...
    (r"^VON (.+) BIS (.+)$", r"FROM \1 TO \2"),
    (r"^DE (.+) A (.+)$", r"FROM \1 TO \2"),
    (r"^(?:FRA|FRAN) (.+) TILL? (.+)$", r"FROM \1 TO \2"),
    (r"^VAN (.+) TOT (.+)$", r"FROM \1 TO \2"),
    (r"^DESDE (.+) HASTA (.+)$", r"FROM \1 TO \2"),
    (r"^DAL (.+) AL (.+)$", r"FROM \1 TO \2"),
    # ... or ...
    (r"^(\d{4}) (?:OR|ODER|OU|ELLER|OF|O) (\d{4})$", r"BET \1 AND \2"),
    # about
    (r"^(?:UM|ETWA|UNGEFAHR|RUND|GEGEN|ZIRKA) (?=\S)", "ABT "),
    (r"^(?:VERS|ENVIRON|ENV\.?|AUX ENVIRONS DE) (?=\S)", "ABT "),
    (r"^(?:OMKRING|OMKR\.?|OMTRENT|CIRKA|RUNT|CIRKA AR) (?=\S)", "ABT "),
    (r"^(?:OMSTREEKS|ONGEVEER|ROND|OMSTR\.?) (?=\S)", "ABT "),
    (rf"^(?:HACIA|ALREDEDOR DEL?|APROXIMADAMENTE|SOBRE|INTORNO A[L]?|VERSO) {_THE}(?=\S)", "ABT "),
    # before, after, since
    (rf"^(?:VOR|AVANT|FOR|FORE|INNAN|INDEN|VOOR|ANTES DEL?|PRIMA DEL?|PRIMA DI) {_THE}(?=\S)", "BEF "),
    (rf"^(?:NACH|APRES|ETTER|EFTER|NA|DESPUES DEL?|TRAS|DOPO) {_THE}(?=\S)", "AFT "),
    (r"^(?:SEIT|AB|DEPUIS|SIDEN|SEDAN|SINDS|DESDE|DAL) (?=\S)", "FROM "),
    (r"^(?:BIS|JUSQU'EN|TOT|HASTA|FINO AL) (?=\S)", "TO "),
    # an article before the day, the year named as such, "of" between the parts
    (r"^(?:DEN|LE|EL|IL|AM|DE|OP) (?=\d)", ""),
    (r"\b(?:IM JAHR|JAHR|L'AN|AR|AÑO|ANNO) (?=\d{4}$)", ""),
    (r"(?<=[\dA-Z]) (?:DE|DEL|DI) (?=[\dA-Z])", " "),
)
_PATTERNS = tuple((re.compile(pattern), english) for pattern, english in _PHRASES)


def in_english(text: str) -> str:
    """A date in capitals with its foreign words turned into those of GEDCOM; other words stay."""
    text = _bare(text)
    for pattern, english in _PATTERNS:
        text = pattern.sub(english, text)
    return _WORD.sub(lambda word: _MONTH_OF.get(word[1], word[0]), text)


def _bare(text: str) -> str:
    """Without accents, and without the marks of ordinal numbers ("1.", French "1er")."""
    apart = unicodedata.normalize("NFD", text.replace("Ø", "O").replace("Æ", "AE").replace("’", "'"))
    text = "".join(letter for letter in apart if not unicodedata.combining(letter))
    return re.sub(r"\b(\d{1,2})(?:\. ?|ER |º |°)(?=[A-Z])", r"\1 ", text)
