"""One photograph: who is in it, when it was probably taken and why, and everything recorded of the object."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

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
from kinphoto.web.access import archive_of, keepers_only, to_sign_in, visitor
from kinphoto.web.answer_effects import answer_effect
from kinphoto.web.done import has_answered, next_step
from kinphoto.web.drawing import strip as drawing
from kinphoto.web.faces_shown import FaceContext, faces_shown, offers_shown, people_named, to_be_judged
from kinphoto.web.forms import Form, back, dated_and_back, last_informant, post_route, remember_informant
from kinphoto.web.pages.stories import lasts
from kinphoto.web.render import get_route, page
from kinphoto.web.seen import SeenByVisitors

if TYPE_CHECKING:
    from kinphoto.archive.collection.photograph_page import PhotographPage, ScanShown
    from kinphoto.archive.statements.recorded_faces import PhotographFaces

GUESSED = 4
"""Unnamed faces for which names are suggested."""


def photograph(request: Request) -> Response:
    """The page. `naming=1` asks the ages first and keeps the date covered until they are given, or `seen=1` says that
    it may be shown; `off` are statements switched off for a look; `scan` chooses what is shown large."""
    archive = archive_of(request)
    seen: SeenByVisitors = request.app.state.seen
    asked = request.query_params
    keeper = visitor(request).keeper
    try:
        shown = archive.photographs.details(request.path_params["code"], for_anybody=not keeper)
    except KinphotoError:
        if keeper:
            raise
        return to_sign_in(request)  # which photographs there are and what their files are called stays hidden too
    recorded = archive.photographs.faces(shown.code)
    if not keeper:
        shown, recorded = discretion.photograph_for_strangers(shown), discretion.faces_for_strangers(recorded)
    naming = asked.get("naming") == "1" and keeper
    judged = seen.judged(request, shown.code)
    wanted = naming and not shown.page and to_be_judged(recorded, judged)
    covered = wanted and seen.covered(request, shown.code, asked.get("seen") == "1")
    if covered:
        shown = discretion.photograph_for_judges(shown)
    elif not shown.page and keeper:
        seen.note_seen(request, shown.code)
    aside = archive.dates.statements_set_aside() if keeper else frozenset()
    off = tuple(asked.getlist("off")) if keeper else ()
    evidence = None if covered or shown.page else archive.dates.evidence_strip(shown.code, off)
    if evidence is not None and not keeper:
        evidence = discretion.strip_for_strangers(evidence)
    whole = archive.dates.evidence_strip(shown.code) if evidence is not None and off else None
    context = FaceContext(
        aside, archive.people.kin_phrases(people_named(recorded)), evidence.estimate if evidence else None
    )
    faces = faces_shown(recorded, asked.get("face"), naming, context, judged if covered else None)
    offered = next(iter(archive.faces.offers([shown.code])), None) if keeper and not shown.page else None
    if offered is not None:
        chosen = asked.get("face") or (offered.frames[0].id if naming and offered.frames else None)
        faces += offers_shown(offered.frames, len(faces), None if any(face.chosen for face in faces) else chosen)
    guessing = keeper and not covered and not shown.page and any(not face.named and not face.offered for face in faces)
    guesses = archive.asking.candidates(shown.code, 5, GUESSED).unnamed if guessing else ()
    scan = _chosen_scan(shown, asked.get("scan"))
    checked = archive.scans.findings([shown.code]).scans if keeper and scan else ()
    prints = archive.scans.prints_on(scan.id) if keeper and shown.page and scan else ()
    return page(
        request,
        "photograph.html",
        shown=shown,
        scan=scan,
        told=archive.stories.about(shown.code) if keeper and not covered else (),
        lasts=lasts,
        checked=next((one for one in checked if scan and one.id == scan.id and one.verdict != "good"), None),
        framed=scan is shown.recto,
        prints=prints,
        on_page={
            each.code: each
            for each in archive.photographs.cards([each.photograph for each in prints if each.photograph])
        },
        faces=faces,
        chosen=next((f for f in faces if f.chosen), None),
        offered=offered,
        guesses={one.region or one.appearance: one for one in guesses},
        naming=naming,
        covered=covered,
        kept_query="?naming=1" if naming else "",
        through=urlencode({"container": shown.boxes[-1].id if shown.boxes else 0}),
        alt=_alt(shown, recorded, covered),
        evidence=evidence,
        drawn=None if evidence is None else drawing.strip(evidence, whole),
        whole=whole,
        off=off,
        switch=lambda statement: _switched(shown.code, off, statement),
        disputed=evidence is not None and evidence.disputed,
        date_words="" if evidence is None else evidence.words,
        date_note="" if evidence is None else evidence.note,
        last_informant=last_informant(request),
        informants=archive.statements.informant_names() if keeper else (),
        last_change=archive.statements.newest_change() if keeper else None,
        step=next_step(request) if keeper else None,
        through_faces=covered and has_answered(request, shown.code) and all(f.key in judged for f in faces if f.region),
        did=answer_effect(request, shown.code) if keeper and not covered and not shown.page else None,
        described=_described(shown),
        resting=archive.photographs.removal_preview(shown.code).words if keeper else "",
        **_WORDS,
    )


_WORDS: dict[str, Any] = {
    "side_words": wording.SIDES,
    "role_words": wording.ROLES,
    "role_choices": list(wording.ROLES.items()),
    "statement_kinds": list(wording.DATED.items()),
    "relation_choices": list(wording.RELATIONS.items()),
    "mark_words": wording.MARKS,
    "trusts": [str(trust) for trust in Trust],
    "made_choices": [
        (kind, words, [p for p in processes.load().values() if p.kind == kind]) for kind, words in wording.MADE.items()
    ],
}


def _alt(shown: PhotographPage, recorded: PhotographFaces, covered: bool) -> str:
    """What the picture is, for somebody who does not see it: who is on it as far as that is known."""
    names = [one.name for face in recorded.faces for one in face.names if one.person][:6]
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
    """Who could be on a face, while somebody types: JSON for the script of the page. The reasons are left out
    while the date is hidden."""
    seen: SeenByVisitors = request.app.state.seen
    asked, code = request.query_params, request.path_params["code"]
    with_reasons = not seen.covered(request, code, False)  # they could give the date away
    age, unread = asked.get("age") or None, ""
    if age:
        try:
            parse_age(age)
        except InvalidValueError as problem:  # shown right away; names are offered all the same
            age, unread = None, str(problem)
    found = archive_of(request).asking.name_suggestions(
        code, asked.get("letters", ""), age=age, region=asked.get("region") or None
    )
    rows = [
        {
            "person": o.id, "name": o.name, "years": life_years(o.life.begin, o.life.end), "kin": o.kin,
            "why": o.why if with_reasons else "", "fits": o.fits,
        }
        for o in found.people
    ]  # fmt: skip
    return JSONResponse({"people": rows, "unread": unread})


def name(request: Request, form: Form) -> Response:
    """Save who is on a face, or that it is not somebody. A name in the tree is found; `new` names somebody who is
    in no tree."""
    archive = archive_of(request)
    code = request.path_params["code"]
    newcomer, person = form.text("new"), form.text("person") or "-"
    if not newcomer and person == "-" and not form.text("region") and not form.text("age"):
        raise InvalidValueError("nobody was named", remedy="Frame a face, give an age, or type a name.")
    seen: SeenByVisitors = request.app.state.seen
    blind = form.get("blind") == "1" and _judges_blind(request, code, form.text("region"))
    link = Link(
        photograph=code, person=person, region=form.text("region"), age=form.text("age"),
        stated_age=form.text("stated_age"), role=form.text("role"), denied=form.get("denied") == "1",
        trust=form.text("trust"), by=form.text("by"), why=form.text("why"), blind=blind,
    )  # fmt: skip
    done, _ = archive.statements.link_newcomer(link, newcomer) if newcomer else archive.statements.link(link)
    if not (link.age or newcomer or form.text("person") or "," not in (link.region or "")):
        return remember_informant(_dated_and_to(request, form), form)  # a face is framed, and nothing said of it yet
    placed = (face for face in archive.photographs.faces(code).faces for one in face.names if one.id == done.appearance)
    for face in placed:
        seen.note_judged(request, code, face.region)
    return remember_informant(_dated_and_to(request, form), form)


def _judges_blind(request: Request, code: str, region: str | None) -> bool:
    """Whether this visitor has seen neither the date of the photograph nor who is on this face."""
    seen: SeenByVisitors = request.app.state.seen
    if not seen.covered(request, code, False):
        return False
    judged = seen.judged(request, code)
    faces = archive_of(request).photographs.faces(code).faces
    names = {one.id for face in faces if face.region in judged for one in face.names}
    return (region or "").upper() not in judged | names


def frame(request: Request, form: Form) -> Response:
    """Move or resize the frame round a face; one that is only offered is accepted where it was moved to."""
    code, face, region = request.path_params["code"], form.get("face", ""), form.get("region", "")
    if face.upper().startswith("F"):
        archive_of(request).faces.accept(code, [face], region)
    else:
        archive_of(request).statements.move_face(code, face, region)
    return _to(request, form)


def unname(request: Request, form: Form) -> Response:
    """Remove a name from its face, which stays."""
    archive_of(request).statements.take_name_off(form.get("statement", ""))
    return _dated_and_to(request, form)


def say(request: Request, form: Form) -> Response:
    """Write down words on it, or when it was taken."""
    claim = NewClaim(
        photograph=request.path_params["code"], kind=form.get("kind", ""), date=form.text("date"),
        text=form.text("text"), trust=form.text("trust"), by=form.text("by"),
    )  # fmt: skip
    archive_of(request).statements.record(claim)
    return _dated_and_to(request, form)


def made(request: Request, form: Form) -> Response:
    """Save how it was made, or what kind of object it is."""
    kind, _, what = form.get("made", "").partition(" ")
    if kind not in wording.MADE:
        raise InvalidValueError("no process or format was chosen", remedy="Choose one from the list.")
    archive_of(request).statements.record_making(request.path_params["code"], kind, what, by=form.text("by"))
    return _dated_and_to(request, form)


def relate(request: Request, form: Form) -> Response:
    """Link it to another photograph."""
    tie = Tie(
        photograph=request.path_params["code"], relation=form.get("relation", ""), other=form.get("other", ""),
        by=form.text("by"),
    )  # fmt: skip
    archive_of(request).statements.relate(tie)
    return _dated_and_to(request, form)


def describe(request: Request, form: Form) -> Response:
    """Save what is known about the object, unless somebody else changed the same field meanwhile."""
    code = request.path_params["code"]
    was = {field: form.get(f"was_{field}", "") for field in wording.DESCRIBED}
    now = {field: form.get(field, "").strip() for field in wording.DESCRIBED}
    fresh = {field: value for field, value in now.items() if value != was[field].strip()}
    if fresh:
        archive_of(request).photographs.describe(
            code, Description(**fresh), instead_of=Description(**{field: was[field] for field in fresh})
        )
    return _to(request, form)


def turn(request: Request, form: Form) -> Response:
    """Turn a scan upright."""
    archive_of(request).scans.turn(_path_of_scan(request, form), form.get("turn", ""))
    return _to(request, form)


def part(request: Request, form: Form) -> Response:
    """Make a scan a photograph of its own."""
    parted = archive_of(request).scans.separate(_path_of_scan(request, form))
    return dated_and_back(request, form, f"/photograph/{parted.photograph}")


def replace(request: Request, form: Form) -> Response:
    """Use a better scan, which is in the archive already, instead of one of this photograph."""
    archive = archive_of(request)
    better = form.text("better")
    if better is None:
        raise InvalidValueError("no better scan was named", remedy="Give its code or its file name.")
    new = archive.photographs.details(better).recto
    if new is None:
        raise NotFoundError(f"{better} has no scan", remedy="Add the better scan first.")
    archive.scans.replace(_path_of_scan(request, form), new.path, turn=form.text("turn"))
    return _to(request, form)


def remove(request: Request, form: Form) -> Response:
    """Take the photograph, or one scan of it, out of the archive; then to the history, where that can be undone."""
    archive = archive_of(request)
    code = request.path_params["code"]
    if form.text("scan"):
        archive.photographs.remove([_path_of_scan(request, form)], with_statements=False)
        return _to(request, form)
    archive.photographs.remove([code], with_statements=form.get("with_statements") == "1")
    return RedirectResponse("/log", 303)


def _path_of_scan(request: Request, form: Form) -> str:
    """The file of the scan that a form means. Raises NotFoundError when the photograph has no such scan."""
    shown, wanted = archive_of(request).photographs.details(request.path_params["code"]), form.number("scan")
    path = next((scan.path for scan in shown.scans if scan.id == wanted), None)
    if path is None:
        raise NotFoundError(f"{shown.code} has no such scan", remedy="It may have been moved. Reload the page.")
    return path


def _to(request: Request, form: Form) -> RedirectResponse:
    """On to where the form asks to go; else back to the photograph, still naming if that is what was done."""
    return back(form, f"/photograph/{request.path_params['code']}{'?naming=1' if form.get('naming') == '1' else ''}")


def _dated_and_to(request: Request, form: Form) -> RedirectResponse:
    """The same, with the dates estimated again that this photograph has a part in."""
    archive_of(request).dates.refresh_photographs([request.path_params["code"]])
    return _to(request, form)


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
