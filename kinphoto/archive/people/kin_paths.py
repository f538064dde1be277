"""How two people of a tree are related: the lines that lead from one up to a common ancestor and down to the other, and
the marriages in between. Pure: ties in, relations out; `kin_words` says them in English.

A *line* has a number of generations up and a number down. Two lines are different when they part at other children of
the common ancestors: the child through which one person descends and the child through which the other does. A couple
is so one line, not two; and what the pair share above a common ancestor, or only because that ancestor's own parents
were cousins, does not count as a line of its own, since both children there are ancestors of both people.

For each such pair of children the shortest way up from either person counts, so that the search is bounded by the
people above both, and ends also where a loop in the data makes somebody their own ancestor.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import groupby, islice, pairwise
from operator import itemgetter
from typing import Any

PEDIGREES = ("birth", "adopted", "foster", "step", "sealing", "unknown")
"""Kinds of link between parent and child, the closest first."""
MOST = 6
"""Relations that are given between two people at most."""
_MARRIAGE = 2  # degrees: a sister-in-law comes before a second cousin, after a niece


@dataclass(frozen=True, slots=True)
class KinLine:
    """From `start` up to common ancestors and down to `end`, in generations.

    `full` is whether the two children at the top have both parents in common; None where the tree does not say, and
    where one person descends from the other. `kinds` are the links on the way that are not by birth. `turn` is the
    pair of children at the top.
    """

    start: int
    end: int
    up: int = 0
    down: int = 0
    ancestors: tuple[int, ...] = ()
    full: bool | None = None
    kinds: frozenset[str] = frozenset()
    turn: tuple[int, int] = (0, 0)

    @property
    def civil(self) -> int:
        """The degree as Roman and civil law count it: every generation up and down."""
        return self.up + self.down

    @property
    def canon(self) -> int:
        """The degree as the church counted it until 1983: the generations of the longer side."""
        return max(self.up, self.down)

    def turned(self) -> KinLine:
        """The same, seen from the other end."""
        turn = self.turn[::-1]
        return KinLine(self.end, self.start, self.down, self.up, self.ancestors, self.full, self.kinds, turn)


@dataclass(frozen=True, slots=True)
class KinRelation:
    """Lines with a marriage between each and the next: "wife's uncle" is zero steps, a marriage, two up and one down.

    `bonds` has a word for each marriage: `married`, `former` (divorced) or `partner`.
    """

    lines: tuple[KinLine, ...]
    bonds: tuple[str, ...] = ()

    @property
    def degree(self) -> int:
        """Steps from parent to child or child to parent, all lines together."""
        return sum(line.civil for line in self.lines)

    @property
    def rank(self) -> tuple[Any, ...]:
        """The closest relation has the least: first husband and wife, then by degree, a marriage counting as two."""
        spouse = len(self.bonds) == 1 and not self.degree
        return (
            not spouse, self.degree + _MARRIAGE * len(self.bonds), len(self.bonds), [x.canon for x in self.lines],
            any(x.kinds for x in self.lines), "former" in self.bonds, [x.full is False for x in self.lines],
            [x.ancestors for x in self.lines],
        )  # fmt: skip

    @property
    def through(self) -> tuple[int, ...]:
        """The people at the marriages, but for the two whose relation it is."""
        ends = [id_ for line in self.lines for id_ in (line.start, line.end)]
        return tuple(dict.fromkeys(id_ for id_ in ends if id_ not in (ends[0], ends[-1])))

    def turned(self) -> KinRelation:
        """The same, seen from the other person."""
        return KinRelation(tuple(line.turned() for line in reversed(self.lines)), self.bonds[::-1])


@dataclass(frozen=True, slots=True)
class Ties:
    """What is known around some people: `parents` of them and of everybody above them, each with the kind of link, and
    the `partners` of the people themselves, each with the kind of bond."""

    parents: Mapping[int, Mapping[int, str]]
    partners: Mapping[int, Mapping[int, str]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Bridge:
    """A marriage in the middle: of somebody's near kin `one` with `other`, whose near kin is somebody else."""

    one: int
    other: int
    bond: str


