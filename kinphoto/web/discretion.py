"""What is left out of a photograph, for whom: for strangers of the house, whatever could name somebody who may be
living; for somebody who is judging ages, whatever could tell when it was taken.

A title, the place and the names of boxes are shown to strangers as they were typed. Everything else that is written on
a photograph or said about it (the backs, the words, who said so, why it is dated as it is, the names of the files) is
free to name anybody and is for those who have signed in.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kinphoto.archive.lifeline import Lifeline
    from kinphoto.archive.mount import Mount
    from kinphoto.archive.seated import Faces, Seated
    from kinphoto.archive.strip import Strip

_NOTHING_SAID = {"note": "", "rights": "", "maker": "", "former_number": "", "marks": ()}


def object_for_strangers(shown: Mount) -> Mount:
    """The object with its picture, title and place, and nothing that was written on it or said about it."""
    fronts = tuple(replace(scan, path="") for scan in shown.scans if scan.side != "verso")
    return replace(shown, scans=fronts, **_NOTHING_SAID)


def object_for_judges(shown: Mount) -> Mount:
    """The object without any words, and without its backs: either may tell the year."""
    fronts = tuple(replace(scan, path="") for scan in shown.scans if scan.side != "verso")
    return replace(shown, scans=fronts, title="", place="", estimate=None, **_NOTHING_SAID)


def faces_for_strangers(seated: Faces) -> Faces:
    """Who is where, but neither who said so and why, nor who somebody is said not to be."""

    def seat(one: Seated) -> Seated:
        return replace(one, informant=None, why="")

    return replace(
        seated, faces=tuple(replace(face, names=tuple(map(seat, face.names)), denied=()) for face in seated.faces),
        elsewhere=tuple(map(seat, seated.elsewhere)), denied=(),
    )  # fmt: skip


def strip_for_strangers(evidence: Strip) -> Strip:
    """When it was taken, and not why: the reasons are told of people and by people."""
    return replace(
        evidence, bars=(), conflicts=(), before=replace(evidence.before, words=""),
        after=replace(evidence.after, words=""),
    )  # fmt: skip


def life_for_strangers(shown: Lifeline, seen: frozenset[str], named: frozenset[str], faces: frozenset[int]) -> Lifeline:
    """A life with the pictures (codes), relatives (ids) and faces (row ids) that may be shown, and without the counts
    of what may not; no birth either that rests on any of them."""
    return replace(
        shown, note="", pictures=tuple(one for one in shown.pictures if one.photograph.code in seen),
        family=tuple(
            replace(one, portrait=one.portrait if one.portrait in faces else None)
            for one in shown.family if one.id in named
        ),
        beside=(), alone=0, ancestors=0, descendants=0, suggested=None,
    )  # fmt: skip
