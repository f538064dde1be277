"""The people: found by part of a name and a year, and those who are in no tree put down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.web.access import stranger
from kinphoto.web.forms import Form, post_route
from kinphoto.web.render import get_route, page

if TYPE_CHECKING:
    from kinphoto.archive import Archive


def people(request: Request) -> Response:
    """Those whose names fit, or else those who are in the most pictures."""
    archive: Archive = request.app.state.archive
    text = request.query_params.get("name", "").strip()[:200]
    found = archive.people(text, most=MOST, for_anybody=stranger(request))
    kin = archive.kin_phrases([one.id for one in found.people])
    return page(request, "people.html", text=text, found=found, kin=kin, most=MOST)


MOST = 200
"""People shown at once."""


def add(request: Request, form: Form) -> Response:
    """Put down somebody outside the tree."""
    archive: Archive = request.app.state.archive
    person = archive.add_person(form.get("name", ""), form.said("born"), form.said("died"), form.get("note", ""))
    return RedirectResponse(f"/person/{person.id}", 303)


routes = [get_route("/people", people), post_route("/people", add)]
