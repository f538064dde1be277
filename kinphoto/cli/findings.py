"""`kinphoto dates`, `explain`, `conflicts` and `settle`: what was worked out."""

from __future__ import annotations

from collections.abc import Iterator
from string import ascii_lowercase
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive
from kinphoto.phrases import counted, opening

if TYPE_CHECKING:
    from kinphoto.archive.dates.conflicts import SettledConflict
    from kinphoto.archive.dates.estimates import DatedPhotograph
    from kinphoto.archive.dates.explain import Explanation
    from kinphoto.archive.words.conflict_stories import ConflictStory, StoryBook

Photographs = Annotated[
    list[str] | None,
    typer.Argument(metavar="[PHOTO]...", help="Codes or scans; leave it out for all photographs.", show_default=False),
]
OnePhotograph = Annotated[str, typer.Argument(metavar="PHOTO", help="A code such as K00042, or a scan's path.")]


def dates(photographs: Photographs = None, archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Show when each photograph was taken: what is possible, what is likely, and the best single date."""
    found = open_archive(archive).dates.estimates(photographs or [])
    answer(as_json, {"photographs": found}, date_lines(found))


def explain(
    photograph: OnePhotograph,
    everything: Annotated[
        bool, typer.Option("--all", help="Show every statement, also those that change little.", show_default=False)
    ] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Explain the date of a photograph: the clues that matter, and what it would be without each."""
    found = open_archive(archive).dates.explanation(photograph, everything=everything or as_json)
    answer(as_json, found, _explanation_lines(found, everything=everything))


def conflicts(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Show what does not fit together, and the smallest set of statements to set aside."""
    found = open_archive(archive).dates.conflicts()
    answer(as_json, found, story_lines(found))


def settle(
    conflict: Annotated[str, typer.Argument(metavar="CONFLICT", help="Its id, as `conflicts` shows it.")],
    way: Annotated[
        list[str],
        typer.Argument(metavar="WAY", help="The letter of one of the answers, or its statements: a, or A19 S357."),
    ],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Settle a conflict with one of the answers that `conflicts` suggests, in one change.

    The statements this rules out are withdrawn: kept and shown, but no longer used.
    """
    done = open_archive(archive).dates.settle(conflict, way)
    answer(as_json, done, _settled_lines(done))


def _settled_lines(done: SettledConflict) -> Iterator[str]:
    yield f"Settled: {done.headline} Withdrawn:"
    yield from (f"  {each.statement:<6} {each.words}" for each in done.withdrawn)
    yield f"To undo this: kinphoto undo {done.change}"
    yield from (f"Take care: {caution}" for caution in done.cautions)


def date_lines(found: list[DatedPhotograph]) -> Iterator[str]:
    from kinphoto.archive.words.dates import when, years_from_to

    if not found:
        yield "There are no photographs yet. Add some: kinphoto scans add FOLDER"
        return
    for dated in found:
        note = "  (part of a conflict: see kinphoto conflicts)" if dated.estimate.state == "disputed" else ""
        first, last = dated.estimate.collection_from, dated.estimate.collection_to
        if first is not None and last is not None:
            note = f"  (from the collection alone: {years_from_to(first, last)})"
        yield f"{dated.code}  {when(dated.estimate)}{note}" + (f"  {dated.title}" if dated.title else "")


def _explanation_lines(found: Explanation, *, everything: bool) -> Iterator[str]:
    title = f", {found.dated.title}" if found.dated.title else ""
    yield f"{found.dated.code}{title}"
    yield ""
    if everything:
        yield found.text
        yield from _every_statement(found)
    else:
        yield from _what_matters(found)
    if found.conflicts:
        yield ""
        yield f"It is part of a conflict ({', '.join(found.conflicts)}): kinphoto conflicts"


def _every_statement(found: Explanation) -> Iterator[str]:
    if found.parts:
        yield ""
        yield "What it rests on:"
    for part in found.parts:
        mark = "set aside: " if part.aside else ""
        yield f"  {part.id:<6} {mark}{part.text}. {part.effect}"
    for law in found.laws:
        yield f"  law    {law}."


def _what_matters(found: Explanation) -> Iterator[str]:
    """The few clues, what is set aside or contested, and how many others there are."""
    from kinphoto.archive.words.dates import when

    date = when(found.dated.estimate)
    yield f"{opening(date)}." if found.clues else found.text
    if found.clues or found.parts:
        yield ""
        yield "What it rests on:"
    for clue in found.clues:
        yield f"  {opening(clue.text)}. {clue.effect}  [{' '.join(clue.statements)}]"
    for part in found.parts:
        mark = "Set aside: " if part.aside else ""
        yield f"  {mark}{part.text}. {part.effect}  [{part.id}]"
    if found.others:
        yield f"  {counted(found.others, 'other changes', 'others change')} little or nothing (--all shows them)."


def story_lines(found: StoryBook) -> Iterator[str]:
    """The conflicts as short stories; also shown by the demo."""
    if not found.stories:
        yield "Everything fits together."
    for number, story in enumerate(found.stories, 1):
        yield from _story(number, story)
    first = next((story for story in found.stories if story.ways), None)
    if first is not None:
        yield f"To settle one, give its id and the letter of an answer: kinphoto settle {first.id} a"
    if found.unlikely:
        yield "Possible, but unlikely (worth another look):"
        for u in found.unlikely:
            yield f"  {u.photograph}: {u.text}."
        if right := round(found.expected_false_alarms):
            yield f"  About {right} of these {len(found.unlikely)} will turn out to be right after all."
    yield from _out_of_place(found)


def _out_of_place(found: StoryBook) -> Iterator[str]:
    if found.out_of_place:
        yield "Possible, but unlikely where it is kept or on its strip (was it moved, or is a date or name mistaken?):"
        for one in found.out_of_place:
            yield f"  {one.photograph}: {one.text}."


def _story(number: int, story: ConflictStory) -> Iterator[str]:
    yield f"{number}. {story.headline}  ({story.id})"
    for s in story.statements:
        yield f"     {s.id:<6} {s.text}."
    yield from _ways(story)
    yield ""


def _ways(story: ConflictStory) -> Iterator[str]:
    from kinphoto.archive.words.ways_out import QUIET

    if not story.ways:
        yield "   They cannot all be true."
        return
    which = ", and nothing here shows which of them is not" if story.tie else ""
    yield f"   They cannot all be true{which}. One of these would explain it:"
    for letter, way in zip(ascii_lowercase, story.ways, strict=False):
        yield f"     {letter}  {way.words}.{' This is set aside for now.' if way.is_best else ''}"
    if any(way.touches_parentage for way in story.ways):
        yield f"   {QUIET}"
