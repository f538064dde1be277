"""The drawings of the sample: everything is where its days are, and nothing is lost."""

from __future__ import annotations

from pathlib import Path

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.collection.progress import MonthScanned
from kinphoto.archive.dates.bars import ASIDE
from kinphoto.web.drawing import lifeline as life
from kinphoto.web.drawing import plots
from kinphoto.web.drawing import strip as strips
from kinphoto.web.drawing.axis import Axis
from kinphoto.web.drawing.plots import months

FERRY, DISPUTED = "K00009", "K00023"


@pytest.fixture
def archive(shared_sample: Archive) -> Archive:
    """The sample; nothing here changes it."""
    return shared_sample


@pytest.mark.parametrize("code", [FERRY, DISPUTED, "K00024", "K00051"])
def test_each_statement_is_a_line_at_its_days(archive: Archive, code: str) -> None:
    """Every bar is drawn, ends where its days end, and is open (an arrow) where they are or go beyond the drawing."""
    shown = archive.dates.evidence_strip(code)
    drawn = strips.strip(shown)
    axis = Axis(shown.axis.first, shown.axis.last, drawn.left, drawn.right)
    assert [line.bar.id for line in drawn.lines] == [bar.id for bar in shown.bars]
    for line in drawn.lines:
        assert drawn.left <= line.x1 <= line.x2 <= drawn.right
        if line.bar.first is not None and axis.contains(line.bar.first):
            assert (line.x1, line.open1) == (axis.x(line.bar.first), False)
        if line.bar.last is None:
            assert (line.x2, line.open2) == (drawn.right, True)


def test_the_bracket_and_the_hatching_are_the_estimate_s(archive: Archive) -> None:
    """The bracket holds the likely range; hatched is what is earlier than the earliest, later than the latest day."""
    shown = archive.dates.evidence_strip(FERRY)
    drawn, e = strips.strip(shown), shown.estimate
    axis = Axis(shown.axis.first, shown.axis.last, drawn.left, drawn.right)
    assert drawn.bracket == (axis.x(e.likely_from), axis.x((e.likely_to or 0) + 1))
    assert drawn.before == pytest.approx(axis.x(e.earliest) - drawn.left, abs=0.1)
    assert drawn.after == pytest.approx(drawn.right - axis.x(e.latest), abs=0.1)
    assert drawn.washed is not None
    assert drawn.washed[0] <= axis.x(e.best) <= drawn.washed[1]
    darkest = max(drawn.wash, key=lambda stop: stop.darkness)
    assert drawn.bracket is not None
    at = drawn.washed[0] + darkest.offset * (drawn.washed[1] - drawn.washed[0])
    assert drawn.bracket[0] <= at <= drawn.bracket[1], "the most probable day is in the likely range"


def test_what_does_not_fit_has_its_mark(archive: Archive) -> None:
    """The line of a statement that is set aside is marked, and no other is."""
    drawn = strips.strip(archive.dates.evidence_strip(DISPUTED))
    assert [line.doubted for line in drawn.lines] == [line.bar.state == ASIDE for line in drawn.lines]
    assert any(line.doubted for line in drawn.lines)


def test_a_life_line_has_every_picture_and_none_upon_another(archive: Archive) -> None:
    """Each dated picture hangs at its best date or is counted as left out; frames in one row do not overlap."""
    shown = archive.people.life("I24")
    drawn = life.lifeline(shown)
    assert drawn is not None
    assert len(drawn.placed) + drawn.left_out + drawn.undated == len(shown.pictures)
    frames = [(one.x, one.y, one.x + one.width, one.y + one.height) for one in drawn.placed]
    for number, (left, top, right, foot) in enumerate(frames):
        for other in frames[number + 1 :]:
            assert right <= other[0] or other[2] <= left or foot <= other[1] or other[3] <= top
    assert all(top >= 0 and foot <= drawn.height for _, top, _, foot in frames)


def test_somebody_of_whom_nothing_is_known_has_no_line(tmp_path: Path) -> None:
    """Without a date of life and without a dated picture there is nothing to draw."""
    archive = Archive.create(tmp_path / "family")
    archive.people.add("Nobody Knows")
    assert life.lifeline(archive.people.life("X1")) is None


def test_the_plot_of_decades_counts_by_area(archive: Archive) -> None:
    """Twice as many photographs have a square of twice the area, as long as it is not too small to be seen."""
    drawn = plots.decades(archive.search.overview().boxes)
    assert drawn is not None
    cells = [cell for row in drawn.rows for cell in row.cells if cell.side > 4]
    shares = {round(cell.side**2 / cell.count, 0) for cell in cells}
    assert max(shares) - min(shares) <= 0.05 * max(shares)


def test_growth_is_drawn_from_two_days_on(archive: Archive) -> None:
    """One day is no growth; with two the lines begin and end at what was counted."""
    progress = archive.search.overview().progress[-1:]
    assert plots.growth(progress, 51) is None
    later = [*progress, type(progress[0])(progress[0].day + 10, 51, 51)]
    drawn = plots.growth(later, 51)
    assert drawn is not None
    assert drawn.named.endswith(f"590 {drawn.all_y}") or drawn.named.endswith(f"590.0 {drawn.all_y}")


def test_the_months_of_the_scanning() -> None:
    """Three months, the last still to come: half as much is half as high, what is to come stands on what was done, and
    no two labels run into each other. Before the first scan there is no picture."""
    drawn = months([MonthScanned("2026-10", 20, 0), MonthScanned("2026-11", 5, 5), MonthScanned("2026-12", 0, 10)])
    assert drawn is not None
    first, second, third = drawn.columns
    assert first.done == 2 * (second.done + second.ahead) == 2 * third.ahead
    assert (second.ahead_y + second.ahead, first.done_y + first.done) == (second.done_y, drawn.floor)
    assert [each.label for each in drawn.columns] == ["October 2026", "", "December 2026"]
    assert second.words == "November 2026: 5 scanned and about 5 to come"
    assert months([]) is None
