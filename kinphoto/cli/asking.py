"""`kinphoto ask`, `who` and `hindsight`: what to ask next, whom unnamed people could be, how good the estimates are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive

if TYPE_CHECKING:
    from kinphoto.archive.asking.questions import Asked, QuestionList
    from kinphoto.archive.asking.who import UnnamedPerson, Who
    from kinphoto.reason.advice.hindsight import Hindsight, Score


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    app.command("ask")(ask)
    app.command("who")(who)
    app.command("hindsight")(hindsight)


SHOWN = 12
"""Questions told to a reader: an evening's."""


def ask(
    of: Annotated[
        str | None,
        typer.Option("--of", metavar="INFORMANT", help="Only what this informant could know.", show_default=False),
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say what to ask whom next, most telling first."""
    found = open_archive(archive).ask(of)
    answer(as_json, _ask_document(found), lambda: _ask_lines(found))


def _ask_document(found: QuestionList) -> dict[str, Any]:
    return {
        "questions": [
            {
                "kind": q.kind,
                "text": q.text,
                "photographs": list(q.photographs),
                "people": list(q.people),
                "bits": q.bits,
                "informants": list(q.informants),
                "appearance": q.appearance,
                "region": q.region,
            }
            for q in found.questions
        ]
    }


def _ask_lines(found: QuestionList) -> Iterator[str]:
    if found.informant and not found.known:
        yield f"It is not known who {found.informant} is in the tree; this could be asked of anybody. To tell it:"
        yield f'  kinphoto informant "{found.informant}" --person PERSON'
    if not found.living:
        yield f"As far as the tree knows, {found.informant} is not living. For others: kinphoto ask"
        return
    if not found.questions:
        yield "There is nothing to ask that would tell more about a date."
        return
    yield from question_lines(found.questions[:SHOWN])
    if len(found.questions) > SHOWN:
        yield f"{len(found.questions) - SHOWN} more: kinphoto ask --json"
    if any(q.kind == "age" for q in found.questions[:SHOWN]):
        yield "Ask for an age before you tell a name's years or a date, and put it down with --unseen."


def question_lines(found: tuple[Asked, ...]) -> Iterator[str]:
    """Questions to be read aloud; also told by the demo."""
    for number, q in enumerate(found, 1):
        is_asked_of_some = q.informants and q.kind != "age"  # anybody can look at a face
        could = f"  (could know: {', '.join(q.informants[:3])})" if is_asked_of_some else ""
        yield f"{number:>2}. {q.text}{could}"


def who(
    photograph: Annotated[str, typer.Argument(metavar="PHOTO", help="A code such as K00042, or a scan's path.")],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say who the unnamed people in a photograph could be, with reasons.

    A guess from the family, their lives and how old they look. Nothing is put down by it.
    """
    found = open_archive(archive).who(photograph)
    answer(as_json, _who_document(found), lambda: _who_lines(found))


def _who_document(found: Who) -> dict[str, Any]:
    return {
        "photograph": found.photograph,
        "unnamed": [
            {
                "appearance": one.appearance,
                "region": one.region,
                "face": one.number or None,
                "looks": one.looks or None,
                "people": [
                    {"person": s.person, "name": s.name, "probability": s.probability, "reasons": list(s.reasons)}
                    for s in one.suggestions
                ],
                "somebody_else": one.somebody_else,
            }
            for one in found.unnamed
        ],
    }


def _who_lines(found: Who) -> Iterator[str]:
    if not found.unnamed:
        yield f"Everybody who was framed or noted in {found.photograph} has a name."
        yield f"For a face that is not there yet: kinphoto link {found.photograph} - --region L,T,W,H --age 25-30"
        return
    for one in found.unnamed:
        yield from _unnamed_lines(found.photograph, one)
    yield "Guesses, no evidence: ask before you name somebody. To put a name down:"
    first = found.unnamed[0]
    yield f"  kinphoto link {found.photograph} PERSON --region {first.region or first.appearance}"


def _unnamed_lines(photograph: str, one: UnnamedPerson) -> Iterator[str]:
    from kinphoto.archive.words.dates import life_years

    where = f"Face {one.number} of {photograph} ({one.region})" if one.number else f"Somebody in {photograph}"
    yield f"{where}{', ' + one.looks if one.looks else ''}:"
    for s in one.suggestions:
        years = life_years(s.life.begin, s.life.end)
        named = f"{s.name} ({s.person}{', ' + years if years else ''})"
        yield f"  {_percent(s.probability):>5}  {named}{': ' if s.reasons else ''}{'; '.join(s.reasons)}"
    yield f"  {_percent(one.somebody_else):>5}  somebody else"


def _percent(probability: float) -> str:
    return "< 1 %" if probability < 0.01 else f"{probability:.0%}".replace("%", " %")


def hindsight(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Hide every known date, estimate it from everything else, and say how far off that is.

    Ages judged before the date was seen are counted apart: the others may have been fitted to it.
    """
    from kinphoto.archive.dates.hindsight import told

    found = open_archive(archive).hindsight()
    answer(as_json, _hindsight_document(found), lambda: told(found))


def _hindsight_document(found: Hindsight) -> dict[str, Any]:
    from kinphoto.reason.model.span import iso

    return {
        **_score_document(found.score),
        "rows": [
            {
                "code": row.photograph,
                "true_from": iso(row.true.first),
                "true_to": iso(row.true.last),
                "known_by": row.kind,
                "statement": row.by,
                "likely_from": iso(row.likely.first),
                "likely_to": iso(row.likely.last),
                "best": iso(row.best),
                "inside": row.inside,
                "blind": row.blind,
            }
            for row in found.rows
        ],
        "undated": list(found.undated),
        "blind": _score_document(found.of(True)),
        "seen": _score_document(found.of(False)),
        "informants": [
            {
                "informant": judge.informant,
                "blind": judge.blind,
                "judgements": judge.judgements,
                "bias_years": judge.bias_years,
                "bias": judge.bias,
                "spread": judge.spread,
            }
            for judge in found.judges
        ],
    }


def _score_document(score: Score) -> dict[str, Any]:
    return {
        "photographs": score.photographs,
        "coverage90": score.coverage,
        "median_abs_error_years": score.median,
        "mean_abs_error_years": score.mean,
    }
