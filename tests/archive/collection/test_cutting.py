"""Beds with several prints cut apart: new files and photographs, the bed untouched, doubts left to a person."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pytest
import skimage.data
import tifffile
from building import brought_along
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.collection.bed_outlines import PrintOutline
from kinphoto.archive.statements.claims import Tie
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.scans.beds import cutting as cutting_files

PPI = 150
LID = 246


def lay(pixels: np.ndarray, left: float, top: float, width: float, height: float, seed: int) -> None:
    """A print with a picture of large patches, in millimetres."""
    scale = PPI / 25.4
    x0, y0, x1, y1 = (round(edge * scale) for edge in (left, top, left + width, top + height))
    patches = np.random.default_rng(seed).integers(30, 200, (4, 5, 3), dtype=np.uint8)
    pixels[y0:y1, x0:x1] = np.asarray(Image.fromarray(patches).resize((x1 - x0, y1 - y0), Image.Resampling.BICUBIC))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the archive and its scans."""
    place = tmp_path_factory.mktemp("beds")
    folder = place / "tin"
    folder.mkdir()
    beds = {
        "tin_0001": [(10, 10, 60, 40), (80, 12, 40, 60), (10, 90, 90, 60)],
        "tin_0002": [(10, 10, 60, 40), (40, 50, 60, 40)],
        "tin_0003": [(20, 20, 90, 60)],
    }
    for number, (name, prints) in enumerate(beds.items()):
        pixels = np.full((1000, 900, 3), LID, dtype=np.uint8)
        for at, (left, top, width, height) in enumerate(prints):
            lay(pixels, left, top, width, height, 10 * number + at)
        Image.fromarray(pixels).save(folder / f"{name}.png", dpi=(PPI, PPI))
    archive = Archive.create(place / "archive")
    archive.scans.add([folder])
    archive.close()
    return place


@pytest.fixture
def archive(made: Path, tmp_path: Path) -> Archive:
    """K00001 with three prints, K00002 with two that touch, K00003 with a single one; in the box "tin"."""
    return brought_along(made, tmp_path)


def digests(folder: Path) -> dict[str, str]:
    """Each file's SHA-256, as the library computes it."""
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.glob("*.png")}


def words_on(archive: Archive, code: str) -> list[str]:
    """What is recorded as written on a photograph."""
    with archive.reading() as connection:
        query = "SELECT text FROM statement JOIN photograph p ON p.id = photograph_id WHERE text <> '' AND p.code = ?"
        return list(connection.exec_driver_sql(query, (code,)).scalars())


def test_each_print_becomes_a_photograph_of_its_own(archive: Archive, tmp_path: Path) -> None:
    """Three parts under the theme's next numbers in a folder of their own, in the bed's box, part of the bed, with its
    resolution; no byte of the bed has changed, and undoing it takes all three out again."""
    before = digests(tmp_path / "tin")
    done = archive.scans.cut(["K00001"])
    (bed,) = done.beds
    assert [Path(part.scan).name for part in bed.parts] == ["tin_0004.tif", "tin_0005.tif", "tin_0006.tif"]
    assert {Path(part.scan).parent for part in bed.parts} == {tmp_path / "tin" / "cut"}
    sizes = [(round(part.outline.width), round(part.outline.height)) for part in bed.parts]
    assert sizes == [(60, 40), (40, 60), (90, 60)]
    first = archive.photographs.details("K00004")
    assert first.scans[0].ppi == pytest.approx(PPI, abs=0.02)  # a PNG has whole pixels a metre
    assert first.boxes[-1].name == "tin"
    assert first.scans[0].width == pytest.approx(64 / 25.4 * PPI, abs=2)  # 60 mm and 2 mm of bed on each side
    assert archive.photographs.details("K00001").page
    assert digests(tmp_path / "tin") == before
    assert archive.scans.names("tin").next == "tin_0007"
    assert archive.scans.cut(["K00001"]).not_cut[0].why.startswith("it was cut apart already")
    archive.statements.undo()
    with pytest.raises(NotFoundError):
        archive.photographs.details("K00004")
    assert not archive.photographs.details("K00001").page


def test_adding_the_folder_again_adds_nothing(archive: Archive, tmp_path: Path) -> None:
    """The parts lie below the folder of the scans, and are known."""
    archive.scans.cut(["K00001"])
    again = archive.scans.add([tmp_path / "tin"])
    assert (again.added, again.unchanged) == (0, 6)


