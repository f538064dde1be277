"""What GEDCOM 7.0 writes differently from 5.5.1, rule by rule.

The rules follow the specification (FamilySearch GEDCOM 7.0, the descriptions of the structures and the guide to
migrating from 5.5.1): notes that others point to are SNOTE, dates name their calendar in words and carry phrases,
enumerations are in capitals with PHRASE for anything else, media have a media type and a URI, identifiers of
programs are EXID.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator
from functools import lru_cache
from urllib.parse import quote

from gedcom7 import cast, const

from kinphoto.gedcom.calendars import MONTHS, month_length
from kinphoto.gedcom.lines import VOID, Line
from kinphoto.gedcom.spelling import later_year

_TERMS = "https://gedcom.io/terms/v7/"
_KINDS: dict[str, dict[str, str]] = const.substructures
_PAYLOADS: dict[str, str] = const.payloads
_TEXT = "http://www.w3.org/2001/XMLSchema#string"
_HEAD = "HEAD pseudostructure"

_ENUMERATIONS = {
    "NAME-TYPE": "AKA BIRTH IMMIGRANT MAIDEN MARRIED PROFESSIONAL OTHER",
    "PEDI": "ADOPTED BIRTH FOSTER SEALING OTHER",
    "MEDI": "AUDIO BOOK CARD ELECTRONIC FICHE FILM MAGAZINE MANUSCRIPT MAP NEWSPAPER PHOTO TOMBSTONE VIDEO OTHER",
    "ROLE": "CHIL CLERGY FATH FRIEND GODP HUSB MOTH MULTIPLE NGHBR OFFICIATOR PARENT SPOU WIFE WITN OTHER",
    "SEX": "M F X U",
    "QUAY": "0 1 2 3",
    "FAMC-STAT": "CHALLENGED DISPROVEN PROVEN",
    "FAMC-ADOP": "HUSB WIFE BOTH",
    "RESN": "CONFIDENTIAL LOCKED PRIVACY",
}
"""The values of 7.0 by the end of the structure's name."""
_MONTHS = {
    "": " ".join(MONTHS),
    "FRENCH_R": "VEND BRUM FRIM NIVO PLUV VENT GERM FLOR PRAI MESS THER FRUC COMP",
    "HEBREW": "TSH CSH KSL TVT SHV ADR ADS NSN IYR SVN TMZ AAV ELL",
}
_WORDS = frozenset(" ".join(_MONTHS.values()).split()) | frozenset(
    "FROM TO BET AND BEF AFT ABT CAL EST GREGORIAN JULIAN FRENCH_R HEBREW BCE".split()
)
_AGES = {"CHILD": "< 8y", "INFANT": "< 1y", "STILLBORN": "0y"}
_MEDIA_TYPES = {
    "jpg": "image/jpeg", "jpeg": "image/jpeg", "tif": "image/tiff", "tiff": "image/tiff", "png": "image/png",
    "gif": "image/gif", "bmp": "image/bmp", "webp": "image/webp", "heic": "image/heic", "pdf": "application/pdf",
    "txt": "text/plain", "htm": "text/html", "html": "text/html", "wav": "audio/wav", "mp3": "audio/mpeg",
    "mp4": "video/mp4", "mpg": "video/mpeg", "avi": "video/x-msvideo",
}  # fmt: skip
_LANGUAGES = {
    "AFRIKAANS": "af", "ALBANIAN": "sq", "CATALAN": "ca", "CROATIAN": "hr", "CZECH": "cs", "DANISH": "da",
    "DUTCH": "nl",
    "ENGLISH": "en", "ESPERANTO": "eo", "ESTONIAN": "et", "FAROESE": "fo", "FINNISH": "fi", "FRENCH": "fr",
    "GERMAN": "de", "GREEK": "el", "HEBREW": "he", "HUNGARIAN": "hu", "ICELANDIC": "is", "ITALIAN": "it",
    "LATVIAN": "lv", "LITHUANIAN": "lt", "NORWEGIAN": "no", "POLISH": "pl", "PORTUGUESE": "pt", "ROMANIAN": "ro",
    "RUSSIAN": "ru", "SLOVAK": "sk", "SLOVENE": "sl", "SPANISH": "es", "SWEDISH": "sv", "TURKISH": "tr",
    "UKRAINIAN": "uk", "YIDDISH": "yi",
}  # fmt: skip
_SCRIPTS = {"kana": "ja-hrkt", "hangul": "ko-hang", "romaji": "ja-Latn", "pinyin": "zh-Latn-pinyin"}
"""The scripts that 5.5.1 names below FONE and ROMN."""
_OTHER_MEDIUM = "application/octet-stream"
_SYNONYMS = {"NATURAL": "BIRTH", "ALIAS": "AKA"}
_ID_TYPES = {"AFN": f"{_TERMS}AFN", "RFN": f"{_TERMS}RFN", "RIN": f"{_TERMS}RIN"}


