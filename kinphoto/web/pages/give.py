"""What leaves the archive: for whom, what goes and what stays, who agreed, and sheets to print."""

from __future__ import annotations

import tempfile
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.archive.catalogue.consents import EVERYTHING, HOUSEHOLD, NOTHING, PICTURES, PUBLIC, WORDS
from kinphoto.archive.giving.selection import Wanted
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, back, post_route
from kinphoto.web.render import get_route, page

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
    return page(
        request, "give.html", audiences=audiences, chosen=chosen, report=archive.give.kept_report(chosen),
        consents=archive.give.consents(revoked=True), most=SHOWN, household=HOUSEHOLD, public=PUBLIC,
        informants=archive.statements.informant_names(),
    )  # fmt: skip


@keepers_only
def sheet(request: Request) -> Response:
    """Sheets for somebody, as a PDF to print."""
    asked = request.query_params
    whom = " ".join(asked.get("ask", "").split())[:100]
    if not whom:
        raise InvalidValueError("it has to be known who is asked", remedy="Type a name, such as Aunt Edda.")
    with tempfile.TemporaryDirectory(prefix="kinphoto-") as folder:
        path = Path(folder, "sheets.pdf")
        photographs = tuple(asked.get("photographs", "").replace(",", " ").split())[:100]
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
    codes = form.get("photographs", "").replace(",", " ").split()
    archive_of(request).give.release(
        codes, form.get("to", ""), what=form.text("what") or WORDS, looked_by=form.get("by", "")
    )
    return back(form, _here(form))


def private(request: Request, form: Form) -> Response:
    """Mark photographs private, or no longer."""
    codes = form.get("photographs", "").replace(",", " ").split()
    archive_of(request).give.mark_private(codes, private=form.text("what") != "no longer")
    return back(form, "/give")


routes = [
    get_route("/give", give),
    get_route("/give/sheets.pdf", sheet),
    get_route("/give/labels.pdf", labels),
    post_route("/give/audience", audience),
    post_route("/give/consent", consent),
    post_route("/give/revoke", revoke),
    post_route("/give/clear", clear),
    post_route("/give/private", private),
]
