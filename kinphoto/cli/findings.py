"""`kinphoto dates`, `explain`, `conflicts` and `settle`: what the reasoner concluded."""

from __future__ import annotations

from collections.abc import Iterator
from string import ascii_lowercase
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive
from kinphoto.phrases import counted, opening

if TYPE_CHECKING:
    from kinphoto.archive.dates.conflicts import SettledConflict
    from kinphoto.archive.dates.estimates import DatedPhotograph
    from kinphoto.archive.dates.explain import Explanation
    from kinphoto.archive.words.conflict_stories import Story, StoryBook
    from kinphoto.reason.model.findings import Estimate

Photographs = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="[PHOTO]...", help="Codes or scans; all photographs when none is given.", show_default=False
    ),
]
OnePhotograph = Annotated[str, typer.Argument(metavar="PHOTO", help="A code such as K00042, or a scan's path.")]


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    app.command("dates")(dates)
    app.command("explain")(explain)
    app.command("conflicts")(conflicts)
    app.command("settle")(settle)


def dates(photographs: Photographs = None, archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Say when each photograph was taken: what is possible, what is likely, and the best single date."""
    found = open_archive(archive).dates.estimates(photographs or [])
    answer(as_json, {"photographs": [_document(d) for d in found]}, lambda: date_lines(found))


def explain(
    photograph: OnePhotograph,
    everything: Annotated[
        bool, typer.Option("--all", help="Also what changes little, each statement by itself.", show_default=False)
    ] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say why a photograph is dated as it is: the clues that matter, and what it would be without each."""
    found = open_archive(archive).dates.explanation(photograph, everything=everything or as_json)
    answer(as_json, _explanation_document(found), lambda: _explanation_lines(found, everything=everything))


def conflicts(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Show what does not fit together, and the smallest set of statements to set aside."""
    found = open_archive(archive).dates.conflicts()
    answer(as_json, _conflicts_document(found), lambda: story_lines(found))


def settle(
    conflict: Annotated[str, typer.Argument(metavar="CONFLICT", help="Its id, as `conflicts` shows it.")],
    way: Annotated[
        list[str],
        typer.Argument(metavar="WAY", help="The letter of one of its ways out, or all its statements: a, or A19 S357."),
    ],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Settle a conflict by one of its ways out: its statements are withdrawn in one change.

    They are kept and shown, but bear on nothing any more.
    """
    done = open_archive(archive).dates.settle(conflict, way)
    document = {
        "conflict": done.conflict,
        "headline": done.headline,
        "withdrawn": [{"statement": each.statement, "text": each.words} for each in done.withdrawn],
        "change": done.change,
        "cautions": list(done.cautions),
    }
    answer(as_json, document, lambda: _settled_lines(done))


def _settled_lines(done: SettledConflict) -> Iterator[str]:
    yield f"Settled: {done.headline} Withdrawn:"
    yield from (f"  {each.statement:<6} {each.words}" for each in done.withdrawn)
    yield f"To have it again: kinphoto undo {done.change}"
    yield from (f"Take care: {caution}" for caution in done.cautions)


def estimate_document(e: Estimate) -> dict[str, Any]:
    """A photograph's date as scripts read it."""
    from kinphoto.archive.words.dates import one_of
    from kinphoto.reason.model.span import iso

    return {
        "earliest": iso(e.earliest),
        "latest": iso(e.latest),
        "likely_from": iso(e.likely_from),
        "likely_to": iso(e.likely_to),
        "best": iso(e.best),
        "edtf": e.edtf or None,
        "one_of": one_of(e.edtf),
        "state": str(e.state),
    }


def _document(dated: DatedPhotograph) -> dict[str, Any]:
    return {"code": dated.code, "scans": list(dated.scans), **estimate_document(dated.estimate)}


def date_lines(found: list[DatedPhotograph]) -> Iterator[str]:
    from kinphoto.archive.words.dates import when

    if not found:
        yield "There is no photograph yet. Add some: kinphoto scans add FOLDER"
        return
    for dated in found:
        note = "  (does not fit together: see kinphoto conflicts)" if dated.estimate.state == "disputed" else ""
        yield f"{dated.code}  {when(dated.estimate)}{note}" + (f"  {dated.title}" if dated.title else "")


def _explanation_document(found: Explanation) -> dict[str, Any]:
    from kinphoto.reason.model.span import iso

    return {
        **_document(found.dated),
        "text": found.text,
        "clues": [{"statements": list(c.statements), "text": c.text, "effect": c.effect} for c in found.clues],
        "statements": [
            {
                "id": part.id,
                "kind": part.kind,
                "text": part.text,
                "trust": part.trust,
                "informant": part.informant,
                "aside": part.aside,
                "without": None
                if part.without is None
                else {
                    "earliest": iso(part.without.earliest),
                    "latest": iso(part.without.latest),
                    "likely_from": iso(part.without.likely_from),
                    "likely_to": iso(part.without.likely_to),
                    "best": iso(part.without.best),
                },
            }
            for part in found.parts
        ],
        "laws": list(found.laws),
        "conflicts": list(found.conflicts),
    }


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
        yield f"It is part of what does not fit together ({', '.join(found.conflicts)}): kinphoto conflicts"


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
        yield (
            f"  {counted(found.others, 'other statement changes', 'other statements change')} little or nothing: "
            f"kinphoto explain {found.dated.code} --all"
        )


def _conflicts_document(found: StoryBook) -> dict[str, Any]:
    return {
        "conflicts": [
            {
                "id": story.id,
                "photographs": list(story.photographs),
                "people": list(story.people),
                "statements": [
                    {"id": s.id, "kind": s.kind, "text": s.text, "trust": s.trust} for s in story.statements
                ],
                "aside": list(story.aside),
                "ways_out": [list(way) for way in story.ways_out],
                "tie": story.tie,
                "ways": [
                    {"statements": list(way.statements), "words": way.words, "is_best": way.is_best,
                     "touches_parentage": way.touches_parentage}
                    for way in story.ways
                ],
            }
            for story in found.stories
        ],
        "aside": list(found.aside),
        "unlikely": [
            {"photograph": u.photograph, "person": u.person, "statement": u.statement, "probability": u.probability,
             "text": u.text}
            for u in found.unlikely
        ],
        "expected_false_alarms": found.expected_false_alarms,
    }  # fmt: skip


def story_lines(found: StoryBook) -> Iterator[str]:
    """The conflicts as short stories; also told by the demo."""
    if not found.stories:
        yield "Everything fits together."
    for number, story in enumerate(found.stories, 1):
        yield from _story(number, story)
    first = next((story for story in found.stories if story.ways), None)
    if first is not None:
        yield f"To settle one, give its id and the letter of a way: kinphoto settle {first.id} a"
    if found.unlikely:
        yield "Possible, but unlikely (worth another look):"
        for u in found.unlikely:
            yield f"  {u.photograph}: {u.text}."
        yield f"  Of these, about {found.expected_false_alarms:.1f} may be false alarms."


def _story(number: int, story: Story) -> Iterator[str]:
    yield f"{number}. {story.headline}  ({story.id})"
    for s in story.statements:
        yield f"     {s.id:<6} {s.text}."
    yield from _ways(story)
    yield ""


def _ways(story: Story) -> Iterator[str]:
    from kinphoto.archive.words.ways_out import QUIET

    if not story.ways:
        yield "   They cannot all be true."
        return
    yield f"   They cannot all be true{', and nothing here tells which is not' if story.tie else ''}. Perhaps:"
    for letter, way in zip(ascii_lowercase, story.ways, strict=False):
        yield f"     {letter}  {way.words}.{' This is set aside for now.' if way.is_best else ''}"
    if any(way.touches_parentage for way in story.ways):
        yield f"   {QUIET}"
