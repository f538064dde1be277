"""Frames are offered where a face was found, and a person decides: accepted, moved, refused for good."""

from __future__ import annotations

from pathlib import Path
from threading import Event

import numpy as np
import pytest
from PIL import Image, ImageOps

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.regions import overlap
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import Tie
from kinphoto.errors import ArchiveError, InvalidValueError, NotFoundError
from kinphoto.faces import weights
from kinphoto.faces.finding import Finder
from kinphoto.faces.weights import FacesNotInstalledError
from kinphoto.store import tables as t

HER_FACE = (172 / 512, 66 / 512, 98 / 512, 112 / 512)
"""By eye; tests/faces/test_finding.py has the same in pixels."""


def boxes(archive: Archive, code: str) -> list[tuple[float, float, float, float]]:
    """The frames on offer for a photograph."""
    return [frame.box for each in archive.faces.offers([code]) for frame in each.frames]


def ids(archive: Archive, code: str) -> list[str]:
    """Their ids."""
    return [frame.id for each in archive.faces.offers([code]) for frame in each.frames]


def test_frames_are_offered_where_faces_are(archive: Archive) -> None:
    """One on the portrait, two where a picture of her stands beside her, none on a wall."""
    assert {each.photograph: len(each.frames) for each in archive.faces.offers()} == {
        "K00001": 1, "K00002": 1, "K00004": 2,
    }  # fmt: skip
    (box,) = boxes(archive, "K00001")
    assert overlap(box, HER_FACE) > 0.5
    assert archive.faces.offers(["K00003"]) == ()


def test_an_offer_is_no_statement(archive: Archive) -> None:
    """Nothing stands in the history, nobody is in the photograph, and the package has no frame of it."""
    assert [change.what for change in archive.statements.history(9) if "face" in change.what] == []
    assert archive.photographs.faces("K00001").faces == ()
    with archive.reading() as rows:
        assert rows.exec_driver_sql("SELECT count(*) FROM region").scalar() == 0


def test_a_picture_on_its_side_is_offered_to_be_turned(archive: Archive) -> None:
    """It lies turned to the left; turned to the right her face is where it is in the portrait, and nothing more is
    offered to be turned."""
    (found,) = archive.faces.offers(["K00002"])
    assert found.turn == "right"
    archive.scans.turn("K00002", "right")
    (after,) = archive.faces.offers(["K00002"])
    assert after.turn == ""
    assert overlap(after.frames[0].box, HER_FACE) > 0.5


def test_all_frames_are_accepted_at_once_and_come_back_when_that_is_undone(archive: Archive) -> None:
    """Each is somebody not identified yet; one change, which can be undone."""
    done = archive.faces.accept("K00004")
    assert len(done.frames) == len(done.appearances) == 2
    assert [face.names[0].person for face in archive.photographs.faces("K00004").faces] == [None, None]
    assert archive.faces.offers(["K00004"]) == ()
    assert archive.statements.history(1)[0].what == "framed 2 faces in K00004, as offered"
    archive.statements.undo()
    assert len(ids(archive, "K00004")) == 2


def test_one_frame_is_accepted_and_moved(archive: Archive) -> None:
    """It stands where it was moved to, and is offered no more."""
    first, _ = ids(archive, "K00004")
    archive.faces.accept("K00004", [first.lower()], "0.15,0.1,0.12,0.26")
    (face,) = archive.photographs.faces("K00004").faces
    assert face.box == pytest.approx((0.15, 0.1, 0.12, 0.26))
    assert first not in ids(archive, "K00004")
    assert len(ids(archive, "K00004")) == 1


def test_a_frame_around_the_whole_head_is_of_the_same_face(archive: Archive) -> None:
    """People frame heads, and the search faces: where somebody framed her by hand nothing is offered."""
    archive.statements.link(Link(photograph="K00001", person="I1", region="0.28,0.02,0.3,0.36"))
    assert archive.faces.offers(["K00001"]) == ()


