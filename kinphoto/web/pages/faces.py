"""Faces found by this computer: what happens, turning it on and off, the search with its progress, and deciding on what
it offers for one photograph."""

from __future__ import annotations

from threading import Event

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.archive.faces.alike import FaceAlike
from kinphoto.archive.faces.searching import FacesSearched
from kinphoto.errors import InvalidValueError
from kinphoto.phrases import counted
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, back, dated_and_back, last_informant, post_route, remember_informant
from kinphoto.web.jobs import Jobs
from kinphoto.web.render import get_route, page

HERE = "/faces"
WHAT = "looking for faces"
GROUPS = 20
"""Groups of faces on one page."""
MOST = 60
"""Photographs with offers that are listed."""


@keepers_only
def faces(request: Request) -> Response:
    """What it does and its state, and the photographs that something is offered for."""
    archive = archive_of(request)
    jobs: Jobs = request.app.state.jobs
    found = archive.faces.offers()
    cards = archive.photographs.cards([each.photograph for each in found[:MOST]])
    return page(
        request, "faces.html", state=archive.faces.state(), offers=found[:MOST], more=max(len(found) - MOST, 0),
        cards={card.code: card for card in cards}, frames=sum(len(each.frames) for each in found),
        job=jobs.last if jobs.last is not None and jobs.last.what == WHAT else None,
    )  # fmt: skip


@keepers_only
def alike(request: Request) -> Response:
    """Faces without a name that look alike, side by side, and names that look doubtful."""
    archive = archive_of(request)
    found = archive.faces.alike()
    return page(
        request, "faces_alike.html", state=archive.faces.state(), groups=found.groups[:GROUPS],
        doubtful=found.doubtful[:GROUPS], more=max(len(found.groups) - GROUPS, 0), picture=_picture_address,
        last_informant=last_informant(request), informants=archive.statements.informant_names(),
    )  # fmt: skip


def _picture_address(face: FaceAlike) -> str:
    """Where the picture of a face is."""
    return f"/face/{face.face[1:]}.jpg" if face.face.startswith("R") else f"/face-on-offer/{face.face[1:]}.jpg"


def name_together(request: Request, form: Form) -> Response:
    """Name the faces that were chosen as one person."""
    archive = archive_of(request)
    person = form.text("person")
    if person is None:
        raise InvalidValueError("nobody was named", remedy="Type who it is.")
    done = archive.faces.name_together(person, form.all("face"), by=form.text("by"))
    codes = [one.photograph for one in done]
    return remember_informant(dated_and_back(request, form, f"{HERE}/alike", codes), form)


def lay_apart(request: Request, form: Form) -> Response:
    """Those of a group that were left out are somebody else than those that are chosen."""
    chosen = form.all("face")
    left_out = [face for face in form.all("group") if face not in chosen]
    if left_out and not chosen:
        raise InvalidValueError("nobody is left in the group", remedy="Keep the tick on those that may be one person.")
    archive_of(request).faces.lay_apart(left_out, chosen)
    return back(form, f"{HERE}/alike")


def name_is_right(request: Request, form: Form) -> Response:
    """However unlike the face looks: it is not asked about again."""
    archive_of(request).faces.lay_apart(form.all("face"))
    return back(form, f"{HERE}/alike")


def turn_on(request: Request, form: Form) -> Response:
    """Turn it on, or change what it may do."""
    archive_of(request).faces.turn_on(
        form.text("by") or "", living=form.get("living") == "1", compare=form.get("compare") == "1"
    )
    return RedirectResponse(HERE, 303)


def turn_off(request: Request, form: Form) -> Response:
    """Erase everything and search no more."""
    jobs: Jobs = request.app.state.jobs
    jobs.stop(WHAT)
    archive_of(request).faces.turn_off()
    return RedirectResponse(HERE, 303)


def leave_out(request: Request, form: Form) -> Response:
    """Erase the descriptions of somebody's faces, and make none again."""
    person = form.text("person")
    if person is None:
        raise InvalidValueError("nobody was named", remedy="Type who it is.")
    archive_of(request).faces.leave_out(person)
    return RedirectResponse(HERE, 303)


def run(request: Request, form: Form) -> Response:
    """Search what was not searched yet."""
    archive, stop = archive_of(request), Event()
    jobs: Jobs = request.app.state.jobs
    jobs.start(WHAT, lambda progress: _lines(archive.faces.find(progress=progress, stop=stop)), stop)
    return RedirectResponse(HERE, 303)


def stop(request: Request, form: Form) -> Response:
    """Stop the search; it goes on from there another time."""
    jobs: Jobs = request.app.state.jobs
    jobs.stop(WHAT)
    return RedirectResponse(HERE, 303)


def accept(request: Request, form: Form) -> Response:
    """Accept the frame named, or all that are offered for this photograph."""
    code = request.path_params["code"]
    archive_of(request).faces.accept(code, form.all("frame"))
    return back(form, f"/photograph/{code}?naming=1")


def refuse(request: Request, form: Form) -> Response:
    """Refuse the frame named, or all."""
    code = request.path_params["code"]
    archive_of(request).faces.refuse(code, form.all("frame"))
    return back(form, f"/photograph/{code}?naming=1")


def _lines(done: FacesSearched) -> list[str]:
    first = f"{counted(done.searched, 'photograph')} searched: {counted(done.faces, 'face')} in all."
    stopped = ["It was stopped, and goes on from there."] if done.stopped else []
    return [first, *stopped, *(f"{problem.path}: {problem.why}" for problem in done.unreadable[:MOST])]


routes = [
    get_route(HERE, faces),
    get_route(f"{HERE}/alike", alike),
    post_route(f"{HERE}/name", name_together),
    post_route(f"{HERE}/apart", lay_apart),
    post_route(f"{HERE}/right", name_is_right),
    post_route(f"{HERE}/on", turn_on),
    post_route(f"{HERE}/off", turn_off),
    post_route(f"{HERE}/leave-out", leave_out),
    post_route(f"{HERE}/find", run),
    post_route(f"{HERE}/stop", stop),
    post_route("/photograph/{code}/accept-frames", accept),
    post_route("/photograph/{code}/refuse-frames", refuse),
]
