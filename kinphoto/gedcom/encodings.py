"""The encodings of tree files: the names in the header's CHAR line, what they mean, and how they are decoded."""

from __future__ import annotations

import codecs
import re

_NAMED = {
    "UTF-8": "UTF-8", "UTF8": "UTF-8", "UNICODE": "UTF-16", "UTF-16": "UTF-16", "UTF16": "UTF-16", "ASCII": "ASCII",
    "US-ASCII": "ASCII", "ANSEL": "ANSEL", "ANSI": "Windows-1252", "WINDOWS": "Windows-1252",
    "IBM WINDOWS": "Windows-1252", "LATIN1": "Windows-1252", "LATIN-1": "Windows-1252", "LATIN2": "ISO 8859-2",
    "LATIN-2": "ISO 8859-2", "IBMPC": "IBM 437", "IBM DOS": "IBM 437", "MSDOS": "IBM 850", "DOS": "IBM 850",
    "MACINTOSH": "Mac Roman", "MACROMAN": "Mac Roman", "MAC": "Mac Roman", "KOI8-R": "KOI8-R",
}  # fmt: skip

_CODE_PAGE = re.compile(r"(?:WINDOWS|CODE ?PAGE|CP|WIN|ANSI|MS|IBM|DOS)?[-_ ]?(125[0-8]|437|737|775|85[0257]|86[0-6])")
_ISO = re.compile(r"ISO[-_ ]?8859[-_ ]?(\d{1,2})(?::\d+)?")

_CODECS = {"ASCII": "utf-8", "UTF-8": "utf-8", "UTF-16 LE": "utf-16-le", "UTF-16 BE": "utf-16-be", "Mac Roman":
           "mac-roman", "KOI8-R": "koi8-r"}  # fmt: skip

ANSI = "Windows-1252"
_OF_LANGUAGE = {
    1250: "POLISH CZECH SLOVAK HUNGARIAN ROMANIAN CROATIAN SLOVENE SLOVENIAN ALBANIAN BOSNIAN",
    1251: "RUSSIAN UKRAINIAN BELORUSIAN BELARUSIAN BULGARIAN SERB SERBIAN MACEDONIAN",
    1253: "GREEK",
    1254: "TURKISH AZERBAIJANI",
    1255: "HEBREW YIDDISH",
    1256: "ARABIC PERSIAN URDU",
    1257: "LITHUANIAN LATVIAN ESTONIAN",
    1258: "VIETNAMESE",
}
_PAGE_OF = {language: page for page, names in _OF_LANGUAGE.items() for language in names.split()}


def by_name(declared: str) -> str:
    """The encoding that a header names in its CHAR line, "" for an unknown one."""
    name = " ".join(declared.upper().replace("(", " ").replace(")", " ").split())
    if name in _NAMED:
        return _NAMED[name]
    if page := _CODE_PAGE.fullmatch(name):
        return f"Windows-{page[1]}" if page[1].startswith("125") else f"IBM {page[1]}"
    if (iso := _ISO.fullmatch(name)) and _exists(f"iso8859-{iso[1]}"):
        return ANSI if iso[1] == "1" else f"ISO 8859-{iso[1]}"  # files that declare ISO 8859-1 use 1252 all the same
    return ""


def by_language(language: str) -> str:
    """The Windows encoding for a language, as HEAD.LANG names it, because ANSI can be any of them."""
    page = _PAGE_OF.get(language.strip().upper())
    return f"Windows-{page}" if page else ANSI


def codec(encoding: str) -> str:
    """The codec of an encoding that is neither ANSEL nor unknown."""
    if encoding in _CODECS:
        return _CODECS[encoding]
    return encoding.replace("Windows-", "cp").replace("IBM ", "cp").replace("ISO 8859", "iso8859")


def _exists(name: str) -> bool:
    try:
        codecs.lookup(name)
    except LookupError:
        return False
    return True
