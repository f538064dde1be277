"""Pairs: fronts with their backs, scans made again and other prints of a picture, side by side, confirmed by one press
each or all together."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.archive.collection.pairing import Proposals
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, back, dated_and_back, post_route, whole_number
from kinphoto.web.render import get_route, page

HERE = "/pairs"
LARGE = 3_000
"""Photographs beyond which a box has to be chosen: comparing all of them takes longer than a page may."""
MOST = 60
"""Pairs on one page."""


@keepers_only
def pairs(request: Request) -> Response:
    """The contact sheet. `box` (a container) and `order` choose what is compared, `start` turns the pages."""
    archive = archive_of(request)
    box, order = request.query_params.get("box") or "", request.query_params.get("order") or "name"
    boxes = archive.photographs.containers()
    large = not box and sum(each.tally.photographs for each in boxes) > LARGE
    found = Proposals((), ()) if large else archive.scans.pairs(box or None, order)
    start = min(whole_number(request.query_params.get("start")) or 0, max(0, len(found.proposals) - 1))
    return page(
        request, "pairs.html", found=found, box=box, order=order, start=start, most=MOST,
        shown=found.proposals[start : start + MOST], sure=sum(each.sure for each in found.proposals),
        query=urlencode({"box": box, "order": order}), boxes=archive.photographs.container_names(), large=large,
        kinds={"back": "front and back", "rescan": "the same print again", "negative": "two prints of one negative",
               "copy": "a photograph taken of a print"},
    )  # fmt: skip


def confirm(request: Request, form: Form) -> Response:
    """These belong together."""
    archive_of(request).scans.confirm_pairs(form.all("pair"))
    return dated_and_back(request, form, HERE)


def confirm_all(request: Request, form: Form) -> Response:
    """All that are sure."""
    archive_of(request).scans.confirm_sure_pairs(form.text("box"), form.text("order") or "name")
    return dated_and_back(request, form, HERE)


def reject(request: Request, form: Form) -> Response:
    """These do not."""
    archive_of(request).scans.reject_pairs(form.all("pair"))
    return back(form, HERE)


routes = [
    get_route(HERE, pairs),
    post_route(f"{HERE}/confirm", confirm),
    post_route(f"{HERE}/confirm-all", confirm_all),
    post_route(f"{HERE}/reject", reject),
]