class Kindred:
    """Finds relations within some ties. Whoever asks for many of one person finds the way up worked out already."""

    def __init__(self, ties: Ties) -> None:
        self._partners = ties.partners
        birth = {child: [p for p, kind in of.items() if kind == "birth"] for child, of in ties.parents.items()}
        legal = any(kind != "birth" for of in ties.parents.values() for kind in of.values())
        self._by_birth = _Lineage(birth, ties.parents, by_birth=True)
        self._by_any = _Lineage({c: list(of) for c, of in ties.parents.items()}, ties.parents) if legal else None

    def lines(self, one: int, other: int, most: int = MOST) -> list[KinLine]:
        """The lines between two people, the closest first: `most` by birth, and as many with other links in them."""
        found = list(islice(self._by_birth.lines(one, other), most))
        if self._by_any is not None:
            found += islice((line for line in self._by_any.lines(one, other) if line.kinds), most)
        return sorted(found, key=lambda line: KinRelation((line,)).rank) if len(found) > 1 else found

    def relations(self, one: int, other: int) -> list[KinRelation]:
        """How `other` is related to `one` by kinship or one marriage at either end, the closest first, at most MOST.

        What marriage makes of people who are kin as well is included only where it takes fewer steps.
        """
        kin = [KinRelation((line,)) for line in self.lines(one, other)]
        married = list(self._married(one, other))
        if kin:
            nearest = min(relation.degree for relation in kin)
            married = [relation for relation in married if relation.degree < nearest]
        return sorted(kin + married, key=lambda relation: relation.rank)[:MOST]

    def last_resort(self, one: int, other: int, bridge: Bridge | None = None) -> list[KinRelation]:
        """How people are related who are not in the ways above: by a marriage in the middle, or by one at both ends."""
        found: list[KinRelation] = []
        if bridge:
            before, after = self.lines(one, bridge.one)[:1], self.lines(bridge.other, other)[:1]
            found = [KinRelation((*before, *after), (bridge.bond,))] if before and after else []
        return sorted(found or self._at_both_ends(one, other), key=lambda relation: relation.rank)[:MOST]

    def _married(self, one: int, other: int) -> Iterator[KinRelation]:
        """Husband and wife, a spouse's kin, and the spouses of kin."""
        here, there = KinLine(one, one), KinLine(other, other)
        for spouse, bond in self._partners.get(one, {}).items():
            if spouse == other:
                yield KinRelation((here, there), (bond,))
            for line in self.lines(spouse, other):
                yield KinRelation((here, line), (bond,))
        for spouse, bond in self._partners.get(other, {}).items():
            for line in self.lines(one, spouse):
                yield KinRelation((line, there), (bond,))

    def _at_both_ends(self, one: int, other: int) -> Iterator[KinRelation]:
        """A spouse's kin's spouse, and the other spouse of one's own."""
        here, there = KinLine(one, one), KinLine(other, other)
        for spouse, bond in self._partners.get(one, {}).items():
            for another, bond_there in self._partners.get(other, {}).items():
                between = [KinLine(spouse, spouse)] if spouse == another else self.lines(spouse, another)
                for line in between:
                    yield KinRelation((here, line, there), (bond, bond_there))


_Ways = dict[int, tuple[int, int]]
"""A person and everybody above: generations between, and the child from whom one comes there."""


