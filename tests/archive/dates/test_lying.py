"""Where a photograph lies, in words."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from building import archive_with, numbered_tin
from making import make_scans

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.statements.descriptions import Description
from kinphoto.reason.model.findings import Estimate
from kinphoto.reason.model.span import year_of


def test_the_pictures_beside_it_are_told_in_order_of_time(shared_sample: Archive) -> None:
    """Before "The wedding of Ambrose and Johanna" lies a picture of about 1910 and behind it one
    of about 1868: that is named first."""
    told = {}
    for code in ("K00031", "K00023"):
        bars = shared_sample.dates.evidence_strip(code).bars
        found = next(
            found for bar in bars if (found := re.search(r"between pictures of about (\d+) and (\d+)", bar.label))
        )
        told[code] = found.groups()
    assert told["K00031"] == ("1868", "1910")
    assert told["K00023"] == ("1886", "1892")


def kept(archive: Archive, code: str) -> str:
    """Where a photograph is kept, as the strip has it."""
    return next(bar.label for bar in archive.dates.evidence_strip(code).bars if bar.kind == "container")


def number_told(archive: Archive, code: str) -> str:
    """What the number of a photograph says, as the strip has it."""
    return next(bar.label for bar in archive.dates.evidence_strip(code).bars if bar.kind == "number")


def off(estimate: Estimate) -> int:
    """How many days its best date is off the middle of 1932."""
    return abs((estimate.best or 0) - date(1932, 7, 1).toordinal())


def length(estimate: Estimate) -> int:
    """How many days its likely range is long."""
    return (estimate.likely_to or 0) - (estimate.likely_from or 0)


def test_a_number_lies_between_those_of_dated_pictures(tmp_path: Path) -> None:
    """Number 12 lies between 11 of 1931 and 14 of 1934; number 1 comes before 2 of 1922. With that its best date
    is nearer to these years, and its range shorter, than without numbers; it is a clue beside that of the tin."""
    tin = numbered_tin(tmp_path)
    assert number_told(tin, "K2") == "Its number 12 comes between 11 of 1931 and 14 of 1934"
    assert number_told(tin, "K4") == "Its number 1 comes before 2 of 1922"
    told = tin.dates.explanation("K2")
    assert "its number 12 comes between 11 of 1931 and 14 of 1934" in told.text
    [clue] = [clue for clue in told.clues if "number 12" in clue.text]
    assert clue.effect.startswith("Without it: between ")
    with_numbers = tin.dates.estimates(["K2"])[0].estimate
    for i in range(1, 11):
        tin.photographs.describe(f"K{i}", Description(former_number=""))
    without = tin.dates.estimates(["K2"])[0].estimate
    assert "number" not in [bar.kind for bar in tin.dates.evidence_strip("K2").bars]
    assert off(with_numbers) < 0.7 * off(without)
    assert length(with_numbers) < 0.9 * length(without)


def test_a_number_that_tells_nothing_is_not_mentioned(tmp_path: Path) -> None:
    """Ten photographs numbered as they lie: that is one order, so nothing is said of numbers."""
    archive = archive_with(tmp_path, photographs=10)
    archive.photographs.move([f"K{i}" for i in range(1, 11)], "Tin")
    for i in range(1, 11):
        archive.photographs.describe(f"K{i}", Description(former_number=str(i)))
        archive.statements.record(NewClaim(photograph=f"K{i}", kind="taken", date=str(1920 + i)))
    archive.dates.estimates()
    assert kept(archive, "K4") == "Kept in Tin, between pictures of about 1923 and 1925"


def test_beside_pictures_of_its_theme(tmp_path: Path) -> None:
    """Scans of the harbour and of a picnic in one folder: what is named harbour lies beside others of the harbour, and
    is of their years; what of it is of another time is named with its theme."""
    folder = tmp_path / "Tin"
    folder.mkdir()
    names = [f"{theme}_{number:04}.jpg" for theme in ("harbour", "picnic") for number in range(1, 9)]
    for path, name in zip(make_scans(tmp_path, 16, seed=1), names, strict=True):
        path.rename(folder / name)
    archive = archive_with(tmp_path)
    archive.scans.add([folder])
    archive.people.add("Ada Marsh", born="1880", died="1965")
    archive.statements.link(Link(photograph="K8", person="X1", age="20-60"))
    for i in (*range(1, 7), *range(9, 16)):
        archive.statements.record(NewClaim(photograph=f"K{i}", kind="inscription", date="1911" if i < 9 else "1938"))
    archive.statements.record(NewClaim(photograph="K7", kind="inscription", date="1938"))
    last = archive.dates.estimates(["K8"])[0].estimate
    assert kept(archive, "K8") == "Kept in Tin, named harbour, near a picture of about 1911"
    assert 1905 < year_of(last.best or 0) < 1917
    [misplaced] = archive.dates.conflicts().out_of_place
    assert misplaced.photograph == "K00007"
    assert "what else is named harbour in Tin is likely from 1911" in misplaced.text