class SevenWriter:
    """Turns the records of one file. `xrefs` are its new pointers, `tags` the tag of each pointer's record.
    `extensions` counts what was kept under a tag with an underscore."""

    def __init__(self, xrefs: dict[str, str], tags: dict[str, str]) -> None:
        self.xrefs, self.extensions = xrefs, Counter[str]()
        renamed = {"NOTE": "SNOTE"}
        records = _KINDS[""]
        self._pointed_types = {xrefs[old]: records.get(renamed.get(tag, tag), "") for old, tag in tags.items()}
        self._seen: set[str] = set()
        self._new: list[Line] = []  # records for media that stood where they were used
        self._rules: dict[str, Callable[[Line, str], None]] = {
            "DATE": self._date, "SDATE": self._date, "AGE": self._age, "NOTE": self._note, "OBJE": self._media,
            "FORM": self._form, "LANG": self._language, "ASSO": self._association, "EMAI": self._mail,
            "AFN": self._number, "RFN": self._number, "RIN": self._number, "SOUR": self._citation, "ALIA": self._alias,
            "FILE": self._file, "FONE": self._spelling, "ROMN": self._spelling,
        }  # fmt: skip

    def header(self, line: Line) -> Line:
        """The header: its version first, without the encoding of 5.5.1."""
        self._rename_pointers(line)
        line.below = [each for each in line.below if each.tag not in ("GEDC", "CHAR")]
        line.below.insert(0, Line("GEDC").add("VERS", "7.0"))
        self._convert_below(line, _HEAD)
        return Line("HEAD", below=line.below)

    def record(self, line: Line) -> Line:
        """A record in 7.0."""
        self._rename_pointers(line)
        self._convert_record(line)
        return line

    def end(self) -> Iterator[Line]:
        """The records that had to be added, and the trailer."""
        yield from self._new
        yield Line("TRLR")

    def _convert_record(self, line: Line) -> None:
        line.tag = "SNOTE" if line.tag == "NOTE" else line.tag
        had_pointer = bool(line.xref)
        self._own_pointer(line)
        if line.tag == "OBJE":
            self._media_record(line)
        kind = _KINDS[""].get(line.tag, "")
        if kind:
            self._fit_value(line, kind)
        if had_pointer and kind and self._fits(line, kind):
            self._convert_below(line, kind)
        elif not line.tag.startswith("_"):
            self._make_extension(line)

    def _own_pointer(self, line: Line) -> None:
        """In 7.0 every record has a pointer of its own."""
        line.xref = self.xrefs.get(f"@{line.xref.strip('@').strip()}@", "")
        if not line.xref or line.xref in self._seen:
            line.xref = self._free(line.xref.strip("@") or line.tag.strip("_"))
        self._seen.add(line.xref)

    def _free(self, name: str) -> str:
        number, taken = 1, {*self._pointed_types, *self._seen}
        while f"@{name}_{number}@" in taken:
            number += 1
        self._seen.add(f"@{name}_{number}@")
        return f"@{name}_{number}@"

    def _rename_pointers(self, line: Line) -> None:
        """Give the pointers in a record their new names; one to a missing record becomes VOID."""
        if line.pointer:
            line.pointer = self.xrefs.get(line.pointer, VOID)
        line.value = line.value.replace("@@", "@") if line.tag != "DATE" else line.value
        for each in line.below:
            self._rename_pointers(each)

    def _convert_below(self, parent: Line, kind: str) -> None:
        for line in parent.below:
            if line.tag.startswith("_"):
                continue
            if line.tag in self._rules:
                self._rules[line.tag](line, kind)
            found = _KINDS.get(kind, {}).get(line.tag)
            if found is not None:
                self._fit_value(line, found)
            if found is None or not self._fits(line, found):
                self._make_extension(line)
            else:
                self._convert_below(line, found)

    def _make_extension(self, line: Line) -> None:
        line.tag = f"_{line.tag}"
        self.extensions[line.tag] += 1

    def _fits(self, line: Line, kind: str) -> bool:
        """Whether the value is allowed in a structure of this kind."""
        payload = _PAYLOADS.get(kind, "")
        if payload.startswith("@<"):
            return line.pointer == VOID or (
                bool(line.pointer) and self._pointed_types.get(line.pointer) == payload[2:-2]
            )
        if line.pointer:
            return False
        if payload.endswith("#Language"):
            return bool(re.fullmatch(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{1,8})*", line.value))
        if not payload:
            return not line.value.strip()
        if payload == "Y|<NULL>":
            return line.value in ("", "Y")
        if allowed := _ENUMERATIONS.get(kind.removeprefix(_TERMS)):
            return set(line.value.replace(" ", "").split(",")) <= set(allowed.split())
        return payload == _TEXT or _is_of(kind, line.value)

    def _fit_value(self, line: Line, kind: str) -> None:
        """Rewrite a value of the wrong kind where possible: in capitals, as a phrase, as a note."""
        payload = _PAYLOADS.get(kind, "")
        name, inside = kind.removeprefix(_TERMS), _KINDS.get(kind, {})
        value = line.value.strip()
        if payload != _TEXT:
            line.value = value
        if name in _ENUMERATIONS:
            line.value = _SYNONYMS.get(value.upper(), value.upper())
            if not self._fits(line, kind) and "PHRASE" in inside and "OTHER" in _ENUMERATIONS[name]:
                line.add("PHRASE", value).value = "OTHER"
        elif payload in ("", "Y|<NULL>") and value not in ("", "Y") and "NOTE" in inside:
            line.add("NOTE", line.value).value = ""
        elif payload.startswith("@<") and not line.pointer and (value or line.below):
            words = "PHRASE" if "PHRASE" in inside else "NOTE" if "NOTE" in inside else ""
            if value and words:
                line.add(words, line.value).value = ""
            line.pointer = "" if line.value else VOID
        elif name == "SOUR-EVEN" and not self._is_event(line.value):
            line.add("PHRASE", line.value).value = "EVEN"
        elif name == "INDI-NAME":
            line.value = _name(line.value)

    @staticmethod
    def _is_event(value: str) -> bool:
        return any(value in _KINDS[f"{_TERMS}record-{record}"] for record in ("INDI", "FAM")) and value.isupper()

    def _date(self, line: Line, _: str) -> None:
        """Calendars and eras as words; a dual year (1699/00) as the later year, which is the calendar's; anything else
        as a phrase."""
        text, phrase = line.value.strip(), ""
        if found := re.fullmatch(r"(?:INT\s+(.*?)\s*)?\((.*)\)", text, re.S | re.I):
            text, phrase = found[1] or "", found[2]
        dated = _seven_date(text)
        if dated is None:
            dated, phrase = "", line.value.strip()
        elif "/" in text:
            phrase = phrase or re.sub(r"@#D([A-Z ]+)@ ?", "", text)
        line.value = dated
        if phrase:
            line.add("PHRASE", phrase)

    def _age(self, line: Line, _: str) -> None:
        text = line.value.strip()
        value = _AGES.get(text.upper()) or re.sub(r"^([<>])\s*", r"\1 ", text.lower())
        value = value if _is_of(f"{_TERMS}AGE", value) else ""
        if value != text and (not value or text.upper() in _AGES):
            line.add("PHRASE", text)
        line.value = value

    def _note(self, line: Line, _: str) -> None:
        line.tag = "SNOTE" if line.pointer else "NOTE"

    def _mail(self, line: Line, _: str) -> None:
        line.tag = "EMAIL"

    def _number(self, line: Line, _: str) -> None:
        """An identifier of a record in some program or registry."""
        line.add("TYPE", _ID_TYPES[line.tag])
        line.tag = "EXID"

    def _spelling(self, line: Line, _: str) -> None:
        """A phonetic or romanised name is a translation in 7.0, with a language: "und" where 5.5.1 does not give it
        (BCP 47)."""
        how = line.get("TYPE")
        line.below.insert(0, Line("LANG", _SCRIPTS.get(how.value.strip().lower() if how else "", "und")))
        line.tag = "TRAN"

    def _citation(self, line: Line, kind: str) -> None:
        """In a citation of a source without a record of its own, the text moves to DATA."""
        if kind != _HEAD and not line.pointer and (text := line.pop("TEXT")) is not None:
            data = line.get("DATA")
            if data is None:
                line.below.append(data := Line("DATA"))
            data.below.append(text)

    def _alias(self, line: Line, _: str) -> None:
        if not line.pointer:
            line.tag = "NAME"
            line.add("TYPE", "AKA")

    def _association(self, line: Line, _: str) -> None:
        relation = line.pop("RELA")
        if relation is not None:
            line.below.insert(0, Line("ROLE", relation.value))

    def _language(self, line: Line, _: str) -> None:
        line.value = _LANGUAGES.get(line.value.strip().upper(), line.value)

    def _form(self, line: Line, kind: str) -> None:
        if kind in (f"{_TERMS}FILE", f"{_TERMS}FILE-TRAN"):
            value = line.value.strip()
            line.value = value if "/" in value else _MEDIA_TYPES.get(value.lower().lstrip("."), _OTHER_MEDIUM)
            if line.value == _OTHER_MEDIUM and value:
                line.add("_FORM", value)
            if (medium := line.pop("TYPE")) is not None:
                line.below.append(Line("MEDI", medium.value))

    def _file(self, line: Line, kind: str) -> None:
        if kind == f"{_TERMS}record-OBJE":
            line.value = _uri(line.value.strip())
            if line.get("FORM") is None:
                line.below.insert(0, Line("FORM", line.value.rpartition(".")[2]))

    def _media(self, line: Line, _: str) -> None:
        """A medium described where it is used gets a record of its own."""
        if line.pointer or line.value.strip() or line.get("FILE") is None:
            return
        record = Line("OBJE", xref=self._free("O"), below=line.below)
        self._pointed_types[record.xref] = f"{_TERMS}record-OBJE"
        self._media_record(record)
        self._convert_below(record, f"{_TERMS}record-OBJE")
        self._new.append(record)
        line.below, line.pointer = [], record.xref

    @staticmethod
    def _media_record(line: Line) -> None:
        """FORM and TITL of a record or link belong to its files."""
        files = [each for each in line.below if each.tag == "FILE"]
        for tag in ("FORM", "TITL"):
            found = line.pop(tag) if files else None
            if found is not None and found.tag == "FORM" and (medium := line.pop("MEDI")) is not None:
                found.below.append(Line("TYPE", medium.value))
            for file in files if found is not None else ():
                if file.get(tag) is None:
                    file.below.append(Line(tag, found.value, below=list(found.below)))  # type: ignore[union-attr]


@lru_cache(maxsize=1 << 14)
def _is_of(kind: str, value: str) -> bool:
    """Whether gedcom7 accepts this value for a structure of this kind."""
    try:
        cast.cast_value(value, kind)
    except ValueError:
        return False
    return True


def _seven_date(text: str) -> str | None:
    """A date of 5.5.1 in 7.0, "" for none; None when it is not a date."""
    text = re.sub(
        r"@#D([A-Z ]+?)\s*@\s*", lambda m: f"{m[1].strip().replace(' ', '_')} ", " ".join(text.upper().split())
    )
    text = re.sub(r"\s*\bB\.?\s?C\.?(?=\s|$)", " BCE", text)
    text = re.sub(r"(?<![\d/])(\d{3,4})/(\d{2}|\d{4})(?![\d/])", later_year, text)
    words = re.findall(r"[A-Z_]+", text)
    return text if set(words) <= _WORDS and _is_of(f"{_TERMS}DATE", text) and _days_exist(text) else None


def _days_exist(text: str) -> bool:
    """Whether every month in a date has its day, as in any year: 29 FEB, but not 31 FEB."""
    days = [(int(day), month) for day, month in re.findall(r"(\d+) ([A-Z]{3})\b", text) if month in MONTHS]
    return all(1 <= day <= month_length(2000, MONTHS.index(month) + 1) for day, month in days)


def _name(value: str) -> str:
    """A name with its surname between two slashes, or without any."""
    given, *rest = " ".join(value.split()).split("/")
    return f"{given}/{rest[0]}/{' '.join(rest[1:]).strip() and ' ' + ' '.join(rest[1:]).strip()}" if rest else given


def _uri(path: str) -> str:
    """The path of a file as a URI reference: unchanged for an address, file:// for an absolute path."""
    if re.match(r"[A-Za-z][A-Za-z0-9+.-]+://", path):
        return path
    path = path.replace("\\", "/")
    if re.match(r"[A-Za-z]:/", path):
        return f"file:///{path[:2]}{quote(path[2:])}"
    if path.startswith("//"):
        return f"file:{quote(path)}"
    return f"file://{quote(path)}" if path.startswith("/") else quote(path)
