"""One photograph: who is in it, when it was taken and why one thinks so, and everything recorded of the object."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from kinphoto.archive.links import Link
from kinphoto.archive.objects import Description
from kinphoto.archive.sentences import age_words
from kinphoto.archive.statements import Said, Tie
from kinphoto.archive.wording import life_years
from kinphoto.errors import InvalidValueError
from kinphoto.reason import processes
from kinphoto.reason.evidence import AgeBasis, Trust
from kinphoto.web import wording
from kinphoto.web.access import keepers_only, may_see, to_sign_in, visitor
from kinphoto.web.covers import Covers
from kinphoto.web.drawing import strip as drawing
from kinphoto.web.forms import Form, back, posting
from kinphoto.web.render import page

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.archive.mount import Mount, Scanned
    from kinphoto.archive.seated import AgeSaid, Face, Faces, Seated

SAID_BY = "said_by"
"""The cookie that remembers who is being written down for, so that it need not be typed at every face."""


def photograph(request: Request) -> Response:
    """The page. `naming=1` asks the ages first and keeps the date covered until they are given, or `seen=1` says that
    it may be shown; `off` are statements switched off for a look; `scan` chooses what is shown large."""
    archive: Archive = request.app.state.archive
    covers: Covers = request.app.state.covers
    asked = request.query_params
    shown = archive.photograph(request.path_params["code"])
    if not may_see(request, [shown.code]):
        return to_sign_in(request)
    seated = archive.faces(shown.code)
    naming = asked.get("naming") == "1" and visitor(request).keeper
    judged = covers.judged(request, shown.code)
    wanted = naming and not shown.page and _to_be_judged(seated, judged)
    covered = wanted and covers.covered(request, shown.code, asked.get("seen") == "1")
    if not covered and not shown.page:
        covers.note_seen(request, shown.code)
    aside = archive.set_aside()
    faces = _numbered(seated, asked.get("face"), naming, aside, judged if covered else None)
    off = tuple(asked.getlist("off"))
    evidence = None if covered or shown.page else archive.strip(shown.code, off)
    scan = _chosen_scan(shown, asked.get("scan"))
    latest = archive.log(1)
    return page(
        request,
        "photograph.html",
        shown=shown,
        scan=scan,
        framed=scan is shown.recto,
        faces=faces,
        chosen=next((f for f in faces if f.chosen), None),
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
        said_by=request.cookies.get(SAID_BY, ""),
        informants=archive.informant_names(),
        shelf=archive.box_names(),
        last_change=latest[0] if latest and latest[0].undone_by is None and latest[0].undoes is None else None,
        described=_described(shown),
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


@dataclass(frozen=True, slots=True)
class SeatShown:
    """A name on a face, in the words of the page."""

    id: str
    person: str | None
    name: str
    role: str
    rival: bool
    rivals: int
    aside: bool
    ages: tuple[str, ...]
    years: str
    said: str
    kin: str = ""
    then: str = ""


@dataclass(frozen=True, slots=True)
class FaceShown:
    """A face, or somebody who is on none; `key` names it in addresses, `region` is what a form sends to mean it."""

    key: str
    number: int
    region: str | None
    box: tuple[float, float, float, float] | None
    seats: tuple[SeatShown, ...]
    denied: tuple[str, ...]
    chosen: bool
    hidden: bool = False

    @property
    def named(self) -> bool:
        """Whether somebody is named on it."""
        return any(seat.person for seat in self.seats)

    @property
    def aged(self) -> bool:
        """Whether somebody has said how old they look."""
        return any(seat.ages for seat in self.seats)

    @property
    def disputed(self) -> bool:
        """Whether one of its names does not fit with the rest."""
        return any(seat.aside for seat in self.seats)


def _to_be_judged(seated: Faces, judged: frozenset[str]) -> bool:
    """Whether ages are to be asked here: a face has no name or no age, there is no face yet, or this visitor has begun
    to judge, and may frame another."""
    complete = all(any(n.person for n in f.names) and any(n.ages for n in f.names) for f in seated.faces)
    nobody = not seated.faces and not any(seat.person for seat in seated.elsewhere)
    return nobody or not complete or bool(judged)


def _numbered(
    seated: Faces, wanted: str | None, naming: bool, aside: frozenset[str], judged: frozenset[str] | None
) -> list[FaceShown]:
    """The faces with their numbers. Chosen is the one asked for, or when naming the first that nobody is named on or
    that has no age. With `judged` given, only the names on those faces are shown."""
    chosen = wanted or (_first_open(seated, judged) if naming else None)
    shown = [_face(face, number, chosen, aside) for number, face in enumerate(seated.faces, 1)]
    start = len(shown) + 1
    for number, seat in enumerate(seated.elsewhere, start):
        shown.append(FaceShown(seat.id, number, None, None, (_seat(seat, 1, aside),), (), seat.id == chosen))
    return shown if judged is None else [replace(face, hidden=face.key not in judged) for face in shown]


def _first_open(seated: Faces, judged: frozenset[str] | None) -> str | None:
    unnamed = [f.region for f in seated.faces if not any(n.person for n in f.names)]
    ageless = [f.region for f in seated.faces if not any(n.ages for n in f.names) and f.region not in (judged or ())]
    return next(iter(unnamed + ageless), None)


def _face(face: Face, number: int, chosen: str | None, aside: frozenset[str]) -> FaceShown:
    named = sum(1 for seat in face.names if seat.person)
    return FaceShown(
        face.region, number, face.region, face.box,
        tuple(_seat(seat, named, aside) for seat in face.names),
        tuple(_denial(seat) for seat in face.denied), face.region == chosen,
    )  # fmt: skip


def _seat(seat: Seated, rivals: int, aside: frozenset[str]) -> SeatShown:
    said = f"says {seat.informant}" if seat.informant else ""
    return SeatShown(
        seat.id, seat.person, seat.name, str(seat.role), seat.rival, rivals, seat.id in aside,
        tuple(_age(age) for age in seat.ages), life_years(seat.life.begin, seat.life.end),
        "; ".join(filter(None, (said, seat.why, "somebody says that it is not" if seat.contested else ""))),
    )  # fmt: skip


def _denial(seat: Seated) -> str:
    return f"{seat.name} (says {seat.informant})" if seat.informant else seat.name


def _age(age: AgeSaid) -> str:
    verb = "looks" if age.basis is AgeBasis.APPARENT else "aged"
    return f"{verb} {age_words(age.low, age.high)}"


def _alt(shown: Mount, seated: Faces, covered: bool) -> str:
    """What the picture is, for somebody who does not see it: who is on it as far as that is known."""
    names = [seat.name for face in seated.faces for seat in face.names if seat.person][:6]
    what = shown.title or f"The photograph {shown.code}"
    return what if covered or not names else f"{what}: {', '.join(names)}"


def _chosen_scan(shown: Mount, wanted: str | None) -> Scanned | None:
    return next((s for s in shown.scans if str(s.id) == wanted), shown.recto)


def _switched(code: str, off: tuple[str, ...], statement: str) -> str:
    """The address of the page with this statement switched off, or on again."""
    others = [one for one in off if one != statement] if statement in off else [*off, statement]
    query = urlencode([("off", one) for one in others])
    return f"/photograph/{code}{'?' + query if query else ''}#when"


def _described(shown: Mount) -> list[tuple[str, str, str]]:
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
    found = archive.offer(
        code, asked.get("letters", ""), age=asked.get("age") or None,
        region=asked.get("region") or None,
    )  # fmt: skip
    rows = [
        {
            "person": o.id, "name": o.name, "years": life_years(o.life.begin, o.life.end), "kin": o.kin,
            "why": o.why if telling else "", "fits": o.fits,
        }
        for o in found.people
    ]  # fmt: skip
    return JSONResponse({"people": rows})


def name(request: Request, form: Form) -> Response:
    """Put down who is on a face, or that it is not somebody. A name in the tree is found; `new` names somebody who is
    in no tree."""
    archive: Archive = request.app.state.archive
    code = request.path_params["code"]
    newcomer = form.said("new")
    person = archive.add_person(newcomer).id if newcomer else form.said("person") or "-"
    if person == "-" and not form.said("region") and not form.said("age"):
        raise InvalidValueError("nobody was named", remedy="Frame a face, give an age, or type a name.")
    covers: Covers = request.app.state.covers
    blind = form.get("blind") == "1" and covers.covered(request, code, False)
    done, _ = archive.link(
        Link(
            photograph=code, person=person, region=form.said("region"), age=form.said("age"),
            stated_age=form.said("stated_age"), role=form.said("role"), denied=form.get("denied") == "1",
            trust=form.said("trust"), by=form.said("by"), why=form.said("why"),
            blind=blind,
        )
    )  # fmt: skip
    placed = (face for face in archive.faces(code).faces for seat in face.names if seat.id == done.appearance)
    for face in placed:
        covers.note_judged(request, code, face.region)
    archive.date_now([code])
    response = _to(code, form)
    if form.said("by"):
        response.set_cookie(SAID_BY, form["by"].strip(), max_age=12 * 3600, samesite="strict", httponly=True)
    return response


def frame(request: Request, form: Form) -> Response:
    """Move or resize the frame round a face."""
    archive: Archive = request.app.state.archive
    archive.frame(request.path_params["code"], form.get("face", ""), form.get("region", ""))
    return _to(request.path_params["code"], form)


def say(request: Request, form: Form) -> Response:
    """Write down words on it, or when it was taken."""
    archive: Archive = request.app.state.archive
    code = request.path_params["code"]
    said = Said(photograph=code, kind=form.get("kind", ""), date=form.said("date"), text=form.said("text"),
                trust=form.said("trust"), by=form.said("by"))  # fmt: skip
    archive.state(said)
    archive.date_now([code])
    return _to(code, form)


def made(request: Request, form: Form) -> Response:
    """Put down how it was made, or what kind of object it is."""
    archive: Archive = request.app.state.archive
    code = request.path_params["code"]
    kind, _, what = form.get("made", "").partition(" ")
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
    archive.turn_scan(archive.scan_path(int(form.get("scan", "0"))), form.get("turn", ""))
    return _to(request.path_params["code"], form)


def part(request: Request, form: Form) -> Response:
    """Make a scan a photograph of its own."""
    archive: Archive = request.app.state.archive
    parted = archive.part_scan(archive.scan_path(int(form.get("scan", "0"))))
    return RedirectResponse(f"/photograph/{parted.photograph}", 303)


def _to(code: str, form: Form) -> RedirectResponse:
    """Back to the photograph, still naming if that is what was done."""
    if form.get("next"):
        return back_to(form, code)
    return RedirectResponse(f"/photograph/{code}{'?naming=1' if form.get('naming') == '1' else ''}", 303)


def back_to(form: Form, code: str) -> RedirectResponse:
    """On to where the form asks to go, or to the photograph."""
    return back(form, f"/photograph/{code}")


routes = [
    Route("/photograph/{code}", photograph, name="photograph"),
    Route("/photograph/{code}/offers", offers),
    posting("/photograph/{code}/name", name),
    posting("/photograph/{code}/frame", frame),
    posting("/photograph/{code}/say", say),
    posting("/photograph/{code}/made", made),
    posting("/photograph/{code}/relate", relate),
    posting("/photograph/{code}/describe", describe),
    posting("/photograph/{code}/turn", turn),
    posting("/photograph/{code}/part", part),
]
