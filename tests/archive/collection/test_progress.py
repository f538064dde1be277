"""Keeping going: tonight, the pace, the likely end, what was lent, and the list to hand over."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from building import archive_with
from PIL import Image
from scanned_prints import Print, as_jpeg, photograph, scanned

from kinphoto.archive import Archive
from kinphoto.archive.collection.tonight import evening_begins
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Ten scans of one folder, added just now."""
    return archive_with(tmp_path, scans=10)


def scanned_on(archive: Archive, days: dict[int, int]) -> None:
    """Pretend that so many scans were added so many days ago, at noon."""
    ids = iter(range(1, 100))
    with archive.engine.begin() as connection:
        for ago, count in days.items():
            at = (datetime.now().astimezone().replace(hour=12) - timedelta(days=ago)).astimezone(UTC)
            for _ in range(count):
                where = t.scan.c.id == next(ids)
                connection.execute(t.scan.update().where(where).values(indexed_at=at.isoformat(timespec="seconds")))


def test_an_evening_ends_at_four(archive: Archive) -> None:
    """Half past midnight still belongs to the evening before (in a zone two hours east of Greenwich)."""
    zone = timezone(timedelta(hours=2))
    assert evening_begins(datetime(2026, 3, 2, 0, 30, tzinfo=zone)) == "2026-03-01T02:00:00+00:00"
    assert evening_begins(datetime(2026, 3, 2, 21, 0, tzinfo=zone)) == "2026-03-02T02:00:00+00:00"


def test_pace_and_the_likely_end_by_hand(archive: Archive) -> None:
    """Three evenings of 2, 3 and 5 prints in four weeks: the median is 3 an evening. Of 100 prints 90 are left, which
    takes 30 evenings; at three evenings in 28 days those are 280 days."""
    scanned_on(archive, {20: 2, 9: 3, 2: 5})
    archive.photographs.expect("scans", 100)
    today = (datetime.now().astimezone() - timedelta(hours=4)).date()
    found = archive.photographs.scanning_progress(today)
    assert (found.photographs, found.left, found.evenings, found.pace, found.evenings_left) == (10, 90, 3, 3.0, 30)
    assert found.ends == (today + timedelta(days=280)).isoformat()[:7]
    assert (found.months[-1].month, sum(each.ahead for each in found.months)) == (found.ends, 90)
    assert found.encouragement == "10 photographs are safe already."


def test_nothing_is_foretold_without_evenings_or_a_count(archive: Archive) -> None:
    """No count, no end; no evening in four weeks, no pace; and nobody is reproached."""
    scanned_on(archive, {90: 10})
    found = archive.photographs.scanning_progress()
    assert (found.left, found.pace, found.evenings_left, found.ends) == (None, None, None, None)
    archive.photographs.expect("scans", 100)
    assert archive.photographs.scanning_progress().ends is None


def test_a_box_is_counted_before_its_first_scan(archive: Archive) -> None:
    """It is made then, as when something is lent in it; letter case makes no second box."""
    done = archive.photographs.expect("Blue tin", 400)
    assert (done.name, done.made) == ("Blue tin", True)
    assert archive.photographs.expect("blue tin", 380).made is False
    assert archive.photographs.scanning_progress().left == 380
    assert [box.name for box in archive.photographs.container_names()].count("Blue tin") == 1
    with pytest.raises(NotFoundError):
        archive.photographs.expect("Blue trunk", None)


def test_a_box_that_was_counted_or_lent_is_that_of_its_folder(tmp_path: Path) -> None:
    """Its scans go into it, so that there are not two boxes of one name, an empty one and an uncounted one."""
    archive = Archive.create(tmp_path / "family")
    archive.photographs.expect("Tin", 120)
    archive.photographs.lend("From Clara", "Clara Ombry")
    for name in ("tin", "From Clara"):
        (tmp_path / name).mkdir()
        Image.linear_gradient("L").rotate(len(name)).save(tmp_path / name / "a.png")
        archive.scans.add([tmp_path / name])
    assert [box.name for box in archive.photographs.container_names()] == ["From Clara", "Tin"]
    assert archive.photographs.scanning_progress().left == 119
    archive.statements.undo()
    assert [box.photographs for box in archive.photographs.scanning_progress().boxes] == [1]


