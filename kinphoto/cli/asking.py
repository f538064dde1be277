"""`kinphoto hindsight`: how good the estimates are."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive

if TYPE_CHECKING:
    from kinphoto.reason.hindsight import Hindsight, Score


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    app.command("hindsight")(hindsight)


def hindsight(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Hide every known date, estimate it from everything else, and say how far off that is.

    Ages judged before the date was seen are counted apart: the others may have been fitted to it.
    """
    from kinphoto.archive.hindsight import told

    found = open_archive(archive).hindsight()
    answer(as_json, _hindsight_document(found), lambda: told(found))


def _hindsight_document(found: Hindsight) -> dict[str, Any]:
    from kinphoto.reason.span import iso

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
