"""Names as they are compared: without case, accents, punctuation, so that "zoe kruger holm" finds "Zoë Krüger-Holm"."""

from __future__ import annotations

import re
import unicodedata

_LETTERS = str.maketrans(
    {"ø": "o", "đ": "d", "ł": "l", "æ": "ae", "œ": "oe", "ð": "d", "þ": "th", "ħ": "h", "ı": "i", "’": "", "'": ""}
)
"""Letters that Unicode does not take apart into a base and a mark; apostrophes vanish (O'Brien is obrien)."""

_CHARACTER = re.compile(r"([\u3005\u3040-\u30ff\u3400-\u4dbf\u4e00-\u9fff\uf900-\ufaff\U00020000-\U0003ffff])")
"""Chinese characters and Japanese letters: words of these are written without spaces, so each is one by itself."""

_BETWEEN = re.compile(r"[\W_]+")


def fold(text: str) -> str:
    """Lower case, no accents, words parted by single spaces; each Chinese character is a word."""
    bare = text.casefold()
    if not bare.isascii():
        bare = "".join(c for c in unicodedata.normalize("NFKD", bare) if not unicodedata.combining(c))
        bare = _CHARACTER.sub(r" \1 ", bare)
    return _BETWEEN.sub(" ", bare.translate(_LETTERS)).strip()
