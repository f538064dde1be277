"""Which of the names on faces can be used: nobody denied them, and no other name is on the same region."""

from __future__ import annotations

from collections.abc import Iterable

from kinphoto.reason.model.evidence import Appearance


def undisputed(seen: Iterable[Appearance]) -> list[Appearance]:
    """The appearances that name somebody and that nobody denied.

    Where one informant names her and another denies it, neither is taken at their word, whatever their trusts: the name
    is not used until one of the statements is withdrawn.
    """
    appearances = list(seen)
    denied = {(a.photograph, a.region, a.person) for a in appearances if a.denied}
    if not denied:
        return [a for a in appearances if a.person is not None]
    return [
        a
        for a in appearances
        if a.person is not None and denied.isdisjoint((a.photograph, where, a.person) for where in (a.region, None))
    ]


def unrivalled(seen: Iterable[Appearance]) -> list[Appearance]:
    """The undisputed appearances without a rival name on their region."""
    names = undisputed(seen)
    rivalled = {a.id for same in rivals(names) for a in same}
    return [a for a in names if a.id not in rivalled]


def by_face(seen: Iterable[Appearance]) -> list[list[Appearance]]:
    """Appearances by what they are on: a region of a photograph, or nothing (each by itself)."""
    found: dict[object, list[Appearance]] = {}
    for a in seen:
        found.setdefault(a.id if a.region is None else (a.photograph, a.region), []).append(a)
    return list(found.values())


def rivals(seen: Iterable[Appearance]) -> list[list[Appearance]]:
    """Names of different people on one region of one photograph: one of them is right and nobody knows which."""
    first: dict[tuple[str, str], Appearance] = {}
    groups: dict[tuple[str, str], list[Appearance]] = {}  # hardly any region has two names
    for appearance in seen:
        if appearance.region is not None:
            place = appearance.photograph, appearance.region
            other = first.setdefault(place, appearance)
            if other is not appearance:
                groups.setdefault(place, [other]).append(appearance)
    return [group for group in groups.values() if len({a.person for a in group}) > 1]