def test_what_is_unsure_is_left_alone_until_somebody_has_looked(archive: Archive) -> None:
    """Prints that touch: nothing is cut; outlined by hand they are, each where it was drawn. A single print has
    nothing to be cut from."""
    left = archive.scans.cut(["K00002", "K00003"])
    assert left.change is None
    assert ["unsure" in each.why or "nothing to cut" in each.why for each in left.not_cut] == [True, True]
    archive.scans.set_outlines("K00002", [PrintOutline(10, 10, 60, 40), PrintOutline(40, 50, 60, 40)])
    shown = archive.scans.outlines("K00002")
    assert (shown.by_hand, shown.sure, len(shown.outlines)) == (True, True, 2)
    (bed,) = archive.scans.cut(["K00002"]).beds
    pixels = tifffile.imread(bed.parts[1].scan)
    assert pixels.shape[1] / PPI * 25.4 == pytest.approx(62, abs=0.5)  # they touch: a millimetre on each side
    archive.scans.set_outlines("K00003", [PrintOutline(20, 20, 90, 60, 0.0)])
    archive.scans.set_outlines("K00003", ())
    assert not archive.scans.outlines("K00003").by_hand


def test_outlines_turn_with_their_scan(archive: Archive) -> None:
    """Drawn at the top left, 60 by 40 mm; after a turn to the right it lies at the top right, on its side."""
    archive.scans.set_outlines("K00001", [PrintOutline(10, 10, 60, 40)])
    archive.scans.turn("K00001", "right")
    shown = archive.scans.outlines("K00001")
    (one,) = shown.outlines
    assert (one.turn, one.width, one.height) == (90, pytest.approx(60), pytest.approx(40))
    assert (one.left + one.width / 2, one.top + one.height / 2) == (pytest.approx(shown.width - 30, abs=0.1), 40)
    (bed,) = archive.scans.cut(["K00001"]).beds
    assert tifffile.imread(bed.parts[0].scan).shape[:2] == pytest.approx((44 / 25.4 * PPI, 64 / 25.4 * PPI), abs=2)


@pytest.mark.parametrize(
    ("outline", "said"),
    [
        (PrintOutline(10, 10, 2, 40), "smaller than 5 mm"),
        (PrintOutline(900, 10, 60, 40), "outside the picture"),
        (PrintOutline(-400, -400, 1000, 1000), "larger than the picture"),
        (PrintOutline(float("nan"), 10, 60, 40), "has no size"),
    ],
)
def test_outlines_that_cannot_be(archive: Archive, outline: PrintOutline, said: str) -> None:
    """Refused in one line, and nothing is kept."""
    with pytest.raises(InvalidValueError, match=said):
        archive.scans.set_outlines("K00001", [outline])
    assert archive.scans.beds() == ()


