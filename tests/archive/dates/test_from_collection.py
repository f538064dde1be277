"""What is kept with a photograph of which nothing is said: shown as that, and never given away as a date."""

from __future__ import annotations

from pathlib import Path

import pytest
from building import archive_with, tree_of

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.cli.documents import DatesDocument
from kinphoto.reason.model.findings import Estimate, State

OPEN = "K00005"


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Eight scans in an album, all but one with a year from 1929 to 1932, and one that is in no box. On that one is
    somebody of whom the tree has no dates."""
    made = archive_with(tmp_path, tree_of("Ada /Marsh/"), scans=9)
    made.statements.link(Link(photograph=OPEN, person="I1"))
    made.photographs.move([f"K{number}" for number in range(1, 9)], "Green album")
    made.photographs.move(["K9"], "")
    for number in (1, 2, 3, 4, 6, 7, 8):
        made.statements.record(NewClaim(photograph=f"K{number}", kind="taken", date=str(1929 + number % 4)))
    return made


def of(archive: Archive, code: str) -> Estimate:
    """The estimate of a photograph."""
    [found] = archive.dates.estimates([code])
    return found.estimate


def test_an_open_photograph_has_the_years_of_its_album_and_no_date(archive: Archive) -> None:
    """It stays open, without a likely range, a best day or a date to write; beside that are the years of the album."""
    found = of(archive, OPEN)
    assert (found.state, found.likely_from, found.likely_to, found.best, found.edtf) == (State.OPEN, *[None] * 3, "")
    shown = DatesDocument.of(found)
    assert "1920" < str(shown.collection_from) < "1930"
    assert "1932" <= str(shown.collection_to) < "1945"
    assert (shown.likely_from, shown.likely_to, shown.best, shown.edtf) == (None, None, None, None)


def test_loose_or_dated_there_is_none(archive: Archive) -> None:
    """A photograph in no box has no others to say anything, and one that is dated needs none."""
    assert of(archive, "K00009").collection_from is None
    assert of(archive, "K00001").collection_from is None
    for number in (1, 2, 3, 4, 6, 7, 8):
        archive.photographs.move([f"K{number}"], f"Box {number}")
    assert of(archive, OPEN).collection_from is None


def test_it_is_said_in_words_as_what_it_is(archive: Archive) -> None:
    """In the explanation and beside the strip, with where it comes from and that it is no date."""
    text = archive.dates.explanation(OPEN).text
    assert "Nothing recorded so far helps to date it. From the collection alone: it may be from 19" in text
    assert "That is not a date of its own." in text
    strip = archive.dates.evidence_strip(OPEN)
    assert strip.from_collection in text
    assert strip.words.startswith("not dated yet")


def test_it_is_kept_when_the_photograph_is_dated_by_itself(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a large archive one photograph is dated again from what is near it: then as when everything was dated."""
    before = of(archive, OPEN)
    monkeypatch.setattr("kinphoto.archive.dates.whole.AT_ONCE", 0)
    archive.statements.record(NewClaim(photograph="K1", kind="recollection", date="1930"))
    archive.dates.refresh_photographs([OPEN])
    [again] = archive.dates.kept_estimates([OPEN]).photographs
    assert (again.estimate.collection_from, again.estimate.collection_to) == (
        before.collection_from, before.collection_to,
    )  # fmt: skip
    assert archive.dates.evidence_strip(OPEN).from_collection


def given(archive: Archive, folder: Path) -> dict[str, bytes]:
    """Everything that leaves, by its path."""
    archive.give.write_site(folder / "site", "household", write=True)
    archive.give.write_copies(folder / "copies", "household", write=True)
    archive.tree.write_file(folder / "tree.ged")
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_nothing_of_it_leaves(archive: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The site, copies with what is written into them, and the tree are the same, byte for byte, as those of an archive
    in which nothing is concluded from the collection."""
    assert of(archive, OPEN).collection_from is not None
    with_it = given(archive, tmp_path / "with")
    monkeypatch.setattr("kinphoto.reason.dating.INFORMATIVE", 0)
    archive.statements.record(NewClaim(photograph="K1", kind="recollection", date="1930"))
    archive.statements.undo()
    assert of(archive, OPEN).collection_from is None
    assert with_it.keys() == (without := given(archive, tmp_path / "without")).keys()
    assert any(OPEN in path for path in with_it)
    assert [path for path, data in with_it.items() if data != without[path]] == []
