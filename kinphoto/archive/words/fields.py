"""What can be described of a photograph, in words, by the name of the column."""

from __future__ import annotations

FIELDS = {
    "title": "title",
    "place": "place",
    "maker": "maker",
    "container": "container",
    "former_number": "former number",
    "rights": "rights",
    "note": "note",
}
