"""What was told: stories in words and recordings, as rows and as results, found by their ids (T3) or by what they are
about."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from pathlib import Path
from textwrap import shorten
from typing import Annotated, Any

from sqlalchemy import Connection, RowMapping, select

from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.catalogue.person_cards import Named
from kinphoto.archive.catalogue.story_links import about_of
from kinphoto.errors import NotFoundError
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of

SOUNDS = "sounds"
"""The folder of an archive for its recordings."""
_ID = re.compile(r"[Tt]([0-9]{1,15})")


@dataclass(frozen=True, slots=True)
class Recording:
    """The recording of a story."""

    path: Annotated[str, "the file of the recording, as it was put in"]
    name: Annotated[str, "what the file was called"]
    kind: Annotated[str, "WAV, FLAC, MP3, OGG, M4A or WEBM"]
    sha256: Annotated[str, "SHA-256 of the file when it was put in"]
    size: Annotated[int, "its bytes"]
    seconds: Annotated[float | None, "how long it plays; null where that is not known"]
    missing: Annotated[bool, "true when the file is not where it should be"]


@dataclass(frozen=True, slots=True)
class Story:
    """What somebody told."""

    id: Annotated[str, "the id of the story, `T3`"]
    title: Annotated[str, "its title"]
    text: Annotated[str, "its words; empty for a recording nobody wrote out"]
    teller: Annotated[str | None, "its teller; null where nobody said"]
    when: Annotated[str, "when they told it, as it was typed; empty where nobody said"]
    photographs: Annotated[tuple[str, ...], "codes of the photographs it is about"]
    people: Annotated[tuple[Named, ...], "the people it is about"]
    recording: Annotated[Recording | None, "the recording; null for words alone"]
    private: Annotated[bool, "true when it never leaves the archive"]
    withdrawn: Annotated[bool, "true when it was withdrawn"]
    said_at: Annotated[str, "when it was put in, UTC"]

    @property
    def label(self) -> str:
        """What to call it: its title, or else how it begins."""
        begins = shorten(self.text, 60, placeholder=" …")
        return self.title or begins or f"A recording of {self.teller or 'somebody'}"


def is_story(text: str) -> bool:
    """Whether this is written like the id of a story."""
    return _ID.fullmatch(text.strip()) is not None


def find_story(connection: Connection, text: str) -> RowMapping:
    """The row of a story by its id. Raises NotFoundError."""
    match = _ID.fullmatch(text.strip())
    query = select(t.story).where(t.story.c.id == int(match[1] if match else 0))
    row = connection.execute(query).mappings().first()
    if row is None:
        raise NotFoundError(f"there is no story '{text}'", remedy="To see them all: kinphoto stories.")
    return row


def read_stories(connection: Connection, ids: Collection[int] | None = None) -> tuple[Story, ...]:
    """These stories, or all, the newest first."""
    s, i, p, k = t.story.c, t.informant.c, t.person.c, t.photograph.c
    query = select(t.story, i.name.label("teller")).outerjoin(t.informant, i.id == s.informant_id)
    found_rows: Iterable[Any] = connection.execute(query) if ids is None else rows_of(connection, query, s.id, ids)
    rows = list(found_rows)
    photographs, people = about_of(connection, [row.id for row in rows])
    pictures = {x for each in photographs.values() for x in each}
    codes = {row.id: row.code for row in rows_of(connection, select(k.id, k.code), k.id, pictures)}
    who = {x for each in people.values() for x in each}
    names = {
        row.id: Named(row.code, row.name or row.code)
        for row in rows_of(connection, select(p.id, p.code, p.name), p.id, who)
    }
    folder = folder_of(connection.engine)
    found = [
        Story(
            id=f"T{row.id}", title=row.title, text=row.text, teller=row.teller,
            when=row.date_text,
            photographs=tuple(sorted(codes[x] for x in photographs[row.id])),
            people=tuple(names[x] for x in people[row.id]), recording=_recording(folder, row),
            private=bool(row.private), withdrawn=bool(row.withdrawn), said_at=row.said_at,
        )
        for row in rows
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda one: int(one.id[1:]), reverse=True))


def _recording(folder: Path, row: Any) -> Recording | None:
    if not row.sound:
        return None
    path = folder / row.sound
    return Recording(
        str(path), row.sound_name, row.sound_type, row.sha256, row.size, row.seconds, not path.is_file()
    )  # fmt: skip
