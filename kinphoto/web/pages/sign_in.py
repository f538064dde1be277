"""Signing in, where the pages are open to the house network: with the one password the keeper gave out."""

from __future__ import annotations

from dataclasses import replace
from math import ceil

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.web.access import Visitor, access_of, new_visit, own_path, visitor
from kinphoto.web.carried import MOST_CARRIED, carried_in, sent_once_more
from kinphoto.web.forms import LARGEST_OF_ANYBODY, Form, post_route
from kinphoto.web.passwords import SignInAttempts
from kinphoto.web.render import get_route, page


def ask(request: Request) -> Response:
    """The form; on to the first page for somebody who is in already."""
    if visitor(request).keeper:
        return RedirectResponse("/", 303)
    onward = own_path(request.query_params.get("next", "")) or "/"
    return page(request, "sign_in.html", problem="", next=onward, carried=None)


def sign_in(request: Request, form: Form) -> Response:
    """Let in whoever knows the password, with a new visit; slowly, where it was wrong too often. What was typed before
    is shown then, and never saved by this."""
    access = access_of(request)
    attempts: SignInAttempts = request.app.state.attempts
    address = request.client.host if request.client else ""
    onward, carried = own_path(form.get("next", "")) or "/", carried_in(form.lists)
    if not attempts.accepts(address, form.get("password", ""), access.credentials.password):
        wait = attempts.wait(address)
        problem = f"Too many tries. Wait {ceil(wait)} seconds." if wait else "That is not the password."
        return page(request, "sign_in.html", 429 if wait else 403, problem=problem, next=onward, carried=carried)
    now = request.state.visitor = Visitor(new_visit(), keeper=True)
    response = sent_once_more(request, carried, onward) if carried else RedirectResponse(onward, 303)
    access.set_cookie(response, now)
    return response


def sign_out(request: Request, form: Form) -> Response:
    """Leave: this browser is a stranger again."""
    access = access_of(request)
    response = RedirectResponse("/", 303)
    access.set_cookie(response, replace(access.visitor(request), visit=new_visit(), keeper=False))
    return response


routes = [
    get_route("/sign-in", ask),
    post_route("/sign-in", sign_in, by_anybody=True, most_of_anybody=LARGEST_OF_ANYBODY + MOST_CARRIED),
    post_route("/sign-out", sign_out),
]
