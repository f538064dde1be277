"""What does not fit together: all conflicts as a list, and each as a conversation, with what is in dispute large and
side by side, and what each answer would change shown before it is given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.archive.words.dates import life_years
from kinphoto.errors import KinphotoError
from kinphoto.web.access import archive_of, keepers_only, own_path
from kinphoto.web.forms import Form, dated_and_back, post_route, whole_number
from kinphoto.web.render import CODE, get_route, page

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.archive.collection.photograph_cards import PhotographCard
    from kinphoto.archive.collection.photograph_page import ScanShown
    from kinphoto.archive.dates.dispute import Exhibit
    from kinphoto.archive.words.conflict_stories import ConflictStory

A_PAGE = 60
"""Stories shown on one page."""
MOST_UNLIKELY = 200
"""Appearances shown that are possible, but unlikely."""


def cards_of(archive: Archive, stories: tuple[ConflictStory, ...]) -> dict[str, PhotographCard]:
    """The photographs that these stories name."""
    codes = {code for story in stories for code in story.photographs}
    words = [text for s in stories for text in (s.headline, *(way.words for way in s.ways))]
    words += [statement.text for s in stories for statement in s.statements]
    codes.update(code for text in words for code in CODE.findall(text))
    return {one.code: one for one in archive.photographs.cards(sorted(codes))}


@keepers_only
def conflicts(request: Request) -> Response:
    """The stories, as of the newest estimates; `start` turns the pages."""
    archive = archive_of(request)
    book = archive.dates.kept_conflicts()
    wanted = whole_number(request.query_params.get("start")) or 0
    start = min(wanted, max(len(book.stories) - 1, 0)) // A_PAGE * A_PAGE  # a page that is still there
    stories = book.stories[start : start + A_PAGE]
    return page(
        request, "conflicts.html", book=book, stories=stories, start=start, step=A_PAGE, most=MOST_UNLIKELY,
        pictures=cards_of(archive, stories), freshness=archive.dates.freshness(),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class ExhibitShown:
    """A part of what is in dispute as it is drawn: a face, a scan (the back, for what is written), or a life in the
    tree; with none of them its words alone."""

    exhibit: Exhibit
    face: str
    scan: ScanShown | None
    name: str
    years: str


@keepers_only
def conflict(request: Request) -> Response:
    """One of them. When it is settled already, the list of those that are left; `back` is the page one came from."""
    archive = archive_of(request)
    found = archive.dates.dispute(request.path_params["id"])
    if found is None and not archive.dates.freshness().fresh:
        archive.dates.conflicts()  # it may be one that was only just recorded
        found = archive.dates.dispute(request.path_params["id"])
    if found is None:
        return RedirectResponse("/conflicts", 303)
    pictures = cards_of(archive, (found.story,))
    back = own_path(request.query_params.get("back", ""))
    return page(
        request, "conflict.html", found=found, story=found.story, pictures=pictures, back=back,
        exhibits=[_shown(archive, one) for one in found.exhibits],
        onward=back or (f"/conflicts/{found.following}" if found.following else "/conflicts"),
    )  # fmt: skip


def _shown(archive: Archive, exhibit: Exhibit) -> ExhibitShown:
    face, scan, name, years = "", None, "", ""
    if exhibit.region is not None:
        try:
            version = archive.scans.face_picture(exhibit.region).version
            face = f"/face/{exhibit.region}.jpg?v={version}"
        except KinphotoError:
            face = ""  # there is no scan of it any more
    if exhibit.photograph and not face:
        details = archive.photographs.details(exhibit.photograph)
        backs = [one for one in details.scans if one.side == "verso" and not one.superseded]
        scan = backs[0] if exhibit.writing and backs else details.recto
    if exhibit.person:
        life = archive.people.life(exhibit.person)
        name, years = life.name, life_years(life.life.begin, life.life.end)
    return ExhibitShown(exhibit, face, scan, name, years)


def settle(request: Request, form: Form) -> Response:
    """Take one way out: withdraw what it names, in one change that can be undone."""
    archive_of(request).dates.settle(request.path_params["id"], form.all("statement"))
    return dated_and_back(request, form, "/conflicts")


routes = [
    get_route("/conflicts", conflicts),
    get_route("/conflicts/{id}", conflict),
    post_route("/conflicts/{id}/settle", settle),
]
