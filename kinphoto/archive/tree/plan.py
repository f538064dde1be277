"""What a newer tree file means for the archive, before anything is written: who is who, and who is gone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cache

from sqlalchemy import Connection, or_, select

from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.archive.tree import doubts as tree_doubts
from kinphoto.archive.tree import matching
from kinphoto.archive.tree.doubts import MatchDoubt
from kinphoto.archive.tree.matching import Matched
from kinphoto.archive.tree.relatives import Kin, kin_of
from kinphoto.archive.tree.traits import FamilyTraits, PersonTraits
from kinphoto.gedcom import read
from kinphoto.reason.model.span import Span
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class Plan:
    """Who is who: ids in the archive by code in the file; all codes in the file; who is no longer in it; the doubts
    about people in use, and who was merged into whom (ids)."""

    people: dict[str, int] = field(default_factory=dict)
    families: dict[str, int] = field(default_factory=dict)
    codes: frozenset[str] = frozenset()
    family_codes: frozenset[str] = frozenset()
    gone: tuple[int, ...] = ()
    gone_families: tuple[int, ...] = ()
    doubts: tuple[MatchDoubt, ...] = ()
    merged: dict[int, int] = field(default_factory=dict)


def make_plan(
    connection: Connection,
    records: Iterable[tuple[read.Header | read.PersonRecord | read.Family, str]],
    linked: set[int],
) -> Plan:
    """Compare the people in a file (its records, each with its future code) with those in the archive; `linked` are the
    people in use."""
    file = _File()
    for record, code in records:
        file.add(record, code)
    before, groups = _people_in_archive(connection), _families_in_archive(connection)

    @cache
    def kin_before() -> Kin[int]:
        return kin_of((group.partners, group.children) for group in groups.values())

    matched = matching.match_people(before, file.people, kin_before, file.kin)
    _prefer_corrected(matched.people, before, read_identity(connection))
    families = matching.match_families(groups, file.groups(matched.people))
    doubts, merged = tree_doubts.doubts(matched, before, file.people, linked, kin_before, file.kin)
    return Plan(
        matched.people,
        families,
        frozenset(person.code for person in file.people),
        frozenset(code for code, _, _ in file.families),
        tuple(sorted(before.keys() - set(matched.people.values()))),
        tuple(sorted(groups.keys() - set(families.values()))),
        tuple(_with_names(connection, doubts, matched, before, file.people)),
        merged,
    )


def _prefer_corrected(people: dict[str, int], before: Container[int], identity: Identity) -> None:
    """Whoever was declared the same as somebody else, and is found while that other is not, is that other: a corrected
    birth that is now as it was before."""
    found = set(people.values())
    for code, row_id in people.items():
        other = identity.of(row_id)
        if other in before and other not in found:
            people[code] = other
            found.add(other)


def _with_names(
    connection: Connection,
    doubts: Iterable[MatchDoubt],
    matched: Matched,
    before: dict[int, PersonTraits],
    now: Iterable[PersonTraits],
) -> Iterator[MatchDoubt]:
    """The doubts, with the former names of those found on thin grounds under a different one."""
    names, p = {person.code: person.name for person in now}, t.person.c
    for doubt in doubts:
        if (
            doubt.others[:1]
            and doubt.others[0] in matched.weak
            and names[doubt.others[0]] != before[doubt.person_id].name
        ):
            was = connection.scalar(select(p.name).where(p.id == doubt.person_id))
            yield replace(doubt, was=was or "")
        else:
            yield doubt


class _File:
    """The traits of the people and families of a file. Families hold pointers; `codes` maps them to codes."""

    def __init__(self) -> None:
        self.people: list[PersonTraits] = []
        self.codes: dict[str, str] = {}
        self.families: list[tuple[str, tuple[str, ...], tuple[str, ...]]] = []
        self._pointers: dict[str, str] = {}  # of families
        self._partner_of: dict[str, list[str]] = defaultdict(list)
        self._child_of: dict[str, list[str]] = defaultdict(list)

    def add(self, record: read.Header | read.PersonRecord | read.Family, code: str) -> None:
        """Add a record."""
        if isinstance(record, read.PersonRecord):
            self.people.append(_traits_of(record, code))
            self.codes.setdefault(record.code, code)
            for family in record.families:
                self._partner_of[family].append(code)
            for family, _ in record.parents:
                self._child_of[family].append(code)
        elif isinstance(record, read.Family):
            self._pointers[code] = record.code
            partners = tuple(pointer for pointer, _ in record.partners)
            self.families.append((code, partners, tuple(child.code for child in record.children)))

    def groups(self, people: dict[str, int]) -> list[FamilyTraits]:
        """The families by those of their people who are in the archive; -1 stands for somebody new."""
        found = {pointer: people[code] for pointer, code in self.codes.items() if code in people}
        return [
            FamilyTraits(
                code,
                frozenset(found.get(pointer, -1) for pointer in partners),
                frozenset(found[pointer] for pointer in children if pointer in found),
            )
            for code, partners, children in self.families
        ]

    def kin(self) -> Kin[str]:
        """The relatives of everybody, from the records of either side."""
        if not hasattr(self, "_kin"):
            self._kin = kin_of(self._members(*family) for family in self.families)
        return self._kin

    def _members(self, code: str, partners: tuple[str, ...], children: tuple[str, ...]) -> tuple[list[str], list[str]]:
        pointer = self._pointers[code]
        return (
            [*(self.codes[p] for p in partners if p in self.codes), *self._partner_of[pointer]],
            [*(self.codes[p] for p in children if p in self.codes), *self._child_of[pointer]],
        )


def _traits_of(person: read.PersonRecord, code: str) -> PersonTraits:
    names = tuple(dict.fromkeys(fold(name.text) for name in person.names))
    given = tuple(dict.fromkeys(_given(*name[:3]) for name in person.names))
    return PersonTraits(code, person.uids, names, _when(person, "BIRT"), _when(person, "DEAT"), person.sex, given)


def _given(text: str, given: str, surname: str) -> str:
    """Given names, folded; in a name without parts, all words but the last."""
    return fold(given if given or surname else text.rpartition(" ")[0] or text)


def _when(person: read.PersonRecord, tag: str) -> Span:
    return next((e.date.span for e in person.events if e.tag == tag and e.date.span != Span()), Span())


def _people_in_archive(connection: Connection) -> dict[int, PersonTraits]:
    """The people of the archive's tree, the gone ones included: they may come back."""
    e, p, n = t.event.c, t.person.c, t.name.c
    spans: dict[str, dict[int, Span]] = {"BIRT": {}, "DEAT": {}}
    dated = select(e.person_id, e.tag, e.first, e.last).where(
        e.tag.in_(spans), e.person_id.is_not(None), or_(e.first.is_not(None), e.last.is_not(None))
    )
    for person_id, tag, first, last in connection.execute(dated.order_by(e.position)):
        spans[tag].setdefault(person_id, Span(first, last))
    names: dict[int, list[str]] = defaultdict(list)
    given_names: dict[int, list[str]] = defaultdict(list)
    named = select(n.person_id, n.folded, n.text, n.given, n.surname).order_by(n.person_id, n.position)
    for person_id, folded, *parts in connection.execute(named):
        names[person_id].append(folded)
        given_names[person_id].append(_given(*parts))
    none = Span()
    return {
        id_: PersonTraits(
            code,
            (uid,) if uid else (),
            tuple(dict.fromkeys(names.get(id_, ()))),
            spans["BIRT"].get(id_, none),
            spans["DEAT"].get(id_, none),
            sex,
            tuple(dict.fromkeys(given_names.get(id_, ()))),
        )
        for id_, code, uid, sex in connection.execute(select(p.id, p.code, p.uid, p.sex).where(p.outside == 0))
    }


def _families_in_archive(connection: Connection) -> dict[int, FamilyTraits]:
    partners: dict[int, set[int]] = {}
    children: dict[int, set[int]] = {}
    for family_id, person_id in connection.execute(select(t.partner.c.family_id, t.partner.c.person_id)):
        partners.setdefault(family_id, set()).add(person_id)
    links = select(t.parent_link.c.family_id, t.parent_link.c.child_id).where(t.parent_link.c.family_id.is_not(None))
    for family_id, child_id in connection.execute(links):
        children.setdefault(family_id, set()).add(child_id)
    return {
        id_: FamilyTraits(code, frozenset(partners.get(id_, ())), frozenset(children.get(id_, ())))
        for id_, code in connection.execute(select(t.family.c.id, t.family.c.code))
    }
