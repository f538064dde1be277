"""Signing in, where the pages are open to the house network: with the one password the keeper gave out."""

from __future__ import annotations

from dataclasses import replace
from math import ceil

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.web.access import Door, Visitor, new_visit, visitor
from kinphoto.web.forms import Form, ours, post_route
from kinphoto.web.passwords import Tries
from kinphoto.web.render import get_route, page


def ask(request: Request) -> Response:
    """The form; on to the first page for somebody who is in already."""
    if visitor(request).keeper:
        return RedirectResponse("/", 303)
    return page(request, "sign_in.html", problem="", next=ours(request.query_params.get("next", "")) or "/")


def sign_in(request: Request, form: Form) -> Response:
    """Let in whoever knows the password, with a new visit; slowly, where it was wrong too often."""
    door: Door = request.app.state.door
    tries: Tries = request.app.state.tries
    address = request.client.host if request.client else ""
    onward = ours(form.get("next", "")) or "/"
    if not tries.right(address, form.get("password", ""), door.keys.password):
        wait = tries.wait(address)
        problem = f"Too many tries. Wait {ceil(wait)} seconds." if wait else "That is not the password."
        return page(request, "sign_in.html", 429 if wait else 403, problem=problem, next=onward)
    response = RedirectResponse(onward, 303)
    door.remember(response, Visitor(new_visit(), keeper=True))
    return response


def sign_out(request: Request, form: Form) -> Response:
    """Leave: this browser is a stranger again."""
    door: Door = request.app.state.door
    response = RedirectResponse("/", 303)
    door.remember(response, replace(door.visitor(request), visit=new_visit(), keeper=False))
    return response


routes = [
    get_route("/sign-in", ask),
    post_route("/sign-in", sign_in, by_anybody=True),
    post_route("/sign-out", sign_out),
]
