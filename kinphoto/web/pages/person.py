"""One person: the life line with every picture at its place, the family around it, and what nobody is sure of."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.archive.people.lifeline import IdentityDoubt
from kinphoto.archive.words.sentences import EVENT_WORDS
from kinphoto.errors import KinphotoError
from kinphoto.web.access import archive_of, stranger, to_sign_in
from kinphoto.web.discretion import life_for_strangers
from kinphoto.web.drawing.lifeline import lifeline
from kinphoto.web.forms import Form, back, dated_and_back, post_route
from kinphoto.web.render import get_route, page

MOST = 120
"""Pictures shown on the page itself; the search shows them all, page by page."""

_DOUBTS = {
    IdentityDoubt.RIVAL: "one of two names on this face",
    IdentityDoubt.CONTESTED: "somebody says it is not",
    IdentityDoubt.ASIDE: "does not fit with the rest",
}
_EVENTS = {tag: words.removeprefix("the ").capitalize() for tag, words in EVENT_WORDS.items()}
_PRONOUNS = {"F": ("her", "her"), "M": ("him", "his")}


def person(request: Request) -> Response:
    """The page of one person, by id or by anything that means them."""
    archive = archive_of(request)
    try:
        shown = archive.people.life(request.path_params["id"], for_anybody=stranger(request))
    except KinphotoError:
        if not stranger(request):
            raise
        return to_sign_in(request)  # who is in the archive, and who else is called so, stays hidden too
    if stranger(request):
        shown = life_for_strangers(shown)
    pronoun, possessive = _PRONOUNS.get(shown.sex, ("them", "their"))
    return page(
        request, "person.html", shown=shown, drawn=lifeline(shown), proband=archive.people.proband(), most=MOST,
        doubt_words=_DOUBTS, event_words=_EVENTS, pronoun=pronoun, possessive=possessive,
    )  # fmt: skip


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
