"""Adding to the archive: the family tree, new scans in its folders, and pictures sent from a phone.

A file that is sent never chooses where it is put: scans go into one folder of the archive under a name made of the
letters and digits of theirs, and only when their bytes are those of a picture.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import AsyncGenerator, Callable, Iterable
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote
from uuid import uuid4

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.formparsers import MultiPartException, MultiPartParser
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from kinphoto.errors import InvalidValueError, KinphotoError
from kinphoto.phrases import counted
from kinphoto.scans.kinds import HEAD, READ, SUFFIXES, suffix, type_of
from kinphoto.store.atomic import atomic_write
from kinphoto.web.access import access_of, archive_of, keepers_only, to_sign_in, visitor
from kinphoto.web.carried import MOST_CARRIED, from_a_keeper, sent_by_script, too_long_to_wait, wait_for_password
from kinphoto.web.done import noting_a_job
from kinphoto.web.folders import typed_folder
from kinphoto.web.forms import TOKEN, Form, post_route
from kinphoto.web.guard import CLOSE, LARGEST_FILES, announced
from kinphoto.web.jobs import Jobs, Progress
from kinphoto.web.render import expired, get_route, page, refused

if TYPE_CHECKING:
    from kinphoto.archive.collection.scans_added import ScansAdded
    from kinphoto.archive.tree.importing import TreeImported
    from kinphoto.archive.tree.report import Uncertain

UPLOADS = "scans"
"""The folder of an archive into which scans are put that were sent from a page."""
LARGEST_TREE = 200 * 1024**2
LARGEST_SHEET = 20 * 1024**2
LARGEST_SCANS = LARGEST_FILES
"""Bytes that one sending may have."""
MOST_FILES = 200
SHEETS = {
    "links": "names on faces",
    "statements": "words, dates and memories",
    "relations": "links between photographs",
    "processes": "processes",
    "formats": "formats",
    "objects": "descriptions",
}
"""What the rows of a spreadsheet can be."""
_SHOWN = 12
"""Lines of one kind before the rest is only counted."""
LONGEST_BOX = 200
"""Letters of a box's name."""


@keepers_only
def bring_in(request: Request) -> Response:
    """What can be brought in, and how the last time went."""
    archive = archive_of(request)
    jobs: Jobs = request.app.state.jobs
    return page(
        request, "bring_in.html", job=jobs.last, folders=archive.scans.folders(), read=READ, most=MOST_FILES,
        sheets=SHEETS, example=str(Path.home() / "scans"),
        box_names=[box.name for box in archive.photographs.containers() if box.name],
    )  # fmt: skip


@keepers_only
def progress(request: Request) -> Response:
    """How far the job has got, for the script of the page."""
    job = request.app.state.jobs.last
    if job is None:
        return JSONResponse({"running": False})
    return JSONResponse({"running": job.running, "done": job.done, "total": job.total, "what": job.what})


def again(request: Request, form: Form) -> Response:
    """Look for new scans in all folders that were indexed before."""
    archive = archive_of(request)
    folders = archive.scans.folders()
    sent = (
        archive.folder.absolute() / UPLOADS
    )  # not known yet when the pages were stopped while they read the first ones
    if sent.is_dir() and not any(Path(folder) in (sent, *sent.parents) for folder in folders):
        folders.append(str(sent))
    if not folders:
        raise InvalidValueError("there is no folder to search yet", remedy="Name one above.")
    _start(request, "looking for new scans", lambda progress: _scans(archive.scans.add(folders, progress=progress)))
    return RedirectResponse("/bring-in", 303)


def folder(request: Request, form: Form) -> Response:
    """Add the scans of a folder of this computer, with those below it, in the background."""
    archive, path, box = archive_of(request), typed_folder(form.text("folder")), form.text("container")
    _start(request, "adding the folder", lambda progress: _scans(archive.scans.add([path], box, progress)))
    return RedirectResponse("/bring-in", 303)


def _tree(request: Request, form: FormData) -> Response:
    upload = _upload(form, "tree", "GEDCOM file (.ged or .gdz)")
    ending = ".gdz" if str(upload.filename).lower().endswith(".gdz") else ".ged"
    file = _temporary(request, upload, ending)
    archive = archive_of(request)

    def work(progress: Progress) -> list[str]:
        return _imported(archive.tree.import_file(file, progress))

    return _store_and_start(request, [(upload, file)], "importing the tree", work, temporary=True)


def _sheet(request: Request, form: FormData) -> Response:
    upload, kind = _upload(form, "sheet", "CSV file"), str(form.get("kind", ""))
    if kind not in SHEETS:
        raise InvalidValueError("choose what the rows hold", remedy=f"One of: {', '.join(SHEETS.values())}.")
    file = _temporary(request, upload, ".csv")
    archive = archive_of(request)

    def work(_: Progress) -> list[str]:
        done = archive.statements.apply_spreadsheet(kind, file)
        return [f"{counted(done.applied, 'row')} saved as {SHEETS[kind]}.", *done.warnings]

    return _store_and_start(request, [(upload, file)], "reading the spreadsheet", work, temporary=True)


