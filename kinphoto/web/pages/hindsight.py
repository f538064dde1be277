"""How well dates are estimated on this archive's own photographs: each known date hidden, and found from the rest."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.archive.dates.hindsight import in_words
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, post_route
from kinphoto.web.jobs import Progress
from kinphoto.web.render import get_route, page

WHAT = "comparing known dates with estimates"
"""What the job is called."""


@keepers_only
def hindsight(request: Request) -> Response:
    """What the last comparison found, while it is the last thing that was done in the background."""
    return page(request, "hindsight.html", job=request.app.state.jobs.last, what=WHAT)


def compare(request: Request, _: Form) -> Response:
    """Compare, in the background: every known date is worked out anew, which takes a while in a large archive."""
    archive = archive_of(request)

    def work(_: Progress) -> list[str]:
        return [line.strip() for line in in_words(archive.dates.hindsight())]

    request.app.state.jobs.start(WHAT, work)
    return RedirectResponse("/hindsight", 303)


routes = [get_route("/hindsight", hindsight), post_route("/hindsight", compare)]
