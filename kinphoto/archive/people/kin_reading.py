"""What the tree says around some people, read with a few queries whatever their number: everybody above them, whom they
married, and the marriages between one person's near kin and another's.

The way up is one recursive query that takes each ancestor once, so a loop in the data ends it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import Any

from sqlalchemy import BindParameter, Column, Connection, Select, and_, bindparam, exists, select

from kinphoto.archive.people.kin_paths import PEDIGREES, Bridge, Ties
from kinphoto.store import tables as t

NEAR = 4
"""Steps of kinship, on both sides of a marriage in the middle together: a brother's wife's sister is four."""
_RANK = {kind: rank for rank, kind in enumerate(PEDIGREES)}
_BONDS = ("married", "former", "partner")
_CHUNK = 5000  # ids in one query
_DENIED = ("N", "n", "NO", "No", "no")
"""What some programs write behind a divorce to say that there was none."""


def read_ties(connection: Connection, people: Collection[int]) -> Ties:
    """The partners of these people, and the parents of all of them and of everybody above."""
    partners: dict[int, dict[int, str]] = {}
    for person, other, bond in _partners(connection, people):
        partners.setdefault(person, {})[other] = bond
    above = {*people, *(other for of in partners.values() for other in of)}
    return Ties(_parents_above(connection, above), partners)


def with_above(connection: Connection, ties: Ties, people: Collection[int]) -> Ties:
    """The same ties and everybody above these people too."""
    missing = set(people) - ties.parents.keys()
    return Ties({**_parents_above(connection, missing), **ties.parents}, ties.partners) if missing else ties


def read_bridges(connection: Connection, person: int, targets: Collection[int]) -> dict[int, Bridge]:
    """For each of the targets that can be reached so, the marriage in the middle that makes the shortest way there.

    A way goes up and down from the person, over one marriage, up and down again, NEAR steps of kinship in all.
    """
    search = _Search(person)
    for _ in range(NEAR):
        search.marry(_partners(connection, search.before_marriage()))
        up, down = search.climbing(), search.everybody()
        search.step([*_rows(connection, _PARENTS, up), *_rows(connection, _CHILDREN, down)])
    return {target: search.found[target] for target in targets if target in search.found}


class _Search:
    """Where a walk is, step by step. A state is a person, whether the walk goes down already, and the last marriage
    on its way (None: none yet); of several ways to one state the first is kept."""

    def __init__(self, person: int) -> None:
        self._edge: dict[tuple[int, bool, bool], Bridge | None] = {(person, False, False): None}
        self._seen = set(self._edge)
        self.found: dict[int, Bridge] = {}

    def everybody(self) -> set[int]:
        """Whoever was reached with the last step."""
        return {person for person, _, _ in self._edge}

    def climbing(self) -> set[int]:
        """Those of them from whom the walk may still go up."""
        return {person for person, down, _ in self._edge if not down}

    def before_marriage(self) -> set[int]:
        """Those of them reached without a marriage."""
        return {person for person, _, married in self._edge if not married}

    def marry(self, partners: Iterable[tuple[int, int, str]]) -> None:
        """Cross over to partners; a marriage does not count as a step."""
        for person, other, bond in partners:
            if (other, False, True) not in self._seen:
                self._reach(self._edge, (other, False, True), Bridge(person, other, bond))

    def step(self, links: Iterable[tuple[int, int]]) -> None:
        """Go on from everybody along links of (child, parent)."""
        edge: dict[tuple[int, bool, bool], Bridge | None] = {}
        here = self._edge
        for child, parent in sorted({(child, parent) for child, parent in links}):
            for married in (False, True):
                if (child, False, married) in here:
                    self._reach(edge, (parent, False, married), here[child, False, married])
                for down in (False, True):
                    if (parent, down, married) in here:
                        self._reach(edge, (child, True, married), here[parent, down, married])
        self._edge = edge

    def _reach(
        self, edge: dict[tuple[int, bool, bool], Bridge | None], state: tuple[int, bool, bool], bridge: Bridge | None
    ) -> None:
        if state not in self._seen:
            self._seen.add(state)
            edge[state] = bridge
            if bridge is not None:
                self.found.setdefault(state[0], bridge)


def _partners(connection: Connection, people: Collection[int]) -> list[tuple[int, int, str]]:
    """(person, partner, bond) for these people, in the order of the families.

    Where one couple has two families, the one that lasted counts. Where somebody withdrew that they married, they are
    partners still if there are children.
    """
    bonds: dict[tuple[int, int], str] = {}
    for person, other, withdrawn, divorced, children in _rows(connection, _PARTNERS, people):
        bond = "former" if divorced else "partner" if withdrawn else "married"
        if children or not withdrawn:
            bonds[person, other] = min(bond, bonds.get((person, other), bond), key=_BONDS.index)
    return [(person, other, bond) for (person, other), bond in bonds.items()]


def _parents_above(connection: Connection, people: Collection[int]) -> dict[int, dict[int, str]]:
    """The parents of these people and of everybody above them; of several kinds of link to one, the closest."""
    parents: dict[int, dict[int, str]] = {}
    for child, parent, said in _rows(connection, _ABOVE, people):
        kind = said if said in _RANK else "unknown" if said else "birth"
        of = parents.setdefault(child, {})
        of[parent] = min(kind, of.get(parent, kind), key=_RANK.__getitem__)
    return parents


def _rows(connection: Connection, query: Select[Any], people: Collection[int]) -> Iterator[Any]:
    """The rows of a query with `people` to fill in."""
    listed = sorted(people)
    for start in range(0, len(listed), _CHUNK):
        yield from connection.execute(query, {"people": listed[start : start + _CHUNK]}).all()


def _query_partners() -> Select[Any]:
    mine, theirs = t.partner.alias(), t.partner.alias()
    family, e, link = t.family.c, t.event.c, t.parent_link.c
    divorced = exists().where(e.family_id == family.id, e.tag.in_(("DIV", "ANUL")), e.kind.not_in(_DENIED))
    children = exists().where(link.family_id == family.id, link.withdrawn == 0)
    return (
        select(mine.c.person_id, theirs.c.person_id, family.withdrawn, divorced, children)
        .join(theirs, and_(theirs.c.family_id == mine.c.family_id, theirs.c.person_id != mine.c.person_id))
        .join(t.family, family.id == mine.c.family_id)
        .where(mine.c.person_id.in_(_PEOPLE))
        .order_by(family.id)
    )


def _query_above() -> Select[Any]:
    link = t.parent_link.c
    above = select(t.person.c.id).where(t.person.c.id.in_(_PEOPLE)).cte("above", recursive=True)
    above = above.union(select(link.parent_id).join(above, link.child_id == above.c.id).where(link.withdrawn == 0))
    links = select(link.child_id, link.parent_id, link.pedigree).join(above, link.child_id == above.c.id)
    return links.where(link.withdrawn == 0)


def _query_links(owner: Column[Any]) -> Select[Any]:
    link = t.parent_link.c
    return select(link.child_id, link.parent_id).where(link.withdrawn == 0, owner.in_(_PEOPLE))


_PEOPLE: BindParameter[Any] = bindparam("people", expanding=True)
_PARTNERS, _ABOVE = _query_partners(), _query_above()  # made once: making one takes longer than asking it
_PARENTS, _CHILDREN = _query_links(t.parent_link.c.child_id), _query_links(t.parent_link.c.parent_id)