def _pictures(request: Request, form: FormData) -> Response:
    archive = archive_of(request)
    uploads = [one for one in form.getlist("scans") if isinstance(one, UploadFile) and one.filename]
    box = str(form.get("container", "")).strip()
    if not uploads:
        raise InvalidValueError("no pictures were chosen", remedy="Choose some first.")
    if len(box) > LONGEST_BOX or not (box.isprintable() or not box):
        raise InvalidValueError("a box cannot have that name", remedy=f"Use at most {LONGEST_BOX} letters.")
    pictures = [one for one in uploads if _is_picture(one)]
    refusals = [
        f"{one.filename} is not a picture kinphoto can read; it was not kept." for one in uploads if one not in pictures
    ]
    if not pictures:
        raise InvalidValueError("none of these is a picture that kinphoto reads", remedy=f"It reads {READ}.")
    folder = archive.folder.absolute() / UPLOADS / (_clean(box) or "sent")
    stored: list[Path] = []

    def work(progress: Progress) -> list[str]:
        done = archive.scans.add([folder], box or None, progress)
        for path in {Path(refusal.path) for refusal in done.unreadable}.intersection(stored):
            path.unlink(missing_ok=True)  # whoever sent it has it
        return refusals + _scans(done)

    files = ((one, _free(folder, one.filename or "")) for one in pictures)
    return _store_and_start(request, files, "reading the pictures", work, stored)


def _upload(form: FormData, field: str, kind: str) -> UploadFile:
    """The file that was sent in a field. Raises InvalidValueError when none was."""
    upload = form.get(field)
    if not isinstance(upload, UploadFile) or not upload.filename:
        raise InvalidValueError("no file was chosen", remedy=f"Choose a {kind} first.")
    return upload


def _temporary(request: Request, upload: UploadFile, ending: str) -> Path:
    stem = _clean(Path(upload.filename or "").stem) or "file"
    return archive_of(request).folder / f"{stem}-{uuid4().hex[:8]}{ending}"


def _is_picture(sent: UploadFile) -> bool:
    """Whether the first bytes are those of a picture, and the name ends like one."""
    sent.file.seek(0)
    return type_of(sent.file.read(HEAD)) is not None and suffix(sent.filename or "") in SUFFIXES


def files_route(
    path: str, most: int, carry_out: Callable[[Request, FormData], Response], most_fields: int = 10
) -> Route:
    """A route for a form with files: bounded by what is announced, and read to temporary files on the disk."""

    async def endpoint(request: Request) -> Response:
        waits = not visitor(request).keeper
        if waits and sent_by_script(request):
            return to_sign_in(request)
        length = announced(request.headers)
        if length is None or length > most:
            return PlainTextResponse(f"At most {most // 1024**2} MB can be sent at a time.\n", 413, CLOSE)
        if not request.headers.get("content-type", "").lower().startswith("multipart/form-data"):
            return PlainTextResponse("That is not a form with files.\n", 400, CLOSE)
        try:
            if waits:
                return await _wait(request, most_fields)
            form = await request.form(max_files=MOST_FILES, max_fields=most_fields)
        except ClientDisconnect:
            return PlainTextResponse("Only part of the files arrived. Go back and try again.\n", 400)
        except (ValueError, LookupError):  # also letters in a set that cannot be read
            return PlainTextResponse("The files arrived damaged. Reload the page and try again.\n", 400, CLOSE)
        typed, files = _parted(form)
        try:
            if not access_of(request).accepts_token(visitor(request), str(form.get(TOKEN, ""))):
                return await run_in_threadpool(expired, request, typed, files)
            return await run_in_threadpool(carry_out, request, form)
        except KinphotoError as problem:
            return await run_in_threadpool(refused, request, problem, typed, files)
        finally:
            await form.close()

    return Route(path, endpoint, methods=["POST"])


async def _wait(request: Request, most_fields: int) -> Response:
    """The answer to such a form of somebody who is not signed in. It is only read on where its first part shows that it
    comes from a page of somebody who was: then to its end, since the words may stand behind the files."""
    parser: MultiPartParser

    def ours() -> bool:
        return from_a_keeper(request, _parted(FormData(parser.items))[0])

    async def pieces() -> AsyncGenerator[bytes]:
        received = 0
        async for piece in request.stream():
            yield piece  # and it is taken apart before the next is asked for
            received += len(piece)
            if received >= MOST_CARRIED and not ours():
                return

    parser = MultiPartParser(
        request.headers, pieces(), max_files=MOST_FILES, max_fields=most_fields, max_part_size=MOST_CARRIED
    )
    try:
        form = await parser.parse()
    except MultiPartException:
        return await run_in_threadpool(too_long_to_wait if ours() else to_sign_in, request)
    try:
        return await run_in_threadpool(wait_for_password, request, *_parted(form))
    finally:
        await form.close()