class _Lineage:
    """The way up from people along some links (`up` has each child's parents), and all `kinds` of links there are."""

    def __init__(
        self, up: Mapping[int, list[int]], kinds: Mapping[int, Mapping[int, str]], by_birth: bool = False
    ) -> None:
        self._up = up
        self._kinds = kinds
        self._only_by_birth = by_birth
        self._above: dict[int, _Ways] = {}
        self._down: dict[int, list[int]] = {}
        for child, parents in up.items():
            for parent in parents:
                self._down.setdefault(parent, []).append(child)

    def lines(self, one: int, other: int) -> Iterator[KinLine]:
        """Descent of one from the other first, then what both descend from, the closest first."""
        if one != other:
            yield from self._descent(one, other)
            yield from (line.turned() for line in self._descent(other, one))
            yield from self._collateral(one, other)

    def _descent(self, one: int, other: int) -> Iterator[KinLine]:
        """The lines by which `one` descends from `other`, one for each child of theirs."""
        above = self._ways(one)
        if other in above:
            for child in sorted((c for c in self._down[other] if c in above), key=lambda c: above[c]):
                way = self._way(one, child)
                if other not in way:
                    kinds = self._others_than_birth([*way, other])
                    yield KinLine(one, other, len(way), 0, (other,), None, kinds, (child, other))

    def _collateral(self, one: int, other: int) -> Iterator[KinLine]:
        """The lines by which both descend from a third, the closest first: for each two of somebody's children through
        whom they do, unless each of these is above both people."""
        above, above_other = self._ways(one), self._ways(other)
        for child, cousin, parents in self._tops(above, above_other):
            way, way_other = self._way(one, child), self._way(other, cousin)
            parents = [parent for parent in sorted(parents) if parent not in way and parent not in way_other]
            if parents and set(way).isdisjoint(way_other):
                yield self._line(way, way_other, parents)

    def _tops(self, above: _Ways, above_other: _Ways) -> Iterator[tuple[int, int, list[int]]]:
        """Pairs of children and the parents they have in common, in the order of the degrees of their lines.

        No line over a parent is shorter than the shortest ways to that parent, so the near parents are looked at first
        and a pair is given as soon as no parent is left who could make a shorter line.
        """
        waiting: dict[int, dict[tuple[int, int], list[int]]] = {}  # degree: pair: parents
        common = above.keys() & above_other.keys()
        bounds = sorted((above[parent][0] + above_other[parent][0], parent) for parent in common)
        for least, parents in groupby(bounds, key=itemgetter(0)):
            yield from _given(waiting, least)
            for _, parent in parents:
                children = self._down.get(parent, ())
                for cousin in (child for child in children if child in above_other):
                    for child in (child for child in children if child in above and child != cousin):
                        if child not in above_other or cousin not in above:
                            degree = above[child][0] + above_other[cousin][0] + 2
                            waiting.setdefault(degree, {}).setdefault((child, cousin), []).append(parent)
        yield from _given(waiting)

    def _line(self, way: list[int], way_other: list[int], parents: list[int]) -> KinLine:
        """The line of two ways up that meet in these parents; those count to whom the links are the closest."""
        kinds = {p: self._others_than_birth([*way, p]) | self._others_than_birth([*way_other, p]) for p in parents}
        least = min(kinds.values(), key=lambda some: (len(some), sorted(map(PEDIGREES.index, some))))
        nearest, turn = tuple(p for p in parents if kinds[p] == least), (way[-1], way_other[-1])
        by_birth = all(self._kinds[child][p] == "birth" for child in turn for p in nearest)
        full = self._are_full(*turn) if by_birth else None
        return KinLine(way[0], way_other[0], len(way), len(way_other), nearest, full, least, turn)

    def _are_full(self, one: int, other: int) -> bool | None:
        """Whether two children of one parent have both parents in common; None where the tree does not say.

        They have not when each has another parent by birth, or when the one's was to the other a parent otherwise.
        """
        mine, theirs = ({p for p, kind in self._kinds[child].items() if kind == "birth"} for child in (one, other))
        if len(mine & theirs) > 1:
            return True
        raised_both = self._kinds[one].keys() & self._kinds[other].keys()
        apart = (mine - theirs and theirs - mine) or (mine ^ theirs) & raised_both
        return False if apart else None

    def _ways(self, person: int) -> _Ways:
        """The shortest ways up from a person, themselves at 0."""
        if person not in self._above:
            above, edge, generation = {person: (0, 0)}, [person], 0
            while edge:
                generation += 1
                reached: list[int] = []
                for child in edge:
                    for parent in self._up.get(child, ()):
                        if parent not in above:
                            above[parent] = generation, child
                            reached.append(parent)
                edge = reached
            self._above[person] = above
        return self._above[person]

    def _way(self, person: int, top: int) -> list[int]:
        """The shortest way up from a person to somebody above, both included."""
        above, way = self._ways(person), [top]
        while way[-1] != person:
            way.append(above[way[-1]][1])
        return way[::-1]

    def _others_than_birth(self, way: list[int]) -> frozenset[str]:
        if self._only_by_birth:
            return frozenset()
        kinds = (self._kinds[child][parent] for child, parent in pairwise(way))
        return frozenset(kind for kind in kinds if kind != "birth")


def _given(
    waiting: dict[int, dict[tuple[int, int], list[int]]], below: int | None = None
) -> Iterator[tuple[int, int, list[int]]]:
    """Take out the pairs whose lines have a degree below this one; all, when there is none."""
    for degree in sorted(degree for degree in waiting if below is None or degree < below):
        for (child, cousin), parents in sorted(waiting.pop(degree).items()):
            yield child, cousin, parents
