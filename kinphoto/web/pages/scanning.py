"""At the scanner: the newest scan, what is wrong with it, the next name and tonight's count, large enough to read from
the scanner; and one key each for what the newest scan is to the one before."""

from __future__ import annotations

from pathlib import Path

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from kinphoto.archive.collection.care import BEFORE
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.folders import typed_folder
from kinphoto.web.forms import Form, dated_and_back, post_route, whole_number
from kinphoto.web.render import get_route, page
from kinphoto.web.scanner import Scanner

HERE = "/scanning"


@keepers_only
def scanning(request: Request) -> Response:
    """The page."""
    archive, scanner = archive_of(request), _scanner(request)
    newest = archive.scans.latest(1)
    folder = scanner.folder or (str(Path(newest[0].scan.path).parent) if newest else "")
    box = scanner.container or Path(folder).name if scanner.watching else ""
    theme = archive.scans.theme_in_use(folder, scanner.container or None, scanner.theme or None) if folder else ""
    return page(
        request, "scanning.html", scanner=scanner, latest=archive.scans.latest(12, theme),
        next_name=archive.scans.names(theme).next if theme else "", tonight=archive.scans.tonight(), theme=theme,
        folders=archive.scans.folders(), folder=folder, seen=scanner.seen, trouble=scanner.trouble, before=BEFORE,
        example=str(Path.home() / "scans"), care=archive.photographs.care(box) if box else (),
        box_names=[box.name for box in archive.photographs.container_names()],
    )  # fmt: skip


@keepers_only
def state(request: Request) -> Response:
    """How many things have happened, for the script of the page; how many scans came `since` that count, and whether
    everything since was good."""
    scanner = _scanner(request)
    number = scanner.number
    new = scanner.since(min(whole_number(request.query_params.get("since")) or 0, number))
    good = not scanner.problem and all(each.good for each in new)
    return JSONResponse({"number": number, "scans": sum(bool(each.photograph) for each in new), "good": good})


def start(request: Request, form: Form) -> Response:
    """Watch a folder of this computer, which may be empty yet. Another box begins with names of its own, unless they
    are typed with it."""
    archive, scanner = archive_of(request), _scanner(request)
    folder, container, theme = str(typed_folder(form.text("folder"))), form.text("container") or "", form.text("theme")
    if scanner.watching and container != scanner.container and theme == scanner.theme:
        theme = None
    archive.scans.theme_in_use(folder, container or None, theme)  # refuses one that cannot be
    scanner.start(folder, container, theme or "")
    return RedirectResponse(HERE, 303)


def stop(request: Request, form: Form) -> Response:
    """Watch no longer."""
    _scanner(request).stop()
    return RedirectResponse(HERE, 303)


def back_of_previous(request: Request, form: Form) -> Response:
    """The newest scan is the back of the one before."""
    archive_of(request).scans.back_of_previous(form.number("scan"))
    return dated_and_back(request, form, HERE)


def again(request: Request, form: Form) -> Response:
    """The newest scan takes the place of the one before."""
    archive_of(request).scans.scanned_again(form.number("scan"))
    return dated_and_back(request, form, HERE)


def missed(request: Request, form: Form) -> Response:
    """A print was missed: its number is kept free."""
    archive_of(request).scans.hold_number(form.text("theme") or "")
    return RedirectResponse(HERE, 303)


def _scanner(request: Request) -> Scanner:
    scanner: Scanner = request.app.state.scanner
    return scanner


routes = [
    get_route(HERE, scanning),
    Route(f"{HERE}/state", state),
    post_route(f"{HERE}/start", start),
    post_route(f"{HERE}/stop", stop),
    post_route(f"{HERE}/back", back_of_previous),
    post_route(f"{HERE}/again", again),
    post_route(f"{HERE}/missed", missed),
]
