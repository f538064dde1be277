"""The evening's questions for one informant, the most useful first; each is answered where it is shown."""

from __future__ import annotations

from threading import Thread
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, dated_and_back, last_informant, post_route, remember_informant
from kinphoto.web.render import get_route, page

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.archive.asking.questions import AskedQuestion

AT_ONCE = 8
"""Questions on a page."""
MOST_PASSED = 200
"""Questions that can be skipped in one evening: an address cannot be endless."""


@keepers_only
def questions(request: Request) -> Response:
    """The page. `of` is the informant; `passed` are questions that nobody present knew an answer to."""
    archive = archive_of(request)
    asked = request.query_params
    of = asked.get("of") or None
    passed = asked.getlist("passed")[-MOST_PASSED:]
    evening = archive.asking.kept_questions(of)
    if not archive.asking.has_current_questions():
        _work_out_again(request, archive)
    waiting = [q for q in evening.questions if q.key not in passed]
    shown = waiting[:AT_ONCE]
    for q in shown:
        if q.kind == "age":  # the question shows whose face it is, so the age is no longer judged blind
            request.app.state.seen.note_seen(request, q.photographs[0])
    codes = {code for q in shown for code in q.photographs}
    pictures = {one.code: one for one in archive.photographs.cards(sorted(codes))}
    return page(
        request,
        "questions.html",
        evening=evening,
        shown=shown,
        more=len(waiting) - len(shown),
        passed=len(passed),
        pictures=pictures,
        face={q.key: src for q in shown if q.region and (src := _face(archive, q.region))},
        guesses={q.key: _guesses(archive, q) for q in shown if q.kind == "who"},
        informants=archive.statements.informant_names(),
        last_informant=evening.informant or last_informant(request),
        address=lambda key=None: _address(evening.informant, [*passed, *([key] if key else [])]),
        fresh=archive.dates.freshness().fresh,
    )


def _work_out_again(request: Request, archive: Archive) -> None:
    """Make the list anew behind what is shown, one at a time."""
    state = request.app.state
    running = getattr(state, "asking", None)
    if running is None or not running.is_alive():
        state.asking = Thread(target=archive.asking.work_out_questions, name="questions", daemon=True)
        state.asking.start()


def _face(archive: Archive, region: str) -> str | None:
    """The address of a face's picture; None where its photograph has no scan."""
    try:
        return f"/face/{region[1:]}.jpg?v={archive.scans.face_picture(int(region[1:])).version}"
    except NotFoundError:
        return None


def _guesses(archive: Archive, q: AskedQuestion) -> list[dict[str, Any]]:
    """Who the unnamed person could be: five at most."""
    found = next(
        (one for one in archive.asking.candidates(q.photographs[0], 5).unnamed if one.appearance == q.appearance), None
    )
    return [] if found is None else [{"person": s.person, "name": s.name} for s in found.suggestions]


def _address(of: str | None, passed: list[str]) -> str:
    """The page with these questions skipped."""
    query = urlencode([*([("of", of)] if of else []), *(("passed", key) for key in passed)])
    return f"/questions{'?' + query if query else ''}"


def answer(request: Request, form: Form) -> Response:
    """Save an answer, through the same methods as everywhere, and go on to the next question."""
    kind, codes = form.get("kind", ""), form.all("photograph")
    if kind not in _ANSWERS or not codes:
        raise InvalidValueError("that question has changed", remedy="Reload the page and answer it again.")
    _ANSWERS[kind](archive_of(request), codes, form)
    return remember_informant(dated_and_back(request, form, "/questions", codes), form)


def _age(archive: Archive, codes: list[str], form: Form) -> None:
    if not form.text("age"):
        raise InvalidValueError("no age was typed", remedy="Type years, like 30 or 25-30, or skip it.")
    archive.statements.link(
        Link(photograph=codes[0], person=form.get("person", ""), region=form.text("region"), age=form.text("age"),
             by=form.text("by"))
    )  # fmt: skip


def _date(archive: Archive, codes: list[str], form: Form) -> None:
    if not form.text("date"):
        raise InvalidValueError("no date was typed", remedy="Type a year, like 1931 or about 1930, or skip it.")
    archive.statements.record(
        NewClaim(
            photograph=codes[0], kind="recollection", date=form.text("date"), text=form.text("text"), by=form.text("by")
        )
    )


def _order(archive: Archive, codes: list[str], form: Form) -> None:
    """Which came first: one of the two, or both on one occasion."""
    first = form.get("first", "")
    if len(codes) != 2 or first not in (*codes, "both"):
        raise InvalidValueError("neither of the two was chosen", remedy="Press one of the buttons.")
    one, other = codes if first != codes[1] else codes[::-1]
    relation = "same-occasion" if first == "both" else "before"
    archive.statements.relate(Tie(photograph=one, relation=relation, other=other, by=form.text("by")))


def _who(archive: Archive, codes: list[str], form: Form) -> None:
    person = form.text("guess") or form.text("person")
    if person is None:
        raise InvalidValueError("nobody was named", remedy="Type a name, or skip it.")
    archive.statements.link(Link(photograph=codes[0], person=person, region=form.text("region"), by=form.text("by")))


_ANSWERS = {"age": _age, "date": _date, "order": _order, "who": _who}

routes = [get_route("/questions", questions), post_route("/questions", answer)]
