"""The people: found by part of a name and a year, and those who are not in the tree added."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.web.access import archive_of, stranger
from kinphoto.web.forms import Form, post_route
from kinphoto.web.render import get_route, page


def people(request: Request) -> Response:
    """Those whose names fit, or else those who are in the most pictures."""
    archive = archive_of(request)
    text = request.query_params.get("name", "").strip()[:200]
    found = archive.people.find(text, most=MOST, for_anybody=stranger(request))
    kin = archive.people.kin_phrases([one.id for one in found.people])
    faces = archive.people.portraits([one.id for one in found.people], for_anybody=stranger(request))
    return page(request, "people.html", text=text, found=found, kin=kin, faces=faces, most=MOST)


MOST = 200
"""People shown on one page."""


def add(request: Request, form: Form) -> Response:
    """Add somebody outside the tree."""
    people = archive_of(request).people
    person = people.add(form.get("name", ""), form.text("born"), form.text("died"), form.get("note", ""))
    return RedirectResponse(f"/person/{person.id}", 303)


routes = [get_route("/people", people), post_route("/people", add)]
