"""What other programs wrote into the files of scans: names to be matched, words and dates to be recorded."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.phrases import counted
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, post_route
from kinphoto.web.jobs import Progress
from kinphoto.web.render import get_route, page

if TYPE_CHECKING:
    from kinphoto.archive.collection.names_inside import NameInside
    from kinphoto.archive.collection.words_inside import WordsInside

HERE = "/inside"
MOST = 100
"""Names, and photographs with words, on the page."""


class Inside(NamedTuple):
    """What was found when somebody looked last."""

    names: tuple[NameInside, ...]
    words: tuple[WordsInside, ...]


@keepers_only
def inside(request: Request) -> Response:
    """What was found in the files, once somebody has looked."""
    state = request.app.state
    return page(request, "inside.html", found=state.inside, job=state.jobs.last, most=MOST)


def look(request: Request, form: Form) -> Response:
    """Read all files, which takes as long as it takes to read them from their disk."""
    archive, state = archive_of(request), request.app.state

    def work(progress: Progress) -> list[str]:
        names = archive.scans.written_names(lambda done, total: progress(done, 2 * total))
        words = archive.scans.written_words(lambda done, total: progress(total + done, 2 * total))
        state.inside = Inside(names, words)
        return [f"{counted(len(names), 'name')} and words on {counted(len(words), 'photograph')} found."]

    state.jobs.start("looking into the files", work)
    return RedirectResponse(HERE, 303)


def name(request: Request, form: Form) -> Response:
    """Name somebody on every photograph whose file has a name."""
    done = archive_of(request).scans.take_names(form.get("name", ""), form.get("person", ""))
    state = request.app.state
    if state.inside is not None:
        state.inside = state.inside._replace(names=tuple(one for one in state.inside.names if one.name != done.name))
    return RedirectResponse(HERE, 303)


def words(request: Request, form: Form) -> Response:
    """Record all words and dates that the files have, in one change."""
    archive, state = archive_of(request), request.app.state

    def work(progress: Progress) -> list[str]:
        done = archive.scans.take_words(progress)
        if state.inside is not None:
            state.inside = state.inside._replace(words=())
        state.refresh.poke()
        lines = [f"{counted(done.texts, 'text')} and {counted(done.dates, 'date')} recorded. History undoes them."]
        return lines + [f"{one.photograph}: not recorded, as {one.why}." for one in done.refused[:12]]

    state.jobs.start("recording what the files say", work)
    return RedirectResponse(HERE, 303)


routes = [
    get_route(HERE, inside),
    post_route(f"{HERE}/look", look),
    post_route(f"{HERE}/name", name),
    post_route(f"{HERE}/words", words),
]
