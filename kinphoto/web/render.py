"""Filling the templates: one way to make a page, with what every page shows."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from functools import cache, partial, wraps
from math import log
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from kinphoto.archive.words.dates import NO_PROOF, born, life_years, on_the_clock, when
from kinphoto.errors import AmbiguousError, InvalidValueError, KinphotoError, NotFoundError
from kinphoto.gedcom import wording
from kinphoto.phrases import counted, in_one_line, nth
from kinphoto.reason.model.span import year_of
from kinphoto.scans.picture import THUMBNAIL_EDGE
from kinphoto.scans.tiles import MIDDLE_EDGE
from kinphoto.translation.catalogues import catalogue
from kinphoto.translation.templates import in_language
from kinphoto.web.access import access_of, archive_of, came_from
from kinphoto.web.assets import asset
from kinphoto.web.done import done_now, effect
from kinphoto.web.navigation import entries
from kinphoto.web.preferences import classes, steps
from kinphoto.web.refusal import refusal
from kinphoto.web.remedies import on_pages
from kinphoto.web.wording import NOT_IN_A_BOX, named

if TYPE_CHECKING:
    from kinphoto.archive.collection.photograph_cards import PhotographCard
    from kinphoto.archive.collection.photograph_page import ScanShown
    from kinphoto.reason.model.findings import Estimate


def get_route(path: str, make: Callable[[Request], Response]) -> Route:
    """The route of a page. The change of the archive that it is made as of is noted before anything is read for it:
    what changes while it is being made is asked for again by the page, and never missed."""

    @wraps(make)
    def endpoint(request: Request) -> Response:
        request.state.change = archive_of(request).statements.revision()
        return make(request)

    return Route(path, endpoint)


def page(request: Request, template: str, status: int = 200, **shown: Any) -> HTMLResponse:
    """The page that a template makes of these values; the archive's name, the visitor and the form token come along."""
    archive = archive_of(request)
    keeper = access_of(request).visitor(request).keeper
    return framed(
        request, template, status,
        change=(getattr(request.state, "change", None) or archive.statements.revision()) if keeper else "",
        dated=not keeper or archive.dates.freshness().fresh,
        archive_name=archive.folder.absolute().name,
        done=done_now(request),
        effect=partial(effect, request),
        entries=partial(entries, keeper),
        **shown,
    )  # fmt: skip


def framed(request: Request, template: str, status: int = 200, **shown: Any) -> HTMLResponse:
    """The same for a page that also works without an archive: it gets the visitor, the form token and the sizes."""
    access = access_of(request)
    who = access.visitor(request)
    bare = {"change": "", "dated": True, "archive_name": "kinphoto", "done": None, "entries": lambda more: []}
    made = environment().get_template(template)
    text = made.render(
        request=request,
        here=request.url.path,
        keeper=who.keeper,
        house=access.open_to_house,
        token=access.token(who),
        looks=classes(request),
        sizes_of=partial(steps, request),
        **{**bare, **shown},
    )
    response = HTMLResponse(text, status)
    access.set_new_cookie(request, response)
    return response


def refused(
    request: Request, problem: KinphotoError, sent: Mapping[str, list[str]] | None = None, files: Collection[str] = (),
    status: int | None = None, *, action: str | None = None, back: str | None = None,
) -> HTMLResponse:  # fmt: skip
    """The page that says what could not be done and what to do about it; with the form that was `sent`, to be corrected
    and sent again, where the fields `files` are chosen anew. The form goes to `action` and stood on the page `back`, if
    that is not what the request says."""
    fitting = 404 if isinstance(problem, NotFoundError) else 409 if isinstance(problem, AmbiguousError) else 422
    again = refusal(action or request.url.path, sent, problem, files) if sent is not None else None
    came = back or came_from(request)
    back = came if came and came.partition("?")[0] != request.url.path else None
    return page(request, "refused.html", status or fitting, problem=problem, again=again, back=back)


def expired(request: Request, sent: Mapping[str, list[str]] | None = None, files: Collection[str] = ()) -> HTMLResponse:
    """The same for a form of an earlier visit, which is not carried out: it comes again with a valid token."""
    problem = InvalidValueError(
        "this page was open for too long to be sent",
        remedy="Look at what you typed and send it once more." if sent else "Go back and try again.",
    )
    return refused(request, problem, sent, files, 403)


