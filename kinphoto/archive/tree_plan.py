"""What a newer tree file means for the archive, found out before anything is written: who is who, and who has gone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Iterable
from dataclasses import dataclass, field
from functools import cache
from itertools import chain, count

from sqlalchemy import Connection, or_, select

from kinphoto.archive import tree_doubts, tree_matching
from kinphoto.archive.folding import fold
from kinphoto.archive.tree_doubts import Doubt
from kinphoto.archive.tree_kin import Kin, kin_of
from kinphoto.archive.tree_matching import Known
from kinphoto.reason.span import Span
from kinphoto.store import tables as t
from kinphoto.tree import read


@dataclass(frozen=True, slots=True)
class Plan:
    """Who is who: codes of the file to ids of the archive; all codes of the file; who is in it no longer; what is
    doubtful about people whom something rests on, and who of them went up in whom (ids)."""

    people: dict[str, int] = field(default_factory=dict)
    families: dict[str, int] = field(default_factory=dict)
    codes: frozenset[str] = frozenset()
    family_codes: frozenset[str] = frozenset()
    gone: tuple[int, ...] = ()
    gone_families: tuple[int, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    merged: dict[int, int] = field(default_factory=dict)


def free(code: str, used: Container[str]) -> str:
    """The code itself, or with the first number behind it that makes it one nobody has."""
    return next(each for each in chain([code], (f"{code}-{n}" for n in count(2))) if each not in used)


def make_plan(
    connection: Connection, records: Iterable[tuple[read.Header | read.Person | read.Family, str]], linked: set[int]
) -> Plan:
    """Compare who is in a file (its records, each with the code it will go by) with who is in the archive; `linked`
    are the people whom something rests on."""
    file = _File()
    for record, code in records:
        file.add(record, code)
    before, groups = _known_people(connection), _known_families(connection)

    @cache
    def kin_before() -> Kin[int]:
        return kin_of((group.partners, group.children) for group in groups.values())

    matched = tree_matching.match_people(before, file.people, kin_before, file.kin)
    families = tree_matching.match_families(groups, file.groups(matched.people))
    doubts, merged = tree_doubts.doubts(matched, before, file.people, linked, kin_before, file.kin)
    return Plan(
        matched.people,
        families,
        frozenset(known.code for known in file.people),
        frozenset(code for code, _, _ in file.families),
        tuple(sorted(before.keys() - set(matched.people.values()))),
        tuple(sorted(groups.keys() - set(families.values()))),
        doubts,
        merged,
    )


class _File:
    """What tells the people and families of a file apart. Families hold pointers; `codes` says who goes by which."""

    def __init__(self) -> None:
        self.people: list[Known] = []
        self.codes: dict[str, str] = {}
        self.families: list[tuple[str, tuple[str, ...], tuple[str, ...]]] = []
        self._pointers: dict[str, str] = {}  # of families
        self._partner_of: dict[str, list[str]] = defaultdict(list)
        self._child_of: dict[str, list[str]] = defaultdict(list)

    def add(self, record: read.Header | read.Person | read.Family, code: str) -> None:
        """Note one record."""
        if isinstance(record, read.Person):
            self.people.append(_known(record, code))
            self.codes.setdefault(record.code, code)
            for family in record.families:
                self._partner_of[family].append(code)
            for family, _ in record.parents:
                self._child_of[family].append(code)
        elif isinstance(record, read.Family):
            self._pointers[code] = record.code
            partners = tuple(pointer for pointer, _ in record.partners)
            self.families.append((code, partners, tuple(child.code for child in record.children)))

    def groups(self, people: dict[str, int]) -> list[tree_matching.Group]:
        """The families by those of their people who are known already; -1 stands for somebody new."""
        found = {pointer: people[code] for pointer, code in self.codes.items() if code in people}
        return [
            tree_matching.Group(
                code,
                frozenset(found.get(pointer, -1) for pointer in partners),
                frozenset(found[pointer] for pointer in children if pointer in found),
            )
            for code, partners, children in self.families
        ]

    def kin(self) -> Kin[str]:
        """The relatives of everybody, as either side has them."""
        if not hasattr(self, "_kin"):
            self._kin = kin_of(self._members(*family) for family in self.families)
        return self._kin

    def _members(self, code: str, partners: tuple[str, ...], children: tuple[str, ...]) -> tuple[list[str], list[str]]:
        pointer = self._pointers[code]
        return (
            [*(self.codes[p] for p in partners if p in self.codes), *self._partner_of[pointer]],
            [*(self.codes[p] for p in children if p in self.codes), *self._child_of[pointer]],
        )


def _known(person: read.Person, code: str) -> Known:
    names = tuple(dict.fromkeys(fold(name.text) for name in person.names))
    return Known(code, person.uids, names, _when(person, "BIRT"), _when(person, "DEAT"))


def _when(person: read.Person, tag: str) -> Span:
    return next((e.date.span for e in person.events if e.tag == tag and e.date.span != Span()), Span())


def _known_people(connection: Connection) -> dict[int, Known]:
    """The people of the archive's tree, the gone ones included: they may come back."""
    e, p, n = t.event.c, t.person.c, t.name.c
    spans: dict[str, dict[int, Span]] = {"BIRT": {}, "DEAT": {}}
    dated = select(e.person_id, e.tag, e.first, e.last).where(
        e.tag.in_(spans), e.person_id.is_not(None), or_(e.first.is_not(None), e.last.is_not(None))
    )
    for person_id, tag, first, last in connection.execute(dated.order_by(e.position)):
        spans[tag].setdefault(person_id, Span(first, last))
    names: dict[int, list[str]] = defaultdict(list)
    for person_id, folded in connection.execute(select(n.person_id, n.folded).order_by(n.person_id, n.position)):
        names[person_id].append(folded)
    none = Span()
    return {
        id_: Known(
            code,
            (uid,) if uid else (),
            tuple(dict.fromkeys(names.get(id_, ()))),
            spans["BIRT"].get(id_, none),
            spans["DEAT"].get(id_, none),
        )
        for id_, code, uid in connection.execute(select(p.id, p.code, p.uid).where(p.outside == 0))
    }


def _known_families(connection: Connection) -> dict[int, tree_matching.Group]:
    partners: dict[int, set[int]] = {}
    children: dict[int, set[int]] = {}
    for family_id, person_id in connection.execute(select(t.partner.c.family_id, t.partner.c.person_id)):
        partners.setdefault(family_id, set()).add(person_id)
    links = select(t.parent_link.c.family_id, t.parent_link.c.child_id).where(t.parent_link.c.family_id.is_not(None))
    for family_id, child_id in connection.execute(links):
        children.setdefault(family_id, set()).add(child_id)
    return {
        id_: tree_matching.Group(code, frozenset(partners.get(id_, ())), frozenset(children.get(id_, ())))
        for id_, code in connection.execute(select(t.family.c.id, t.family.c.code))
    }
