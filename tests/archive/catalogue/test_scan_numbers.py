"""Themes and numbers of photographs, from the names of their scans and from what was recorded."""

from __future__ import annotations

from pathlib import Path

import pytest
from building import archive_with
from making import make_scans

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.scan_numbers import ScanName, scan_numbers
from kinphoto.archive.statements.descriptions import Description
from kinphoto.reason.model.subjects import Number
from kinphoto.store import tables as t

NAMES = {
    "harbour_0012.jpg": ("harbour", 12),
    "Harbour_0013.jpg": ("harbour", 13),
    "harbour_0014a.jpg": ("harbour", 14),
    "IMG_2031.jpg": ("", 2031),
    "scan0007.jpg": ("", 7),
    "aunt 5.jpg": ("", 5),
    "2024-01-05 12.30.11.jpg": ("", None),
    "IMG_20240105_123011.jpg": ("", None),
    "wedding.jpg": ("", None),
}
"""Names, and the theme and number of each: four digits behind a word are a theme, any number counts, no date does."""


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    """Nine scans with these names in one folder."""
    place = tmp_path_factory.mktemp("named")
    made = archive_with(place)
    (place / "tin").mkdir()
    for path, name in zip(make_scans(place, len(NAMES), seed=1), NAMES, strict=True):
        path.rename(place / "tin" / name)
    made.scans.add([place / "tin"])
    return made


def named(archive: Archive) -> dict[str, ScanName]:
    """The theme and number of each, by the stem of its name."""
    with archive.reading() as connection:
        found = scan_numbers(connection)
        paths = connection.execute(t.scan.select()).mappings()
        return {Path(row["path"]).stem: found.get(row["photograph_id"], ScanName()) for row in paths}


def test_names(archive: Archive) -> None:
    """What each of the names says."""
    found = named(archive)
    for name, (theme, number) in NAMES.items():
        there = found[Path(name).stem]
        assert (there.theme, there.number and there.number.value) == (theme, number), name
    one, other = found["harbour_0012"].number, found["Harbour_0013"].number
    assert one is not None
    assert other is not None
    assert one.series == other.series != (found["IMG_2031"].number or one).series


def test_a_former_name_and_a_recorded_number_come_first(tmp_path: Path) -> None:
    """Two scans that were called IMG_41 and IMG_40 are renamed: they keep these as their numbers. On the back of one
    stands "album 3, no. 7", which is its number from then on. The theme is that of the names they have now."""
    archive = archive_with(tmp_path)
    (tmp_path / "green tin").mkdir()
    for path, number in zip(make_scans(tmp_path, 2, seed=1), (41, 40), strict=True):
        path.rename(tmp_path / "green tin" / f"IMG_{number}.jpg")
    archive.scans.add([tmp_path / "green tin"])
    archive.scans.rename()
    found = named(archive)
    assert [(one.theme, one.number and one.number.value) for one in found.values()] == [
        ("green-tin", 40), ("green-tin", 41)
    ]  # fmt: skip
    archive.photographs.describe("K1", Description(former_number="album 3, no. 7"))
    one, other = named(archive).values()
    assert one.number == Number("recorded album 3, no. #", 7)
    assert other.number == Number("name img_", 41)


def test_of_one_container_alone(archive: Archive) -> None:
    """Where one container is asked about, the others are left out; what lies nowhere has no number among others."""
    with archive.reading() as connection:
        box = connection.scalar(t.container.select().with_only_columns(t.container.c.id))
        assert scan_numbers(connection, box) == scan_numbers(connection)
        assert scan_numbers(connection, (box or 0) + 1) == {}
