"""Which scans should be made again, and why: the findings beside the picture, each accepted by one press."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.archive.collection.scan_checks import ScansChecked
from kinphoto.phrases import counted
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, back, post_route, whole_number
from kinphoto.web.jobs import Jobs
from kinphoto.web.render import get_route, page

A_PAGE = 40
"""Scans shown on one page."""
SHOWN = {"redo": "to scan again", "look": "to look at", "good": "with notes, or accepted"}
"""Which scans can be listed: those with these verdicts."""


@keepers_only
def checks(request: Request) -> Response:
    """The scans of one verdict (`show`), as far as they were checked; `start` turns the pages."""
    archive = archive_of(request)
    jobs: Jobs = request.app.state.jobs
    found = archive.scans.findings()
    tally = {"redo": found.redo, "look": found.look, "good": sum(scan.verdict == "good" for scan in found.scans)}
    show = request.query_params.get("show", "")
    if show not in SHOWN:
        show = next((verdict for verdict, number in tally.items() if number), "redo")
    listed = [scan for scan in found.scans if scan.verdict == show]
    wanted = whole_number(request.query_params.get("start")) or 0
    start = min(wanted, max(len(listed) - 1, 0)) // A_PAGE * A_PAGE
    return page(
        request, "scan_checks.html", found=found, tally=tally, show=show, shows=SHOWN, job=jobs.last,
        scans=listed[start : start + A_PAGE], start=start, step=A_PAGE, count=len(listed),
    )  # fmt: skip


def run(request: Request, form: Form) -> Response:
    """Measure the scans that were not checked yet."""
    archive = archive_of(request)
    jobs: Jobs = request.app.state.jobs
    jobs.start("checking scans", lambda progress: _lines(archive.scans.check(progress=progress)))
    return RedirectResponse("/scan-checks", 303)


def accept(request: Request, form: Form) -> Response:
    """Accept a finding, or no longer accept it."""
    archive = archive_of(request)
    scan = archive.scans.picture(form.number("scan") or 0)
    archive.scans.accept_on(
        scan.id, form.get("kind", ""), form.text("why") or "", take_back=bool(form.get("take_back"))
    )
    return back(form, "/scan-checks")


def _lines(done: ScansChecked) -> list[str]:
    first = (
        f"{counted(done.checked, 'scan')} checked: {done.redo} to scan again, {done.look} to look at, {done.good} good."
    )
    return [first, *(f"{problem.path}: {problem.why}" for problem in done.unreadable[:A_PAGE])]


routes = [
    get_route("/scan-checks", checks),
    post_route("/scan-checks/run", run),
    post_route("/scan-checks/accept", accept),
]
