"""Checking the scans of an archive: measured once, judged anew each time, accepted and taken back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from building import brought_along
from scanned_films import BLACK_AND_WHITE, FRAME, film
from scanned_prints import Print, as_jpeg, curled, photograph, scanned

from kinphoto.archive import Archive
from kinphoto.archive.collection.scan_checks import CheckedScan
from kinphoto.errors import InvalidValueError, NotFoundError

PRINT = Print(size=(900, 700), margin=40, border=20)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the archive and its scans."""
    place = tmp_path_factory.mktemp("checks")
    folder = place / "box"
    folder.mkdir()
    how = {"a_good": (PRINT, 600), "b_cut": (replace(PRINT, cut=55), 600), "c_coarse": (PRINT, 150)}
    for name, (print_, ppi) in how.items():
        (folder / f"{name}.jpg").write_bytes(as_jpeg(scanned(photograph("coffee"), print_, len(name)), ppi=ppi))
    archive = Archive.create(place / "archive")
    archive.scans.add([folder])
    archive.close()
    return place


@pytest.fixture
def archive(made: Path, tmp_path: Path) -> Archive:
    """K00001, a good scan, K00002, one of the same print that ran out of the picture, and K00003, one at 150 ppi."""
    return brought_along(made, tmp_path)


def scan(archive: Archive, code: str) -> CheckedScan:
    """What is known of the only scan of a photograph."""
    (found,) = archive.scans.findings([code]).scans
    return found


def said(archive: Archive, code: str) -> list[str]:
    """The kinds of what is found about it and not accepted."""
    return [each.kind for each in scan(archive, code).findings if not each.accepted]


def test_each_scan_is_measured_once(archive: Archive) -> None:
    """The second time nothing is read; where a file has changed, it alone is; with `again` all of them."""
    assert archive.scans.findings().waiting == 3
    first = archive.scans.check()
    assert (first.checked, first.measured, first.redo, first.good) == (3, 3, 2, 1)
    assert archive.scans.check().measured == 0
    place = archive.folder.parent / "box" / "a_good.jpg"
    place.write_bytes(as_jpeg(scanned(photograph("chelsea"), PRINT, 1), ppi=600))
    archive.scans.add([place.parent])
    assert archive.scans.check().measured == 1
    assert archive.scans.check(again=True).measured == 3


def test_scans_can_be_checked_in_the_reading_that_adds_them(archive: Archive, tmp_path: Path) -> None:
    """The same is found, nothing is left to measure, and specks on the glass are compared at once."""
    other = Archive.create(tmp_path / "other")
    other.scans.add([archive.folder.parent / "box"], check=True)
    again, before = other.scans.check(), archive.scans.check()
    assert (again.measured, again.waiting, before.measured) == (0, 0, 3)
    assert [replace(each, version="") for each in again.scans] == [replace(each, version="") for each in before.scans]
    dusty = tmp_path / "dusty"
    dusty.mkdir()
    glass = ((150, 200), (300, 500), (500, 300), (400, 700))
    for number in range(3):
        made = scanned(photograph("coffee"), replace(PRINT, specks=glass, tilt=0.0, softness=4.0), number)
        (dusty / f"evening_{number}.jpg").write_bytes(as_jpeg(made, ppi=600))
    other.scans.add([dusty], check=True)
    assert all("dust" in [one.kind for one in each.findings] for each in other.scans.findings([str(dusty)]).scans)


def test_no_byte_of_a_scan_changes_and_no_line_is_written_into_the_history(archive: Archive) -> None:
    """What is measured is derived."""
    files = sorted((archive.folder.parent / "box").iterdir())
    before, revision = [file.read_bytes() for file in files], archive.statements.revision()
    archive.scans.check()
    assert [file.read_bytes() for file in files] == before
    assert archive.statements.revision() == revision


def test_what_is_found_names_its_measure_limit_and_source(archive: Archive) -> None:
    """The print that runs out on the left, and the coarse scan, which is 16.6 by 13.2 cm at 150 ppi."""
    archive.scans.check()
    assert said(archive, "K00002") == ["cut"]
    assert scan(archive, "K00002").verdict == "redo"
    (low,) = scan(archive, "K00003").findings
    assert low.measured.startswith("150 ppi (15.")
    assert low.limit == "400 ppi for a print"
    assert "NARA" in low.source


def test_a_turned_scan_is_cut_where_it_is_seen_to_be(archive: Archive) -> None:
    """After a quarter to the right its left side is at the top."""
    archive.scans.check()
    assert scan(archive, "K00002").findings[0].measured == "on the left"
    archive.scans.turn("K00002", "right")
    assert scan(archive, "K00002").findings[0].measured == "on the top"


def test_an_accepted_finding_stays_quiet_until_it_is_taken_back(archive: Archive) -> None:
    """Accepted, undone, accepted again, and no longer accepted; other findings are not touched."""
    archive.scans.check()
    done = archive.scans.accept("K00002", "cut", "the print is torn there")
    assert done.accepted
    assert said(archive, "K00002") == []
    assert scan(archive, "K00002").verdict == "good"
    assert scan(archive, "K00002").findings[0].why == "the print is torn there"
    assert said(archive, "K00003") == ["ppi-low"]
    archive.statements.undo()
    assert said(archive, "K00002") == ["cut"]
    archive.scans.accept("K00002", "[cut]")
    archive.scans.accept("K00002", "cut", take_back=True)
    assert said(archive, "K00002") == ["cut"]


