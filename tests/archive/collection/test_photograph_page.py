"""One photograph as an object, with everything recorded of it."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import ChangedMeanwhileError, NotFoundError


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Four scans in a folder: three fronts and a back, which is joined to the second."""
    box = tmp_path / "Blue box"
    box.mkdir()
    for number in range(1, 5):
        Image.new("RGB", (60 + number, 40), (number * 50, 90, 20)).save(box / f"p{number}.jpg", dpi=(300, 300))
    archive = Archive.create(tmp_path / "family")
    archive.add_scans([box])
    archive.join_scans(["K00002", "K00003"], "verso")
    return archive


def test_where_it_lies_and_between_which(archive: Archive) -> None:
    """The box, the place in it, and the codes before and after; the ends have none beyond."""
    assert [box.name for box in archive.photograph("K2").boxes] == ["Blue box"]
    places = {code: (m.before, m.after, m.place_in_box, m.box_size) for code in ("K1", "K2", "K4")
              for m in [archive.photograph(code)]}  # fmt: skip
    assert places == {
        "K1": (None, "K00002", 1, 3),
        "K2": ("K00001", "K00004", 2, 3),
        "K4": ("K00002", None, 3, 3),
    }


def test_its_scans_the_front_first(archive: Archive) -> None:
    """Front and back with their sizes, and the code that was joined into it."""
    shown = archive.photograph("K3")
    assert (shown.code, shown.aliases) == ("K00002", ("K00003",))
    assert [(scan.side, scan.width, scan.ppi) for scan in shown.scans] == [("recto", 62, 300), ("verso", 63, 300)]
    assert shown.recto is shown.scans[0]
    assert shown.others == shown.scans[1:]


def test_a_turned_scan_has_its_sides_exchanged_and_another_version(archive: Archive) -> None:
    """What is shown of it is upright, and its address changes so that no browser keeps the old one."""
    before = archive.photograph("K1").scans[0]
    archive.turn_scan("K00001", "left")
    after = archive.photograph("K1").scans[0]
    assert ((before.width, before.height), (after.width, after.height)) == ((61, 40), (40, 61))
    assert before.version != after.version


def test_what_is_stated_of_it_is_told_in_words(archive: Archive) -> None:
    """Words as they stand, dates in plain words, processes by their title, relations from either side."""
    archive.state(NewClaim(photograph="K1", kind="inscription", date="ABT 1924", text="Skerry Point", by="Aunt Edda"))
    archive.record_made("K1", "process", "albumen")
    archive.relate(Tie(photograph="K1", relation="before", other="K4"))
    told = [(m.kind, m.words, m.date, m.informant, m.other) for m in archive.photograph("K1").marks]
    assert told == [
        ("inscription", "Skerry Point", "about 1924", "Aunt Edda", None),
        ("process", "albumen print", "", None, None),
        ("before", "", "", None, "K00004"),
    ]
    assert [(m.kind, m.other) for m in archive.photograph("K4").marks] == [("after", "K00001")]


def test_what_was_withdrawn_is_kept_and_shown_as_such(archive: Archive) -> None:
    """A withdrawn statement stays among the others with its mark."""
    said, _ = archive.state(NewClaim(photograph="K1", kind="taken", date="1924"))
    archive.withdraw(said.statement)
    assert [(m.id, m.withdrawn) for m in archive.photograph("K1").marks] == [(said.statement, True)]


def test_a_film_that_can_burn_brings_its_caution(archive: Archive) -> None:
    """Whoever records nitrate film is told how dangerous it is, each time it is looked at."""
    archive.record_made("K1", "process", "nitrate-negative")
    assert any("fire" in caution for mark in archive.photograph("K1").marks for caution in mark.cautions)


def test_a_photograph_that_is_not_there(archive: Archive) -> None:
    """Its absence is told in one line."""
    with pytest.raises(NotFoundError):
        archive.photograph("K99")


def test_words_that_another_changed_meanwhile_are_not_overwritten(archive: Archive) -> None:
    """Who saves a field says what they saw there; what somebody else wrote since stays, and the error tells both."""
    seen = Description(place="")
    archive.describe("K1", Description(place="Port Lissom"), instead_of=seen)
    with pytest.raises(ChangedMeanwhileError, match=r"Port Lissom.*Sandle Point"):
        archive.describe("K1", Description(place="Sandle Point"), instead_of=seen)
    assert archive.photograph("K1").place == "Port Lissom"
    archive.describe("K1", Description(place="Port Lissom", title="Tea"), instead_of=Description(place="", title=""))
    assert archive.photograph("K1").title == "Tea", "what both wrote alike is no conflict"


def test_the_box_somebody_else_moved_it_to_is_not_overwritten(archive: Archive) -> None:
    """A container counts like every other field."""
    archive.describe("K1", Description(container="Tin"))
    with pytest.raises(ChangedMeanwhileError, match="Tin"):
        archive.describe("K1", Description(container="Attic"), instead_of=Description(container="Blue box"))
