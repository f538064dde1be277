"""What leaves the archive: for whom, what goes and what stays, who agreed, and sheets to print."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Sequence
from pathlib import Path
from threading import Event
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response

from kinphoto.archive.catalogue.consents import EVERYTHING, HOUSEHOLD, NOTHING, PICTURES, PUBLIC, WORDS
from kinphoto.archive.giving.copies import CopyOptions
from kinphoto.archive.giving.prints import CROP, ENOUGH, GOOD, PrintsWritten
from kinphoto.archive.giving.selection import Report, Wanted
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.phrases import counted, listed
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, back, photographs_in, post_route, whole_path
from kinphoto.web.jobs import Progress, until_stopped
from kinphoto.web.render import get_route, page

MADE = {
    "site": "a site",
    "copies": "copies",
    "mail": "small copies",
    "package": "a package to deposit",
    "prints": "prints to order",
}
"""What can be made on the page, with its name."""
MAILED_EDGE = 2048
SHOWN = 60
"""Photographs that stay, and people to ask, shown on the page."""


@keepers_only
def give(request: Request) -> Response:
    """What would go to an audience and what stays, the consents, and what can be done."""
    archive = archive_of(request)
    audiences = archive.give.audiences()
    names = [one.name for one in audiences]
    chosen = request.query_params.get("for", names[1])
    if chosen not in names:
        raise NotFoundError("there is no such audience", remedy="Choose one on the page Give.")
    report = archive.give.kept_report(chosen)
    return page(
        request, "give.html", audiences=audiences, chosen=chosen, report=report,
        print_sizes=archive.give.count_print_sizes(report.going), good=GOOD, enough=ENOUGH,
        consents=archive.give.consents(revoked=True), most=SHOWN, household=HOUSEHOLD, public=PUBLIC,
        informants=archive.statements.informant_names(), job=request.app.state.jobs.last,
        made=request.app.state.made.last, box_names=archive.photographs.container_names(),
    )  # fmt: skip


@keepers_only
def sheet(request: Request) -> Response:
    """Sheets for somebody, as a PDF to print."""
    asked = request.query_params
    whom = " ".join(asked.get("ask", "").split())[:100]
    if not whom:
        raise InvalidValueError("the person to ask is not named", remedy="Type a name, such as Aunt Edda.")
    with tempfile.TemporaryDirectory(prefix="kinphoto-") as folder:
        path = Path(folder, "sheets.pdf")
        photographs = tuple(photographs_in(asked.get("photographs", "")))[:100]
        archive_of(request).give.write_sheets(
            path, whom, asked.get("for", HOUSEHOLD), Wanted(photographs), sender=asked.get("from", "")[:200], write=True
        )
        return _pdf(path, "sheets.pdf")


@keepers_only
def labels(request: Request) -> Response:
    """Labels for sleeves or boxes, as a PDF to print."""
    with tempfile.TemporaryDirectory(prefix="kinphoto-") as folder:
        path = Path(folder, "labels.pdf")
        archive_of(request).give.write_labels(path, boxes=bool(request.query_params.get("boxes")), write=True)
        return _pdf(path, "labels.pdf")


def _pdf(path: Path, name: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}"', "cache-control": "no-store"}
    return Response(path.read_bytes(), media_type="application/pdf", headers=headers)


def make(request: Request, form: Form) -> Response:
    """Make a site, copies, prints to order or a package for an audience: in the folder named, or as one file to be
    downloaded."""
    archive, state = archive_of(request), request.app.state
    audience, what = form.get("to", ""), form.get("what", "")
    if what not in MADE:
        raise InvalidValueError("choose what to make", remedy=f"One of: {', '.join(MADE.values())}.")
    known = {one.name for one in archive.give.audiences()}
    if audience not in known:
        raise NotFoundError("there is no such audience", remedy="Choose one on the page Give.")
    codes = tuple(photographs_in(form.get("photographs", "")))
    wanted = Wanted(
        codes, of=form.get("of", "").strip(), branch=form.get("branch", "").strip(), box=form.get("box", "")
    )
    asked, title = bool(form.text("rights_asked")), form.text("title") or "Family photographs"
    folder = whole_path(form.text("target"))

    def fill(place: Path, progress: Progress) -> list[str]:
        give = archive.give
        if what == "site":
            site = give.write_site(
                place, audience, wanted, title=title, rights_asked=asked, write=True, progress=progress
            )
            return _made_lines(site.report, [one.why for one in site.unusable], site.studio, site.unheard)
        if what == "prints":
            prints = give.write_prints(
                audience, wanted, folder=place, size=form.text("size") or "10x15", fit=form.text("fit") or CROP,
                positives=bool(form.text("positives")), write=True, progress=progress,
            )  # fmt: skip
            return _print_lines(prints)
        if what == "package":
            done = give.make_deposit(place, audience, wanted, rights_asked=asked, write=True, progress=progress)
            return _made_lines(done.report, done.unusable)
        options = CopyOptions(edge=MAILED_EDGE if what == "mail" else None)
        copies = give.write_copies(place, audience, wanted, options, write=True, progress=progress)
        return _made_lines(copies.report, [one.why for one in copies.unusable])

    stop = Event()

    def work(progress: Progress) -> list[str]:
        progress = until_stopped(progress, stop)
        if folder is not None:
            return [*fill(folder, progress), f"It is in {folder}."]
        lines: list[str] = []
        name = f"{MADE[what]} for {re.sub(r'[^A-Za-z0-9_-]+', ' ', audience).strip() or 'relatives'}"
        state.made.make(name, audience, lambda place, report: lines.extend(fill(place, report)), progress)
        return [*lines, "Download it on this page."]

    state.jobs.start(f"making {MADE[what]} for {audience}", work, stop)
    return RedirectResponse(f"/give?{urlencode({'for': audience})}", 303)


def _made_lines(
    report: Report, unusable: Sequence[str], studio: Sequence[str] = (), unheard: Sequence[str] = ()
) -> list[str]:
    lines = [f"{counted(len(report.going) - len(studio), 'photograph')} given, {len(report.held_back)} held back."]
    if studio:
        lines.append(f"{counted(len(studio), 'studio portrait')} left out, because no rights are recorded.")
    if unheard:
        lines.append(f"Recordings that stay: {', '.join(unheard)}.")
    return [*lines, *unusable]


def _print_lines(done: PrintsWritten) -> list[str]:
    lines = [f"{counted(done.written + done.unchanged, 'print')} to order, {len(done.report.held_back)} held back."]
    if done.bordered:
        lines.append(f"With a border, because cropping would have cut a face: {listed(done.bordered[:12])}.")
    if done.too_small:
        lines.append(f"Left out, because they have too few pixels for this size: {listed(done.too_small[:12])}.")
    return [*lines, *(f"{one.photograph} could not be given: {one.why}." for one in done.unusable)]


def stop(request: Request, form: Form) -> Response:
    """Stop what is being made."""
    job = request.app.state.jobs.last
    if job is not None:
        job.stop()
    return RedirectResponse("/give", 303)


@keepers_only
def download(request: Request) -> Response:
    """The file that was made last."""
    made = request.app.state.made.last
    if made is None or not made.path.is_file():
        raise NotFoundError("that file is not here any more", remedy="Make it again on the page Give.")
    return FileResponse(made.path, filename=made.name, media_type="application/zip")


def _here(form: Form) -> str:
    return f"/give?for={form.get('to') or HOUSEHOLD}" if form.get("to", "").isalnum() else "/give"


def audience(request: Request, form: Form) -> Response:
    """Add a group of relatives, or say who belongs to it."""
    archive_of(request).give.add_audience(form.get("name", ""), form.text("who"))
    return back(form, "/give")


def consent(request: Request, form: Form) -> Response:
    """Record what somebody agreed to."""
    what = form.text("what") or EVERYTHING
    archive_of(request).give.record_consent(
        form.get("person", ""), form.get("to", ""), asked_by=form.get("by", ""), on=form.get("on", ""),
        what=what if what in (EVERYTHING, PICTURES, NOTHING) else EVERYTHING, branch=bool(form.text("branch")),
        note=form.get("note", ""),
    )  # fmt: skip
    return back(form, _here(form))


def revoke(request: Request, form: Form) -> Response:
    """Revoke a consent or a release."""
    archive_of(request).give.revoke(form.get("consent", ""))
    return back(form, "/give")


def clear(request: Request, form: Form) -> Response:
    """Release photographs that were looked through."""
    codes = photographs_in(form.get("photographs", ""))
    archive_of(request).give.release(
        codes, form.get("to", ""), what=form.text("what") or WORDS, looked_by=form.get("by", "")
    )
    return back(form, _here(form))


def private(request: Request, form: Form) -> Response:
    """Mark photographs private, or no longer."""
    codes = photographs_in(form.get("photographs", ""))
    archive_of(request).give.mark_private(codes, private=form.text("what") != "no longer")
    return back(form, "/give")


routes = [
    get_route("/give", give),
    get_route("/give/made.zip", download),
    post_route("/give/make", make),
    post_route("/give/stop", stop),
    get_route("/give/sheets.pdf", sheet),
    get_route("/give/labels.pdf", labels),
    post_route("/give/audience", audience),
    post_route("/give/consent", consent),
    post_route("/give/revoke", revoke),
    post_route("/give/clear", clear),
    post_route("/give/private", private),
]
