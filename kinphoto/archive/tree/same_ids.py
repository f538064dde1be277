"""The last step of finding people again: the same id in a file that keeps its ids, with a relative in common.

Somebody whose birth is corrected by decades, or whose name is rewritten, matches nobody by name and life any more. Only
the id and the family are left. Neither proves anything by itself: a renumbered tree puts a sibling at the next id, and
a program may give the id of a deleted person to the next one added, who may be a sibling too. So this step looks only
at files that keep their ids, only at pairs that fit nobody else who is left, and something of the name or the life must
agree as well. Whatever remains uncertain is reported (`doubts`).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping
from typing import TYPE_CHECKING, Any, TypeVar

from rapidfuzz import fuzz

from kinphoto.archive.tree import relatives
from kinphoto.archive.tree.relatives import Kin
from kinphoto.phrases import listed
from kinphoto.reason.model.span import Span, year_of

if TYPE_CHECKING:
    from kinphoto.archive.tree.traits import PersonTraits

K = TypeVar("K")

KEPT_IDS = 0.95
"""The share of the people found again who must have kept their ids. A judgement of the project."""
SIMILAR = 60
"""Of 100: how similar two given names must be to be spellings of one name (Mary and Marie: 67)."""


def keeps_ids(found: Mapping[str, int], before: Mapping[int, PersonTraits]) -> bool:
    """Whether nearly all of those found again kept their ids."""
    kept = sum(before[row_id].code == code for code, row_id in found.items())
    return bool(found) and kept >= KEPT_IDS * len(found)


def match_by_same_ids(matching: Any, before: Kin[int], now: Kin[str]) -> dict[str, str]:
    """Match those left who have the same id and a relative in common, where neither can be anybody else who is left;
    repeatedly, as more relatives are found. Returns their codes, with what they were found by.

    `matching` is as in `relatives.match_by_relatives`.
    """
    reasons: dict[str, str] = {}
    while pairs := _clear_pairs(matching, before, now):
        for code, row_id, common in pairs:
            reasons[code] = _found_by(matching.before[row_id], matching.now[code], common)
            matching.pair(code, row_id)
    return reasons


def can_be_one_record(a: PersonTraits, b: PersonTraits, common: Collection[str]) -> bool:
    """Whether two records with these relatives in common ("parent", "partner", "child") can be of one person, however
    far apart their births are.

    Siblings share their parents and often a similar name, so with only parents in common the given name or the birth
    must be the same, or the given name similar and the lives compatible. With a partner and a child in common, either
    may differ.
    """
    if not common or {a.sex, b.sex} == {"M", "F"} or _one_after_the_other(a, b):
        return False
    born_the_same = a.born == b.born and a.born.bounded
    if born_the_same or _given_agree(a, b):
        return True
    apart_in_time = days_apart(a.born, b.born) or days_apart(a.died, b.died)
    if given_similar(a, b):
        return not apart_in_time or ("child" in common and len(common) > 1)
    return not apart_in_time and len(common) > 1 and any(how != "parent" for how in common)


def days_apart(a: Span, b: Span) -> int:
    """Days between two spans; 0 where they can overlap or nothing is known."""
    gap = 0
    if a.first is not None and b.last is not None:
        gap = max(gap, a.first - b.last)
    if b.first is not None and a.last is not None:
        gap = max(gap, b.first - a.last)
    return gap


def _clear_pairs(matching: Any, before: Kin[int], now: Kin[str]) -> list[tuple[str, int, list[str]]]:
    """The pairs of the same id that can be one person, where neither can be anybody else who is left."""
    left_before, left_now = matching.before, matching.now
    possible = [
        (code, row_id, common)
        for code, row_id, common in relatives.in_common(matching, before, now)
        if can_be_one_record(left_before[row_id], left_now[code], common)
    ]
    times: Counter[str | int] = Counter()
    for code, row_id, _ in possible:
        times.update((code, row_id))
    same_id = [
        pair for pair in possible if left_before[pair[1]].code == pair[0] and times[pair[0]] == times[pair[1]] == 1
    ]
    if not same_id:
        return []
    here, there = by_name(left_before), by_name(left_now)
    return [
        (code, row_id, common)
        for code, row_id, common in same_id
        if not _namesakes(left_before[row_id], there, left_now, code)
        and not _namesakes(left_now[code], here, left_before, row_id)
    ]


def by_name(people: Mapping[K, PersonTraits]) -> dict[str, list[K]]:
    """The people by each of their folded names."""
    found: dict[str, list[K]] = defaultdict(list)
    for key, person in people.items():
        for name in person.names:
            found[name].append(key)
    return found


def _namesakes(
    person: PersonTraits, by_name: Mapping[str, list[Any]], people: Mapping[Any, PersonTraits], but: object
) -> bool:
    """Whether somebody left other than `but` has one of these names and a compatible life."""
    others = {key for name in person.names if name for key in by_name.get(name, ())} - {but}
    return any(
        not days_apart(person.born, people[o].born) and not days_apart(person.died, people[o].died) for o in others
    )


def _one_after_the_other(a: PersonTraits, b: PersonTraits) -> bool:
    """Whether one was dead before the other was born: a child, and the sister named after it."""
    if a.died == b.died:
        return False  # the birth was corrected
    return any(
        one.died.last is not None and other.born.first is not None and one.died.last < other.born.first
        for one, other in ((a, b), (b, a))
    )


def _given_agree(a: PersonTraits, b: PersonTraits) -> bool:
    """Whether the given names of one are among those of the other."""
    return any(one <= other or other <= one for one in _given(a) for other in _given(b))


def given_similar(a: PersonTraits, b: PersonTraits) -> bool:
    """Whether one given name can be a spelling of the other, or one of them has none."""
    words, others = set().union(*_given(a)), set().union(*_given(b))
    if not words or not others:
        return True
    return any(fuzz.ratio(word, other) >= SIMILAR for word in words for other in others)


def _given(person: PersonTraits) -> list[set[str]]:
    return [set(given.split()) for given in person.given if given]


def _found_by(a: PersonTraits, b: PersonTraits, common: Iterable[str]) -> str:
    """What two records were matched by, and what is different now."""
    roles = listed([f"a {how}" for how in dict.fromkeys(sorted(common))])
    differs = [
        *(["the name is different"] if a.name != b.name else []),
        *(["the birth" + _moved(a.born, b.born)] if days_apart(a.born, b.born) else []),
        *(["the death" + _moved(a.died, b.died)] if days_apart(a.died, b.died) else []),
    ]
    return f"the same id, with {roles} in common" + (f", though {'; '.join(differs)}" if differs else "")


def _moved(before: Span, now: Span) -> str:
    return f" was {_when(before)} and is now {_when(now)}"


def _when(span: Span) -> str:
    """ "1931", "about 1931", "1931 or later", "1931 or earlier"; only for spans with at least one end."""
    if span.first is None or span.last is None:
        return f"{year_of(span.first)} or later" if span.first is not None else f"{year_of(span.last or 1)} or earlier"
    first, last = year_of(span.first), year_of(span.last)
    return str(first) if first == last else f"about {(first + last) // 2}"
