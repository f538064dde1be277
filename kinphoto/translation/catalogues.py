"""The catalogues of a translator: files of GNU gettext, `kinphoto/locale/LANGUAGE/LC_MESSAGES/SURFACE.mo`.

The language is that of whoever starts kinphoto, by the usual variables (LANGUAGE, LC_ALL, LC_MESSAGES, LANG). Where
there is no catalogue, which means English, whoever asks for one leaves everything as it is.
"""

from __future__ import annotations

from functools import cache
from gettext import NullTranslations, find, translation
from pathlib import Path

CATALOGUES = Path(__file__).parents[1] / "locale"


@cache
def catalogue(surface: str) -> NullTranslations | None:
    """What people read of a surface in the language of whoever started kinphoto; None for English."""
    try:
        return translation(surface, CATALOGUES)
    except OSError:
        return None


def language() -> str:
    """The language of what kinphoto shows and of the sentences it keeps with derived results; "" for English."""
    book = catalogue("sentences")
    return book.info().get("language", "other") if book else ""


def files(surface: str) -> list[Path]:
    """The files from which the catalogue of a surface is made."""
    return [Path(each) for each in find(surface, CATALOGUES, all=True)]


def counted(book: NullTranslations, number: int, one: str, many: str = "") -> str:
    """What `phrases.counted` makes of a number, in another language, which may have more than two numbers."""
    return f"{number:,} {book.ngettext(one, many or one + 's', number)}"
