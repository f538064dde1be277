"""Photographs and scans indexed by mistake are taken out, and better scans take the place of others; no file is
touched, nothing is lost, and each is one change that can be undone."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from building import brought_along
from PIL import Image
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import InvalidValueError, KinphotoError, NotFoundError
from kinphoto.store import tables as t

KEPT = (t.photograph, t.scan, t.alias, t.region, t.appearance, t.statement, t.removed_scan, t.container)


def draw(path: Path, size: tuple[int, int] = (120, 80), seed: int = 1) -> Path:
    """A picture of noise of its own."""
    pixels = np.random.default_rng(seed).integers(0, 255, (size[1], size[0]), dtype=np.uint8)
    Image.fromarray(pixels).save(path)
    return path


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the archive and its scans."""
    place = tmp_path_factory.mktemp("removing")
    folder = place / "box"
    folder.mkdir()
    for number in range(1, 5):
        draw(folder / f"{number}.png", seed=number)
    archive = Archive.create(place / "archive")
    archive.scans.add([folder])
    archive.scans.join(["K2", "K3"], "verso")
    archive.people.add("Ada Marsh", born="1917")
    archive.statements.link(Link(photograph="K2", person="Ada Marsh", age="7", region="0.1,0.1,0.2,0.2"))
    archive.statements.link(Link(photograph="K2", person="-", region="0.6,0.1,0.2,0.2"))
    archive.statements.record(NewClaim(photograph="K2", kind="inscription", date="1924"))
    archive.photographs.describe("K2", Description(title="At the light"))
    archive.statements.relate(Tie(photograph="K4", relation="copy-of", other="K2"))
    archive.close()
    return place


@pytest.fixture
def archive(made: Path, tmp_path: Path) -> Archive:
    """The box indexed: K00001 has nothing to it; K00002 has a back, a face, a date, a title and two relations."""
    return brought_along(made, tmp_path)


@pytest.fixture
def box(tmp_path: Path) -> Path:
    """The folder of its four scans; the third is the back of the second."""
    return tmp_path / "box"


def rows(archive: Archive) -> list[Any]:
    """Everything that is kept, row by row."""
    with archive.reading() as connection:
        return [connection.execute(select(table).order_by(table.c.id)).all() for table in KEPT]


def hashes(folder: Path) -> dict[str, str]:
    """The bytes of every file, by Python's hashlib."""
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}


def sound(archive: Archive) -> bool:
    """Whether no row refers to one that is not there, as SQLite itself finds."""
    with archive.reading() as connection:
        return not connection.exec_driver_sql("PRAGMA foreign_key_check").all()


def test_a_photograph_indexed_by_mistake(archive: Archive, box: Path) -> None:
    """It is gone in one change, its file is not, and undo gives back every row."""
    before, files = rows(archive), hashes(box)
    done = archive.photographs.remove(["K1"])
    assert [(one.photograph, one.whole, one.scans) for one in done.removed] == [
        ("K00001", True, (str(box / "1.png"),))
    ]  # fmt: skip
    assert hashes(box) == files
    assert archive.statements.history(1)[0].what == "removed K00001"
    with pytest.raises(NotFoundError, match=f"K1 was removed. To bring it back: kinphoto undo {done.change}"):
        archive.photographs.details("K1")
    assert len(archive.dates.estimates()) == 2
    archive.statements.undo()
    assert rows(archive) == before


def test_names_and_statements_do_not_go_unasked(archive: Archive) -> None:
    """What would go with it is told, and nothing is changed; asked for, all of it goes and comes back."""
    before = rows(archive)
    with pytest.raises(InvalidValueError) as told:
        archive.photographs.remove(["K1", "K2"])
    assert str(told.value).startswith(
        "removing K00002 would also remove 1 name, 1 face without a name, 2 statements, the relation to K00004 and its "
        "title. To remove it anyway: kinphoto remove K00002 --with-statements."
    )
    assert rows(archive) == before
    done = archive.photographs.remove(["K2"], with_statements=True)
    assert len(done.removed[0].scans) == 2
    assert archive.photographs.details("K4").marks == ()
    assert sound(archive)
    archive.statements.undo()
    assert rows(archive) == before
    archive.statements.undo(archive.statements.history(1)[0].number)
    with pytest.raises(NotFoundError, match="was removed"):
        archive.photographs.details("K2")
    assert sound(archive)


