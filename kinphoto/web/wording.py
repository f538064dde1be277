"""The words of the pages for what the archive calls by short names, each in one place."""

from __future__ import annotations

from kinphoto.archive.catalogue.kinds import DATED_KINDS, MADE_KINDS, RELATION_KINDS
from kinphoto.archive.words.kinds import KINDS
from kinphoto.phrases import opening
from kinphoto.reason.model.evidence import Role

NOT_IN_A_BOX = "Not in any box yet"
"""The name of the photographs that are in no container."""

SIDES = {"recto": "the front", "verso": "the back", "detail": "a detail"}

DATED, MADE, RELATIONS, ROLES = (
    {kind: words.choice for kind, words in KINDS.items() if kind in kinds}
    for kinds in (DATED_KINDS, MADE_KINDS, RELATION_KINDS, tuple(Role))
)
"""What the forms call the kinds of statement and the roles."""

MARKS = {kind: words.fact for kind, words in KINDS.items() if words.fact} | {
    kind: opening(KINDS[related].label_from(other).rpartition(" ")[0])
    for related in RELATION_KINDS
    for kind, other in ((related, False), (KINDS[related].other_way or related, True))
}
"""The label of what was recorded; of a relation also as seen from the other photograph."""

DESCRIBED = {
    "title": "Title",
    "place": "Where it was taken",
    "maker": "Photographer or studio",
    "container": "Box or album it is in",
    "former_number": "Former number",
    "rights": "Rights",
    "note": "Note",
}


def nth(number: int) -> str:
    """ "1st", "2nd", "3rd", "11th"."""
    end = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{end}"
