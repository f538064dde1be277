"""One photograph: who is in it, when it was taken and why one thinks so, and everything recorded of the object."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from urllib.parse import quote, unquote, urlencode

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from kinphoto.archive.catalogue.ages import parse_age
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.archive.statements.descriptions import Description
from kinphoto.archive.words.dates import life_years
from kinphoto.errors import InvalidValueError, KinphotoError, NotFoundError
from kinphoto.reason.model import processes
from kinphoto.reason.model.evidence import Trust
from kinphoto.web import discretion, wording
from kinphoto.web.access import keepers_only, to_sign_in, visitor
from kinphoto.web.covers import Covers
from kinphoto.web.drawing import strip as drawing
from kinphoto.web.faces_shown import Around, numbered, people_in, to_be_judged
from kinphoto.web.forms import Form, back, post_route
from kinphoto.web.render import get_route, page

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.archive.collection.photograph_page import PhotographPage, ScanShown
    from kinphoto.archive.statements.faces import PhotographFaces

GUESSED = 4
"""Faces without a name for whom it is guessed who they could be."""
SAID_BY = "said_by"
"""The cookie that remembers who is being written down for, so that it need not be typed at every face."""


def photograph(request: Request) -> Response:
    """The page. `naming=1` asks the ages first and keeps the date covered until they are given, or `seen=1` says that
    it may be shown; `off` are statements switched off for a look; `scan` chooses what is shown large."""
    archive: Archive = request.app.state.archive
    covers: Covers = request.app.state.covers
    asked = request.query_params
    keeper = visitor(request).keeper
    try:
        shown = archive.photograph(request.path_params["code"], for_anybody=not keeper)
    except KinphotoError:
        if keeper:
            raise
        return to_sign_in(request)  # which photographs there are and what their files are called is not told either
    seated = archive.faces(shown.code)
    if not keeper:
        shown, seated = discretion.object_for_strangers(shown), discretion.faces_for_strangers(seated)
    naming = asked.get("naming") == "1" and keeper
    judged = covers.judged(request, shown.code)
    wanted = naming and not shown.page and to_be_judged(seated, judged)
    covered = wanted and covers.covered(request, shown.code, asked.get("seen") == "1")
    if covered:
        shown = discretion.object_for_judges(shown)
    elif not shown.page and keeper:
        covers.note_seen(request, shown.code)
    aside = archive.set_aside() if keeper else frozenset()
    off = tuple(asked.getlist("off")) if keeper else ()
    evidence = None if covered or shown.page else archive.strip(shown.code, off)
    if evidence is not None and not keeper:
        evidence = discretion.strip_for_strangers(evidence)
    around = Around(aside, archive.kin_phrases(people_in(seated)), evidence.estimate if evidence else None)
    faces = numbered(seated, asked.get("face"), naming, around, judged if covered else None)
    guessing = keeper and not covered and not shown.page and any(not face.named for face in faces)
    guesses = archive.who(shown.code, 5, GUESSED).unnamed if guessing else ()
    scan = _chosen_scan(shown, asked.get("scan"))
    latest = archive.log(1) if keeper else ()
    return page(
        request,
        "photograph.html",
        shown=shown,
        scan=scan,
        framed=scan is shown.recto,
        faces=faces,
        chosen=next((f for f in faces if f.chosen), None),
        guesses={one.region or one.appearance: one for one in guesses},
        naming=naming,
        covered=covered,
        kept_query="?naming=1" if naming else "",
        alt=_alt(shown, seated, covered),
        evidence=evidence,
        drawn=None if evidence is None else drawing.strip(evidence),
        off=off,
        switch=lambda statement: _switched(shown.code, off, statement),
        disputed=evidence is not None and evidence.disputed,
        date_words="" if evidence is None else evidence.words,
        date_note="" if evidence is None else evidence.note,
        said_by=unquote(request.cookies.get(SAID_BY, "")),
        informants=archive.informant_names() if keeper else (),
        last_change=latest[0] if latest and latest[0].undone_by is None and latest[0].undoes is None else None,
        described=_described(shown),
        resting=archive.resting(shown.code).words if keeper else "",
        **_WORDS,
    )


_WORDS: dict[str, Any] = {
    "side_words": wording.SIDES,
    "role_words": wording.ROLES,
    "role_choices": list(wording.ROLES.items()),
    "said_kinds": list(wording.SAID.items()),
    "relation_choices": list(wording.RELATIONS.items()),
    "mark_words": wording.MARKS,
    "trusts": [str(trust) for trust in Trust],
    "made_choices": [
        (kind, words, [p for p in processes.load().values() if p.kind == kind]) for kind, words in wording.MADE.items()
    ],
}


def _alt(shown: PhotographPage, seated: PhotographFaces, covered: bool) -> str:
    """What the picture is, for somebody who does not see it: who is on it as far as that is known."""
    names = [seat.name for face in seated.faces for seat in face.names if seat.person][:6]
    what = shown.title or f"The photograph {shown.code}"
    return what if covered or not names else f"{what}: {', '.join(names)}"


def _chosen_scan(shown: PhotographPage, wanted: str | None) -> ScanShown | None:
    return next((s for s in shown.scans if str(s.id) == wanted), shown.recto)


def _switched(code: str, off: tuple[str, ...], statement: str) -> str:
    """The address of the page with this statement switched off, or on again."""
    others = [one for one in off if one != statement] if statement in off else [*off, statement]
    query = urlencode([("off", one) for one in others])
    return f"/photograph/{code}{'?' + query if query else ''}#when"


def _described(shown: PhotographPage) -> list[tuple[str, str, str]]:
    """The fields of what is known about the object: name, words, value."""
    inside = shown.boxes[-1].name if shown.boxes else ""
    return [(f, words, inside if f == "container" else getattr(shown, f)) for f, words in wording.DESCRIBED.items()]


@keepers_only
def offers(request: Request) -> Response:
    """Who could be on a face, while somebody types: JSON for the script of the page. What speaks for them is not said
    while the date is covered."""
    archive: Archive = request.app.state.archive
    covers: Covers = request.app.state.covers
    asked, code = request.query_params, request.path_params["code"]
    telling = not covers.covered(request, code, False)  # what speaks for somebody tells when it was
    age, unread = asked.get("age") or None, ""
    if age:
        try:
            parse_age(age)
        except InvalidValueError as problem:  # said at once, and whoever it could be is offered all the same
            age, unread = None, str(problem)
    found = archive.offer(code, asked.get("letters", ""), age=age, region=asked.get("region") or None)
    rows = [
        {
            "person": o.id, "name": o.name, "years": life_years(o.life.begin, o.life.end), "kin": o.kin,
            "why": o.why if telling else "", "fits": o.fits,
        }
        for o in found.people
    ]  # fmt: skip
    return JSONResponse({"people": rows, "unread": unread})


def name(request: Request, form: Form) -> Response:
    """Put down who is on a face, or that it is not somebody. A name in the tree is found; `new` names somebody who is
    in no tree."""
    archive: Archive = request.app.state.archive
    code = request.path_params["code"]
    newcomer, person = form.said("new"), form.said("person") or "-"
    if not newcomer and person == "-" and not form.said("region") and not form.said("age"):
        raise InvalidValueError("nobody was named", remedy="Frame a face, give an age, or type a name.")
    covers: Covers = request.app.state.covers
    blind = form.get("blind") == "1" and _judges_blind(request, code, form.said("region"))
    said = Link(
        photograph=code, person=person, region=form.said("region"), age=form.said("age"),
        stated_age=form.said("stated_age"), role=form.said("role"), denied=form.get("denied") == "1",
        trust=form.said("trust"), by=form.said("by"), why=form.said("why"), blind=blind,
    )  # fmt: skip
    done, _ = archive.link_newcomer(said, newcomer) if newcomer else archive.link(said)
    placed = (face for face in archive.faces(code).faces for seat in face.names if seat.id == done.appearance)
    for face in placed:
        covers.note_judged(request, code, face.region)
    archive.date_now([code])
    response = _to(code, form)
    if form.said("by"):
        response.set_cookie(SAID_BY, quote(form["by"].strip()), max_age=12 * 3600, samesite="strict", httponly=True)
    return response


def _judges_blind(request: Request, code: str, region: str | None) -> bool:
    """Whether this visitor has seen neither the date of the photograph nor who is on this face."""
    archive: Archive = request.app.state.archive
    covers: Covers = request.app.state.covers
    if not covers.covered(request, code, False):
        return False
    judged = covers.judged(request, code)
    on_those = {seat.id for face in archive.faces(code).faces if face.region in judged for seat in face.names}
    return (region or "").upper() not in judged | on_those


def frame(request: Request, form: Form) -> Response:
    """Move or resize the frame round a face."""
    archive: Archive = request.app.state.archive
    archive.frame(request.path_params["code"], form.get("face", ""), form.get("region", ""))
    return _to(request.path_params["code"], form)


def unname(request: Request, form: Form) -> Response:
    """Take a name off its face, which stays."""
    archive: Archive = request.app.state.archive
    code = request.path_params["code"]
    archive.unname(form.get("statement", ""))
    archive.date_now([code])
    return _to(code, form)


def say(request: Request, form: Form) -> Response:
    """Write down words on it, or when it was taken."""
    archive: Archive = request.app.state.archive
    code = request.path_params["code"]
    said = NewClaim(photograph=code, kind=form.get("kind", ""), date=form.said("date"), text=form.said("text"),
                trust=form.said("trust"), by=form.said("by"))  # fmt: skip
    archive.state(said)
    archive.date_now([code])
    return _to(code, form)


def made(request: Request, form: Form) -> Response:
    """Put down how it was made, or what kind of object it is."""
    archive: Archive = request.app.state.archive
    code = request.path_params["code"]
    kind, _, what = form.get("made", "").partition(" ")
    if kind not in wording.MADE:
        raise InvalidValueError("no process and no format was chosen", remedy="Choose one from the list.")
    archive.record_made(code, kind, what, by=form.said("by"))
    archive.date_now([code])
    return _to(code, form)


def relate(request: Request, form: Form) -> Response:
    """Put down how it hangs together with another photograph."""
    archive: Archive = request.app.state.archive
    code = request.path_params["code"]
    archive.relate(Tie(photograph=code, relation=form.get("relation", ""), other=form.get("other", ""),
                       by=form.said("by")))  # fmt: skip
    archive.date_now([code])
    return _to(code, form)


def describe(request: Request, form: Form) -> Response:
    """Save what is known about the object, unless somebody else changed the same field meanwhile."""
    archive: Archive = request.app.state.archive
    code = request.path_params["code"]
    was = {field: form.get(f"was_{field}", "") for field in wording.DESCRIBED}
    now = {field: form.get(field, "").strip() for field in wording.DESCRIBED}
    fresh = {field: value for field, value in now.items() if value != was[field].strip()}
    if fresh:
        archive.describe(code, Description(**fresh), instead_of=Description(**{field: was[field] for field in fresh}))
    return _to(code, form)


def turn(request: Request, form: Form) -> Response:
    """Turn a scan upright."""
    archive: Archive = request.app.state.archive
    archive.turn_scan(_path_of_scan(request, form), form.get("turn", ""))
    return _to(request.path_params["code"], form)


def part(request: Request, form: Form) -> Response:
    """Make a scan a photograph of its own."""
    archive: Archive = request.app.state.archive
    parted = archive.part_scan(_path_of_scan(request, form))
    archive.date_now()
    return RedirectResponse(f"/photograph/{parted.photograph}", 303)


def replace(request: Request, form: Form) -> Response:
    """Use a better scan, which is in the archive already, instead of one of this photograph."""
    archive: Archive = request.app.state.archive
    code, better = request.path_params["code"], form.said("better")
    if better is None:
        raise InvalidValueError("no scan was named", remedy="Give the code of the better one, or its file's name.")
    new = archive.photograph(better).recto
    if new is None:
        raise NotFoundError(f"no scan of {better} is left", remedy="Bring the better scan in first.")
    archive.replace_scan(_path_of_scan(request, form), new.path, turn=form.said("turn"))
    return _to(code, form)


def remove(request: Request, form: Form) -> Response:
    """Take the photograph, or one scan of it, out of the archive; then to the log, which takes it back."""
    archive: Archive = request.app.state.archive
    code = request.path_params["code"]
    if form.said("scan"):
        archive.remove([_path_of_scan(request, form)], with_statements=False)
        return _to(code, form)
    archive.remove([code], with_statements=form.get("with_statements") == "1")
    return RedirectResponse("/log", 303)


def _path_of_scan(request: Request, form: Form) -> str:
    """The file of the scan that a form means. Raises NotFoundError when the photograph has no such scan."""
    archive: Archive = request.app.state.archive
    shown, wanted = archive.photograph(request.path_params["code"]), form.number("scan")
    path = next((scan.path for scan in shown.scans if scan.id == wanted), None)
    if path is None:
        raise NotFoundError(f"{shown.code} has no such scan", remedy="It may have been moved: reload the page.")
    return path


def _to(code: str, form: Form) -> RedirectResponse:
    """On to where the form asks to go; else back to the photograph, still naming if that is what was done."""
    return back(form, f"/photograph/{code}{'?naming=1' if form.get('naming') == '1' else ''}")


routes = [
    get_route("/photograph/{code}", photograph),
    Route("/photograph/{code}/offers", offers),
    post_route("/photograph/{code}/name", name),
    post_route("/photograph/{code}/frame", frame),
    post_route("/photograph/{code}/unname", unname),
    post_route("/photograph/{code}/say", say),
    post_route("/photograph/{code}/made", made),
    post_route("/photograph/{code}/relate", relate),
    post_route("/photograph/{code}/describe", describe),
    post_route("/photograph/{code}/turn", turn),
    post_route("/photograph/{code}/part", part),
    post_route("/photograph/{code}/replace", replace),
    post_route("/photograph/{code}/remove", remove),
]
