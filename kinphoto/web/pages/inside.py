"""What other programs wrote into the files of scans: names to be matched, words and dates as they were recorded."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, dated_and_back, post_route
from kinphoto.web.jobs import Progress
from kinphoto.web.render import get_route, page

HERE = "/inside"
MOST = 100
"""Names, and photographs with words, on the page."""


@keepers_only
def inside(request: Request) -> Response:
    """The names nobody is matched to yet, and the words and dates that were recorded."""
    archive = archive_of(request)
    return page(
        request, "inside.html", names=archive.scans.written_names(), words=archive.scans.written_words(),
        job=request.app.state.jobs.last, most=MOST,
    )  # fmt: skip


def again(request: Request, form: Form) -> Response:
    """Read all files once more, which takes as long as it takes to read them from their disk."""
    archive, state = archive_of(request), request.app.state

    def work(progress: Progress) -> list[str]:
        done = archive.scans.read_inside(progress)
        if done.change is None:
            lines = ["Nothing new is in the files."]
        else:
            state.refresh.poke()
            lines = [f"Recorded {done.words}, as the files say. History undoes them."]
        return lines + [f"{one.photograph}: not recorded, as {one.why}." for one in done.refused[:12]]

    state.jobs.start("reading the files", work)
    return RedirectResponse(HERE, 303)


def name(request: Request, form: Form) -> Response:
    """Name somebody on every photograph whose file has a name."""
    archive_of(request).scans.take_names(form.get("name", ""), form.get("person", ""))
    return dated_and_back(request, form, HERE)


routes = [
    get_route(HERE, inside),
    post_route(f"{HERE}/again", again),
    post_route(f"{HERE}/name", name),
]
