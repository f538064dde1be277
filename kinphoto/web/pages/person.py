"""One person: the life line with every picture at its place, the family around it, and what nobody is sure of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.archive.people.lifeline import IdentityDoubt
from kinphoto.archive.words.sentences import EVENT_WORDS
from kinphoto.errors import KinphotoError
from kinphoto.web.access import stranger, to_sign_in
from kinphoto.web.discretion import life_for_strangers
from kinphoto.web.drawing.lifeline import lifeline
from kinphoto.web.forms import Form, back, post_route
from kinphoto.web.render import get_route, page

if TYPE_CHECKING:
    from kinphoto.archive import Archive

MOST = 120
"""Pictures shown on the page itself; the search shows them all, page by page."""

_DOUBTS = {
    IdentityDoubt.RIVAL: "or another: there are two names on the face",
    IdentityDoubt.CONTESTED: "somebody says that it is not",
    IdentityDoubt.ASIDE: "does not fit with the rest",
}
_EVENTS = {tag: words.removeprefix("the ").capitalize() for tag, words in EVENT_WORDS.items()}
_PRONOUNS = {"F": ("her", "she", "her"), "M": ("him", "he", "his")}


def person(request: Request) -> Response:
    """The page of one person, by id or by anything that means them."""
    archive: Archive = request.app.state.archive
    try:
        shown = archive.person(request.path_params["id"], for_anybody=stranger(request))
    except KinphotoError:
        if not stranger(request):
            raise
        return to_sign_in(request)  # who is in the archive, and who else is called so, is not told either
    if stranger(request):
        shown = life_for_strangers(shown)
    pronoun, subject, possessive = _PRONOUNS.get(shown.sex, ("them", "this person", "their"))
    return page(
        request, "person.html", shown=shown, drawn=lifeline(shown), proband=archive.proband(), most=MOST,
        doubt_words=_DOUBTS, event_words=_EVENTS, pronoun=pronoun, subject=subject, possessive=possessive,
    )  # fmt: skip


def proband(request: Request, form: Form) -> Response:
    """Tell kinship from this person from now on."""
    archive: Archive = request.app.state.archive
    archive.proband(form.get("person", ""))
    return back(form, "/people")


def same(request: Request, form: Form) -> Response:
    """Somebody outside the tree turned out to be another."""
    archive: Archive = request.app.state.archive
    who = archive.same_person(request.path_params["id"], form.get("who", ""))
    archive.date_now()
    return RedirectResponse(f"/person/{who.id}", 303)


routes = [
    get_route("/person/{id}", person),
    post_route("/person/{id}/same", same),
    post_route("/proband", proband),
]
