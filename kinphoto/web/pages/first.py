"""The first page: one photograph that wants something, the years as pictures, and what to do next; in a new archive its
first three steps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.archive.asking.open_photographs import MissingFact
from kinphoto.phrases import counted
from kinphoto.web.access import archive_of, stranger
from kinphoto.web.drawing.plots import decades, growth
from kinphoto.web.forms import whole_number
from kinphoto.web.pages.years import note_seen
from kinphoto.web.render import get_route, page
from kinphoto.web.wording import in_words, which_faces

if TYPE_CHECKING:
    from kinphoto.archive.asking.open_photographs import OpenPhotograph
    from kinphoto.archive.collection.views import PhotographView
    from kinphoto.archive.people.overview import Overview
    from kinphoto.archive.search.years import Decade


@dataclass(frozen=True, slots=True)
class Invitation:
    """The photograph of the first page, what it asks, and where its button leads: to the very face, never to a list.
    `look` fills the screen with it; `another` shows another one, None where there is no other."""

    view: PhotographView
    box: str
    title: str
    question: str
    button: str
    address: str
    through: str
    at: int
    another: str | None

    @property
    def look(self) -> str:
        """The address where it is looked at."""
        return f"/look?{self.through}&at={self.at}&code={self.view.card.code}"


@dataclass(frozen=True, slots=True)
class Step:
    """Something to do next: words, some of them a link."""

    before: str
    words: str
    after: str
    address: str


@dataclass(frozen=True, slots=True)
class FirstPage:
    """What the page shows of one state of the archive."""

    overview: Overview
    decades: tuple[Decade, ...]
    open: tuple[OpenPhotograph, ...]


def first(request: Request) -> Response:
    """The page; `another` counts how often another photograph was asked for."""
    kept = _kept(request)
    another = whole_number(request.query_params.get("another")) or 0
    offer = _offer(request, kept.open, another) if kept.open else None
    shown = None if offer is None else offer.view.card.code
    unfinished = {one.view.card.code for one in kept.open if one.want is not MissingFact.NOTHING}
    ribbon = [one for one in kept.decades if one.count]
    note_seen(
        request, [c.code for one in ribbon for c in one.few if one.first and c.code != shown and c.code in unfinished]
    )
    return page(
        request, "first.html", shown=kept.overview, offer=offer, ribbon=kept.decades, steps=_steps(request, kept),
        decades=decades(kept.overview.boxes), keeping=_keeping(request),
        growth=growth(kept.overview.progress, kept.overview.tally.photographs),
    )  # fmt: skip


def _keeping(request: Request) -> Sequence[str]:
    """What would be good to do to keep the archive safe; nothing for a stranger."""
    return () if stranger(request) else archive_of(request).keep.state().advice


def _kept(request: Request) -> FirstPage:
    """Made anew only when something was changed: on a large archive that takes a while. For strangers only what they
    may see is counted, which a new day may change too."""
    for_anybody, archive = stranger(request), archive_of(request)
    known: dict[bool, tuple[object, FirstPage]] = request.app.state.overviews
    now = request.state.change, archive.dates.freshness().fresh, date.today() if for_anybody else None
    if for_anybody not in known or known[for_anybody][0] != now:
        known[for_anybody] = now, FirstPage(
            archive.search.overview(for_anybody=for_anybody),
            archive.search.decades(for_anybody=for_anybody),
            tuple(archive.asking.open_photographs(for_anybody=for_anybody)),
        )  # fmt: skip
    return known[for_anybody][1]


def _offer(request: Request, all_: tuple[OpenPhotograph, ...], another: int) -> Invitation:
    """Number `another` of them, from the first again after the last."""
    one = all_[another % len(all_)]
    card = one.view.card
    shown = archive_of(request).photographs.details(card.code, for_anybody=stranger(request))
    through = urlencode({"container": shown.boxes[-1].id if shown.boxes else 0})
    question, button, address = _asked(one)
    names = ", ".join(card.names[:3]) if one.want is not MissingFact.ANYBODY else ""
    return Invitation(
        one.view, one.box and f"{one.box}, {shown.place_in_box} of {shown.box_size}",
        card.title or names or "Nobody wrote on this one",
        question, button, address, through, shown.place_in_box - 1,
        f"/?another={(another + 1) % len(all_)}" if len(all_) > 1 else None,
    )  # fmt: skip


def _asked(one: OpenPhotograph) -> tuple[str, str, str]:
    """What a photograph asks, the words of the button, and where that leads."""
    code, faces = one.view.card.code, one.view.faces
    if one.want is MissingFact.NAMES:
        unknown = next((face.region for face in faces if not face.names), "")
        address = f"/photograph/{code}?naming=1{f'&face={unknown}' if unknown else ''}#naming"
        return which_faces([bool(face.names) for face in faces]), "I might know", address
    if one.want is MissingFact.ANYBODY:
        words = "Nobody is named here yet. Who is it, and how old do they look?"
        return words, "I might know", f"/photograph/{code}?naming=1#naming"
    if one.want is MissingFact.DATE:
        words = "Nobody knows yet when this was taken. Is anything written on it, or does somebody remember?"
        return words, "I might know", f"/photograph/{code}#marks"
    who = one.view.card.names
    return (f"With {in_words(who[:4])}." if who and one.view.card.title else ""), "", ""


def _steps(request: Request, kept: FirstPage) -> list[Step]:
    """What to do next; each leads to the very face, story, photograph or question."""
    archive, shown = archive_of(request), kept.overview
    if stranger(request):
        return []
    steps = []
    unnamed = next((one for one in kept.open if one.want in (MissingFact.NAMES, MissingFact.ANYBODY)), None)
    if unnamed is not None and shown.faces:
        words = counted(shown.faces, "face")
        steps.append(Step("", words, " without a name", _asked(unnamed)[2]))
    stories = archive.dates.kept_conflicts().stories
    if stories:
        does = "thing does not" if len(stories) == 1 else "things do not"
        steps.append(Step("", f"{len(stories):,} {does}", " fit together", f"/conflicts/{stories[0].id}"))
    undated = next((one for one in kept.open if one.want is MissingFact.DATE), None)
    if undated is not None:
        words = counted(shown.tally.undated, "photograph")
        steps.append(Step("", words, " without a date", _asked(undated)[2]))
    if archive.asking.has_current_questions() and (questions := archive.asking.kept_questions().questions):
        steps.append(Step("", "Something to ask", f": {questions[0].text}", f"/questions#q-{questions[0].key}"))
    return steps


routes = [get_route("/", first)]
