"""What a newer tree file means for the archive, found out before anything is written: who is who, and who has gone."""

from __future__ import annotations

from collections.abc import Container, Iterable
from dataclasses import dataclass, field
from itertools import chain, count

from sqlalchemy import Connection, or_, select

from kinphoto.archive import tree_matching
from kinphoto.archive.folding import fold
from kinphoto.reason.span import Span
from kinphoto.store import tables as t
from kinphoto.tree import read

_Pointers = tuple[str, tuple[str, ...], tuple[str, ...]]
"""Of a family: its code, and the pointers of its partners and its children."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Who is who: codes of the file to ids of the archive; all codes of the file; and who is in it no longer."""

    people: dict[str, int] = field(default_factory=dict)
    families: dict[str, int] = field(default_factory=dict)
    codes: frozenset[str] = frozenset()
    family_codes: frozenset[str] = frozenset()
    gone: tuple[int, ...] = ()
    gone_families: tuple[int, ...] = ()


def free(code: str, used: Container[str]) -> str:
    """The code itself, or with the first number behind it that makes it one nobody has."""
    return next(each for each in chain([code], (f"{code}-{n}" for n in count(2))) if each not in used)


def make_plan(connection: Connection, records: Iterable[tuple[read.Header | read.Person | read.Family, str]]) -> Plan:
    """Compare who is in a file (its records, each with the code it will go by) with who is in the archive."""
    now: list[tree_matching.Known] = []
    pointers: dict[str, str] = {}
    families: list[_Pointers] = []
    for record, code in records:
        if isinstance(record, read.Person):
            now.append(_known(record, code))
            pointers.setdefault(record.code, code)
        elif isinstance(record, read.Family):
            partners = tuple(pointer for pointer, _ in record.partners)
            families.append((code, partners, tuple(child.code for child in record.children)))
    before = _known_people(connection)
    people = tree_matching.match_people(before, now)
    members = {pointer: people[code] for pointer, code in pointers.items() if code in people}
    groups = _known_families(connection)
    matched = tree_matching.match_families(groups, [_group(each, members) for each in families])
    return Plan(
        people,
        matched,
        frozenset(known.code for known in now),
        frozenset(code for code, _, _ in families),
        tuple(sorted(before.keys() - set(people.values()))),
        tuple(sorted(groups.keys() - set(matched.values()))),
    )


def _known(person: read.Person, code: str) -> tree_matching.Known:
    born = next((e.date.span for e in person.events if e.tag == "BIRT" and e.date.span != Span()), Span())
    return tree_matching.Known(code, person.uid, fold(person.names[0].text) if person.names else "", born)


def _group(family: _Pointers, people: dict[str, int]) -> tree_matching.Group:
    """A family by those of its people who are known already; -1 stands for somebody new."""
    code, partners, children = family
    known = frozenset(people[pointer] for pointer in children if pointer in people)
    return tree_matching.Group(code, frozenset(people.get(pointer, -1) for pointer in partners), known)


def _known_people(connection: Connection) -> dict[int, tree_matching.Known]:
    """The people of the archive's tree, the gone ones included: they may come back."""
    e, p, n = t.event.c, t.person.c, t.name.c
    born: dict[int, Span] = {}
    births = select(e.person_id, e.first, e.last).where(e.tag == "BIRT", or_(e.first.is_not(None), e.last.is_not(None)))
    for row in connection.execute(births.where(e.person_id.is_not(None)).order_by(e.position)):
        born.setdefault(row.person_id, Span(row.first, row.last))
    names = connection.execute(select(n.person_id, n.folded).where(n.position == 0))
    folded = {row.person_id: row.folded for row in names}
    rows = connection.execute(select(p.id, p.code, p.uid).where(p.outside == 0))
    return {
        id_: tree_matching.Known(code, uid or "", folded.get(id_, ""), born.get(id_, Span())) for id_, code, uid in rows
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