def test_what_is_refused_stays_refused(archive: Archive) -> None:
    """Also when the scan is searched again, and after it was turned; until the refusal is undone."""
    _, picture_of_her = ids(archive, "K00004")
    done = archive.faces.refuse("K00004", [picture_of_her])
    assert archive.statements.history(1)[0].what == "refused 1 frame in K00004"
    assert len(ids(archive, "K00004")) == 1
    archive.faces.find(["K00004"], again=True)
    assert len(ids(archive, "K00004")) == 1
    archive.scans.turn("K00004", "left")
    assert len(ids(archive, "K00004")) == 1
    archive.scans.turn("K00004", "right")
    archive.statements.undo(done.change)
    assert len(ids(archive, "K00004")) == 2


def test_what_is_refused_on_a_turned_picture_is_refused_on_the_scan(archive: Archive) -> None:
    """The place is kept as the file has it."""
    archive.scans.turn("K00002", "right")
    archive.faces.refuse("K00002")
    archive.scans.turn("K00002", "over")
    assert ids(archive, "K00002") == []


def test_refusals_outlive_the_switch(archive: Archive) -> None:
    """Off and on again: what somebody refused is not offered."""
    archive.faces.refuse("K00004")
    assert archive.faces.turn_off().refused_frames == 2
    assert archive.faces.offers() == ()
    archive.faces.turn_on("Aunt Edda")
    archive.faces.find()
    assert ids(archive, "K00004") == []
    assert len(ids(archive, "K00001")) == 1


def test_each_scan_is_searched_once(archive: Archive) -> None:
    """And with `again` once more; no line of the history is written."""
    revision = archive.statements.revision()
    assert archive.faces.find().searched == 0
    assert archive.faces.find(["K00001"], again=True).searched == 1
    assert archive.statements.revision() == revision


@pytest.mark.usefixtures("by_processes")
def test_a_search_that_is_stopped_goes_on_from_there(archive: Archive) -> None:
    """After the first scan somebody presses stop."""
    archive.faces.turn_off()
    archive.faces.turn_on("Aunt Edda")
    stop = Event()
    stopped = archive.faces.find(progress=lambda _done, _total: stop.set(), stop=stop)
    assert stopped.stopped
    assert stopped.searched < 4
    assert archive.faces.state().waiting == 4 - stopped.searched
    assert archive.faces.find().searched == 4 - stopped.searched


def test_nothing_is_searched_until_somebody_turns_it_on(prints: Path, tmp_path: Path) -> None:
    """A new archive is off; whoever turns it on is named, with the day."""
    archive = Archive.create(tmp_path / "new")
    archive.scans.add([prints])
    assert not archive.faces.state().on
    assert archive.faces.offers() == ()
    with pytest.raises(ArchiveError, match="Turn it on: kinphoto faces on"):
        archive.faces.find()
    with pytest.raises(InvalidValueError, match="it must be recorded who turns it on"):
        archive.faces.turn_on("  ")
    now = archive.faces.turn_on("Cousin Una")
    assert (now.on, now.who, now.living, now.waiting) == (True, "Cousin Una", False, 4)
    assert len(now.since) == len("2026-11-29")
    assert not archive.faces.turn_off().refused_frames
    assert not archive.faces.state().on


