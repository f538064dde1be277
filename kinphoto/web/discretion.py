"""What is left out of a photograph: for strangers at home, whatever could name somebody who may be living; for somebody
who is judging ages, whatever could show when it was taken.

Of the photographs and people that anybody may be shown (`archive/catalogue/privacy.py` says which, and the archive is
asked with `for_anybody`) a stranger reads: code and former codes, title, place, the names of the boxes around it, the
front and details, who is named on it, at what age and how, and when it was taken; of a person the names, the life,
the events of the tree, and those relatives and pictures that may be shown. The search looks into these words and no
others.

Everything else that is written on a photograph or recorded about it (the backs, the words, the informants, why it has
its date, what does not fit together, the names of the files, notes of boxes and people) may name anybody and is for
those who have signed in.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from kinphoto.archive.catalogue.privacy import undisputed
from kinphoto.archive.dates.strip import whole_years
from kinphoto.archive.people.lifeline import IdentityDoubt
from kinphoto.web.drawing.axis import FLAT

if TYPE_CHECKING:
    from kinphoto.archive.collection.photograph_page import PhotographPage
    from kinphoto.archive.dates.strip import Strip
    from kinphoto.archive.people.lifeline import Lifeline
    from kinphoto.archive.statements.recorded_faces import NameOnFace, PhotographFaces


def photograph_for_strangers(shown: PhotographPage) -> PhotographPage:
    """The object with its picture, title and place, and nothing that was written on it or recorded about it."""
    return _without_statements(shown)


def photograph_for_judges(shown: PhotographPage) -> PhotographPage:
    """The object without any words, and without its backs: either may give away the year."""
    return replace(_without_statements(shown), title="", place="", estimate=None)


def _without_statements(shown: PhotographPage) -> PhotographPage:
    """The object without its backs and what was written on it or recorded about it."""
    fronts = tuple(replace(scan, path="") for scan in shown.scans if scan.side != "verso")
    return replace(shown, scans=fronts, note="", rights="", maker="", former_number="", marks=())


def faces_for_strangers(recorded: PhotographFaces) -> PhotographFaces:
    """Who is where, but not who said so and why, nor who somebody is not."""

    def bare(one: NameOnFace) -> NameOnFace:
        return replace(one, informant=None, why="", contested=False)

    return replace(
        recorded, faces=tuple(replace(face, names=tuple(map(bare, face.names)), denied=()) for face in recorded.faces),
        elsewhere=tuple(map(bare, recorded.elsewhere)), denied=(),
    )  # fmt: skip


def strip_for_strangers(evidence: Strip) -> Strip:
    """When it was taken, and not why: the reasons name people. The axis spans the estimate only, as a longer one would
    show how far the statements reach."""
    e = evidence.estimate
    likely = [day for day, height in evidence.curve if height > FLAT]
    days = [*likely, *(day for day in (e.likely_from, e.likely_to) if day is not None)] or [e.earliest, e.latest]
    axis = whole_years(min(days), max(days))
    return replace(
        evidence, note="", estimate=undisputed(e), axis=axis, bars=(), conflicts=(), off=(), current=True,
        curve=tuple(point for point in evidence.curve if axis.first <= point[0] <= axis.last),
        before=replace(evidence.before, words=""), after=replace(evidence.after, words=""),
    )  # fmt: skip


def life_for_strangers(shown: Lifeline) -> Lifeline:
    """A life as the tree has it, without what was noted about it and withdrawn from it, and without why nobody is sure
    of a picture but for the two names that can be read on its face. The pictures and relatives are those that may be
    shown already; with whom, whose and how many others there are is left out, and a birth that rests on any of them."""
    return replace(
        shown, note="",
        pictures=tuple(
            replace(one, doubts=tuple(d for d in one.doubts if d is IdentityDoubt.RIVAL)) for one in shown.pictures
        ),
        events=tuple(replace(one, kind="") for one in shown.events if not one.withdrawn),
        beside=(), alone=0, ancestors=0, descendants=0, suggested=None,
    )  # fmt: skip
