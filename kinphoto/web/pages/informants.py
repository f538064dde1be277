"""The informants: who told what, who of the tree they are, and two names of one informant put together."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.errors import InvalidValueError
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, dated_and_back, post_route
from kinphoto.web.render import get_route, page


@keepers_only
def informants(request: Request) -> Response:
    """Everybody who told something."""
    return page(request, "informants.html", shown=archive_of(request).statements.informants())


def note(request: Request, form: Form) -> Response:
    """Say who an informant is, somebody new or one that is known."""
    archive_of(request).statements.add_informant(form.get("name", ""), form.text("person"), form.text("note"))
    return dated_and_back(request, form, "/informants")


def rename(request: Request, form: Form) -> Response:
    """Give an informant another name; when somebody has that name already, the two become one."""
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
