"""Keeping what is told: stories in words or as recordings, with their tellers, when, and what they are about.

A recording is copied into the archive's own folder as it is, byte for byte, with its checksum; it is never changed
again. Everything else goes through the journal. Undoing that a story was put in leaves the file where it is, so that it
can be redone.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Annotated, Any

from sqlalchemy import Connection, Engine, select

from kinphoto.archive.catalogue.finding import find_photograph, is_code
from kinphoto.archive.catalogue.finding_people import find_person
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.recorded_dates import date_columns
from kinphoto.archive.catalogue.stories import (
    SOUNDS,
    Story,
    find_story,
    read_stories,
)
from kinphoto.archive.catalogue.story_links import about_of, stories_about
from kinphoto.archive.statements.consenting import record_telling
from kinphoto.archive.statements.recorder import Recorder
from kinphoto.documents import INLINE
from kinphoto.errors import AmbiguousError, ArchiveError, InvalidValueError, NotFoundError
from kinphoto.gedcom.dates import parse_photograph_date
from kinphoto.reason.model.span import Dated, Span
from kinphoto.scans.copying import copy_hashed
from kinphoto.sounds.kinds import SUFFIXES, recognised
from kinphoto.store import tables as t
from kinphoto.store.atomic import flush_names
from kinphoto.store.opening import folder_of
from kinphoto.store.session import Work, reading, working

LONGEST = 500_000
"""Letters of one story: more than a person tells in a day."""
_DAYS_AGO = {"today": 0, "this morning": 0, "tonight": 0, "yesterday": 1, "last night": 1}


@dataclass(frozen=True, slots=True, kw_only=True)
class NewStory:
    """What somebody told. `when` is a date as people say it; `about` names photographs and people; `agreed` is an
    audience that the teller agreed to pass it on to, with who asked and when."""

    text: str = ""
    title: str = ""
    by: str = ""
    when: str = ""
    about: Sequence[str] = ()
    agreed: str = ""
    asked_by: str = ""
    agreed_on: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StoryChange:
    """What is to be different about a story; None leaves it as it is. `about` takes the place of all there was."""

    text: str | None = None
    title: str | None = None
    by: str | None = None
    when: str | None = None
    about: Sequence[str] | None = None


@dataclass(frozen=True, slots=True)
class StoryRecorded:
    """A story that was put in or changed."""

    story: Annotated[Story, INLINE]
    changed: Annotated[bool, "false when it was so already"]
    warnings: Annotated[tuple[str, ...], "what to look at"]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"]


def tell(engine: Engine, new: NewStory, sound: Path | str | None = None, *, called: str = "") -> StoryRecorded:
    """Put a story in, with a recording copied into the archive's folder if there is one; `called` is what that file is
    called, where it is not at its own name.

    Raises InvalidValueError for neither words nor a recording, or a date that cannot be read; NotFoundError and
    AmbiguousError for what it is about; UnreadableFileError and InvalidValueError for an unusable recording.
    """
    if not new.text.strip() and sound is None:
        raise InvalidValueError("there is nothing to keep", remedy="Type the words, or name a recording: --sound FILE.")
    with reading(engine) as connection:  # before a long recording is copied
        about = list(_about(connection, new.about))
        told = _when(new.when)
    recording = {} if sound is None else _kept(engine, Path(sound), called)
    with working(engine, "") as work:
        recorder = Recorder(work)
        teller = recorder.informant(new.by)
        recorder.write()
        twin = _twin(work.connection, str(recording.get("sha256", "")))
        id_ = work.insert_one(
            t.story, title=_line(new.title), text=_words(new.text), informant_id=teller, said_at=work.at, **told,
            **recording,
        )  # fmt: skip
        _note_about(work, id_, about)
        warnings = list(recorder.warnings)
        if twin is not None:
            warnings.append(f"T{twin} has the same recording. If it is the same story: kinphoto undo.")
        if new.agreed:
            record_telling(work, f"T{id_}", new.agreed, asked_by=new.asked_by, on=new.agreed_on)
        elif not new.by.strip():
            warnings.append("Its teller is not named. To name them: kinphoto tell --change "
                            f"T{id_} --by NAME.")  # fmt: skip
        (story,) = read_stories(work.connection, [id_])
        work.what = f"kept a story{f' told by {story.teller}' if story.teller else ''}: “{story.label}”"
        return StoryRecorded(story, True, tuple(warnings), work.id)


def change(work: Work, story: str, new: StoryChange) -> StoryRecorded:
    """Change the words of a story, who told it, when, or what it is about. The recording stays as it is.

    Raises as `tell` does, and NotFoundError for no such story.
    """
    row = find_story(work.connection, story)
    recorder = Recorder(work)
    fresh: dict[str, Any] = {}
    if new.text is not None:
        fresh["text"] = _words(new.text)
    if new.title is not None:
        fresh["title"] = _line(new.title)
    if new.by is not None:
        fresh["informant_id"] = recorder.informant(new.by)
    if new.when is not None and new.when.strip() != row["date_text"]:
        fresh |= _when(new.when)
    fresh = {key: value for key, value in fresh.items() if row[key] != value}
    if not fresh.get("text", row["text"]) and not row["sound"]:
        raise InvalidValueError(
            "without its words nothing would be left of it", remedy=f"To withdraw it: kinphoto withdraw T{row['id']}."
        )
    recorder.write()
    if fresh:
        work.update(t.story, [row["id"]], **fresh)
    moved = new.about is not None and _change_about(work, row["id"], list(_about(work.connection, new.about)))
    (shown,) = read_stories(work.connection, [row["id"]])
    work.what = f"changed the story “{shown.label}”"
    return StoryRecorded(shown, bool(fresh) or moved, tuple(recorder.warnings), work.id)


def stories(connection: Connection, *, with_withdrawn: bool = False) -> tuple[Story, ...]:
    """All stories, the newest first."""
    return tuple(one for one in read_stories(connection) if with_withdrawn or not one.withdrawn)


def about(connection: Connection, text: str, *, with_withdrawn: bool = False) -> tuple[Story, ...]:
    """The stories about the photograph or the person meant, the newest first. Raises NotFoundError, AmbiguousError."""
    column, id_ = _meant(connection, text)
    ids = stories_about(connection, **{column.removesuffix("_id"): id_})
    return tuple(one for one in read_stories(connection, ids) if with_withdrawn or not one.withdrawn)


def story(connection: Connection, id_: str) -> Story:
    """One story. Raises NotFoundError."""
    return read_stories(connection, [find_story(connection, id_)["id"]])[0]


def _about(connection: Connection, texts: Sequence[str]) -> Iterator[tuple[str, int]]:
    """Photographs by code, path or title, and people by id or name: the column and the row id of each, once."""
    seen: set[tuple[str, int]] = set()
    for text in texts:
        if not text.strip():
            continue
        found = _meant(connection, text)
        if found not in seen:
            seen.add(found)
            yield found


def _meant(connection: Connection, text: str) -> tuple[str, int]:
    try:
        return "photograph_id", int(find_photograph(connection, text, by_title=False)["id"])
    except NotFoundError:
        if is_code(text):
            raise
    try:
        return "person_id", int(find_person(connection, text)["id"])
    except NotFoundError as nobody:
        try:
            return "photograph_id", int(find_photograph(connection, text)["id"])
        except NotFoundError:
            raise NotFoundError(f"there is no photograph or person called '{text}'", remedy=nobody.remedy) from nobody
    except AmbiguousError as several:
        several.remedy = several.remedy or "Give the id of one, such as I12."
        raise


def _note_about(work: Work, story_id: int, about: Sequence[tuple[str, int]]) -> None:
    rows = [{"story_id": story_id, "photograph_id": None, "person_id": None, column: id_} for column, id_ in about]
    work.insert(t.story_about, rows)


def _change_about(work: Work, story_id: int, about: Sequence[tuple[str, int]]) -> bool:
    photographs, people = about_of(work.connection, [story_id])
    before = {("photograph_id", id_) for id_ in photographs[story_id]} | {
        ("person_id", id_) for id_ in people[story_id]
    }
    if before == set(about):
        return False
    b = t.story_about.c
    work.delete(t.story_about, list(work.connection.scalars(select(b.id).where(b.story_id == story_id))))
    _note_about(work, story_id, about)
    return True


def _when(text: str) -> dict[str, Any]:
    """The columns of the date it was told. Raises InvalidValueError."""
    plain, today = " ".join(text.split()), date.today()
    if not plain:
        return {**date_columns(Dated(Span())), "date_text": ""}
    if plain.casefold() in _DAYS_AGO:
        day = today - timedelta(_DAYS_AGO[plain.casefold()])
        plain = f"{day.day} {day:%B %Y}"
    return {**date_columns(parse_photograph_date(plain, today)), "date_text": plain}


def _line(text: str) -> str:
    return " ".join(text.split())[:300]


def _words(text: str) -> str:
    plain = text.replace("\r\n", "\n").strip()
    if len(plain) > LONGEST:
        raise InvalidValueError(f"that is longer than {LONGEST:,} letters", remedy="Add it as several stories.")
    return plain


def _twin(connection: Connection, sha256: str) -> int | None:
    """A story with the same recording."""
    s = t.story.c
    query = select(s.id).where(s.sha256 == sha256, s.withdrawn == 0).limit(1)
    found = connection.scalar(query) if sha256 else None
    return None if found is None else int(found)


def _kept(engine: Engine, sound: Path, called: str) -> dict[str, Any]:
    """A recording, copied into the archive's folder: the columns about it. Raises ArchiveError."""
    name = Path(called or sound.name).name
    kind, seconds = recognised(sound, called)
    archive = folder_of(engine)
    folder = archive / SOUNDS
    try:
        folder.mkdir(exist_ok=True)
        sha256, size = copy_hashed(sound, folder, lambda found: _place(folder, name, found, kind))
        with _place(folder, name, sha256, kind).open("rb") as file:
            os.fsync(file.fileno())
        flush_names(folder)
    except OSError as problem:
        raise ArchiveError(
            f"the recording cannot be copied into the archive ({problem.strerror or problem})", where=str(folder),
            remedy="Check free space and permissions there.",
        ) from problem  # fmt: skip
    path = _place(folder, name, sha256, kind).relative_to(archive).as_posix()
    return {
        "sound": path, "sound_name": name, "sound_type": kind, "sha256": sha256, "size": size, "seconds": seconds,
    }  # fmt: skip


def _place(folder: Path, name: str, sha256: str, kind: str) -> Path:
    """Where a recording goes: under its own name as far as every disk can hold it, and so that no two are one."""
    stem = re.sub(r"[^a-z0-9]+", "-", fold(Path(name).stem)).strip("-")[:40]
    return folder / f"{f'{stem}-' if stem else ''}{sha256[:12]}{SUFFIXES[kind]}"
