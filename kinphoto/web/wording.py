"""The words of the pages for what the archive calls by short names, each in one place."""

from __future__ import annotations

NOWHERE = "Not in any box yet"
"""The name of the photographs that are in no container."""

SIDES = {"recto": "the front", "verso": "the back", "detail": "a detail"}

ROLES = {"present": "there in person", "likeness": "a likeness (a picture in the picture, a gravestone)",
         "laid-out": "photographed after death"}  # fmt: skip

SAID = {
    "inscription": "words on it, about the picture",
    "written": "written on or given away by this date",
    "taken": "somebody says when it was taken",
    "recollection": "somebody remembers when",
    "print-stamp": "a printer's date on the border",
    "postmark": "a postmark",
    "imprint": "a photographer's mark, with the years of work there",
    "event": "an event in the tree (wedding of Lambert and Agnes)",
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
    "inscription": "Written on it",
    "written": "Written on or given away by",
    "taken": "Taken",
    "recollection": "Remembered",
    "print-stamp": "Printer's date",
    "postmark": "Postmarked",
    "imprint": "Photographer's mark",
    "event": "Shows",
    "process": "Process",
    "format": "Format",
    "before": "Taken before",
    "after": "Taken after",
    "same-occasion": "Same occasion as",
    "copy-of": "Copy of",
    "copied as": "Copied in",
    "same-negative": "Same negative as",
    "part-of": "Mounted on",
    "carries": "Has on it",
}

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
