"""Reading what is written on a photograph: the words are typed with the back in view, and dates in them are offered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.words.dates import reading_in_words
from kinphoto.errors import InvalidValueError, KinphotoError
from kinphoto.gedcom.dates_in_text import DateFound
from kinphoto.web import wording
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.carried import sent_by_script
from kinphoto.web.forms import Form, last_informant, post_route, remember_informant, whole_number
from kinphoto.web.render import get_route, page
from kinphoto.web.seen import SeenByVisitors

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.archive.collection.photograph_page import PhotographPage, ScanShown, StatementShown


@keepers_only
def read(request: Request) -> Response:
    """The page, with nothing typed yet; `scan` is what is read, otherwise the back."""
    return _page(request, Form([("scan", request.query_params.get("scan", ""))]))


def typed(request: Request, form: Form) -> Response:
    """Save the words, with the date that was chosen. `look` only looks for dates in them, and another `scan` is only
    shown; then the page comes back with everything that was typed, as it does when the words cannot be saved."""
    if form.get("do") != "save":
        return _page(request, form)
    try:
        return _save(request, form)
    except InvalidValueError as problem:
        if sent_by_script(request):  # the page is still there, with what was typed
            raise
        return _page(request, form, problem)


def _save(request: Request, form: Form) -> Response:
    code = request.path_params["code"]
    chosen = form.text("choice") or form.text("date")
    if chosen is None and form.text("text") is None:
        raise InvalidValueError("nothing was typed", remedy="Type the words as they are written.")
    claim = NewClaim(
        photograph=code, kind=form.get("kind", "inscription"), date=chosen, text=form.text("text"), by=form.text("by")
    )
    archive = archive_of(request)
    archive.statements.record(claim)
    archive.dates.refresh_photographs([code])
    scan = whole_number(form.text("showing"))
    return remember_informant(RedirectResponse(f"/photograph/{code}/back{f'?scan={scan}' if scan else ''}", 303), form)


def _page(request: Request, form: Form, problem: KinphotoError | None = None) -> Response:
    archive = archive_of(request)
    shown = archive.photographs.details(request.path_params["code"])
    seen: SeenByVisitors = request.app.state.seen
    if not shown.page:
        seen.note_seen(request, shown.code)  # a back gives the date away
    read_here = _scan_read(shown, form.get("scan") or form.get("showing", ""))
    beside = [one for one in shown.scans if one is not read_here and not one.superseded]
    told = archive.statements
    typed_date = form.text("date")
    return page(
        request,
        "reading.html",
        200 if problem is None else 422,
        shown=shown,
        scan=read_here,
        beside=sorted(beside, key=lambda one: one.side != "recto"),
        typed=form,
        problem=problem,
        typed_date=told.date_typed(shown.code, typed_date, form.text("by")) if typed_date else None,
        found=told.dates_in_words(shown.code, form.get("text", ""), form.text("by")),
        in_words=reading_in_words,
        statement_kinds=list(wording.DATED.items()),
        mark_words=wording.MARKS,
        side_words=wording.SIDES,
        informants=archive.statements.informant_names(),
        last_informant=last_informant(request),
        recorded=_recorded(archive, shown),
    )


def _scan_read(shown: PhotographPage, wanted: str) -> ScanShown | None:
    """The scan that is read: the one asked for, else the first back, else the front."""
    backs = [one for one in shown.scans if one.side == "verso" and not one.superseded]
    asked = [one for one in shown.scans if str(one.id) == wanted]
    return next(iter((*asked, *backs)), shown.recto)


def _recorded(archive: Archive, shown: PhotographPage) -> list[tuple[StatementShown, tuple[DateFound, ...]]]:
    """The words that are recorded already, each with the dates in it where none is used."""
    return [
        (mark, () if mark.date else archive.statements.dates_in_words(shown.code, mark.words, mark.informant))
        for mark in shown.marks
        if mark.kind in wording.DATED and mark.words and not mark.withdrawn and mark.kind != "event"
    ]


routes = [
    get_route("/photograph/{code}/back", read),
    post_route("/photograph/{code}/back", typed),
]
