"""The words the pages use for what the archive calls by short names, each in one place."""

from __future__ import annotations

SIDES = {"recto": "the front", "verso": "the back", "detail": "a detail"}

ROLES = {"present": "there in person", "likeness": "a likeness (a picture in the picture, a gravestone)",
         "laid-out": "laid out after death"}  # fmt: skip

SAID = {
    "inscription": "words on it, about the picture",
    "written": "when something was written on it or it was given",
    "taken": "somebody says when it was taken",
    "recollection": "somebody remembers when",
    "print-stamp": "a printer's date on the border",
    "postmark": "a postmark",
    "imprint": "a photographer's mark, with the years of work there",
    "event": "an event of the tree it shows (wedding of Lambert and Agnes)",
}
MADE = {"process": "How it was made", "format": "What kind of object it is"}

RELATIONS = {
    "before": "was taken before",
    "after": "was taken after",
    "same-occasion": "was taken on the same occasion as",
    "copy-of": "is a copy of",
    "same-negative": "is from the same negative as",
    "part-of": "is mounted on the page",
}

MARKS = {
    "inscription": "Inscribed",
    "written": "Written or given",
    "taken": "Said to be taken",
    "recollection": "Remembered",
    "print-stamp": "Printer's date",
    "postmark": "Postmarked",
    "imprint": "Photographer's mark",
    "event": "Shows an event",
    "process": "Made as",
    "format": "Is of the format",
    "before": "Taken before",
    "after": "Taken after",
    "same-occasion": "Same occasion as",
    "copy-of": "A copy of",
    "copied as": "There is a copy of it,",
    "same-negative": "Same negative as",
    "part-of": "Mounted on",
    "carries": "Carries",
}

DESCRIBED = {
    "title": "Title",
    "place": "Where it was taken",
    "maker": "Who made it",
    "container": "Where the original lies",
    "former_number": "Former number",
    "rights": "Rights",
    "note": "Note",
}


def nth(number: int) -> str:
    """ "1st", "2nd", "3rd", "11th"."""
    end = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{end}"