@cache
def environment() -> Environment:
    """The templates, with everything that is put into them escaped."""
    made = Environment(
        loader=PackageLoader("kinphoto.web"), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    made.globals.update(asset=asset, no_proof=NO_PROOF, not_in_a_box=NOT_IN_A_BOX)
    made.filters.update(
        when=when,
        born=born,
        life=lambda life: life_years(life.begin, life.end),
        counted=counted,
        in_one_line=in_one_line,
        day=lambda day: wording.day(day.toordinal()),
        month=wording.month_words,
        nth=nth,
        on_the_clock=on_the_clock,
        named=named,
        edge_width=edge_width,
        proportion=proportion,
        row_width=row_width,
        srcset=srcset,
        when_short=when_short,
        titled=titled,
        this_one=this_one,
        on_pages=on_pages,
        who_short=who_short,
    )
    return in_language(made, catalogue("pages"))


NARROWEST, STEP, PROPORTIONS = 0.3, 1.02, 123
"""The proportions for which `rows.css` has a class: from the narrowest on, each a fiftieth wider than the last."""


def proportion(scan: ScanShown | None) -> str:
    """The class that gives a photograph its width in a row: how wide it is for its height, to one part in a hundred."""
    ratio = scan.width / scan.height if scan and scan.width and scan.height else 1.4
    step = round(log(max(ratio, NARROWEST) / NARROWEST, STEP))
    return f"p{min(step, PROPORTIONS - 1)}"


ROW = 300
"""Pixels that a photograph in a row is high, about."""


def row_width(scan: ScanShown) -> int:
    """How many pixels of a page a photograph is wide in a row, about."""
    return round(ROW * scan.width / max(scan.height, 1))


def edge_width(scan: ScanShown, edge: int) -> int:
    """How many pixels wide a picture of the scan is whose long edge has at most `edge`."""
    return max(1, round(scan.width * min(1, edge / max(scan.width, scan.height, 1))))


def srcset(scan: ScanShown) -> str:
    """The pictures of a scan among which a browser chooses by the pixels of its screen, each with its width."""
    sizes = (("small", THUMBNAIL_EDGE), ("middle", MIDDLE_EDGE))
    return ", ".join(f"/scan/{scan.id}/{n}.jpg?v={scan.version} {edge_width(scan, edge)}w" for n, edge in sizes)


def titled(text: str, cards: Mapping[str, PhotographCard]) -> str:
    """The text with titles in the place of the codes of photographs, where they have one; "this photograph" where only
    one is meant and it has none."""

    def title(found: re.Match[str]) -> str:
        card = cards.get(found[0])
        if card is None:
            return found[0]
        return f"“{card.title}”" if card.title else "this photograph" if len(cards) == 1 else found[0]

    return CODE.sub(title, text)


CODE = re.compile(r"\bK\d{5,}\b")
"""A photograph's code among words."""


def this_one(text: str, codes: Sequence[str]) -> str:
    """A question beside its only photograph without the code of that: "in this photograph", or the title alone."""
    if len(codes) != 1:
        return text
    this = "this photograph"
    return text.replace(f" ({codes[0]})", "").replace(codes[0], this)


def when_short(estimate: Estimate) -> str:
    """A date for a caption: what was stated, "about 1924", or "1921–1930"; "" for an open one."""
    if estimate.best is None or estimate.likely_from is None or estimate.likely_to is None:
        wide = estimate.latest - estimate.earliest > 50 * 365
        return "" if wide else f"{year_of(estimate.earliest)}–{year_of(estimate.latest)}"
    if not estimate.inferred:
        return when(estimate)
    first, last = year_of(estimate.likely_from), year_of(estimate.likely_to)
    return str(first) if first == last else f"{first}–{last}"


def who_short(photograph: PhotographCard) -> str:
    """Who is in a photograph, for a caption: two names and how many more, and how many faces have no name."""
    names = list(photograph.names[:2])
    more = len(photograph.names) - len(names)
    shown = [*names, *([f"{more} more"] if more else [])]
    if photograph.nameless:
        shown.append(counted(photograph.nameless, "face without a name", "faces without a name"))
    return ", ".join(shown)
