"""Who of a tree's newer file is who of the archive, decided before anything is written.

A link between a photograph and a person must never come to mean somebody else. Pointers are renumbered by some
programs at every export, so a pointer alone proves nothing. In this order, and each person once: the same identifier
(UID); the same pointer with the same name and birth; the only one of that name and year of birth; the same pointer
with a name that can be the same, or with the same day of birth. A pointer whose name and birth are both different is
somebody else.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from typing import Generic, TypeVar

from rapidfuzz import fuzz

from kinphoto.reason.span import Span, year_of

K = TypeVar("K")
T = TypeVar("T", "Known", "Group")

_LIKE = 85  # of 100: spelling mistakes and variants, not another given name
_FAR = 366 * 10  # days between two births that no correction of a date explains
_EXACT = 31  # days: a birth known this closely tells people apart


@dataclass(frozen=True, slots=True)
class Known:
    """What tells a person apart: pointer, identifier, folded first name, first and last possible day of birth."""

    code: str
    uid: str
    name: str
    born: Span

    @property
    def name_and_year(self) -> tuple[str, int] | None:
        """The name and the year of birth, where both are known to be one."""
        first, last = self.born.first, self.born.last
        if not self.name or first is None or last is None or year_of(first) != year_of(last):
            return None
        return self.name, year_of(first)


@dataclass(frozen=True, slots=True)
class Group:
    """What tells a family apart: its pointer, its partners and its children, as ids of the archive."""

    code: str
    partners: frozenset[int]
    children: frozenset[int]


def match_people(before: dict[int, Known], now: Iterable[Known]) -> dict[str, int]:
    """For each pointer of the newer file, the id of the same person in the archive, if there is one."""
    matching = _Matching(before, now)
    matching.by(lambda known: known.uid or None)
    matching.by(lambda known: known.code, _same)
    matching.by(lambda known: known.name_and_year)
    matching.by(lambda known: known.code, _compatible)
    return matching.found


def match_families(before: dict[int, Group], now: Iterable[Group]) -> dict[str, int]:
    """For each family's pointer in the newer file, the id of the same family in the archive, if there is one."""
    matching = _Matching(before, now)
    matching.by(lambda group: group.code, lambda a, b: a.partners == b.partners and bool(a.partners))
    matching.by(lambda group: group.partners or None)
    matching.by(lambda group: group.code, _share)
    return matching.found


class _Matching(Generic[T]):
    """Who is left on either side, and whom the others were found to be."""

    def __init__(self, before: dict[int, T], now: Iterable[T]) -> None:
        self.before: dict[int, T] = dict(before)
        self.now: dict[str, T] = {each.code: each for each in now}
        self.found: dict[str, int] = {}

    def by(self, key: Callable[[T], Hashable], fits: Callable[[T, T], bool] = lambda _a, _b: True) -> None:
        """Match those left by a key that only one on each side has, if the two also fit."""
        here = self._only((key(each), row_id) for row_id, each in self.before.items())
        there = self._only((key(each), code) for code, each in self.now.items())
        for value, code in there.items():
            row_id = here.get(value)
            if row_id is not None and fits(self.before[row_id], self.now[code]):
                self.found[code] = row_id
                del self.before[row_id], self.now[code]

    @staticmethod
    def _only(pairs: Iterable[tuple[Hashable, K]]) -> dict[Hashable, K]:
        known = [pair for pair in pairs if pair[0] is not None]
        counts = Counter(value for value, _ in known)
        return {value: one for value, one in known if counts[value] == 1}


def _same(a: Known, b: Known) -> bool:
    return a.name == b.name and a.born == b.born


def _compatible(a: Known, b: Known) -> bool:
    """The name can be the same and the births are not far apart, or they were born on the same known day."""
    if _alike(a.name, b.name):
        return _apart(a.born, b.born) <= _FAR
    exact = a.born.first is not None and a.born.last is not None and a.born.last - a.born.first <= _EXACT
    return exact and a.born == b.born


def _alike(a: str, b: str) -> bool:
    """One name has all the words of the other (a second given name was added), or they differ by spelling."""
    one, other = set(a.split()), set(b.split())
    if not one or not other:
        return one == other
    return one <= other or other <= one or fuzz.ratio(a, b) >= _LIKE


def _apart(a: Span, b: Span) -> int:
    """Days between two spans; 0 where they can overlap or nothing is known."""
    gap = 0
    if a.first is not None and b.last is not None:
        gap = max(gap, a.first - b.last)
    if b.first is not None and a.last is not None:
        gap = max(gap, b.first - a.last)
    return gap


def _share(a: Group, b: Group) -> bool:
    everybody, others = a.partners | a.children, b.partners | b.children
    return bool(everybody & others) or not everybody or not others