def test_the_months_by_hand(archive: Archive) -> None:
    """Six prints in March and four in May, the month between them empty: at two evenings of two in four weeks, 10 more
    take 70 days from 20 May: 1.57 in the 11 days left of May, 30 / 7 in June, 31 / 7 in July, none after."""
    today = date(2026, 5, 20)
    with archive.engine.begin() as connection:
        for id_, day in enumerate(("03-01",) * 6 + ("05-10",) * 2 + ("05-19",) * 2, 1):
            at = datetime.fromisoformat(f"2026-{day}T12:00").astimezone(UTC)
            connection.execute(t.scan.update().where(t.scan.c.id == id_).values(indexed_at=at.isoformat()))
    archive.photographs.expect("scans", 20)
    found = archive.photographs.scanning_progress(today)
    assert (found.pace, found.left, found.ends) == (2, 10, "2026-07")
    assert [(each.month, each.done, each.ahead) for each in found.months] == [
        ("2026-03", 6, 0), ("2026-04", 0, 0), ("2026-05", 4, 2), ("2026-06", 0, 4), ("2026-07", 0, 4)
    ]  # fmt: skip


def test_the_quota_is_kept_and_praised(archive: Archive) -> None:
    """Tonight's ten of ten; a quota can be changed, removed and undone."""
    archive.photographs.set_quota(10)
    found = archive.photographs.scanning_progress()
    assert found.tonight.words == "10 of 10 tonight"
    assert found.encouragement == "10 tonight: that is what you meant to do. Well done."
    archive.photographs.set_quota(0)
    assert archive.scans.tonight().quota is None
    archive.statements.undo()
    assert archive.scans.tonight().quota == 10
    with pytest.raises(InvalidValueError, match="not a number of prints"):
        archive.photographs.set_quota(10**9)


def test_what_was_lent_goes_back(archive: Archive) -> None:
    """An envelope is a box of its own with its lender, day and condition, until it is returned."""
    archive.photographs.lend("From Clara", " Clara  Ombry ", date(2026, 3, 1), "a corner torn", "12 prints")
    (one,) = archive.photographs.scanning_progress().lent
    assert (one.container, one.lender, one.came_on, one.condition, one.returned_on) == (
        "From Clara", "Clara Ombry", "2026-03-01", "a corner torn", None
    )  # fmt: skip
    assert any("To go back to Clara Ombry" in line for line in archive.photographs.hand_over().lines)
    with pytest.raises(InvalidValueError, match="before it came"):
        archive.photographs.give_back("From Clara", date(2026, 2, 1))
    (one,) = archive.photographs.give_back("from clara", date(2026, 4, 1))
    assert one.returned_on == "2026-04-01"
    assert one.words == "lent by Clara Ombry, came on 1 March 2026, went back on 1 April 2026"
    with pytest.raises(NotFoundError, match="nothing that was lent"):
        archive.photographs.give_back("From Clara")


def test_scans_to_be_made_again_come_with_their_reasons(tmp_path: Path) -> None:
    """From the checks: one at 150 ppi, with what was measured; accepted, it is no longer on the list, nor is it on that
    of another box. What was not checked is counted, and not called good."""
    for name, ppi in (("fine", 600), ("coarse", 150)):
        (tmp_path / name).mkdir()
        how = Print(size=(900, 700), margin=40, border=20)
        (tmp_path / name / "a.jpg").write_bytes(as_jpeg(scanned(photograph("coffee"), how, ppi), ppi=ppi))
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([tmp_path / "coarse", tmp_path / "fine"])
    assert (archive.photographs.hand_over().unchecked, archive.photographs.hand_over().again) == (2, ())
    archive.scans.check()
    found = archive.photographs.hand_over()
    assert [(each.photograph, each.container, each.name) for each in found.again] == [("K00001", "coarse", "a.jpg")]
    assert any("150 ppi" in why for why in found.again[0].why)
    assert any(line.startswith("To be scanned again: K00001 (a.jpg), ") for line in found.lines)
    assert archive.photographs.hand_over("fine").again == ()
    for each in archive.scans.findings(["K00001"]).scans[0].findings:
        archive.scans.accept("K00001", each.kind, "a newspaper cutting")
    assert archive.photographs.hand_over().again == ()


def test_the_list_to_hand_over(archive: Archive, tmp_path: Path) -> None:
    """Counts, gaps, what should be scanned again and what must not be scanned at home."""
    files = sorted(path for path in (tmp_path / "scans").rglob("*") if path.is_file())
    archive.scans.rename([str(files[0]), str(files[1])], "tin")
    archive.scans.hold_number("tin", "stuck to the page")
    archive.statements.record_making("K00003", "process", "nitrate")
    next(path for path in files if path.exists()).unlink()
    archive.scans.add([tmp_path / "scans"])
    lines = "\n".join(archive.photographs.hand_over("scans").lines)
    assert sum(int(line.split(": ")[1].split()[0]) for line in lines.splitlines() if "photograph" in line) == 10
    assert "tin 0003: stuck to the page." in lines
    assert "To be scanned again: K" in lines
    assert "Not to be scanned at home without advice: K00003. Nitrate film" in lines
    with pytest.raises(NotFoundError):
        archive.photographs.hand_over("trunk")
