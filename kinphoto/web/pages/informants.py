"""The informants: what each of them told us, who they are in the tree, and two names of one person merged."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.errors import InvalidValueError
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, dated_and_back, post_route
from kinphoto.web.render import get_route, page


@keepers_only
def informants(request: Request) -> Response:
    """Everybody who told us something."""
    return page(request, "informants.html", shown=archive_of(request).statements.informants())


def note(request: Request, form: Form) -> Response:
    """Record who an informant is, new or known."""
    archive_of(request).statements.add_informant(form.get("name", ""), form.text("person"), form.text("note"))
    return dated_and_back(request, form, "/informants")


def rename(request: Request, form: Form) -> Response:
    """Rename an informant; if somebody has that name already, the two become one."""
    new = form.text("new")
    if new is None:
        raise InvalidValueError("no name was typed", remedy="Type the new name.")
    archive_of(request).statements.rename_informant(form.get("old", ""), new)
    return dated_and_back(request, form, "/informants")


routes = [
    get_route("/informants", informants),
    post_route("/informants", note),
    post_route("/informants/rename", rename),
]