def test_a_removed_photograph_takes_what_was_accepted_with_it_and_brings_it_back(archive: Archive) -> None:
    """Nothing stands in the way of removing it, and undoing that restores it."""
    archive.scans.check()
    archive.scans.accept("K00002", "cut")
    archive.photographs.remove(["K00002"])
    archive.statements.undo()
    assert said(archive, "K00002") == []


def test_a_finding_that_there_is_not_is_refused_with_the_nearest(archive: Archive) -> None:
    """A slip of the pen."""
    with pytest.raises(InvalidValueError, match="Did you mean blurred"):
        archive.scans.accept("K00002", "blured")


def test_a_floor_of_ones_own_counts_at_once(archive: Archive) -> None:
    """150 ppi for prints silences the coarse scan without reading it again; undone, it speaks up."""
    archive.scans.check()
    floors = archive.scans.set_floor("print", 150)
    assert next(floor for floor in floors if floor.original == "print").source == "set here"
    assert archive.scans.findings(["K00003"]).scans == ()
    archive.statements.undo()
    assert said(archive, "K00003") == ["ppi-low"]
    archive.scans.set_floor("print", 150)
    assert archive.scans.set_floor("print", None)[0].ppi == 400
    for original, ppi in (("bread", 300.0), ("print", 3.0)):
        with pytest.raises(InvalidValueError):
            archive.scans.set_floor(original, ppi)


def test_what_it_is_decides_what_is_expected(archive: Archive) -> None:
    """Stated to be a glass negative, 600 ppi are too few and 16 bits are advised."""
    archive.scans.check()
    archive.statements.record_making("K00001", "process", "glass-negative")
    assert said(archive, "K00001") == ["ppi-low", "bits-film"]


def test_folders_boxes_and_codes_name_scans_and_others_are_refused(archive: Archive) -> None:
    """As every command understands them."""
    folder = archive.folder.parent
    assert archive.scans.check([str(folder / "box")]).checked == 3
    assert archive.scans.check(["box"]).checked == 3
    assert archive.scans.check(["K00001", "b_cut.jpg", "K00001"]).checked == 2
    for unknown in ("nothing here", "K00099", str(folder / "archive")):
        with pytest.raises(NotFoundError):
            archive.scans.check([unknown])


def test_a_scan_that_is_damaged_or_gone_is_reported_and_the_others_are_checked(archive: Archive) -> None:
    """Cut off in the middle after it was added, and deleted."""
    folder = archive.folder.parent / "box"
    data = (folder / "b_cut.jpg").read_bytes()
    (folder / "b_cut.jpg").write_bytes(data[: len(data) // 2])
    (folder / "c_coarse.jpg").unlink()
    found = archive.scans.check()
    assert found.measured == 1
    assert [Path(problem.path).name for problem in found.unreadable] == ["b_cut.jpg", "c_coarse.jpg"]
    assert "cut off" in found.unreadable[0].why
    assert "no longer there" in found.unreadable[1].why


def test_dust_on_the_glass_is_the_same_speck_in_several_scans(tmp_path: Path) -> None:
    """Four scans of different prints have twenty-four specks at the same places, two have none."""
    places = tuple((y, x) for y in (120, 260, 400, 540) for x in (130, 260, 390, 520, 650, 780))
    folder = tmp_path / "evening"
    folder.mkdir()
    for number, name in enumerate(("astronaut", "coffee", "chelsea", "rocket", "camera", "coins")):
        made = replace(PRINT, specks=places if number < 4 else (), dust=0)
        (folder / f"{number}.jpg").write_bytes(as_jpeg(scanned(photograph(name), made, number), ppi=600))
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([folder])
    archive.scans.check()
    assert ["dust" in said(archive, f"K0000{n}") if archive.scans.findings([f"K0000{n}"]).scans else False
            for n in range(1, 7)] == [True] * 4 + [False] * 2  # fmt: skip


def test_a_hair_on_the_glass_is_the_same_shape_in_several_scans(tmp_path: Path) -> None:
    """Four scans of different pale prints have a curled hair at the same place, two have none."""
    hair = curled(np.random.default_rng(3), (900, 700), 260)
    folder = tmp_path / "evening"
    folder.mkdir()
    for number, name in enumerate(("astronaut", "coffee", "chelsea", "rocket", "camera", "coins")):
        pale = replace(PRINT, hairs=(hair,) if number < 4 else (), dust=0, black=130.0, softness=4.0)
        (folder / f"{number}.jpg").write_bytes(as_jpeg(scanned(photograph(name), pale, number), ppi=600))
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([folder])
    archive.scans.check()
    assert ["dust" in said(archive, f"K0000{n}") if archive.scans.findings([f"K0000{n}"]).scans else False
            for n in range(1, 7)] == [True] * 4 + [False] * 2  # fmt: skip


def test_what_is_shown_as_a_positive_is_no_longer_perhaps_a_negative(tmp_path: Path) -> None:
    """A grey frame of 35 mm film without its edges: it is asked about until somebody says that it is a negative."""
    frame = film(BLACK_AND_WHITE, FRAME, 2)
    width, height = (round(edge * frame.times) for edge in frame.picture.size)
    (tmp_path / "box").mkdir()
    frame.picture.resize((width, height)).save(
        tmp_path / "box" / "film_0001.png", dpi=(frame.ppi * frame.times,) * 2, compress_level=1
    )
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([tmp_path / "box"], check=True)
    assert "negative-perhaps" in said(archive, "K00001")
    archive.scans.turn("K00001", "positive")
    assert "negative-perhaps" not in said(archive, "K00001")
