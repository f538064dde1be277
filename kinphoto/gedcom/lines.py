"""A structure of a tree file while it is converted to another version."""

from __future__ import annotations

from dataclasses import dataclass, field

VOID = "@VOID@"
"""GEDCOM 7.0's pointer to nothing."""


@dataclass(slots=True)
class Line:
    """One structure: its value with CONC and CONT joined in, or its pointer to a record (with its @), and the
    structures below it. `xref` is a record's own pointer."""

    tag: str
    value: str = ""
    pointer: str = ""
    xref: str = ""
    below: list[Line] = field(default_factory=list)

    def append(self, text: str) -> None:
        """Add text to the value; what looked like a pointer becomes text."""
        self.value, self.pointer = self.value + self.pointer + text, ""

    def get(self, tag: str) -> Line | None:
        """The first substructure with this tag."""
        return next((each for each in self.below if each.tag == tag), None)

    def pop(self, tag: str) -> Line | None:
        """Remove and return it."""
        found = self.get(tag)
        if found is not None:
            self.below.remove(found)
        return found

    def add(self, tag: str, value: str) -> Line:
        """Add a substructure; returns this structure."""
        self.below.append(Line(tag, value))
        return self
