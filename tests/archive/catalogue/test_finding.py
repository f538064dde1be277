"""Photographs, scans and containers by code, path, the end of a path, or title."""

from __future__ import annotations

from pathlib import Path

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.finding import find_photograph, find_scan, find_scans
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import AmbiguousError, NotFoundError
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """K00042 with a front and a back, K00007 with one scan; K00012 was joined to K00042."""
    archive = Archive.create(tmp_path)
    with archive.working("three scans") as work:
        two = work.insert_one(t.photograph, code="K00042", indexed=1)
        one = work.insert_one(t.photograph, code="K00007", indexed=1)
        work.insert_one(t.alias, code="K00012", photograph_id=two)
        for photograph, path in ((two, "/box/1/front.jpg"), (two, "/box/1/back.jpg"), (one, "/box/2/100%_front.jpg")):
            work.insert_one(
                t.scan,
                photograph_id=photograph,
                path=path,
                sha256=path,
                size=1,
                mtime_ns=1,
                file_type="JPEG",
                width=1,
                height=1,
                indexed_at="2026-01-01T00:00:00+00:00",
                first_sha256=path,
            )
    return archive


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("K00042", "K00042"),
        ("k42", "K00042"),
        (" K0042 ", "K00042"),
        ("K00012", "K00042"),
        ("/box/1/back.jpg", "K00042"),
        ("/box/2/../1/back.jpg", "K00042"),
        ("back.jpg", "K00042"),
        ("1/front.jpg", "K00042"),
        ("front.jpg", "K00042"),
        ("2/100%_front.jpg", "K00007"),
        ("0%_front.jpg", "K00007"),
    ],
)
def test_a_photograph_is_found(archive: Archive, text: str, code: str) -> None:
    """By its code or one it took over, a path, or an end; whole names go before parts of one."""
    with archive.reading() as connection:
        assert find_photograph(connection, text)["code"] == code


@pytest.mark.parametrize("text", ["K00043", "K", "", "nowhere.jpg", "BACK.JPG", "_a.jpg", "M\udcfcller.jpg", "%"])
def test_what_fits_nothing_is_not_found(archive: Archive, text: str) -> None:
    """The message repeats the words and says what to give instead; case and wild cards matter."""
    with archive.reading() as connection, pytest.raises(NotFoundError, match="there is no photograph or scan called"):
        find_photograph(connection, text)


@pytest.mark.parametrize("text", ["42", "#42", "00042", "12"])
def test_a_bare_number_is_asked_about(archive: Archive, text: str) -> None:
    """It may be that of a file, a box or on a back, so nothing is recorded for it; of K00012 was made K00042."""
    with archive.reading() as work, pytest.raises(NotFoundError, match=r"Did you mean K00042\?") as caught:
        find_photograph(work, text)
    assert caught.value.suggestion


def test_a_title_is_as_good_as_a_code(archive: Archive) -> None:
    """The whole title goes before words of one, whatever case or accents; where several fit they are listed."""
    archive.photographs.describe("K00042", Description(title="Fähre"))
    archive.photographs.describe("K00007", Description(title="Auf der Fähre, Skerry Point"))
    with archive.reading() as connection:
        assert find_photograph(connection, "fahre")["code"] == "K00042"
        assert find_photograph(connection, "SKERRY point")["code"] == "K00007"
        with pytest.raises(NotFoundError):
            find_photograph(connection, "kerry")
        with pytest.raises(NotFoundError):
            find_photograph(connection, "fahre", by_title=False)
    archive.photographs.describe("K00042", Description(title="Die Fähre"))
    with archive.reading() as connection, pytest.raises(AmbiguousError, match=r"K00042 \(Die Fähre\)"):
        find_photograph(connection, "Fähre")


def test_an_end_that_fits_two_photographs_lists_both(archive: Archive) -> None:
    """Of one photograph's scans any will do; of two photographs' none."""
    with archive.reading() as connection:
        assert find_photograph(connection, "k.jpg")["code"] == "K00042"
        with pytest.raises(AmbiguousError, match=r"3 scans match '\.jpg': /box/1/back.jpg; /box/1/front.jpg") as caught:
            find_photograph(connection, ".jpg")
    assert len(caught.value.candidates) == 3


def test_a_scan_is_found_by_its_path_or_a_code_with_one_scan(archive: Archive) -> None:
    """A code with two scans does not say which."""
    with archive.reading() as connection:
        assert find_scan(connection, "1/back.jpg")["path"] == "/box/1/back.jpg"
        assert find_scan(connection, "K7")["path"] == "/box/2/100%_front.jpg"
        assert [scan["path"] for scan in find_scans(connection, "K42")] == ["/box/1/front.jpg", "/box/1/back.jpg"]
        with pytest.raises(AmbiguousError, match="2 scans match 'K42'"):
            find_scan(connection, "K42")
        with pytest.raises(NotFoundError):
            find_scan(connection, "3/back.jpg")
