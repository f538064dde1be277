"""Names: how the scans are named, and a plan of new names on a contact sheet before any file is renamed."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.errors import InvalidValueError, KinphotoError
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, back, post_route, whole_number
from kinphoto.web.render import get_route, page

HERE = "/names"
MOST = 120
"""New names on one page."""


@keepers_only
def names(request: Request) -> Response:
    """The report; with `box`, `theme` and `order` the plan for a container, `start` turns its pages."""
    archive, asked = archive_of(request), request.query_params
    box, theme, order = (asked.get(key) or "" for key in ("box", "theme", "order"))
    plan, problem, group = None, "", whole_number(asked.get("group"))
    try:
        plan = archive.scans.plan_names([box] if box else [], theme or None, order or "name", group)
    except KinphotoError as found:  # most often that a theme has to be chosen: the form is on this page
        problem = str(found)
    shown = () if plan is None else plan.names
    start = min(whole_number(asked.get("start")) or 0, max(0, len(shown) - 1))
    cards = archive.photographs.cards([each.photograph for each in shown[start : start + MOST]])
    pictures = {Path(path).name: card for card in cards for path in card.scans}
    return page(
        request, "names.html", report=archive.scans.names(), plan=plan, problem=problem, box=box, theme=theme,
        order=order or "name", start=start, most=MOST, pictures=pictures, name=lambda path: Path(path).name,
        query=urlencode({"box": box, "theme": theme, "order": order, "group": group or ""}), group=group,
        query_of_all=urlencode({"box": box, "theme": theme, "order": order}),
        groups={each.number: each for each in plan.groups} if plan else {},
        boxes=archive.photographs.container_names(),
    )  # fmt: skip


def rename(request: Request, form: Form) -> Response:
    """Carry out the plan that was shown."""
    key = form.text("key")
    if key is None:
        raise InvalidValueError("there is no plan to carry out", remedy="Look at the plan first.")
    box = form.text("box")
    archive_of(request).scans.rename(
        [box] if box else [], form.text("theme"), form.text("order") or "name", key, form.number("group")
    )
    return back(form, HERE)


routes = [get_route(HERE, names), post_route(f"{HERE}/rename", rename)]
