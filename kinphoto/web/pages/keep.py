"""How well the archive is kept, and doing something about it: a backup, a package, reading scans again."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.archive.keeping.state import ago
from kinphoto.errors import InvalidValueError
from kinphoto.phrases import counted
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, post_route, whole_path
from kinphoto.web.jobs import Progress
from kinphoto.web.render import get_route, page

if TYPE_CHECKING:
    from kinphoto.archive.keeping.backup import BackedUp
    from kinphoto.archive.keeping.fixity import Verified
    from kinphoto.archive.keeping.package import PackageMade

MINUTES = 20
"""How long scans are read from the page at a time."""


@keepers_only
def keep(request: Request) -> Response:
    """How old the last copy is, what is wrong with scans, and what was done the last time."""
    archive = archive_of(request)
    state = archive.keep.state()
    return page(
        request, "keep.html", state=state, problems=archive.keep.problems(), job=request.app.state.jobs.last,
        ago=None if state.backup_days is None else ago(state.backup_days), minutes=MINUTES,
    )  # fmt: skip


def backup(request: Request, form: Form) -> Response:
    """Make a backup, into the folder named or the one used last."""
    archive, target, daily = archive_of(request), whole_path(form.text("target")), bool(form.get("daily"))

    def work(progress: Progress) -> list[str]:
        done = archive.keep.back_up(target, progress)
        archive.keep.set_daily(wanted=daily, target=target)
        return _backed_up(done)

    return _start(request, "making a backup", work)


def package(request: Request, form: Form) -> Response:
    """Make a package of everything in the folder named."""
    archive, target = archive_of(request), whole_path(form.text("target"))
    if target is None:
        raise InvalidValueError("no folder was named", remedy="Type the folder to make the package in.")
    return _start(request, "packing everything", lambda progress: _packed(archive.keep.make_package(target, progress)))


def verify(request: Request, form: Form) -> Response:
    """Read scans again for a while."""
    archive = archive_of(request)
    return _start(request, "reading the scans", lambda progress: _verified(archive.keep.verify(MINUTES, progress)))


def _start(request: Request, what: str, work: Callable[[Progress], list[str]]) -> Response:
    request.app.state.jobs.start(what, work)
    return RedirectResponse("/keep", 303)


def _backed_up(done: BackedUp) -> list[str]:
    lines = [
        f"The backup is in {done.folder}.",
        f"{counted(done.scans, 'scan')} in it; {counted(done.copied, 'new file')} copied and read back.",
    ]
    if done.not_in_it:
        lines.append(f"{counted(done.not_in_it, 'scan is', 'scans are')} not in it.")
    return [*lines, *done.unreadable]


def _packed(done: PackageMade) -> list[str]:
    lines = [f"Not as it should be: {line}" for line in done.failing] + [f"Not there: {path}" for path in done.missing]
    return [*lines, f"The package is in {done.folder}, with {counted(done.scans, 'scan')}. It includes living people."]


def _verified(done: Verified) -> list[str]:
    lines = [f"{counted(done.read, 'file' if done.recordings else 'scan')} read again, of {done.files:,}."]
    if done.edited:
        lines.append(f"{counted(len(done.edited), 'scan was', 'scans were')} edited; recorded as new versions.")
    return [
        *lines,
        "Everything that was read is as it should be." if not done.problems else "Some are not as they were.",
    ]


routes = [
    get_route("/keep", keep),
    post_route("/keep/backup", backup),
    post_route("/keep/package", package),
    post_route("/keep/verify", verify),
]