def test_a_full_disk_leaves_nothing_behind(archive: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second part cannot be written: the first is gone again, no photograph was made, the bed is as it was."""
    written = []

    def write_part(path: Path, *rest: object) -> None:
        if written:
            raise OSError(28, "No space left on device")
        written.append(path)
        cutting_files.write_part(path, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr("kinphoto.archive.collection.cutting.write_part", write_part)
    with pytest.raises(OSError, match="No space"):
        archive.scans.cut(["K00001"])
    assert written
    assert list((tmp_path / "tin" / "cut").iterdir()) == []
    assert archive.scans.beds() == ()


def test_a_name_that_is_taken_is_never_written_over(archive: Archive, tmp_path: Path) -> None:
    """A stray file has the next name: the one after it is used."""
    (tmp_path / "tin" / "cut").mkdir()
    (tmp_path / "tin" / "cut" / "tin_0004.tif").write_bytes(b"mine")
    (bed,) = archive.scans.cut(["K00001"]).beds
    assert Path(bed.parts[0].scan).name == "tin_0005.tif"
    assert (tmp_path / "tin" / "cut" / "tin_0004.tif").read_bytes() == b"mine"


def test_a_part_or_a_bed_that_is_removed(archive: Archive) -> None:
    """A part that is removed leaves its outline free to be cut again; with the bed its outlines go. Both come back."""
    archive.scans.cut(["K00001"])
    archive.photographs.remove(["K00004"], with_statements=True)
    assert [one.photograph for one in archive.scans.outlines("K00001").outlines] == [None, "K00005", "K00006"]
    archive.statements.undo()
    archive.photographs.remove(["K00001"], with_statements=True)
    assert archive.scans.beds() == ()
    archive.statements.undo()
    assert [one.cut for one in archive.scans.beds()] == [3]


def test_an_album_page_keeps_its_captions_and_its_order(archive: Archive) -> None:
    """The page stays as a whole; its prints are parts of it in its order, each with the words beside it, which are a
    statement about the photograph once it is cut out. One undo takes all of it back."""
    drawn = [
        PrintOutline(10, 10, 60, 40, caption=" Ada at the weir "),
        PrintOutline(80, 12, 40, 60),
        PrintOutline(10, 90, 90, 60, caption="The ferry, 1931"),
    ]
    archive.scans.set_outlines("K00001", drawn)
    assert [one.caption for one in archive.scans.outlines("K00001").outlines] == [
        "Ada at the weir",
        "",
        "The ferry, 1931",
    ]
    before = len(archive.statements.history())
    done = archive.scans.cut(["K00001"])
    codes = [part.photograph for part in done.beds[0].parts]
    assert [part.outline.caption for part in done.beds[0].parts] == ["Ada at the weir", "", "The ferry, 1931"]
    assert [words_on(archive, code) for code in codes] == [["Ada at the weir"], [], ["The ferry, 1931"]]
    assert archive.photographs.details("K00001").page
    prints = archive.scans.prints_on(1)
    assert [(one.number, one.caption, one.photograph) for one in prints] == [
        (1, "Ada at the weir", codes[0]), (2, "", codes[1]), (3, "The ferry, 1931", codes[2])
    ]  # fmt: skip
    per_mm = PPI / 25.4
    assert prints[0].corners[0] == pytest.approx((10 * per_mm, 10 * per_mm), abs=0.5)
    assert prints[0].corners[2] == pytest.approx((70 * per_mm, 50 * per_mm), abs=0.5)
    assert len(archive.statements.history()) == before + 1
    archive.statements.undo()
    assert [one.caption for one in archive.scans.outlines("K00001").outlines] == [
        "Ada at the weir",
        "",
        "The ferry, 1931",
    ]


def test_a_later_scan_of_a_print_falls_into_its_place_on_the_page(tmp_path: Path) -> None:
    """Proposed by what it looks like, confirmed by one press: the photograph on the page has the better scan in front,
    with its words and its place; and undone."""
    page = Image.new("RGB", (900, 1000), (LID, LID, LID))
    prints = [Image.fromarray(skimage.data.astronaut()), Image.fromarray(skimage.data.coffee())]
    for picture, place in zip(prints, [(60, 60), (60, 500)], strict=True):
        page.paste(picture.resize((480, 360)), place)
    (tmp_path / "album").mkdir()
    page.save(tmp_path / "album" / "page_0001.png", dpi=(PPI, PPI))
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([tmp_path / "album"])
    scale = PPI / 25.4
    outlines = [PrintOutline(60 / scale, top / scale, 480 / scale, 360 / scale, caption=words)
                for top, words in ((60, "Ada at the weir"), (500, ""))]  # fmt: skip
    archive.scans.set_outlines("K00001", outlines)
    (bed,) = archive.scans.cut(["K00001"]).beds
    later = tmp_path / "album" / "page_0050.png"
    prints[0].resize((1920, 1440), Image.Resampling.BICUBIC).save(later, dpi=(4 * PPI, 4 * PPI))
    archive.scans.add([later])
    (found,) = archive.scans.pairs().proposals
    assert (found.kind, found.sure) == ("rescan", False)
    assert "page_0050.png is better: it has more pixels; it is print 1 on K00001" in found.why
    done = archive.scans.confirm_pairs([found.key])
    part = bed.parts[0].photograph
    assert Path(archive.photographs.details(part).scans[0].path) == later
    assert archive.scans.outlines("K00001").outlines[0].photograph == part
    assert words_on(archive, part) == ["Ada at the weir"]
    archive.statements.undo(done.change)
    assert Path(archive.photographs.details(part).scans[0].path) == Path(bed.parts[0].scan)


def strip_of_film(folder: Path) -> Archive:
    """K00001, a scan of film with three frames on it, cut apart into K00002 to K00004."""
    (folder / "film").mkdir()
    pixels = np.full((600, 900, 3), LID, dtype=np.uint8)
    for at, left in enumerate((10, 60, 110)):
        lay(pixels, left, 20, 36, 24, at)
    Image.fromarray(pixels).save(folder / "film" / "film_0001.png", dpi=(PPI, PPI))
    found = Archive.create(folder / "archive")
    found.scans.add([folder / "film"])
    return found


def test_frames_of_film_may_be_one_strip(tmp_path: Path) -> None:
    """Where the scan is recorded to be film, its parts are offered as one strip, in their order; nothing is recorded.
    Once somebody has recorded that, it is offered no more, also if it was withdrawn; undone, it is offered again."""
    archive = strip_of_film(tmp_path)
    archive.statements.record_making("K00001", "process", "safety-negative")
    [bed] = archive.scans.cut(["K00001"]).beds
    assert bed.strip == ("K00002", "K00003", "K00004")
    assert archive.scans.outlines("K00001").strip == bed.strip
    assert [mark.kind for mark in archive.photographs.details("K00002").marks] == ["part-of"]
    said, _ = archive.statements.relate(Tie(photograph="K2", relation="same-strip", other="K3"))
    assert archive.scans.outlines("K00001").strip == ()
    archive.statements.withdraw(said.statement)
    assert archive.scans.outlines("K00001").strip == ()
    archive.statements.undo()
    archive.statements.undo()
    assert archive.scans.outlines("K00001").strip == bed.strip


def test_a_negative_that_is_shown_as_a_positive_is_film(tmp_path: Path) -> None:
    """Also where nobody has recorded what it is; a scan of prints is none, nor is a single frame."""
    archive = strip_of_film(tmp_path)
    [bed] = archive.scans.cut(["K00001"]).beds
    assert bed.strip == ()
    archive.scans.turn("K00001", "positive")
    assert archive.scans.outlines("K00001").strip == ("K00002", "K00003", "K00004")
