"""A structure of a tree file as it is changed on its way to another version."""

from __future__ import annotations

from dataclasses import dataclass, field

VOID = "@VOID@"
"""The pointer to nothing of GEDCOM 7.0."""


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
        """More of the value; what looked like a pointer until here is text then."""
        self.value, self.pointer = self.value + self.pointer + text, ""

    def get(self, tag: str) -> Line | None:
        """The first structure of this tag below."""
        return next((each for each in self.below if each.tag == tag), None)

    def pop(self, tag: str) -> Line | None:
        """The same, taken out."""
        found = self.get(tag)
        if found is not None:
            self.below.remove(found)
        return found

    def add(self, tag: str, value: str) -> Line:
        """Hang a structure below; returns this one."""
        self.below.append(Line(tag, value))
        return self
