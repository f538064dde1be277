"""Hindsight on an archive, in words."""

from __future__ import annotations

from pathlib import Path

from kinphoto.archive import Archive
from kinphoto.archive.dates.hindsight import in_words
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.reason.advice.hindsight import Hindsight, Judge, Row
from kinphoto.reason.model.findings import FittedAges
from kinphoto.reason.model.span import Span


def row(inside: float, off: float, blind: bool | None = None) -> Row:
    """A row of which only the outcome matters."""
    return Row("K1", Span(700000, 700000), "S1", "taken", Span(699000, 701000), 700000, inside, off, blind)


def test_the_sample_in_hindsight(shared_sample: Archive) -> None:
    """Of the sample's known dates at least nine in thirteen are found again, and it says that these are few."""
    found = shared_sample.dates.hindsight()
    assert found.score.photographs >= 12
    assert found.score.coverage is not None
    assert found.score.coverage >= 9 / 13
    assert "K00011" not in {r.photograph for r in found.rows}  # its misread inscription is set aside
    lines = list(in_words(found))
    assert lines[0] == f"There are {found.score.photographs} photographs with a known date. Each was hidden, then " \
                       "estimated from everything else."  # fmt: skip
    assert any(line.startswith("These are too few to be sure") for line in lines)
    assert any("Judith Quillern" in line for line in lines)
    assert not any("scale" in line or "spread" in line for line in lines)  # for --json


def test_it_changes_nothing(own_sample: Archive) -> None:
    """Hiding is done in thought only: the log and the estimates are what they were."""
    before = (own_sample.statements.revision(), own_sample.dates.estimates())
    own_sample.dates.hindsight()
    assert (own_sample.statements.revision(), own_sample.dates.estimates()) == before


def test_blind_ages_are_counted_apart() -> None:
    """Photographs whose ages were judged before the date was seen have a line, and figures, of their own."""
    found = Hindsight(
        (row(1.0, 365.2425, True), row(1.0, -365.2425, True), row(0.0, 4 * 365.2425, False)), (),
        (Judge("Edda", True, 3, 2.0, 0.1, 0.2), Judge(None, False, 1, -0.2, 0.0, None)),
    )  # fmt: skip
    lines = list(in_words(found))
    assert "Where ages were judged before seeing the date: right 2 times out of 2, off by 1 year on average." in lines
    assert "Where ages were judged with the date in view: right 0 times out of 1, off by 4.0 years on average." in lines
    assert lines[-1] == (
        "Only ages judged before seeing the date show how well somebody judges; others may be fitted to it."
    )
    assert any("Edda, 3 ages judged before seeing the date: 2.0 years too old on average" in line for line in lines)
    assert any(
        "Nobody in particular, 1 age judged with the date in view: neither too old nor" in line for line in lines
    )


def test_it_is_said_what_is_counted_of_ages_that_may_be_fitted() -> None:
    """How many undated photographs, how many others they were compared with, and what that tells."""
    judged = (row(1.0, 0.0, False),), (), (Judge("Edda", False, 1, 0.0, 0.0, None),)
    lines = list(in_words(Hindsight(*judged, FittedAges(0.62, 23, 9))))
    assert lines[-2:] == [
        "How often that happens shows where several people's ages were judged with the date in view, in 23 undated "
        "photographs.",
        "By how closely these agree with each other and with the births, compared with 9 where they were judged "
        "before, about 62 % of such photographs have ages that were fitted to a date. Likely ranges allow for that.",
    ]
    assert "compared" not in list(in_words(Hindsight(*judged, FittedAges(0.62, 23, 0))))[-1]
    nothing = list(in_words(Hindsight(*judged, FittedAges(0.25, 0, 9))))
    assert nothing[-1].startswith("Only ages judged before")


def test_without_a_known_date_it_is_said_what_would_help(tmp_path: Path) -> None:
    """An archive in which no date is known has nothing to measure by."""
    archive = Archive.create(tmp_path / "empty")
    assert next(in_words(archive.dates.hindsight())).startswith("No photograph's date is known")
    archive.engine.dispose()


def test_a_whole_decade_is_no_known_date(own_sample: Archive) -> None:
    """A date wider than a year does not count as known."""
    archive = own_sample
    before = archive.dates.hindsight().score.photographs
    archive.statements.record(NewClaim(photograph="K00053", kind="inscription", date="194X"))
    assert archive.dates.hindsight().score.photographs == before
    archive.statements.record(NewClaim(photograph="K00053", kind="inscription", date="1944"))
    assert archive.dates.hindsight().score.photographs == before + 1


def test_where_nothing_but_the_date_is_known_that_is_said() -> None:
    """A photograph with a date and nobody in it is named, with what would help."""
    (first, second) = in_words(Hindsight((), ("K00001",), ()))
    assert "K00001" in first
    assert "kinphoto link" in second
