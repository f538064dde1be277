"""Names as they are compared: without case, accents, punctuation, so that "zoe kruger holm" finds "Zoë Krüger-Holm"."""

from __future__ import annotations

import re
import unicodedata

_LETTERS = str.maketrans(
    {"ø": "o", "đ": "d", "ł": "l", "æ": "ae", "œ": "oe", "ð": "d", "þ": "th", "ħ": "h", "ı": "i", "’": "", "'": ""}
)
"""Letters that Unicode does not take apart into a base and a mark; apostrophes vanish (O'Brien is obrien)."""

_BETWEEN = re.compile(r"[\W_]+")


def fold(text: str) -> str:
    """Lower case, no accents, words parted by single spaces."""
    bare = text.casefold()
    if not bare.isascii():
        bare = "".join(c for c in unicodedata.normalize("NFKD", bare) if not unicodedata.combining(c))
    return _BETWEEN.sub(" ", bare.translate(_LETTERS)).strip()