def test_without_the_extra_everything_else_works(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """Simulated: OpenCV is not there. What was found stays on offer and can be erased; a search says what to do."""
    monkeypatch.setattr(weights, "find_spec", lambda _name: None)
    assert not archive.faces.state().installed
    assert len(ids(archive, "K00001")) == 1
    archive.faces.accept("K00001")
    with pytest.raises(FacesNotInstalledError, match=r"kinphoto\[faces\]"):
        archive.faces.find()
    assert archive.faces.turn_off().erased
    with pytest.raises(FacesNotInstalledError, match=r"kinphoto\[faces\]"):
        archive.faces.turn_on("Aunt Edda")


@pytest.mark.parametrize("frame", ["F999", "12", "R1", "", "F99999999999999999999"])
def test_a_frame_that_is_not_offered_is_refused_in_one_line(archive: Archive, frame: str) -> None:
    """Mistyped, of another photograph, or decided already."""
    with pytest.raises(NotFoundError, match=r"no frame '.*' is offered for K00001"):
        archive.faces.accept("K00001", [frame])
    with pytest.raises(NotFoundError, match=r"no frame '.*' is offered for K00001"):
        archive.faces.refuse("K00001", [frame])


def test_a_scan_that_is_gone_is_named_and_the_others_are_searched(prints: Path, tmp_path: Path) -> None:
    """One file was removed, another is cut off."""
    import shutil

    shutil.copytree(prints, tmp_path / "box")
    archive = Archive.create(tmp_path / "new")
    archive.scans.add([tmp_path / "box"])
    (tmp_path / "box" / "a_portrait.png").unlink()
    whole = (tmp_path / "box" / "c_wall.png").read_bytes()
    (tmp_path / "box" / "c_wall.png").write_bytes(whole[:5000])
    archive.faces.turn_on("Aunt Edda")
    found = archive.faces.find()
    assert [Path(each.path).name for each in found.unreadable] == ["a_portrait.png", "c_wall.png"]
    assert found.searched == 2


@pytest.mark.parametrize(
    "ways", [["mirror"], ["mirror", "right"], ["right", "mirror"], ["over", "mirror"], ["positive"]]
)
def test_how_to_turn_a_mirrored_scan(archive: Archive, ways: list[str]) -> None:
    """Film scanned from its wrong side, turned before or after: done as offered, the faces stand upright, as a search
    of the picture as it is then shown says; and nothing more is offered."""
    for way in ways:
        archive.scans.turn("K00002", way)
    offer = archive.faces.offers(["K00002"])[0].turn
    if offer:
        archive.scans.turn("K00002", offer)
    assert archive.faces.offers(["K00002"])[0].turn == ""
    scan = archive.scans.picture(archive.photographs.details("K00002").recto.id).source
    with Image.open(scan.path) as stored:
        mirrored = ImageOps.mirror(stored) if scan.turn & 4 else stored
        shown = mirrored.rotate(-90 * (scan.turn % 4), expand=True)
    found = Finder().find(np.asarray(shown), turns=True)
    assert (found.turn, len(found.faces)) == (0, 1)


def test_album_pages_are_searched_until_their_photographs_are_there(archive: Archive) -> None:
    """A page is a front like any other; when a print that is on it is in the archive, people are named there."""
    with archive.working("K00001 is an album page") as work:
        work.update(t.photograph, [1], page=1)
    assert len(ids(archive, "K00001")) == 1
    assert archive.faces.state().searched == 4
    archive.statements.relate(Tie(photograph="K00002", relation="part-of", other="K00001"))
    assert ids(archive, "K00001") == []
    archive.statements.undo()
    assert len(ids(archive, "K00001")) == 1


def test_a_negative_is_searched_as_the_positive_that_is_shown(archive: Archive, prints: Path, tmp_path: Path) -> None:
    """In the film she is dark where she was light, and no face is found; as a positive there is one, where it is in the
    print; and when it is said to be none after all, it is searched as it was scanned once more."""
    with Image.open(prints / "a_portrait.png") as portrait:
        film = ImageOps.invert(portrait.convert("L"))
    film.save(tmp_path / "film.png")
    archive.scans.add([tmp_path / "film.png"])
    code = "K00005"
    archive.scans.turn(code, "as scanned")
    archive.faces.find([code])
    as_scanned = boxes(archive, code)
    archive.scans.turn(code, "positive")
    assert archive.faces.state().waiting == 1
    assert archive.faces.find([code]).searched == 1
    (box,) = boxes(archive, code)
    assert overlap(box, HER_FACE) > 0.5
    assert archive.faces.find([code]).searched == 0
    archive.scans.turn(code, "as scanned")
    assert archive.faces.find([code]).searched == 1
    assert boxes(archive, code) == as_scanned
