"""The informants: who told what, who of the tree they are, and two names of one informant put together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.errors import InvalidValueError
from kinphoto.web.access import keepers_only
from kinphoto.web.forms import Form, post_route
from kinphoto.web.render import get_route, page

if TYPE_CHECKING:
    from kinphoto.archive import Archive


@keepers_only
def informants(request: Request) -> Response:
    """Everybody who told something."""
    archive: Archive = request.app.state.archive
    return page(request, "informants.html", shown=archive.informants())


def note(request: Request, form: Form) -> Response:
    """Say who an informant is, somebody new or one that is known."""
    archive: Archive = request.app.state.archive
    archive.informant(form.get("name", ""), form.said("person"), form.said("note"))
    archive.date_now()
    return RedirectResponse("/informants", 303)


def rename(request: Request, form: Form) -> Response:
    """Give an informant another name; when somebody has that name already, the two become one."""
    archive: Archive = request.app.state.archive
    new = form.said("new")
    if new is None:
        raise InvalidValueError("no name was typed", remedy="Type the name they should have.")
    archive.rename_informant(form.get("old", ""), new)
    archive.date_now()
    return RedirectResponse("/informants", 303)


routes = [
    get_route("/informants", informants),
    post_route("/informants", note),
    post_route("/informants/rename", rename),
]