def _parted(form: FormData) -> tuple[dict[str, list[str]], list[str]]:
    """What was typed into a form with files, and the names of the fields that are files."""
    typed: dict[str, list[str]] = {}
    files = [name for name, value in form.multi_items() if isinstance(value, UploadFile)]
    for name, value in form.multi_items():
        if isinstance(value, str):
            typed.setdefault(name, []).append(value)
    return typed, files


def _store_and_start(
    request: Request, files: Iterable[tuple[UploadFile, Path]], what: str, work: Callable[[Progress], list[str]],
    stored: list[Path] | None = None, *, temporary: bool = False,
) -> Response:  # fmt: skip
    """Store the files that were sent and start to work on them. They are deleted again when that fails, and after the
    work where they are `temporary`. Raises ArchiveError when they cannot be kept."""
    stored = [] if stored is None else stored
    remedy = "Make sure there is room on the disk, then send the files again."

    def work_and_delete(progress: Progress) -> list[str]:
        try:
            return work(progress)
        finally:
            for path in stored if temporary else ():
                path.unlink(missing_ok=True)

    try:
        for upload, path in files:
            with atomic_write(path, "the files cannot be saved", remedy) as part, part.open("wb") as file:
                upload.file.seek(0)
                shutil.copyfileobj(upload.file, file)
            stored.append(path)
        _start(request, what, work_and_delete)
    except BaseException:
        for path in stored:
            path.unlink(missing_ok=True)
        raise
    return RedirectResponse("/bring-in", 303)


def _start(request: Request, what: str, work: Callable[[Progress], list[str]]) -> None:
    note = noting_a_job(request)

    def work_then_date(progress: Progress) -> list[str]:
        with note():
            lines = work(progress)
        request.app.state.refresh.poke()
        return lines

    request.app.state.jobs.start(what, work_then_date)


def _clean(name: str) -> str:
    """Letters, digits, - and _ of a name, at most 40, which fit into a file system that counts bytes; never a path,
    nor the name of a device (as some systems know: con, lpt1)."""
    plain = re.sub(r"[^\w-]+", "_", name).strip("_-")[:40]
    return f"{plain}_" if re.fullmatch(r"con|prn|aux|nul|(com|lpt)\d", plain, re.IGNORECASE) else plain


def _free(folder: Path, name: str) -> Path:
    """A path in the folder that nothing has yet, made from the name of what was sent."""
    stem = _clean(Path(name.replace("\\", "/")).stem) or "scan"
    paths = (folder / f"{stem}{'' if number == 1 else f'-{number}'}{suffix(name)}" for number in count(1))
    return next(path for path in paths if not os.path.lexists(path))


def _imported(done: TreeImported) -> list[str]:
    kept = f" {done.kept_with_pictures} are no longer in it, but stay because they have pictures." if (
        done.kept_with_pictures
    ) else ""  # fmt: skip
    first = f"{done.people:,} people in {done.families:,} families ({done.encoding})."
    what = (
        f"{done.added} added, {done.changed} changed, {done.removed} removed.{kept}"
        if done.altered
        else "Nothing has changed since the last import."
    )
    merged = [f"{one.name} ({one.code}) and {one.into_name} ({one.into}) are now one person." for one in done.merged]
    uncertain = [_uncertain(one) for one in done.uncertain]
    odd = [f"Line {line}: {text}" if line else text for line, text in done.warnings[:12]]
    more = done.warning_count - len(odd)
    if done.hardly_anybody:
        what += f" {done.hardly_anybody} If it is the file of another family, undo it under History."
    return [first, what, *merged, *uncertain, *odd, *([f"… and {more} more things to check."] if more > 0 else [])]


def _uncertain(one: Uncertain) -> str:
    """What is uncertain about somebody, with the way to their page where it can be settled."""
    if not one.joins:
        return f"Uncertain: {one.text}"
    return Markup(
        'Uncertain: {}. If they are the same person, record it on <a href="/person/{}">the page of {}</a>.'
    ).format(one.without_joins, quote(one.code, safe=""), one.code)


def _scans(done: ScansAdded) -> list[str]:
    from kinphoto.archive.collection.scan_report import notes

    lines = [f"{done.added} new, {done.unchanged} already here, {len(done.moved)} moved, {len(done.changed)} changed."]
    lines += [f"The new ones are {done.codes}."] if done.new else []
    for heading, found in notes(done):
        more = [f"… and {len(found) - _SHOWN} more"] if len(found) > _SHOWN else []
        lines += [f"{heading}:", *found[:_SHOWN], *more]
    return [*lines, f"The archive now holds {counted(done.photographs, 'photograph')}."]


routes = [
    get_route("/bring-in", bring_in),
    Route("/bring-in/progress", progress),
    post_route("/bring-in/again", again),
    post_route("/bring-in/folder", folder),
    files_route("/bring-in/tree", LARGEST_TREE, _tree),
    files_route("/bring-in/sheet", LARGEST_SHEET, _sheet),
    files_route("/bring-in/scans", LARGEST_SCANS, _pictures),
]
