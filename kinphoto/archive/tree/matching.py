"""Matching the people of a newer tree file to those of the archive, before anything is written.

A link between a photograph and a person must never come to mean somebody else. Some programs renumber pointers at every
export, identifiers are swapped or copied by mistake, and namesakes abound, so none of these alone proves anything. In
this order, and each person once:

1. the same identifier (UID, EXID, REFN) with the same name and birth;
2. the same pointer with the same name and birth, if nobody else has both;
3. the only one of that name and year of birth;
4. the same identifier with a compatible name or life;
5. relatives who were found already, with a compatible name and life (`relatives`);
6. the same pointer with a compatible name, or with the same known day of birth;
7. the only one of that full name in both, with a compatible life;
8. the same identifier, though name and life differ;
9. in a file that keeps its pointers, the same pointer with a relative in common (`same_ids`).

A match on less than two of these, or against one of them, is reported as uncertain (`doubts`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from typing import Generic, TypeVar

from rapidfuzz import fuzz

from kinphoto.archive.tree import relatives, same_ids
from kinphoto.archive.tree.relatives import Kin
from kinphoto.archive.tree.same_ids import days_apart
from kinphoto.archive.tree.traits import FamilyTraits, PersonTraits
from kinphoto.reason.model.span import Span

K = TypeVar("K")
T = TypeVar("T", "PersonTraits", "FamilyTraits")

LIKE = 85  # of 100: spelling mistakes and variants, but not a different given name
FAR = 366 * 10  # days between two births or deaths, beyond any correction of a date
_EXACT = 31  # days: a birth known this closely tells people apart


@dataclass(frozen=True, slots=True)
class Matched:
    """For each pointer of the newer file the id of the same person in the archive, if there is one.

    `weak` says, for those found on thin grounds, what they were found by. `keeps_ids` when the file keeps its pointers.
    """

    people: dict[str, int]
    weak: dict[str, str]
    keeps_ids: bool = False


def match_people(
    before: dict[int, PersonTraits],
    now: Iterable[PersonTraits],
    kin_before: Callable[[], Kin[int]] = dict,
    kin_now: Callable[[], Kin[str]] = dict,
) -> Matched:
    """Find everybody again. The relatives are only worked out when somebody is left to be found by them."""
    matching: _Matching[PersonTraits] = _Matching(before, now)
    claims = _Claims(before, matching.now)
    everybody, people = list(before.values()), list(matching.now.values())
    full_names = _once(k.name for k in everybody) & _once(k.name for k in people)
    apart_by_birth = _once((k.name, k.born) for k in everybody) & _once((k.name, k.born) for k in people)
    matching.match_by(_best_uid, _same)
    matching.match_by(
        lambda person: person.code if (person.name, person.born) in apart_by_birth else None,
        lambda a, b: _same(a, b) and claims.allow(a, b),
    )
    matching.match_by(lambda person: person.name_and_year, claims.allow)
    matching.match_by(_best_uid, _may_be)
    matching.match_by_any_identifier(_may_be)
    if matching.before and matching.now:
        relatives.match_by_relatives(matching, kin_before(), kin_now(), resemblance)
    weak: dict[str, str] = {}
    for code in matching.match_by(lambda person: person.code, _compatible):
        if not alike(matching.all_before[matching.found[code]], matching.all_now[code]):
            weak[code] = "the same id and day of birth, but the name is different"
        elif matching.all_now[code].name not in full_names and not matching.all_now[code].born.bounded:
            weak[code] = "the same id and a name that others have too"
    whole = {name for name in full_names if " " in name}
    for code in matching.match_by(lambda k: k.name if k.name in whole else None, lives_fit):
        weak[code] = "the same name and nothing else"
    for code in matching.match_by(_best_uid):
        weak[code] = "the same identifier, but name and life are different"
    keeps_ids = same_ids.keeps_ids(matching.found, before)
    if keeps_ids and matching.before and matching.now:
        weak |= same_ids.match_by_same_ids(matching, kin_before(), kin_now())
    return Matched(matching.found, weak, keeps_ids)


def match_families(before: dict[int, FamilyTraits], now: Iterable[FamilyTraits]) -> dict[str, int]:
    """For each family's pointer in the newer file, the id of the same family in the archive, if there is one."""
    matching = _Matching(before, now)
    matching.match_by(lambda group: group.code, lambda a, b: a.partners == b.partners and bool(a.partners))
    matching.match_by(lambda group: group.partners or None)
    matching.match_by(lambda group: group.code, _share)
    return matching.found


