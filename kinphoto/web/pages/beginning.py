"""The page before there is an archive: make one, open one that is there, or look at the sample. Only whoever sits at
this computer sees it, since it makes and names folders."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.archive import Archive
from kinphoto.archive.sample import build
from kinphoto.errors import ArchiveError, InvalidValueError, KinphotoError, NotFoundError
from kinphoto.store.opening import is_here
from kinphoto.web.folders import LOOKED_AT, existing_folder
from kinphoto.web.forms import Form, whole_path
from kinphoto.web.jobs import Jobs, Progress
from kinphoto.web.render import framed

LONGEST_NAME = 100
"""Letters of an archive's name, which is a folder's too."""
_MOST = 12
"""Archives that are offered to be opened."""
SAMPLE = "kinphoto sample"
_DEVICES = frozenset(("con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))))
_FORBIDDEN = frozenset('/\\:*?"<>|')
"""What some system does not allow in the name of a folder, which may be carried there one day."""


@dataclass(frozen=True, slots=True)
class RefusedField:
    """What could not be done, and the field it is about."""

    field: str
    problem: KinphotoError


def ask(request: Request, typed: dict[str, str] | None = None, refused: RefusedField | None = None) -> Response:
    """The page; after something was refused with what was `typed`, and the reason beside its field."""
    here: Path = request.app.state.here
    shown = {"name": "", "where": str(here), "folder": "", "source": "", **(typed or {})}
    job = request.app.state.jobs.last
    return framed(
        request, "begin.html", 422 if refused else 200, typed=shown, refused=refused, found=list(_archives(here)),
        sample=sample_folder(here), example=Path.home() / "Marsh family", again=(typed or {}).get("do") == "again",
        job=job, made_again=request.app.state.made_again if job and not job.running and not job.problem else None,
    )  # fmt: skip


def carry_out(form: Form, here: Path, jobs: Jobs) -> Archive | RefusedField | Path:
    """Do what the form of the page asks for: an archive, or the folder where one is being restored."""
    field = {"open": "folder", "sample": "look", "again": "source"}.get(form.get("do", ""), "name")
    try:
        form.check()
        source = _source(form.text("source")) if field == "source" else None
        if field == "folder":
            return _opened(form.text("folder"))
        if field == "look":
            folder = sample_folder(here)
            return Archive.open(folder) if is_here(folder) else _dated(build(folder).archive)
        name = _name(form.text("name"))
        field = "where"
        place = _place(form.text("where"))
        field = "name" if os.path.lexists(place / name) else "where"
        if source is not None:
            _refuse_used(place / name)
            jobs.start("restoring the archive", lambda progress: _again(source, place / name, progress))
            return place / name
        return _made(place / name)
    except KinphotoError as problem:
        return RefusedField(field, problem)


def sample_folder(here: Path) -> Path:
    """Where the sample is, or would be."""
    return here / SAMPLE


def _name(typed: str | None) -> str:
    """The name of an archive, which is its folder's. Raises InvalidValueError for what cannot be one."""
    name = " ".join((typed or "").split())
    remedy = f"Use letters, digits and spaces, at most {LONGEST_NAME}."
    if not name:
        raise InvalidValueError("the archive needs a name", remedy="The family's name will do.")
    if len(name.encode()) > 2 * LONGEST_NAME or len(name) > LONGEST_NAME:
        raise InvalidValueError("that name is too long", remedy=remedy)
    odd = sorted(set(name) & _FORBIDDEN)
    if odd or not name.isprintable():
        raise InvalidValueError(f"a folder cannot be called “{name}” because of {' '.join(odd) or 'a letter in it'}",
                                remedy=remedy)  # fmt: skip
    if name.startswith(".") or name.endswith(".") or name.casefold().partition(".")[0].strip() in _DEVICES:
        raise InvalidValueError(f"a folder cannot be called “{name}”", remedy=remedy)
    return name


def _place(typed: str | None) -> Path:
    """The folder for the archive, which has to be there. Raises NotFoundError or InvalidValueError."""
    place = whole_path(typed)
    if place is None:
        raise InvalidValueError("no folder was named", remedy="Type where the archive is to be kept.")
    return existing_folder(place, typed)


def _source(typed: str | None) -> Path:
    """A folder with a backup or a package. Raises NotFoundError or InvalidValueError."""
    source = whole_path(typed)
    if source is None:
        raise InvalidValueError("no folder was named", remedy="Type where the backup or the package is.")
    return existing_folder(source, typed, "Is the disk plugged in? Type the whole path.")


def _again(source: Path, folder: Path, progress: Progress) -> list[str]:
    """Make an archive again from a package or a backup; what was done, a line each."""
    from kinphoto.archive.keeping.restoring import is_package, restore
    from kinphoto.archive.keeping.unpacking import unpack

    packed = is_package(source)
    done = (unpack if packed else restore)(source, folder, progress)
    lines: list[str] = []
    for line, files in done.report("package" if packed else "backup"):
        lines += [line, *files[:_MOST], *([f"and {len(files) - _MOST} more"] if len(files) > _MOST else [])]
    return lines


def _made(folder: Path) -> Archive:
    """A new archive in a folder that is new or empty. Raises ArchiveError for any other."""
    _refuse_used(folder)
    return _dated(Archive.create(folder))


def _refuse_used(folder: Path) -> None:
    if is_here(folder):
        raise ArchiveError(
            f"there is an archive called “{folder.name}” already", remedy="Open it below, or choose another name."
        )
    try:
        used = os.path.lexists(folder) and (not folder.is_dir() or any(folder.iterdir()))
    except OSError:
        used = True
    if used:
        raise ArchiveError(
            f"there is something called “{folder.name}” there already", remedy="Choose another name, or another folder."
        )


def _dated(archive: Archive) -> Archive:
    """A new archive with its dates, so that no page begins by saying that they are being worked out."""
    archive.dates.refresh()
    return archive


def _opened(typed: str | None) -> Archive:
    folder = whole_path(typed)
    if folder is None:
        raise InvalidValueError("no folder was named", remedy="Type where your archive is.")
    inside = folder.parent if folder.name == "kinphoto.db" else folder
    if not is_here(inside):
        raise NotFoundError(f"there is no archive in '{typed}'", remedy="Type the folder that holds its kinphoto.db.")
    return Archive.open(inside)


def _archives(here: Path) -> Iterator[Path]:
    """Archives near by, to be opened with one press: in this folder, and in the home folder."""
    places = dict.fromkeys((here, Path.home()))
    found: dict[Path, None] = {}
    for place in places:
        with suppress(OSError):
            for folder in sorted(islice(place.iterdir(), LOOKED_AT)):
                if not folder.name.startswith(".") and folder.is_dir() and is_here(folder):
                    found[folder] = None
    return islice(found, _MOST)
