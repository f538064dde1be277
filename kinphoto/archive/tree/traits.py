"""The traits by which people and families are recognised when a tree is imported again."""

from __future__ import annotations

from dataclasses import dataclass

from kinphoto.reason.model.span import Span, year_of


@dataclass(frozen=True, slots=True)
class PersonTraits:
    """The traits of a person: pointer, identifiers (the best first), folded names (the main one first), first and last
    possible day of birth and of death, sex, and the folded given names."""

    code: str
    uids: tuple[str, ...]
    names: tuple[str, ...]
    born: Span
    died: Span
    sex: str = "U"
    given: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The folded main name."""
        return self.names[0] if self.names else ""

    @property
    def name_and_year(self) -> tuple[str, int] | None:
        """The name and the year of birth, where both are known."""
        first, last = self.born.first, self.born.last
        if not self.name or first is None or last is None or year_of(first) != year_of(last):
            return None
        return self.name, year_of(first)


@dataclass(frozen=True, slots=True)
class FamilyTraits:
    """The traits of a family: its pointer, its partners and its children, as ids of the archive."""

    code: str
    partners: frozenset[int]
    children: frozenset[int]
