"""`kinphoto ask`, `who` and `hindsight`: what to ask next, who somebody could be, and how good the estimates are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, person

if TYPE_CHECKING:
    from kinphoto.archive.asking.questions import AskedQuestion, QuestionList
    from kinphoto.archive.asking.who import UnnamedPerson, Who


SHOWN = 12
"""Questions shown: enough for an evening."""


def ask(
    of: Annotated[
        str | None,
        typer.Option("--of", metavar="INFORMANT", help="Only what this informant could know.", show_default=False),
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Suggest what to ask next and who to ask, the most useful questions first."""
    found = open_archive(archive).asking.questions(of)
    answer(as_json, found, _ask_lines(found))


def _ask_lines(found: QuestionList) -> Iterator[str]:
    if found.informant and not found.known:
        yield f"We do not know who {found.informant} is in the tree, so these are questions for anybody. To say who:"
        yield f'  kinphoto informant "{found.informant}" --person PERSON'
    if not found.living:
        yield f"According to the tree, {found.informant} is no longer living. For questions to others: kinphoto ask"
        return
    if not found.questions:
        yield "No question would tell us more about a date."
        return
    yield from question_lines(found.questions[:SHOWN])
    if len(found.questions) > SHOWN:
        yield f"{len(found.questions) - SHOWN} more: kinphoto ask --json"
    if any(q.kind == "age" for q in found.questions[:SHOWN]):
        yield "Ask for an age before you mention any years or dates, and record it with --unseen."


def question_lines(found: tuple[AskedQuestion, ...]) -> Iterator[str]:
    """Questions to be read aloud; also shown by the demo."""
    for number, q in enumerate(found, 1):
        is_asked_of_some = q.informants and q.kind != "age"  # anybody can look at a face
        could = f"  (may know: {', '.join(q.informants[:3])})" if is_asked_of_some else ""
        yield f"{number:>2}. {q.text}{could}"
        if q.reason:
            yield f"    {q.reason}"


def who(
    photograph: Annotated[str, typer.Argument(metavar="PHOTO", help="A code such as K00042, or a scan's path.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Suggest who the unnamed people in a photograph could be, and why.

    These are guesses from the family, their lives and how old they look. Nothing is recorded.
    """
    found = open_archive(archive).asking.candidates(photograph)
    answer(as_json, found, _who_lines(found))


def _who_lines(found: Who) -> Iterator[str]:
    if not found.unnamed:
        yield f"Everybody recorded in {found.photograph} has a name."
        yield f"To add a face: kinphoto link {found.photograph} - --region L,T,W,H --age 25-30"
        return
    for one in found.unnamed:
        yield from _unnamed_lines(found.photograph, one)
    yield "These are guesses, not evidence: ask before you name somebody. To record a name:"
    first = found.unnamed[0]
    yield f"  kinphoto link {found.photograph} PERSON --region {first.region or first.appearance}"


def _unnamed_lines(photograph: str, one: UnnamedPerson) -> Iterator[str]:
    where = f"Face {one.number} of {photograph} ({one.region})" if one.number else f"Somebody in {photograph}"
    yield f"{where}{', ' + one.looks if one.looks else ''}:"
    for s in one.suggestions:
        name = person(s.name, s.person, s.life.years)
        yield f"  {_percent(s.probability):>5}  {name}{': ' if s.reasons else ''}{'; '.join(s.reasons)}"
    yield f"  {_percent(one.somebody_else):>5}  somebody else"


def _percent(probability: float) -> str:
    return "< 1 %" if probability < 0.01 else f"{probability:.0%}".replace("%", " %")


def hindsight(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Hide every known date, estimate it from everything else, and show how far off that is.

    Ages judged before the date was seen are counted separately: the others may have followed it.
    """
    from kinphoto.archive.dates.hindsight import in_words
    from kinphoto.cli.documents import HindsightDocument

    found = open_archive(archive).dates.hindsight()
    answer(as_json, HindsightDocument.of(found), in_words(found))
