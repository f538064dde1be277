"""Estimates as they are kept, between looks at the whole archive."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from building import archive_with
from sqlalchemy import event, select

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.freshness import Stamp, stamp
from kinphoto.archive.dates import stored as keeping_
from kinphoto.archive.dates.estimates import findings_from_json, kept_findings
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.dates.stored import keep_all, keep_some
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.statements.descriptions import Description
from kinphoto.archive.words.conflict_stories import StoryBook, book
from kinphoto.reason.dating import date_archive
from kinphoto.reason.model.findings import Findings


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Three photographs, two of them dated."""
    made = archive_with(tmp_path, scans=3)
    made.statements.record(NewClaim(photograph="K1", kind="taken", date="1924"))
    made.statements.record(NewClaim(photograph="K2", kind="taken", date="1931"))
    return made


def looked_at(archive: Archive) -> tuple[Findings, StoryBook, Stamp]:
    """What is found in the whole archive, not kept yet."""
    with archive.reading() as connection:
        moment, evidence = stamp(connection), gather(connection)
    findings = date_archive(evidence)
    return findings, book(evidence, findings), moment


def kept(archive: Archive) -> dict[str, str]:
    """The kept dates by code."""
    return {d.code: d.estimate.edtf for d in archive.dates.kept_estimates().photographs}


@pytest.mark.usefixtures("as_if_large")
def test_a_newer_estimate_wins(archive: Archive) -> None:
    """What was dated by itself after the archive was read is not overwritten by what is found in the archive then."""
    found = looked_at(archive)
    change = archive.statements.history(1)[0].number
    archive.statements.withdraw(next(b.id for b in archive.dates.evidence_strip("K1").bars))
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1950"))
    archive.dates.refresh_photographs(["K1"])
    keep_all(archive.engine, *found)
    assert kept(archive) == {"K00001": "1950", "K00002": "1931", "K00003": ""}
    assert (archive.dates.freshness().as_of, archive.dates.freshness().fresh) == (change, False)
    keep_all(archive.engine, *looked_at(archive))
    assert kept(archive)["K00001"] == "1950"
    assert archive.dates.freshness().fresh


def test_an_older_look_at_everything_loses(archive: Archive) -> None:
    """Of two looks at the whole archive that end in the wrong order the later one stays."""
    found = looked_at(archive)
    archive.statements.record(NewClaim(photograph="K3", kind="taken", date="1940"))
    archive.dates.refresh()
    keep_all(archive.engine, *found)
    assert kept(archive)["K00003"] == "1940"
    assert archive.dates.freshness().fresh


def test_an_older_estimate_of_one_photograph_loses_too(archive: Archive) -> None:
    """Of two looks at one photograph that end in the wrong order the later one stays."""
    old = archive.dates.estimates(["K1"])[0].estimate
    with archive.reading() as connection:
        before = stamp(connection)
    archive.statements.record(NewClaim(photograph="K3", kind="taken", date="1940"))
    with archive.reading() as connection:
        after = stamp(connection)
    keep_some(archive.engine, [replace(old, edtf="1925")], after)
    keep_some(archive.engine, [replace(old, edtf="1926")], before)
    assert kept(archive)["K00001"] == "1925"


def test_only_what_differs_is_written(archive: Archive) -> None:
    """Everything dated again with one new statement writes the rows that it moves: the photograph, and one that lies
    with it, whose own year is stated and whose likely days move by one; but not all."""
    archive.dates.estimates()
    archive.statements.record(NewClaim(photograph="K3", kind="taken", date="1940"))
    written: list[int] = []

    @event.listens_for(archive.engine, "before_cursor_execute")
    def _count(_c: object, _cursor: object, sql: str, values: object, _context: object, many: bool) -> None:
        if sql.startswith("INSERT INTO estimate"):
            written.append(len(values) if many and isinstance(values, list) else 1)

    archive.dates.refresh()
    assert len(written) == 1
    assert written[0] < 3
    archive.photographs.describe("K3", Description(title="The pier"))
    archive.dates.refresh()
    assert len(written) == 1
    assert kept(archive)["K00003"] == "1940"


def test_many_rows_are_written_in_several_goes(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """So that somebody who saves meanwhile gets a turn; all of them are there in the end."""
    monkeypatch.setattr(keeping_, "_AT_ONCE", 1)
    archive.dates.refresh()
    assert kept(archive) == {"K00001": "1924", "K00002": "1931", "K00003": ""}
    assert archive.dates.freshness().fresh


def test_a_photograph_that_is_gone_meanwhile(archive: Archive) -> None:
    """Its estimate is not kept."""
    found = looked_at(archive)
    scans = [d.scans[0] for d in archive.dates.estimates()]
    archive.scans.join([scans[0], scans[2]], "verso")
    keep_all(archive.engine, *found)
    assert kept(archive).keys() == {"K00001", "K00002"}


def test_a_change_that_goes_on(archive: Archive) -> None:
    """A change that is written in several goes is newer with each: what was made in between is not taken for fresh."""
    archive.dates.refresh()
    assert archive.dates.freshness().fresh
    with archive.working("more") as work:
        work.extend(archive.statements.history(1)[0].number)
        work.update(keeping_.t.photograph, [1], title="again")
    assert not archive.dates.freshness().fresh


def test_what_was_found_is_read_back(archive: Archive) -> None:
    """Everything but the estimates and births, which have places of their own; also as earlier versions wrote it."""
    found, stories, made = looked_at(archive)
    keep_all(archive.engine, found, stories, made)
    with archive.reading() as connection:
        assert kept_findings(connection) == replace(
            found, estimates=(), births=(), from_containers={}, containers={}, alone={}
        )  # fmt: skip
    earlier = '{"conflicts": [], "aside": ["S1"], "unlikely": [], "expected_false_alarms": 0.5}'
    assert findings_from_json(earlier) == Findings((), (), ("S1",), (), 0.5)


@pytest.mark.parametrize("many_goes", [False, True])
def test_what_containers_told_is_kept(archive: Archive, monkeypatch: pytest.MonkeyPatch, many_goes: bool) -> None:
    """What is new or different is written, whether in one go or in several; what did not change is left as it is, and
    what a photograph no longer hears goes."""
    if many_goes:
        monkeypatch.setattr(keeping_, "_AT_ONCE", 1)
    findings, stories, made = looked_at(archive)

    def told() -> dict[str, bytes]:
        with archive.reading() as connection:
            f, p = keeping_.t.from_container.c, keeping_.t.photograph.c
            rows = connection.execute(select(p.code, f.told).join(keeping_.t.photograph, p.id == f.photograph_id))
            return {row[0]: row[1] for row in rows}

    first = {f"K0000{n}": b"\x05\x00" + bytes([0, n, 40]) for n in (1, 2, 3)}
    keep_all(archive.engine, replace(findings, from_containers=first), stories, made)
    assert told() == first
    again = {"K00001": b"\x05\x00" + bytes([0, 2, 40]), "K00002": b"\x05\x00" + bytes([0, 12, 40])}
    keep_all(archive.engine, replace(findings, from_containers=again), stories, made)
    assert told() == again
