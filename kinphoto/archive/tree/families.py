"""Who belongs to which family, collected until the whole file has been read.

In a tree file people may be referred to before their record, and a link may be given on one side only. So both sides
are collected here, as compactly as possible, and combined at the end.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from kinphoto.gedcom.read import Family, PersonRecord
from kinphoto.gedcom.records import Warnings

Ref = int | str
"""A person: the id once it is known, the pointer until then."""


@dataclass(frozen=True, slots=True)
class Members:
    """A complete family: ids of the partners in order, and (child, parent, pedigree)."""

    family_id: int
    partners: tuple[int, ...]
    links: tuple[tuple[int, int, str], ...]


@dataclass(frozen=True, slots=True)
class _Entry:
    family_id: int
    line: int
    partners: tuple[Ref, ...]
    roles: tuple[str, ...]
    children: tuple[Ref, ...]


class Families:
    """Collects the links of both sides, then gives each family's members."""

    def __init__(self, warn: Warnings) -> None:
        self.people: dict[str, int] = {}
        self._warn = warn
        self._families: dict[str, _Entry] = {}
        self._partners: dict[
            str, list[tuple[int, int]]
        ] = {}  # family pointer: (person, line), from the people's records
        self._children: dict[str, list[tuple[int, int]]] = {}
        self._pedigrees: dict[tuple[str, int], str] = {}  # only those not by birth
        self._sides: dict[tuple[str, Ref], dict[str, str]] = {}  # the same towards HUSB or WIFE
        self._adopters: dict[tuple[str, int], str] = {}  # HUSB or WIFE, where only one of them adopted

    def add_person(self, person: PersonRecord, person_id: int) -> None:
        """The families in a person's record. Where several people have one pointer, the first counts."""
        self.people.setdefault(person.code, person_id)
        for code, pedigree in person.parents:
            self._children.setdefault(code, []).append((person_id, person.line))
            if pedigree != "birth":
                self._pedigrees[code, person_id] = pedigree
        for code, role in person.adopted_by:
            self._adopters[code, person_id] = role
        for code in person.families:
            self._partners.setdefault(code, []).append((person_id, person.line))

    def add_family(self, family: Family, family_id: int) -> None:
        """The people in a family's record."""
        known = self.people
        partners = tuple(known.get(code, code) for code, _ in family.partners)
        children = tuple(known.get(child.code, child.code) for child in family.children)
        for ref, child in zip(children, family.children, strict=True):
            if child.to_father or child.to_mother:
                self._sides[family.code, ref] = {"HUSB": child.to_father, "WIFE": child.to_mother}
        roles = tuple(role for _, role in family.partners)
        self._families.setdefault(family.code, _Entry(family_id, family.line, partners, roles, children))

    def members(self) -> Iterator[Members]:
        """The members of every family, with a warning about people and families that do not exist."""
        self._warn_of_missing_families()
        for code, entry in self._families.items():
            named = [self._id(ref, code, entry.line) for ref in entry.partners]
            partners = _once([*named, *(who for who, _ in self._partners.get(code, ()))])
            listed = {self._id(ref, code, entry.line): ref for ref in entry.children}
            children = _once([*listed, *(who for who, _ in self._children.get(code, ()))])
            roles = dict(zip(named, entry.roles, strict=True))
            links = []
            for child in children:
                if child in partners:
                    self._warn(entry.line, f"somebody is their own parent in family {code}; left out")
                    continue
                pedigree = self._pedigrees.get((code, child), "birth")
                sides = self._pedigree_by_side(code, child, listed.get(child) or child)
                links += [(child, parent, sides.get(roles.get(parent, "")) or pedigree) for parent in partners]
            yield Members(entry.family_id, partners, tuple(links))

    def _pedigree_by_side(self, family: str, child: int, ref: Ref) -> dict[str, str]:
        """The child's pedigree towards HUSB and WIFE, where it is given for one of them only."""
        adopter = self._adopters.get((family, child))
        sides = self._sides.get((family, ref), {})
        return {**sides, adopter: "adopted"} if adopter else sides

    def _id(self, ref: Ref, family: str, line: int) -> int | None:
        found = self.people.get(ref) if isinstance(ref, str) else ref
        if found is None:
            what = "which is a family, not a person" if ref in self._families else "who is not in the file"
            self._warn(line, f"family {family} refers to @{ref}@, {what}; left out")
        return found

    def _warn_of_missing_families(self) -> None:
        missing = set[tuple[int, str]]()
        for claims in (self._partners, self._children):
            for code in claims.keys() - self._families.keys():
                missing.update((line, code) for _, line in claims[code])
        for line, code in sorted(missing):
            what = "which is a person, not a family" if code in self.people else "which is not in the file"
            self._warn(line, f"this person belongs to family @{code}@, {what}; left out")


def _once(ids: list[int | None]) -> tuple[int, ...]:
    return tuple(dict.fromkeys(one for one in ids if one is not None))