def test_a_page_whose_only_print_is_removed_is_none_any_more(archive: Archive) -> None:
    """As when the relation is withdrawn."""
    archive.statements.relate(Tie(photograph="K1", relation="part-of", other="K4"))
    assert archive.photographs.details("K4").page
    archive.photographs.remove(["K1"], with_statements=True)
    assert not archive.photographs.details("K4").page


def test_indexing_the_folder_again_leaves_it_out(archive: Archive, box: Path) -> None:
    """It is said which and how to have it again; a copy of it under another name is left out too."""
    change = archive.photographs.remove(["K1"]).change
    (box / "copy.png").write_bytes((box / "1.png").read_bytes())
    again = archive.scans.add([box])
    assert (again.added, again.seen, again.photographs) == (0, 5, 2)
    assert [(Path(one.path).name, one.photograph, one.change) for one in again.left_out] == [
        ("1.png", "K00001", change), ("copy.png", "K00001", change),
    ]  # fmt: skip
    archive.statements.undo(change)
    assert archive.scans.add([box]).left_out == ()
    assert archive.photographs.details("K1").code == "K00001"


def test_another_picture_under_the_same_name_is_indexed(archive: Archive, box: Path) -> None:
    """What was removed is known by its bytes, not by its name."""
    archive.photographs.remove(["K1"])
    draw(box / "1.png", seed=99)
    again = archive.scans.add([box])
    assert (again.added, again.left_out) == (1, ())


def test_indexed_anew_when_asked_for(archive: Archive, box: Path) -> None:
    """With `again` under a new code; the removal cannot then be undone alone, since both would have one file."""
    change = archive.photographs.remove(["K1"]).change
    again = archive.scans.add([box / "1.png"], again=True)
    assert (again.added, again.left_out) == (1, ())
    assert archive.photographs.details("1.png").code == "K00005"
    with pytest.raises(KinphotoError, match="cannot be undone before change 10"):
        archive.statements.undo(change)
    archive.statements.undo()
    archive.statements.undo(change)
    assert archive.photographs.details("1.png").code == "K00001"


def test_one_scan_of_several(archive: Archive, box: Path) -> None:
    """A back that belongs elsewhere goes, the photograph with its faces stays."""
    before = rows(archive)
    done = archive.photographs.remove(["3.png"])
    assert (done.removed[0].whole, done.removed[0].photograph) == (False, "K00002")
    assert [scan.side for scan in archive.photographs.details("K2").scans] == ["recto"]
    assert len(archive.photographs.faces("K2").faces) == 2
    archive.statements.undo()
    assert rows(archive) == before


def test_the_picture_that_faces_are_framed_on_stays(archive: Archive) -> None:
    """The front cannot be taken from under its faces while there is no other one; the answer says what to do."""
    with pytest.raises(InvalidValueError, match="2 faces are framed on it, and no other front of K00002 would be left"):
        archive.photographs.remove(["2.png"], with_statements=True)
    archive.scans.join(["K2", "K4"], "recto")
    note = archive.photographs.remove(["2.png"]).removed[0].note
    assert note == "2 faces are shown on 4.png now: check that the frames still fit."


def faces(archive: Archive) -> list[tuple[str, tuple[float, ...]]]:
    """The faces of K00002 and where they are."""
    return [(face.region, face.box) for face in archive.photographs.faces("K2").faces]


def test_a_better_scan_takes_the_older_ones_place(archive: Archive, tmp_path: Path) -> None:
    """The faces keep their places, the older scan stays as superseded behind it, and undo puts everything back."""
    before, framed = rows(archive), faces(archive)
    better = draw(tmp_path / "better.tif", (1200, 800), seed=7)
    done = archive.scans.replace("K2", better)
    assert (done.photograph, done.side, done.faces, done.note) == ("K00002", "recto", 2, "")
    scans = archive.photographs.details("K2").scans
    assert [(Path(s.path).name, s.side, s.superseded) for s in scans] == [
        ("better.tif", "recto", False), ("2.png", "recto", True), ("3.png", "verso", False),
    ]  # fmt: skip
    recto = archive.photographs.details("K2").recto
    assert recto is not None
    assert (recto.width, recto.path) == (1200, str(better))
    assert faces(archive) == framed
    (dated,) = archive.dates.estimates(["K2"])
    assert dated.scans[0] == str(better)
    assert archive.scans.add([tmp_path / "box", better]).added == 0
    archive.statements.undo()
    assert rows(archive) == before


