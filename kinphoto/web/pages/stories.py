"""Stories: what was told, to read, to hear, to write down and to record.

A recording is made by the browser where it can (on this machine, or over an encrypted connection), and sent as a file
like one that was chosen; without scripts there is the field to choose one. The page that records is the only one that
may use the microphone.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any
from uuid import uuid4

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response

from kinphoto.archive.catalogue.consents import HOUSEHOLD, WORDS
from kinphoto.archive.catalogue.stories import Recording
from kinphoto.archive.statements.telling import NewStory, StoryChange
from kinphoto.errors import ArchiveError, NotFoundError
from kinphoto.sounds.kinds import MEDIA_TYPES, READ, SUFFIXES
from kinphoto.store.atomic import remove
from kinphoto.web.access import archive_of, keepers_only, own_path
from kinphoto.web.done import noting_what_was_done
from kinphoto.web.forms import LONGEST_WORDS, Form, back, last_informant, post_route, remember_informant
from kinphoto.web.guard import HEADERS, LARGEST_FILES, POLICY
from kinphoto.web.pages.bring_in import files_route
from kinphoto.web.render import get_route, page

SHOWN = 40
"""Stories on a page."""
RECORDING = {
    "Permissions-Policy": HEADERS["Permissions-Policy"].replace("microphone=()", "microphone=(self)"),
    "Content-Security-Policy": POLICY.replace("media-src 'self'", "media-src 'self' blob:"),
}
"""What the page may do that records: use the microphone, and play what was recorded before it is sent."""


@keepers_only
def stories(request: Request) -> Response:
    """All stories, the newest first, and the form for another; `about` is what that will be about."""
    archive = archive_of(request)
    found = archive.stories.list(with_withdrawn=True)
    start = max(0, int(text) if (text := request.query_params.get("start", "")).isascii() and text.isdecimal() else 0)
    start = min(start, len(found))
    today = date.today()
    return _may_record(
        page(
            request, "stories.html", stories=found[start : start + SHOWN], start=start, step=SHOWN, count=len(found),
            about=request.query_params.get("about", "")[:200], today=f"{today.day} {today:%B %Y}", read=READ,
            accept=",".join(("audio/*", *SUFFIXES.values())), last_informant=last_informant(request),
            **_choices(request),
        )
    )  # fmt: skip


@keepers_only
def story(request: Request) -> Response:
    """One story, with who may have it."""
    archive = archive_of(request)
    one = archive.stories.details(request.path_params["story"])
    agreed = tuple(each for each in archive.give.consents(revoked=True) if each.story == one.id)
    return page(
        request, "story.html", one=one, agreed=agreed, longest=LONGEST_WORDS,
        about="; ".join([*one.photographs, *(who.id for who in one.people)]), **_choices(request),
    )  # fmt: skip


def _choices(request: Request) -> dict[str, Any]:
    archive = archive_of(request)
    return {
        "informants": archive.statements.informant_names(),
        "audiences": [one.name for one in archive.give.audiences() if one.name != HOUSEHOLD],
        "lasts": lasts,
    }


def lasts(sound: Recording | None) -> str:
    """How long a recording plays, "4:07"; "" where that is not known."""
    if sound is None or sound.seconds is None:
        return ""
    minutes, seconds = divmod(round(sound.seconds), 60)
    return f"{minutes}:{seconds:02}"


def _may_record(response: Response) -> Response:
    response.headers.update(RECORDING)
    return response


@keepers_only
def sound(request: Request) -> Response:
    """The recording of a story, as it was put in."""
    one = archive_of(request).stories.details(request.path_params["story"])
    if one.recording is None or one.recording.missing:
        raise NotFoundError("there is no recording of it here", remedy="Look in a backup for the folder sounds.")
    return FileResponse(one.recording.path, media_type=MEDIA_TYPES.get(one.recording.kind))


def _tell(request: Request, form: FormData) -> Response:
    """Put a story in, with the recording that was sent."""
    fields = Form([(key, value) for key, value in form.multi_items() if isinstance(value, str)])
    fields.check()
    sent = form.get("sound")
    new = NewStory(
        text=fields.get("text", ""), title=fields.get("title", ""), by=fields.get("by", ""),
        when=fields.get("when", ""), about=_listed(fields.get("about", "")), agreed=fields.get("agreed", ""),
        asked_by=fields.get("asked_by", ""),
    )  # fmt: skip
    archive = archive_of(request)
    with noting_what_was_done(request, None, fields.text("by")):
        if isinstance(sent, UploadFile) and sent.filename:
            with _on_disk(sent, archive.folder) as path:
                done = archive.stories.tell(new, path, called=Path(sent.filename.replace("\\", "/")).name[:200])
        else:
            done = archive.stories.tell(new)
    to = own_path(fields.get("next", "")) or f"/story/{done.story.id}"
    return remember_informant(RedirectResponse(to, 303), fields)


@contextmanager
def _on_disk(sent: UploadFile, folder: Path) -> Iterator[Path]:
    """What was sent, as a file on the disk that the archive is on."""
    path = folder / f".kinphoto-{os.getpid()}-{uuid4().hex}.part"
    try:
        with path.open("wb") as file:
            sent.file.seek(0)
            shutil.copyfileobj(sent.file, file, 1 << 20)
        yield path
    except OSError as problem:
        raise ArchiveError(
            f"the recording cannot be saved ({problem.strerror or problem})",
            remedy="Make sure there is room on the disk, then send it again.",
        ) from problem
    finally:
        remove(path)


def _listed(text: str) -> tuple[str, ...]:
    """What a story is about, as it is typed: with semicolons, or lines, between."""
    return tuple(part.strip() for line in text.splitlines() for part in line.split(";") if part.strip())


def change(request: Request, form: Form) -> Response:
    """Change the words of a story, who told it, when, or what it is about."""
    id_ = request.path_params["story"]
    archive_of(request).stories.change(
        id_,
        StoryChange(
            text=form.get("text"), title=form.get("title"), by=form.get("by"), when=form.get("when"),
            about=None if "about" not in form else _listed(form["about"]),
        ),
    )  # fmt: skip
    return _to(form, id_)


def agreed(request: Request, form: Form) -> Response:
    """Record that its teller agreed to pass it on, or that somebody has gone through it."""
    id_, give = request.path_params["story"], archive_of(request).give
    to, by, on = form.get("to", ""), form.get("by", ""), form.get("on", "")
    if form.get("what") == WORDS:
        give.release([id_], to, what=WORDS, looked_by=by, on=on)
    else:
        give.record_telling(id_, to, asked_by=by, on=on, note=form.get("note", ""))
    return _to(form, id_)


def private(request: Request, form: Form) -> Response:
    """Mark a story private, or no longer."""
    id_ = request.path_params["story"]
    archive_of(request).give.mark_private([id_], private=form.get("what") != "no longer")
    return _to(form, id_)


def _to(form: Form, id_: str) -> Response:
    return back(form, f"/story/{id_}")


routes = [
    get_route("/stories", stories),
    get_route("/story/{story}", story),
    get_route("/story/{story}/sound", sound),
    files_route("/stories/new", LARGEST_FILES, _tell, 20),
    post_route("/story/{story}/change", change),
    post_route("/story/{story}/agreed", agreed),
    post_route("/story/{story}/private", private),
]
