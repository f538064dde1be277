"""The stories that go to an audience: those that the gate lets through and that belong to what somebody wants to give.

A recording goes to the household as it was put in. Anybody else gets the sound alone, since a file can give away more
than is heard: who owns the telephone, and where it was.
"""

from __future__ import annotations

from collections.abc import Collection, Set
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.catalogue.privacy import StoryReason, View
from kinphoto.archive.catalogue.recorded_dates import dated
from kinphoto.archive.catalogue.stories import Recording, read_stories
from kinphoto.archive.catalogue.story_links import about_of
from kinphoto.gedcom.wording import words as date_words
from kinphoto.sounds.copying import without_tags
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class HeldStory:
    """A story that is held back."""

    story: Annotated[str, "the id of a story that stays, `T3`"]
    reason: Annotated[
        str,
        "`private`; `teller` (has not agreed), `living` (it is about somebody who has not agreed), `photograph` (it is "
        "about one that stays), or `unread` (nobody has gone through it for this audience)",
    ]
    why: Annotated[str, "the same in words"]


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenStory:
    """A story as it may leave the archive; `people` are ids of those who may be named."""

    id: str
    title: str
    text: str
    told_by: str
    when: str
    photographs: tuple[str, ...]
    people: tuple[str, ...]
    recording: Recording | None

    @property
    def label(self) -> str:
        """What to call it."""
        return self.title or ("A recording" if not self.text else "A story")


_WHY = {
    StoryReason.PRIVATE: "you marked it, or a photograph it is about, private",
    StoryReason.TELLER: "its teller may be living and has not agreed",
    StoryReason.LIVING: "it is about somebody who may be living and has not agreed",
    StoryReason.PHOTOGRAPH: "it is about a photograph that stays",
    StoryReason.UNREAD: "nobody has gone through it for them: kinphoto give clear {} --words",
}


def select_stories(
    connection: Connection, seen: View, photographs: Set[int] | None, people: Collection[str]
) -> tuple[tuple[GivenStory, ...], tuple[HeldStory, ...]]:
    """What may go, oldest first, and what stays and why; with `photographs` (row ids) only what is about one of them,
    or about one of these `people` (ids in the tree)."""
    s, i, p, k = t.story.c, t.informant.c, t.person.c, t.photograph.c
    query = select(t.story, i.name.label("teller"), i.person_id.label("who")).outerjoin(
        t.informant, i.id == s.informant_id
    )
    rows = {row.id: row for row in rows_of(connection, query, s.id, seen.stories | seen.held_stories.keys())}
    shown, told_of = about_of(connection, rows)
    everybody = {who for each in told_of.values() for who in each}
    codes = {row.id: row.code for row in rows_of(connection, select(p.id, p.code), p.id, everybody)}
    wanted = [
        id_
        for id_ in sorted(rows)
        if photographs is None
        or not photographs.isdisjoint(shown[id_])
        or any(codes[who] in people for who in told_of[id_])
    ]
    pictures = {x for id_ in wanted for x in shown[id_]}
    named = {row.id: row.code for row in rows_of(connection, select(k.id, k.code), k.id, pictures)}
    sounds = {one.id: one.recording for one in read_stories(connection, seen.stories)}
    going = tuple(
        GivenStory(
            id=f"T{id_}", title=rows[id_].title, text=rows[id_].text,
            told_by=(rows[id_].teller or "") if seen.at_home or rows[id_].who in seen.people else "",
            when=date_words(dated(rows[id_]._mapping)) if rows[id_].date_text else "",
            photographs=tuple(sorted(named[x] for x in shown[id_])), people=tuple(codes[x] for x in told_of[id_]),
            recording=sounds[f"T{id_}"],
        )
        for id_ in wanted
        if id_ in seen.stories
    )  # fmt: skip
    held = tuple(
        HeldStory(f"T{id_}", str(why := seen.held_stories[id_]), _WHY[why].format(f"T{id_}"))
        for id_ in wanted
        if id_ in seen.held_stories
    )
    return going, held


def given_recording(one: GivenStory, seen: View, folder: Path) -> Path | None:
    """The file of a recording as it may be given: as it was put in for the household, otherwise a copy in `folder` with
    nothing but the sound. None where it is missing, or no such copy can be made."""
    if one.recording is None or one.recording.missing:
        return None
    path = Path(one.recording.path)
    return path if seen.at_home else without_tags(path, one.recording.kind, folder, one.id)
