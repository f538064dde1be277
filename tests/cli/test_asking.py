"""Hindsight and questions at the command line, on the sample."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from statistics import mean, median
from typing import Any

import pytest
from commands import invoked

from kinphoto.archive import Archive
from kinphoto.cli.documents import documents

DOCUMENTS = documents()


@pytest.fixture
def folder(shared_sample: Archive) -> Path:
    """The sample archive's folder."""
    return shared_sample.folder


def run(folder: Path, *words: str) -> str:
    """What a command prints."""
    done = invoked([*words, "--archive", str(folder)])
    assert done.exit_code == 0, done.output
    return done.stdout


def document(folder: Path, *words: str) -> Any:
    """The JSON document, every field of which is described."""
    found = json.loads(run(folder, *words, "--json"))
    undescribed = set(leaves(found)) - DOCUMENTS[words[0]].keys()
    assert not undescribed
    return found


def leaves(found: Any, path: str = "") -> Iterator[str]:
    """The paths of all that is not null."""
    if isinstance(found, dict):
        for key, value in found.items():
            yield from leaves(value, f"{path}.{key}" if path else key)
    elif isinstance(found, list):
        for value in found:
            yield from leaves(value, f"{path}[]")
    elif found is not None:
        yield path


def test_hindsight_adds_up(folder: Path) -> None:
    """The figures are those of the rows, which can be worked out again from the document."""
    found = document(folder, "hindsight")
    rows = found["rows"]
    assert len(rows) == found["photographs"] >= 12
    assert found["coverage90"] == pytest.approx(mean(row["inside"] for row in rows))
    off = [_years(row["best"], row["true_from"], row["true_to"]) for row in rows]
    assert found["median_abs_error_years"] == pytest.approx(median(off))
    assert found["mean_abs_error_years"] == pytest.approx(mean(off))
    for row in rows:
        apart = row["likely_to"] < row["true_from"] or row["true_to"] < row["likely_from"]
        within = row["likely_from"] <= row["true_from"] <= row["true_to"] <= row["likely_to"]
        assert apart == (row["inside"] == 0)
        assert within == (row["inside"] == 1)
    assert "nine times out of ten" in run(folder, "hindsight")


def _years(best: str, first: str, last: str) -> float:
    from datetime import date

    day = date.fromisoformat(best).toordinal()
    middle = (date.fromisoformat(first).toordinal() + date.fromisoformat(last).toordinal()) / 2
    return abs(day - middle) / 365.2425


def test_who_it_could_be(folder: Path) -> None:
    """Unnamed faces with their candidates, likeliest first; it is said that these are guesses."""
    found = document(folder, "who", "K00014")
    (one,) = found["unnamed"]
    chances = [each["probability"] for each in one["people"]]
    assert chances == sorted(chances, reverse=True)
    assert sum(chances) + one["somebody_else"] <= 1 + 1e-9
    text = run(folder, "who", "K00014")
    assert "These are guesses, not evidence" in text
    assert one["people"][0]["name"] in text
    assert "has a name" in run(folder, "who", "K00009")


def test_what_to_ask(folder: Path) -> None:
    """Questions for scripts and for a reader, the same first one; those of one informant are some of them."""
    found = document(folder, "ask")["questions"]
    assert found == sorted(found, key=lambda q: (q["kind"] == "order", -q["bits"]))
    assert found[0]["text"] in run(folder, "ask").splitlines()[0]
    judiths = document(folder, "ask", "--of", "Judith Quillern")["questions"]
    assert judiths == [q for q in found if "Judith Quillern" in q["informants"]]
    assert "no longer living" in run(folder, "ask", "--of", "Nora Quillern")
