"""The words of the pages for what the archive calls by short names, each in one place."""

from __future__ import annotations

from collections.abc import Sequence

from kinphoto.archive.catalogue.kinds import DATED_KINDS, MADE_KINDS, RELATION_KINDS
from kinphoto.archive.words.kinds import KINDS
from kinphoto.phrases import nth, opening
from kinphoto.reason.model.evidence import Role

NOT_IN_A_BOX = "Not in any box yet"
"""The name of the photographs that are in no container."""

SIDES = {"recto": "the front", "verso": "the back", "detail": "a detail"}

DATED, MADE, RELATIONS, ROLES = (
    {kind: words.choice for kind, words in KINDS.items() if kind in kinds}
    for kinds in (DATED_KINDS, MADE_KINDS, RELATION_KINDS, tuple(Role))
)
"""What the forms call the kinds of statement and the roles."""

TOGETHER = {
    "same-occasion": "taken on the same occasion",
    "before": "taken one after the other, in this order",
    "copy-of": "copies of the first",
    "same-negative": "from the same negative",
    "same-strip": "frames of one strip or roll of film",
}
"""How several photographs can belong together."""

MARKS = {kind: words.fact for kind, words in KINDS.items() if words.fact} | {
    kind: opening(KINDS[related].label_from(other).format(photo="", other="").strip())
    for related in RELATION_KINDS
    for kind, other in ((related, False), (KINDS[related].other_way or related, True))
}
"""The label of what was recorded; of a relation also as seen from the other photograph."""

NAMED = {
    "certain": "certain", "strong": "strong", "fair": "fair", "weak": "weak",
    "household": "household", "public": "public",
}  # fmt: skip
"""How far a statement is trusted, and the audiences that every archive has; the others have names of their own."""


def named(word: str | None) -> str | None:
    """A fixed word of the archive as it is shown; any other as it is."""
    return NAMED.get(word, word) if word else word


EVENTS = {
    "MARR": "Marriage",
    "ENGA": "Engagement",
    "GRAD": "Graduation",
    "CHR": "Christening",
    "BAPM": "Baptism",
    "CONF": "Confirmation",
    "FCOM": "First communion",
    "EMIG": "Emigration",
    "IMMI": "Immigration",
    "BIRT": "Birth",
    "DEAT": "Death",
    "BURI": "Burial",
    "RETI": "Retirement",
    "DIV": "Divorce",
}
"""What can be seen of a life in a tree, by the tag it has there."""

DESCRIBED = {
    "title": "Title",
    "place": "Where it was taken",
    "maker": "Photographer or studio",
    "container": "Box or album it is in",
    "former_number": "Former number",
    "rights": "Rights",
    "note": "Note",
}


_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def number_in_words(number: int) -> str:
    """ "four", "twelve", "13"."""
    return _NUMBERS[number] if number < len(_NUMBERS) else f"{number:,}"


def in_words(names: Sequence[str]) -> str:
    """ "Ada", "Ada and Emil", "Ada, Emil and Rosa"."""
    *before, last = names
    return f"{', '.join(before)} and {last}" if before else last


def which_faces(known: Sequence[bool]) -> str:
    """Who a photograph asks about, from its faces left to right, each known or not: "Five of the six have names. Who is
    the one on the right, and how old do they look?" """
    number, unknown = len(known), [at for at, has_name in enumerate(known) if not has_name]
    if number == 1:
        return "Who is this, and how old do they look?"
    if len(unknown) == number or not unknown:
        return f"{number_in_words(number).capitalize()} people without a name. Do you know one of them?"
    named = number - len(unknown)
    have = "has a name" if named == 1 else "have names"
    start = f"{number_in_words(named).capitalize()} of the {number_in_words(number)} {have}."
    if len(unknown) == 1:
        at = unknown[0]
        side = (
            "on the left"
            if at == 0
            else "on the right"
            if at == number - 1
            else f"{nth_in_words(at + 1)} from the left"
        )
        return f"{start} Who is the one {side}, and how old do they look?"
    together = unknown == list(range(number - len(unknown), number)), unknown == list(range(len(unknown)))
    side = "on the right" if together[0] else "on the left" if together[1] else "without a name"
    return f"{start} Who are the {number_in_words(len(unknown))} {side}, and how old do they look?"


def nth_in_words(number: int) -> str:
    """ "first", "second"; from the fifth on "5th"."""
    return ("first", "second", "third", "fourth")[number - 1] if number <= 4 else nth(number)


FIELDS = {
    "age": "Looks about how old?", "stated_age": "Known age", "person": "Name", "new": "Name", "name": "Name",
    "who": "Name", "born": "Born", "died": "Died", "date": "Date or event", 
    "text": "The words, exactly as they are written",
    "by": "Who told us", "why": "Why", "note": "Note", "other": "The other photograph", "better": "The better scan",
    "title": "Title", "place": "Where it was taken", "maker": "Photographer or studio", "container": "Box",
    "former_number": "Former number", "rights": "Rights", "photographs": "Photographs", "on": "When",
    "old": "Who it is now", "folder": "Folder", "theme": "What the names begin with", "prints": "Prints",
    "into": "Into which box", "when": "When",
    "about": "About these photographs and people", "asked_by": "Who asked them",
}  # fmt: skip
"""What can be typed into the forms, by the name of the field, for the page that shows a refused form again."""

FILES = {"scans": "The pictures", "tree": "The file", "sheet": "The file", "sound": "A recording"}
"""The same for files, which no page may choose by itself: they are asked for anew."""
