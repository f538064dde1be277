"""Faces that the search of the front misses: framed by hand, or seen on a detail that was scanned by itself."""

from __future__ import annotations

import shutil
from pathlib import Path

import portraits
import pytest
from building import brought_along
from PIL import Image, ImageFilter
from skimage import data

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.regions import overlap
from kinphoto.archive.faces.compared import ComparedFaces, compared
from kinphoto.archive.statements.appearances import Link
from kinphoto.store import face_file

HER_HEAD = (150 / 512, 20 / 512, 140 / 512, 180 / 512)
"""As people frame heads; by eye."""
FOUR = 4
"""How much finer the detail was scanned."""


def all_compared(archive: Archive) -> ComparedFaces:
    with archive.reading() as rows:
        return compared(rows)


@pytest.fixture(scope="module")
def missed_once(searched_portraits: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with that archive and the print."""
    place = tmp_path_factory.mktemp("missed")
    shutil.copytree(searched_portraits, place / "archive")
    blurred = portraits.portrait().filter(ImageFilter.GaussianBlur(13))
    (place / "more").mkdir()
    blurred.save(place / "more" / "e_out_of_focus.png")
    archive = Archive.open(place / "archive")
    archive.scans.add([place / "more"])
    archive.faces.turn_on("", living=True)
    archive.faces.find()
    assert archive.faces.offers(["K00005"]) == ()
    archive.close()
    return place


@pytest.fixture
def missed(missed_once: Path, tmp_path: Path) -> Archive:
    """The archive with one more print of her (K00005), out of focus so far that no face is found on it."""
    return brought_along(missed_once, tmp_path)


def by_hand(archive: Archive, person: str = "I1") -> None:
    """Frame and name her head."""
    archive.statements.link(Link(photograph="K00005", person=person, region=",".join(map(str, HER_HEAD))))


@pytest.mark.usefixtures("by_processes")
def test_a_frame_drawn_by_hand_is_described_too(missed: Archive) -> None:
    """Its face is compared after the next search, is on no offer, and is forgotten when the frame is taken away."""
    before = missed.faces.state()
    by_hand(missed)
    assert missed.faces.find().compared == 1
    assert missed.faces.state().compared == before.compared + 1
    assert missed.faces.state().faces == before.faces  # the search has found none
    (face,) = (face for face in all_compared(missed).faces if face.code == "K00005")
    assert (face.person, face.key) == (1, "R1")
    assert missed.faces.offers(["K00005"]) == ()
    assert missed.faces.find().compared == 0
    missed.statements.undo()
    assert not [face for face in all_compared(missed).faces if face.code == "K00005"]
    assert missed.faces.offers(["K00005"]) == ()
    missed.faces.find()
    with face_file.reading(missed.folder) as file:
        assert file.execute("SELECT count(*) FROM face WHERE drawn").fetchone()[0] == 0


def test_a_frame_of_somebody_who_may_not_be_compared_is_not_described(missed: Archive) -> None:
    """Una may be living, and Ada was left out."""
    missed.faces.turn_on("", living=False)
    by_hand(missed, "I2")
    assert missed.faces.find().compared == 0
    missed.statements.undo()
    missed.faces.turn_on("", living=True)
    missed.faces.leave_out("I1")
    by_hand(missed)
    missed.faces.find()
    assert not [face for face in all_compared(missed).faces if face.code == "K00005"]


def test_it_is_described_upright_however_the_scan_lies(missed: Archive, tmp_path: Path) -> None:
    """The same print scanned lying on its side, and turned upright by hand: the same face, described alike."""
    blurred = portraits.portrait().filter(ImageFilter.GaussianBlur(13))
    (tmp_path / "lying").mkdir()
    blurred.transpose(Image.Transpose.ROTATE_90).save(tmp_path / "lying" / "f_lying.png")
    missed.scans.add([tmp_path / "lying"])
    missed.scans.turn("K00006", "right")
    by_hand(missed)
    missed.statements.link(Link(photograph="K00006", person="I1", region=",".join(map(str, HER_HEAD))))
    missed.faces.find()
    everybody = all_compared(missed)
    one, other = (at for at, face in enumerate(everybody.faces) if face.code in ("K00005", "K00006"))
    assert everybody.numbers[one] @ everybody.numbers[other] > 0.8  # strangers 0.16


def original() -> Image.Image:
    """A picture with much in it and her in the middle, small."""
    stones = Image.fromarray(data.gravel()).convert("RGB")
    picture = Image.new("RGB", (2400, 1600))
    for left in range(0, 2400, 512):
        for top in range(0, 1600, 512):
            picture.paste(stones.rotate(7 * left + top), (left, top))
    picture.paste(portraits.portrait().resize((260, 260)), (1000, 700))
    return picture


@pytest.fixture
def with_detail(tmp_path: Path) -> Archive:
    """A photograph on whose scan her face is 12 pixels wide, and a detail of it that was scanned finer."""
    box = tmp_path / "box"
    box.mkdir()
    whole = original()
    whole.resize((2400 // FOUR, 1600 // FOUR), Image.Resampling.BOX).save(box / "yard.png")
    whole.crop((700, 400, 1600, 1200)).save(box / "yard_detail.png")
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([box])
    joined = archive.photographs.details("K00001")
    if all(scan.side != "detail" for scan in joined.scans):
        archive.scans.join(["K00001", "K00002"], side="detail")
    archive.faces.turn_on("Aunt Edda", living=True)
    return archive


@pytest.mark.usefixtures("by_processes")
def test_a_face_on_a_detail_is_offered_on_the_front(with_detail: Archive) -> None:
    """Where it is on the front, to within what the frames of one face differ; and it is described from the detail."""
    assert with_detail.faces.state().waiting == 1
    found = with_detail.faces.find()
    assert with_detail.faces.state().waiting == 0
    assert (found.faces, found.compared) == (1, 1)
    ((frame,),) = (each.frames for each in with_detail.faces.offers())
    scale = 260 / 512
    there = (
        (1000 + 172 * scale) / 2400, (700 + 66 * scale) / 1600, 98 * scale / 2400, 112 * scale / 1600,
    )  # fmt: skip
    assert overlap(frame.box, there) > 0.5
    assert with_detail.faces.find().searched == 0
    with_detail.faces.refuse("K00001")
    with_detail.faces.find(again=True)
    assert with_detail.faces.offers() == ()
