"""One person: the life line with every picture at its place, the family around it, and what nobody is sure of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.archive.people.lifeline import IdentityDoubt
from kinphoto.errors import KinphotoError
from kinphoto.reason.model.span import year_of
from kinphoto.web.access import archive_of, stranger, to_sign_in
from kinphoto.web.discretion import life_for_strangers
from kinphoto.web.drawing.lifeline import lifeline
from kinphoto.web.faces_shown import ages_then
from kinphoto.web.forms import Form, back, dated_and_back, post_route
from kinphoto.web.pages.several import WORDS_OF_SEVERAL
from kinphoto.web.pages.stories import lasts
from kinphoto.web.render import get_route, page, when_short
from kinphoto.web.wording import EVENTS

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.archive.catalogue.lives import Life
    from kinphoto.archive.people.lifeline import Lifeline
    from kinphoto.archive.words.conflict_stories import ConflictStory
    from kinphoto.reason.model.findings import Estimate

MOST = 120
"""Pictures shown on the page itself; the search shows them all, page by page."""

_DOUBTS = {
    IdentityDoubt.RIVAL: "one of two names on this face",
    IdentityDoubt.CONTESTED: "somebody says it is not",
    IdentityDoubt.ASIDE: "does not fit with the rest",
}
_PRONOUNS = {"F": ("her", "her"), "M": ("him", "his")}


def person(request: Request) -> Response:
    """The page of one person, by id or by anything that means them."""
    archive = archive_of(request)
    try:
        shown = archive.people.life(request.path_params["id"], for_anybody=stranger(request))
    except KinphotoError:
        if not stranger(request):
            raise
        return to_sign_in(request)  # who is in the archive, and who else has the name, stays hidden too
    if stranger(request):
        shown = life_for_strangers(shown)
    pronoun, possessive = _PRONOUNS.get(shown.sex, ("them", "their"))
    return page(
        request, "person.html", shown=shown, drawn=lifeline(shown), proband=archive.people.proband(), most=MOST,
        told=() if stranger(request) else archive.stories.about(shown.id), lasts=lasts,
        disputes=() if stranger(request) else _disputes(archive, shown.id),
        titles={one.photograph.code: one.photograph for one in shown.pictures if one.photograph.title},
        ages=ages(shown), doubt_words=_DOUBTS, event_words=EVENTS, pronoun=pronoun, possessive=possessive,
        **WORDS_OF_SEVERAL,
    )  # fmt: skip


def _disputes(archive: Archive, who: str) -> tuple[ConflictStory, ...]:
    """The conflicts in which they are concerned."""
    return tuple(story for story in archive.dates.kept_conflicts().stories if who in story.people)


@dataclass(frozen=True, slots=True)
class FaceOfLife:
    """One of somebody's own faces: the region that frames it, how old they are in it, and the year; "" where an age is
    still to be judged there, or the date says too little. `gap` are the years without a picture before it. `at` is the
    number of its photograph among all of theirs, in order of date."""

    region: int
    code: str
    title: str
    age: str
    year: str
    gap: str
    look: str
    at: int


GAP = 12
"""Years without a picture that are shown as a gap."""


def ages(shown: Lifeline) -> list[FaceOfLife]:
    """Their faces from child to old age; those that it is not certain are theirs are left out, and the undated last."""
    found: list[FaceOfLife] = []
    last: int | None = None
    for at, one in enumerate(shown.pictures):
        if one.region is None or one.doubts or one.photograph.recto is None:
            continue
        card = one.photograph
        told = bool(card.names) and not card.nameless and card.estimate is not None
        year = year_of(card.estimate.best) if told and card.estimate and card.estimate.best else None
        gap = f"{year - last} years" if year is not None and last is not None and year - last >= GAP else ""
        last = year if year is not None else last
        found.append(
            FaceOfLife(
                one.region, card.code, card.title or card.code, age_then(shown.life, card.estimate) if told else "",
                when_short(card.estimate) if told and card.estimate else "", gap,
                f"/look?person={shown.id}&at={at}&code={card.code}", at,
            )
        )  # fmt: skip
    return found


def age_then(life: Life, estimate: Estimate | None) -> str:
    """How old somebody was when a photograph was taken: "7", "34–38"; "" where that says little."""
    ages = ages_then(life, estimate)
    return "" if ages is None else str(ages[0]) if ages[0] == ages[1] else f"{ages[0]}–{ages[1]}"


def proband(request: Request, form: Form) -> Response:
    """From now on, show how everybody is related to this person."""
    archive_of(request).people.choose_proband(form.get("person", ""))
    return back(form, "/people")


def same(request: Request, form: Form) -> Response:
    """Record who somebody outside the tree turned out to be."""
    who = archive_of(request).people.identify(request.path_params["id"], form.get("who", ""))
    return dated_and_back(request, form, f"/person/{who.id}")


routes = [
    get_route("/person/{id}", person),
    post_route("/person/{id}/same", same),
    post_route("/proband", proband),
]
