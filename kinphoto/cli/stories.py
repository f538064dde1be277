"""`kinphoto tell` and `stories`: stories, in words or as recordings."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, warn
from kinphoto.phrases import listed

if TYPE_CHECKING:
    from kinphoto.archive.catalogue.stories import Recording, Story
    from kinphoto.archive.statements.telling import StoryRecorded


def tell(
    text: Annotated[
        str | None, typer.Argument(metavar="[TEXT]", help="The words, in quotes; - reads them from the standard input.")
    ] = None,
    sound: Annotated[
        Path | None,
        typer.Option("--sound", metavar="FILE", help="A recording: WAV, FLAC, MP3, OGG, M4A or WebM.", dir_okay=False),
    ] = None,
    by: Annotated[
        str | None, typer.Option("--by", metavar="NAME", help="Who is telling it, such as Aunt Edda.")
    ] = None,
    when: Annotated[
        str | None,
        typer.Option("--when", metavar="DATE", help="When they told it: 3 May 2026, Christmas 1998, yesterday."),
    ] = None,
    about: Annotated[
        list[str] | None,
        typer.Option("--about", metavar="WHAT", help="A photograph or a person it is about; use it several times."),
    ] = None,
    title: Annotated[str | None, typer.Option("--title", metavar="TEXT", help="What to call it.")] = None,
    agreed: Annotated[
        str,
        typer.Option("--agreed", metavar="AUDIENCE", help="Who may have it: the teller was asked and agreed."),
    ] = "",
    asked_by: Annotated[str, typer.Option("--asked-by", metavar="NAME", help="Who asked the teller.")] = "",
    agreed_on: Annotated[
        str, typer.Option("--agreed-on", metavar="DAY", help="The day on which they agreed; today if left out.")
    ] = "",
    change: Annotated[
        str,
        typer.Option(
            "--change", metavar="STORY", help="Change a story already here, by its id (T3); only what you give changes."
        ),
    ] = "",
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Keep what somebody told: in words, as a recording, or both.

    A recording is copied into the archive's folder as it is and never changed. Say who is telling it and what it is
    about, and ask them who may have it: without the teller's consent, and until you have gone through it (`kinphoto
    give clear T3 --words`), it goes to nobody outside the household.
    """
    from kinphoto.archive.statements.telling import NewStory, StoryChange
    from kinphoto.errors import InvalidValueError

    words = _typed(text)
    part = open_archive(archive).stories
    if not change:
        new = NewStory(
            text=words or "", title=title or "", by=by or "", when=when or "", about=tuple(about or ()), agreed=agreed,
            asked_by=asked_by, agreed_on=agreed_on,
        )  # fmt: skip
        _answer(as_json, part.tell(new, sound), "Kept as")
        return
    if sound is not None:
        raise InvalidValueError(
            "a recording is never replaced", remedy="Add the new one as a story of its own, and withdraw this one."
        )
    store = open_archive(archive)
    done = part.change(change, StoryChange(text=words, title=title, by=by, when=when, about=about))
    if agreed:
        store.give.record_telling(change, agreed, asked_by=asked_by, on=agreed_on)
    _answer(as_json, done, "Changed" if done.changed else "Nothing is new about")


def _typed(text: str | None) -> str | None:
    if text != "-":
        return text
    import sys

    return sys.stdin.read()


def _answer(as_json: bool, done: StoryRecorded, how: str) -> None:
    for line in done.warnings:
        warn(line)
    answer(as_json, done, (f"{how} {line}" if at == 0 else line for at, line in enumerate(_lines(done.story))))


def stories(
    which: Annotated[
        str, typer.Argument(metavar="[WHICH]", help="A story (T3) for all of it; or a photograph or person.")
    ] = "",
    withdrawn: Annotated[bool, typer.Option("--withdrawn", help="Also those that were withdrawn.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the stories, or show one story whole. To look for words in them: kinphoto find WORD."""
    part = open_archive(archive).stories
    if which[:1] in ("T", "t") and which[1:].isdecimal():
        one = part.details(which)
        answer(as_json, {"stories": [one]}, _lines(one, whole=True))
        return
    found = part.about(which, with_withdrawn=withdrawn) if which else part.list(with_withdrawn=withdrawn)
    none = "There are no stories yet. To keep a story: kinphoto tell TEXT --by NAME, or kinphoto tell --sound FILE."
    answer(as_json, {"stories": found}, [line for one in found for line in _lines(one)] or none)


def _lines(one: Story, *, whole: bool = False) -> Iterator[str]:
    facts = [
        f"told by {one.teller}" if one.teller else "",
        one.when,
        _sound_words(one.recording) if one.recording else "",
        f"about {listed([*(who.name for who in one.people), *one.photographs])}"
        if one.people or one.photographs
        else "",
        "private" if one.private else "",
        "withdrawn" if one.withdrawn else "",
    ]
    yield f"{one.id} {one.label}: {', '.join(filter(None, facts)) or 'teller unknown'}"
    if whole:
        yield from one.text.splitlines()
        if one.recording:
            yield f"The recording is {one.recording.path}"


def _sound_words(sound: Recording) -> str:
    if sound.missing:
        return "its recording is missing"
    if sound.seconds is None:
        return "a recording"
    minutes, seconds = divmod(round(sound.seconds), 60)
    return f"a recording of {minutes}:{seconds:02} minutes"
