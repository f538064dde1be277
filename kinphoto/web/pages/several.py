"""What is done with several photographs at once, chosen in a box or laid on the table: all of it or nothing, as one
change that can be undone."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import InvalidValueError
from kinphoto.reason.model import processes
from kinphoto.web import wording
from kinphoto.web.access import archive_of
from kinphoto.web.forms import Form, back, dated_and_back, post_route

WORDS_OF_SEVERAL: dict[str, Any] = {
    "statement_kinds": list(wording.DATED.items()),
    "made_choices": [
        (kind, words, [p for p in processes.load().values() if p.kind == kind]) for kind, words in wording.MADE.items()
    ],
    "relations_of_several": list(wording.TOGETHER.items()),
}
"""What the forms of several photographs let somebody choose from."""


def chosen(form: Form, least: int) -> list[str]:
    """The photographs that were chosen, in their order. Raises InvalidValueError for too few."""
    codes = list(dict.fromkeys(form.all("photograph")))
    if len(codes) < least:
        raise InvalidValueError(
            "too few photographs are chosen",
            remedy="Choose two photographs or more first." if least > 1 else "Choose a photograph first.",
        )
    return codes


def join(request: Request, form: Form) -> Response:
    """Make the chosen photographs one: fronts and backs of one object, or scans of it made again."""
    side = form.get("side")
    archive_of(request).scans.join(chosen(form, 2), side if side in wording.SIDES else None)
    return dated_and_back(request, form, "/boxes")


def move(request: Request, form: Form) -> Response:
    """Put the chosen photographs into a container."""
    into = form.text("container")
    if into is None:
        raise InvalidValueError("no box was named", remedy="Type its name; a new name makes a new box.")
    archive_of(request).photographs.move(chosen(form, 1), into)
    return back(form, "/boxes")


def together(request: Request, form: Form) -> Response:
    """Record how the chosen photographs belong together: each with the first, or one after the other in this order."""
    first, *others = chosen(form, 2)
    relation = form.get("relation", "same-occasion")
    ties = []
    for other in others:
        one, two = (other, first) if relation == "copy-of" else (first, other)  # the others are copies of the first
        ties.append(Tie(photograph=one, relation=relation, other=two, by=form.text("by")))
        first = other if relation == "before" else first
    archive_of(request).statements.relate_all(ties)
    return dated_and_back(request, form, "/boxes")


def describe(request: Request, form: Form) -> Response:
    """Describe all chosen photographs alike: where they were taken, who made them, whose they are."""
    given = {field: form.text(field) for field in ("place", "maker", "rights")}
    archive_of(request).photographs.describe_alike(chosen(form, 1), Description(**given))
    return back(form, "/boxes")


def say(request: Request, form: Form) -> Response:
    """Record the same words or date of all of them."""
    claims = [
        NewClaim(photograph=code, kind=form.get("kind", ""), date=form.text("date"), text=form.text("text"),
                 by=form.text("by"))
        for code in chosen(form, 1)
    ]  # fmt: skip
    archive_of(request).statements.record_all(claims)
    return dated_and_back(request, form, "/boxes")


def made(request: Request, form: Form) -> Response:
    """Record how all of them were made, or what kind of object they are."""
    kind, _, what = form.get("made", "").partition(" ")
    if kind not in wording.MADE:
        raise InvalidValueError("no process or format was chosen", remedy="Choose one from the list.")
    archive_of(request).statements.record_making_of_all(chosen(form, 1), kind, what, by=form.text("by"))
    return dated_and_back(request, form, "/boxes")


def person(request: Request, form: Form) -> Response:
    """Record that somebody is in all of them."""
    who = form.text("person")
    if who is None:
        raise InvalidValueError("nobody was named", remedy="Type a name.")
    links = [Link(photograph=code, person=who, by=form.text("by")) for code in chosen(form, 1)]
    archive_of(request).statements.link_all(links)
    return dated_and_back(request, form, "/boxes")


def turn(request: Request, form: Form) -> Response:
    """Turn the pictures of all of them."""
    archive_of(request).scans.turn_all(chosen(form, 1), form.get("turn", ""))
    return back(form, "/boxes")


routes = [
    post_route("/several/join", join),
    post_route("/several/move", move),
    post_route("/several/together", together),
    post_route("/several/describe", describe),
    post_route("/several/say", say),
    post_route("/several/made", made),
    post_route("/several/person", person),
    post_route("/several/turn", turn),
]