class _Matching(Generic[T]):
    """Who is left on either side, and the matches found."""

    def __init__(self, before: dict[int, T], now: Iterable[T]) -> None:
        self.all_before: dict[int, T] = before
        self.all_now: dict[str, T] = {each.code: each for each in now}
        self.before: dict[int, T] = dict(before)
        self.now: dict[str, T] = dict(self.all_now)
        self.found: dict[str, int] = {}

    def match_by(self, key: Callable[[T], Hashable], fits: Callable[[T, T], bool] = lambda _a, _b: True) -> list[str]:
        """Match those left by a key that is unique on each side, if the two also fit; returns their codes."""
        here = _only((key(each), row_id) for row_id, each in self.before.items())
        there = _only((key(each), code) for code, each in self.now.items())
        pairs = [(code, here[value]) for value, code in there.items() if value in here]
        pairs = [(code, row_id) for code, row_id in pairs if fits(self.before[row_id], self.now[code])]
        for code, row_id in pairs:
            self.pair(code, row_id)
        return [code for code, _ in pairs]

    def match_by_any_identifier(
        self: _Matching[PersonTraits], fits: Callable[[PersonTraits, PersonTraits], bool]
    ) -> None:
        """Match those left by any identifier in the newer file."""
        here = _only((uid, row_id) for row_id, each in self.before.items() for uid in each.uids)
        there = _only((uid, code) for code, each in self.now.items() for uid in each.uids)
        for uid, code in there.items():
            row_id = here.get(uid)
            if row_id in self.before and code in self.now and fits(self.before[row_id], self.now[code]):
                self.pair(code, row_id)

    def pair(self, code: str, row_id: int) -> None:
        """Somebody is found."""
        self.found[code] = row_id
        del self.before[row_id], self.now[code]


class _Claims:
    """Identifiers that speak against a match: each belongs to somebody else in the other file."""

    def __init__(self, before: dict[int, PersonTraits], now: dict[str, PersonTraits]) -> None:
        self._before = {person.uids[0]: person for person in before.values() if person.uids}
        self._now = {uid: person for person in now.values() for uid in person.uids}

    def allow(self, a: PersonTraits, b: PersonTraits) -> bool:
        """Whether `a` of the archive can be `b` of the file by their identifiers.

        It cannot when somebody else in the file, who can be a as well, has a's identifier. Where b in turn has that of
        somebody else in the archive, the two were swapped, and neither counts.
        """
        if not a.uids or a.uids[0] in b.uids:
            return True
        other = self._now.get(a.uids[0])
        if other is None or not _may_be(a, other):
            return True
        return any(uid in self._before for uid in b.uids)


def _only(pairs: Iterable[tuple[Hashable, K]]) -> dict[Hashable, K]:
    """The values that only one has."""
    known = [pair for pair in pairs if pair[0] is not None]
    counts = Counter(value for value, _ in known)
    return {value: one for value, one in known if counts[value] == 1}


def _once(values: Iterable[K]) -> set[K]:
    """The values that come once."""
    return {value for value, count in Counter(values).items() if count == 1}


def _best_uid(person: PersonTraits) -> str | None:
    return person.uids[0] if person.uids else None


def _same(a: PersonTraits, b: PersonTraits) -> bool:
    return a.name == b.name and a.born == b.born


def resemblance(a: PersonTraits, b: PersonTraits) -> float:
    """How alike two people are, from 0 (cannot be one person) to 3: by the name (0.9 when only the first given name is
    the same), and a birth and a death known to be the same."""
    if not lives_fit(a, b):
        return 0.0
    if alike(a, b):
        likeness = 1.0 + max(fuzz.ratio(one, other) for one in a.names or ("",) for other in b.names or ("",)) / 100
    elif a.name.split()[:1] == b.name.split()[:1] != []:
        likeness = 0.9
    else:
        return 0.0
    return likeness + 0.5 * _is_known(a.born, b.born) + 0.5 * _is_known(a.died, b.died)


def lives_fit(a: PersonTraits, b: PersonTraits) -> bool:
    """Whether births and deaths are close enough for a corrected date."""
    return days_apart(a.born, b.born) <= FAR and days_apart(a.died, b.died) <= FAR


def alike(a: PersonTraits, b: PersonTraits) -> bool:
    """Whether any of their names can be the same."""
    if not a.names or not b.names:
        return a.names == b.names
    return any(_alike(one, other) for one in a.names for other in b.names)


def _is_known(a: Span, b: Span) -> bool:
    return a == b and a.bounded


def _may_be(a: PersonTraits, b: PersonTraits) -> bool:
    return resemblance(a, b) > 0 or _compatible(a, b)


def _compatible(a: PersonTraits, b: PersonTraits) -> bool:
    """The name can be the same and the births are not far apart, or they were born on the same known day."""
    if alike(a, b):
        return lives_fit(a, b)
    exact = a.born.first is not None and a.born.last is not None and a.born.last - a.born.first <= _EXACT
    return exact and a.born == b.born


def _alike(a: str, b: str) -> bool:
    """One name has all the words of the other (a second given name was added), or only the spelling differs."""
    one, other = set(a.split()), set(b.split())
    if not one or not other:
        return one == other
    return one <= other or other <= one or fuzz.ratio(a, b) >= LIKE


def _share(a: FamilyTraits, b: FamilyTraits) -> bool:
    everybody, others = a.partners | a.children, b.partners | b.children
    return bool(everybody & others) or not everybody or not others
