"""How much is in an archive, and how far it has got, against plain counts of the sample."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.reason.model.span import year_of
from kinphoto.store import tables as t


@pytest.fixture
def archive(shared_sample: Archive) -> Archive:
    """The sample; nothing here changes it."""
    return shared_sample


def test_the_decades_are_those_of_the_best_dates(archive: Archive) -> None:
    """Every dated photograph stands once, in the decade of its best date (counted one by one from `dates`)."""
    counted = Counter(
        year_of(d.estimate.best) // 10 * 10 for d in archive.dates.estimates() if d.estimate.best is not None
    )
    shown: Counter[int] = Counter()
    for box in archive.search.overview().boxes:
        shown.update(box.decades)
    assert shown == counted


def test_what_is_wanting_is_counted(archive: Archive) -> None:
    """The counts of dates, names, conflicts and people agree with what the other listings say."""
    shown = archive.search.overview()
    assert shown.tally.photographs == len(archive.dates.estimates())
    assert shown.conflicts == len(archive.dates.conflicts().stories)
    assert shown.people == len(archive.people.find().people)
    assert shown.in_pictures == sum(1 for person in archive.people.find().people if person.pictures)
    assert sum(sum(box.decades.values()) + box.undated for box in shown.boxes) == shown.tally.photographs


def test_growth_ends_with_what_there_is_now(archive: Archive) -> None:
    """On the last day as many are named and dated as are now."""
    shown = archive.search.overview()
    last = shown.progress[-1]
    assert last.named == shown.tally.photographs - shown.tally.unnamed
    assert last.dated == shown.tally.photographs - shown.tally.undated


def test_growth_goes_day_by_day(tmp_path: Path) -> None:
    """A photograph counts from the day of the first statement about it, and never twice."""
    archive = Archive.create(tmp_path / "family")
    archive.people.add("Ada Marsh", born="1890", died="1961")
    with archive.working("photographs") as work:
        for number in (1, 2):
            work.insert_one(t.photograph, code=f"K0000{number}", indexed=739_000)
    for number in (1, 2):
        archive.statements.link(Link(photograph=f"K{number}", person="X1"))
    archive.dates.refresh()
    with archive.working("as if said earlier") as work:
        work.update(t.appearance, [1], said_at="2026-03-14T20:00:00+00:00")
        work.update(t.appearance, [2], said_at="2026-04-01T20:00:00+00:00")
    progress = archive.search.overview().progress
    assert [(one.named, one.dated) for one in progress] == [(1, 1), (2, 2)]
    assert progress[1].day - progress[0].day == 18


def test_an_evening_belongs_to_its_day(tmp_path: Path, in_time_zone: Callable[[str], None]) -> None:
    """In Boston the evening of 14 March is the 15th in UTC."""
    archive = Archive.create(tmp_path / "family")
    archive.people.add("Ada Marsh", born="1890", died="1961")
    with archive.working("photographs") as work:
        work.insert_one(t.photograph, code="K00001", indexed=739_000)
    archive.statements.link(Link(photograph="K1", person="X1"))
    with archive.working("as if said in the evening") as work:
        work.update(t.appearance, [1], said_at="2026-03-15T01:00:00+00:00")
    in_time_zone("EST5")
    assert [one.day for one in archive.search.overview().progress] == [date(2026, 3, 14).toordinal()]


def test_an_empty_archive_has_nothing_and_says_so(tmp_path: Path) -> None:
    """Nothing is counted, and there is no next photograph to name."""
    shown = Archive.create(tmp_path / "family").search.overview()
    assert (shown.tally.photographs, shown.scans, shown.next_unnamed, shown.boxes) == (0, 0, None, ())
    assert not shown.has_tree
