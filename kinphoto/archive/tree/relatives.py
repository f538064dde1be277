"""Finding people again by their relatives: of several namesakes the one with the same parents, partners or children."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from kinphoto.archive.tree.traits import PersonTraits

K = TypeVar("K", int, str)

Kin = dict[K, set[tuple[str, K]]]
"""For each person their relatives, each as "parent", "partner" or "child"."""

_OTHER_WAY = {"parent": "child", "child": "parent", "partner": "partner"}
ENOUGH = 1.4
"""The resemblance for which one shared relative is enough: a similar name, or the first given name and a known birth.
With less, two relatives must be the same. A judgement of the project."""


def kin_of(families: Iterable[tuple[Iterable[K], Iterable[K]]]) -> Kin[K]:
    """The relatives of everybody in these families, each (partners, children)."""
    kin: Kin[K] = defaultdict(set)
    for partners, children in families:
        couple, offspring = list(dict.fromkeys(partners)), list(dict.fromkeys(children))
        for one in couple:
            kin[one].update(("partner", other) for other in couple if other != one)
            kin[one].update(("child", child) for child in offspring)
        for child in offspring:
            kin[child].update(("parent", parent) for parent in couple)
    return kin


def match_by_relatives(
    matching: Any, before: Kin[int], now: Kin[str], resemblance: Callable[[PersonTraits, PersonTraits], float]
) -> None:
    """Match those left whose relatives were found, repeatedly as more are found.

    `matching` has `before` and `now` (those left), `found`, and `pair`. Each time, two are one person when neither is
    as similar to anybody else.
    """
    while pairs := list(_clearest(_candidates(matching, before, now, resemblance))):
        for code, row_id in pairs:
            matching.pair(code, row_id)


def shared(code: str, row_id: int, found: dict[str, int], before: Kin[int], now: Kin[str]) -> list[str]:
    """How their common relatives are related to both of them: those related in the same way."""
    there = {(how, found[other]) for how, other in now.get(code, ()) if other in found}
    return [how for how, _ in there & before.get(row_id, set())]


def in_common(matching: Any, before: Kin[int], now: Kin[str]) -> Iterator[tuple[str, int, list[str]]]:
    """Pairs of people left on both sides with relatives in common, and how these are related to them."""
    for code in matching.now:
        common: dict[int, list[str]] = defaultdict(list)
        for how, other in now.get(code, ()):
            if other in matching.found:
                for back, row_id in before.get(matching.found[other], ()):
                    if back == _OTHER_WAY[how] and row_id in matching.before:
                        common[row_id].append(how)
        for row_id, hows in common.items():
            yield code, row_id, hows


def _candidates(
    matching: Any, before: Kin[int], now: Kin[str], resemblance: Callable[[PersonTraits, PersonTraits], float]
) -> dict[tuple[str, int], float]:
    scores = {}
    for code, row_id, hows in in_common(matching, before, now):
        likeness = resemblance(matching.before[row_id], matching.now[code])
        if likeness >= ENOUGH or (likeness > 0 and len(hows) > 1):
            scores[code, row_id] = likeness + 0.1 * len(hows)
    return scores


def _clearest(scores: dict[tuple[str, int], float]) -> Iterator[tuple[str, int]]:
    """The pairs that score higher than any other pair of either of the two."""
    best: dict[str | int, list[float]] = defaultdict(list)
    for pair, score in scores.items():
        for one in pair:
            best[one].append(score)
    for ranked in best.values():
        ranked.sort(reverse=True)
    for pair, score in scores.items():
        if all(best[one][0] == score and best[one][1:2] != [score] for one in pair):
            yield pair
