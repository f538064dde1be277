"""A number that was given later, or by somebody else, is switched off for a look or withdrawn: alone, and not with the
box in which it is one."""

from __future__ import annotations

from pathlib import Path

import pytest
from building import archive_with, numbered_tin
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.collection.joining import take_over
from kinphoto.archive.dates.bars import OFF, STANDING, WITHDRAWN
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.store import tables as t

Likely = tuple[int | None, int | None]
"""The first and the last day of a likely range."""


@pytest.fixture
def tin(tmp_path: Path) -> Archive:
    """Ten photographs in a tin with numbers in another order; number 12 is that of K2, which N2 means."""
    return numbered_tin(tmp_path)


def states(archive: Archive, code: str, *off: str) -> dict[str, str]:
    """How the statements of a photograph stand, with some switched off."""
    return {bar.id: bar.state for bar in archive.dates.evidence_strip(code, off).bars}


def dated(archive: Archive) -> dict[str, Likely]:
    """The likely ranges of all photographs."""
    return {d.code: (d.estimate.likely_from, d.estimate.likely_to) for d in archive.dates.estimates()}


def apart(one: Likely, other: Likely) -> int:
    """By how many days an end of one range is off that of another at most."""
    return max(abs((a or 0) - (b or 0)) for a, b in zip(one, other, strict=True))


def numbers(archive: Archive) -> dict[str, int | None]:
    """The numbers that the reasoner is told."""
    with archive.reading() as connection:
        return {p.id: None if p.number is None else p.number.value for p in gather(connection).photographs}


def test_for_a_look(tin: Archive) -> None:
    """Switched off alone, the box stands; with the box the number is off too. What a look and an explanation say the
    date would be without it is what it is once it is withdrawn, and the others then hear nothing of it either."""
    assert states(tin, "K2") == {"A1": STANDING, "S2": STANDING, "B1": STANDING, "N2": STANDING}
    assert states(tin, "K2", "N2") == {"A1": STANDING, "S2": STANDING, "B1": STANDING, "N2": OFF}
    assert states(tin, "K2", "B1") == {"A1": STANDING, "S2": STANDING, "B1": OFF, "N2": OFF}
    before = tin.dates.evidence_strip("K2")
    look, no_box = (tin.dates.evidence_strip("K2", off) for off in (["N2"], ["B1"]))
    assert len({before.words, look.words, no_box.words}) == 3
    assert no_box.words == tin.dates.evidence_strip("K2", ["B1", "N2"]).words
    [clue] = [clue for clue in tin.dates.explanation("K2").clues if clue.statements == ("N2",)]
    assert clue.effect == f"Without it: {look.words.partition(',')[0]}."
    tin.statements.withdraw("N2")
    tin.dates.estimates()
    assert tin.dates.evidence_strip("K2").words == look.words
    assert "number 12 " not in tin.dates.explanation("K10").text
    assert numbers(tin)["K00002"] is None


def test_withdrawn_and_used_again(tin: Archive) -> None:
    """Kept and shown as no longer used, one line of the history, and undone as any other; the date of its own and those
    of others are then what they were."""
    before = dated(tin)
    done = tin.statements.withdraw("n2")
    assert (done.statement, done.words, done.changed) == ("N2", "the number 12 of K00002", True)
    assert tin.statements.history(1)[0].what == "withdrew N2, the number 12 of K00002"
    without = dated(tin)
    assert without["K00002"] != before["K00002"]
    assert without["K00010"] != before["K00010"], "number 5, which hears of 12 less than of others"
    assert states(tin, "K2")["N2"] == WITHDRAWN
    assert "N2" not in [part.id for part in tin.dates.explanation("K2").parts]
    assert not tin.statements.withdraw("N2").changed
    tin.statements.undo()
    assert dated(tin) == before
    tin.statements.withdraw("N2")
    assert tin.statements.reinstate("N2").changed
    assert dated(tin) == before
    assert states(tin, "K2")["N2"] == STANDING


def test_shown_with_what_was_recorded(tin: Archive) -> None:
    """Where it says something of the date, or was withdrawn, it stands with what is known of the photograph."""

    def shown(code: str) -> list[tuple[str, str, bool]]:
        return [(m.id, m.words, m.withdrawn) for m in tin.photographs.details(code).marks if m.kind == "number"]

    assert shown("K2") == [("N2", "12", False)]
    tin.statements.withdraw("N2")
    assert shown("K2") == [("N2", "12", True)]
    tin.photographs.move([f"K{i}" for i in range(3, 11)], "Trunk")
    assert shown("K3") == [("N3", "9", False)]
    tin.photographs.move(["K1"], "Album")
    assert shown("K1") == []


def test_another_number_counts_again(tin: Archive) -> None:
    """What was withdrawn is the number that it had: one that is recorded instead counts, and undone it does not."""
    tin.statements.withdraw("N2")
    tin.photographs.describe("K2", Description(title="On the pier", former_number="No. 12"))
    assert numbers(tin)["K00002"] is None
    tin.photographs.describe("K2", Description(former_number="No. 13"))
    assert numbers(tin)["K00002"] == 13
    tin.statements.undo()
    assert numbers(tin)["K00002"] is None


def test_only_of_a_photograph_with_a_number(tmp_path: Path) -> None:
    """Refused, in words, for one that has none, and where there is no such photograph."""
    archive = archive_with(tmp_path, photographs=1)
    with pytest.raises(InvalidValueError, match="K00001 has no number that could say when it was taken"):
        archive.statements.withdraw("N1")
    with pytest.raises(NotFoundError, match="there is no statement N7"):
        archive.statements.withdraw("N7")


@pytest.mark.usefixtures("as_if_large")
def test_at_once_where_not_everything_is_dated(tin: Archive) -> None:
    """In a large archive the photograph follows at once, and so do the others; exactly as when everything is dated, for
    nothing but the container has changed. Used again, it is all as before."""
    before = dated(tin)
    tin.statements.withdraw("N2")
    tin.dates.refresh_photographs(["K2"])
    assert not tin.dates.freshness().fresh
    kept = {d.code: (d.estimate.likely_from, d.estimate.likely_to) for d in tin.dates.kept_estimates().photographs}
    look = tin.dates.evidence_strip("K2").words
    everything = dated(tin)
    assert tin.dates.evidence_strip("K2").words == look
    for code, expected in everything.items():
        assert apart(kept[code], expected) <= 31, code
    assert apart(kept["K00002"], before["K00002"]) > 365
    tin.statements.reinstate("N2")
    tin.dates.refresh_photographs(["K2"])
    again = tin.dates.kept_estimates(["K2"]).photographs[0].estimate
    assert apart((again.likely_from, again.likely_to), before["K00002"]) <= 31


def test_joined_to_another(tin: Archive) -> None:
    """A photograph that takes over a number takes over that it was withdrawn; with one of its own it keeps that."""
    tin.statements.withdraw("N2")
    with tin.working("made a second scan") as work:
        work.update(t.photograph, [1], former_number="")
    with tin.reading() as connection:
        rows = {row["id"]: row for row in connection.execute(select(t.photograph)).mappings()}
    with tin.working("joined") as work:
        take_over(work, 1, rows[2])
    assert numbers(tin)["K00001"] is None
    with tin.working("joined") as work:
        take_over(work, 3, rows[1])
    assert numbers(tin)["K00003"] == 9
