"""The table: photographs collected from anywhere, a few of them side by side, and what is done with several at once."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, back, post_route
from kinphoto.web.pages.several import WORDS_OF_SEVERAL, chosen
from kinphoto.web.render import get_route, page
from kinphoto.web.tray import MOST, laid, lay

BESIDE = 6
"""Photographs that are laid side by side at most."""


@keepers_only
def table(request: Request) -> Response:
    """What is there; `photograph` are those that are looked at side by side, the first few if none is chosen."""
    views = archive_of(request).photographs.views(laid(request))
    wanted = request.query_params.getlist("photograph")
    picked = [one for one in views if one.card.code in wanted][:BESIDE]
    pictured = [one for one in (picked or views) if one.card.recto]
    beside = pictured[: BESIDE if picked else 2]
    return page(
        request, "table.html", views=views, beside=beside if len(beside) > 1 else [], most=MOST, **WORDS_OF_SEVERAL
    )


def put(request: Request, form: Form) -> Response:
    """Lay the chosen photographs on the table, after those that are there; then go there, or back to the page."""
    response = back(form, "/table") if form.get("stay") == "1" else RedirectResponse("/table", 303)
    lay(response, [*laid(request), *chosen(form, 1)])
    return response


def off(request: Request, form: Form) -> Response:
    """Take the chosen ones off the table, or all of them."""
    gone = set(form.all("photograph")) if form.get("all") != "1" else set(laid(request))
    response = RedirectResponse("/table", 303)
    lay(response, [code for code in laid(request) if code not in gone])
    return response


def order(request: Request, form: Form) -> Response:
    """Put what is there into another order: as given, then whatever was not named."""
    response = RedirectResponse("/table", 303)
    there = laid(request)
    lay(response, [*(code for code in form.all("order") if code in there), *there])
    return response


routes = [
    get_route("/table", table),
    post_route("/table/lay", put),
    post_route("/table/off", off),
    post_route("/table/order", order),
]