@pytest.mark.parametrize(
    ("size", "turn", "note"),
    [
        ((121, 80), None, ""),
        ((120, 100), None, "better.png is framed differently from the older scan (1.20 instead of 1.50 times as wide "
         "as high). Check that the 2 frames still fit."),
        ((80, 120), None, None),
        ((80, 120), "left", ""),
        ((120, 80), "over", ""),
    ],
)  # fmt: skip
def test_a_scan_that_is_framed_otherwise(
    archive: Archive, tmp_path: Path, size: tuple[int, int], turn: str | None, note: str | None
) -> None:
    """Other proportions are said; one that lies on its side has to be turned, and the faces stay where they are."""
    framed, better = faces(archive), draw(tmp_path / "better.png", size, seed=8)
    if note is None:
        with pytest.raises(InvalidValueError, match="--turn left, or --turn right"):
            archive.scans.replace("K2", better, turn=turn)
        return
    assert archive.scans.replace("K2", better, turn=turn).note == note
    assert faces(archive) == framed
    recto = archive.photographs.details("K2").recto
    assert recto is not None
    assert recto.width > recto.height


def test_the_back_and_a_scan_by_its_path(archive: Archive, tmp_path: Path) -> None:
    """`--side back`, or the path of the scan; its proportions touch no faces."""
    better = draw(tmp_path / "back.png", (80, 120), seed=9)
    done = archive.scans.replace("K2", better, side="back")
    assert (done.side, done.faces, Path(done.instead_of).name) == ("verso", 0, "3.png")
    assert done.note.startswith("back.png is sideways")
    archive.statements.undo()
    assert archive.scans.replace("3.png", better).side == "verso"
    with pytest.raises(InvalidValueError, match="it has already been replaced by another scan"):
        archive.scans.replace("3.png", draw(tmp_path / "best.png", seed=10))
    with pytest.raises(NotFoundError, match="K00001 has no scan of that side"):
        archive.scans.replace("K1", draw(tmp_path / "x.png", seed=11), side="verso")


def test_a_better_scan_that_was_indexed_already(archive: Archive) -> None:
    """Its photograph goes up in the other one, and its code leads there."""
    before = rows(archive)
    done = archive.scans.replace("K2", archive.photographs.details("K1").scans[0].path)
    assert (done.joined, archive.photographs.details("K1").code) == ("K00001", "K00002")
    assert [Path(s.path).name for s in archive.photographs.details("K2").scans] == ["1.png", "2.png", "3.png"]
    archive.statements.undo()
    assert rows(archive) == before


def test_the_older_scan_shows_it_again_when_the_better_one_goes(archive: Archive, tmp_path: Path) -> None:
    """Removed or taken out, the superseded scan is the front again."""
    archive.scans.replace("K2", draw(tmp_path / "better.png", seed=12))
    archive.photographs.remove([str(tmp_path / "better.png")])
    recto = archive.photographs.details("K2").recto
    assert recto is not None
    assert (Path(recto.path).name, recto.superseded) == ("2.png", False)
    archive.statements.undo()
    archive.scans.separate("better.png")
    assert [s.superseded for s in archive.photographs.details("K2").scans] == [False, False]


@pytest.mark.parametrize(
    ("what", "file", "problem"),
    [
        ("K2", "nowhere.png", "there is no such file"),
        ("K2", ".", "this is a folder"),
        ("K2", "notes.png", "not a picture file"),
        ("K2", "box/2.png", "the photograph already has this scan"),
        ("K1", "box/3.png", "it is one of several scans of K00002"),
        ("K77", "box/4.png", "there is no photograph or scan called"),
    ],
)
def test_what_cannot_replace_a_scan(
    archive: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, what: str, file: str, problem: str
) -> None:
    """One line, and nothing is changed."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "notes.png").write_text("Dear all")
    before = rows(archive)
    with pytest.raises(KinphotoError, match=problem):
        archive.scans.replace(what, file)
    assert rows(archive) == before
