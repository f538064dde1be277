"""Names that exiftool wrote into files, as other programs do, read and matched to people."""

from __future__ import annotations

from pathlib import Path

import pytest
from asking_exiftool import exiftool
from building import brought_along
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.errors import NotFoundError

REGION = (
    "-XMP-mwg-rs:RegionInfo={AppliedToDimensions={W=400,H=300,Unit=pixel},RegionList=[{Area={X=0.25,Y=0.4,W=0.1,H=0.2,"
    "Unit=normalized},Name=Ada M.,Type=Face},{Area={X=0.5,Y=0.5,W=0.1,H=0.1,Unit=normalized},Name=Rex,Type=Pet}]}"
)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the archive and its scans."""
    place = tmp_path_factory.mktemp("names")
    scans = place / "scans"
    scans.mkdir()
    for number in range(1, 5):
        Image.new("RGB", (400, 300), (40 * number, 90, 60)).save(scans / f"{number}.{'tif' if number == 3 else 'jpg'}")
    write(scans / "1.jpg", REGION)
    write(scans / "2.jpg", REGION, "-Orientation#=6")
    write(scans / "3.tif", "-XMP-iptcExt:PersonInImage=ada  m.", "-XMP-iptcExt:PersonInImage=Tom")
    exiftool("-q", "-o", scans / "4.xmp", "-XMP-iptcExt:PersonInImage=Ada M.")
    archive = Archive.create(place / "archive")
    archive.people.add("Ada Marsh", "1890")
    archive.people.add("Tom", "1888")
    archive.scans.add([scans])
    archive.close()
    return place


@pytest.fixture
def archive(made: Path, tmp_path: Path) -> Archive:
    """K00001 with a region, K00002 the same lying on its side, K00003 with a name alone, K00004 with a sidecar."""
    return brought_along(made, tmp_path)


def write(path: Path, *fields: str) -> None:
    """Write fields into a file."""
    exiftool("-q", "-overwrite_original", *fields, path)


def test_names_are_listed_with_whom_they_could_mean(archive: Archive) -> None:
    """However they are spelt; a dog is nobody."""
    found = [
        (one.name, one.photographs, one.framed, one.person and one.person.name) for one in archive.scans.written_names()
    ]
    assert found == [
        ("Ada M.", ("K00001", "K00002", "K00003", "K00004"), 2, None), ("Tom", ("K00003",), 0, "Tom")
    ]  # fmt: skip


def test_all_of_one_name_at_once(archive: Archive) -> None:
    """On each photograph where the file says, upright: where the picture lies on its side, the face at 0.25 from the
    left and 0.4 from the top is at 0.6 and 0.25 once it is turned clockwise (found with a sheet of paper)."""
    done = archive.scans.take_names("Ada M.", "Ada Marsh")
    assert done.photographs == ("K00001", "K00002", "K00003", "K00004")
    middles = []
    for code in ("K00001", "K00002"):
        (face,) = archive.photographs.faces(code).faces
        left, top, width, height = face.box
        middles.append((round(left + width / 2, 3), round(top + height / 2, 3)))
        assert (face.names[0].name, face.names[0].informant) == ("Ada Marsh", "the file")
    assert middles == [(0.25, 0.4), (0.6, 0.25)]
    assert archive.scans.take_names("ada m.", "X1").photographs == ()
    assert archive.scans.written_names()[0].name == "Tom"
    archive.statements.undo()
    (face,) = archive.photographs.faces("K00001").faces
    assert [(one.person, one.called, one.informant) for one in face.names] == [(None, "Ada M.", "the file")]


def test_a_name_is_kept_before_anybody_says_whose_it_is(archive: Archive) -> None:
    """As somebody not identified yet, framed where the file says, with the file as who told us; it is a change of its
    own, and what is undone or withdrawn is not recorded again by adding the same scans."""
    (face,) = archive.photographs.faces("K00002").faces
    assert [(one.person, one.called, one.informant) for one in face.names] == [(None, "Ada M.", "the file")]
    (alone, other) = archive.photographs.faces("K00003").elsewhere
    assert {alone.called, other.called} == {"ada m.", "Tom"}
    archive.statements.withdraw(alone.id)
    assert archive.scans.read_inside().change is None
    archive.statements.undo()
    archive.statements.undo()
    assert archive.photographs.faces("K00002").faces == ()
    assert archive.scans.add([Path(archive.scans.folders()[0])]).photographs == 4


def test_a_name_matched_before_is_offered_for_new_scans(archive: Archive, tmp_path: Path) -> None:
    """Who a name in the files meant once is who it probably means on what is added later; a name taken off again is
    open again."""
    archive.scans.take_names("Ada M.", "Ada Marsh")
    Image.new("RGB", (400, 300), (9, 9, 9)).save(tmp_path / "scans" / "9.jpg")
    write(tmp_path / "scans" / "9.jpg", REGION)
    added = archive.scans.add([tmp_path / "scans"])
    assert [each.photograph for each in added.telling] == ["K00005"]
    found = {one.name: (one.photographs, one.person and one.person.name) for one in archive.scans.written_names()}
    assert found["Ada M."] == (("K00005",), "Ada Marsh")
    (face,) = archive.photographs.faces("K00001").faces
    archive.statements.take_name_off(face.names[0].id)
    assert archive.scans.written_names()[0].photographs == ("K00001", "K00005")


def test_what_was_said_before_stays(archive: Archive) -> None:
    """Somebody framed her elsewhere on one of them: that one is left as it is, and told."""
    archive.statements.link(Link(photograph="K00001", person="X1", region="0.7,0.7,0.2,0.2", by="May"))
    done = archive.scans.take_names("Ada M.", "X1")
    assert [one.photograph for one in done.refused] == ["K00001"]
    assert len(archive.photographs.faces("K00001").faces) == 1
    assert [one.name for one in archive.scans.written_names()] == ["Tom"]


def test_a_name_nobody_wrote(archive: Archive) -> None:
    """Is answered, and a packet that is broken or made to exhaust the memory is passed over."""
    with pytest.raises(NotFoundError, match="no file has the name 'Zoe'"):
        archive.scans.take_names("Zoe", "X1")
    folder = Path(archive.scans.folders()[0])
    (folder / "1.xmp").write_bytes(
        b'<x:xmpmeta><!DOCTYPE a [<!ENTITY b "c">]>&b;</x:xmpmeta><x:xmpmeta><broken</x:xmpmeta>'
    )
    assert archive.scans.read_inside().change is None


def test_a_name_written_into_a_file_later(archive: Archive) -> None:
    """Is recorded when the changed file is added again, or all are read again; what was there is not repeated."""
    folder = Path(archive.scans.folders()[0])
    write(folder / "3.tif", "-XMP-iptcExt:PersonInImage+=Ruth")
    assert [each.photograph for each in archive.scans.add([folder]).telling] == ["K00003"]
    exiftool("-q", "-o", folder / "2.xmp", "-XMP-iptcExt:PersonInImage=Ruth")
    taken = archive.scans.read_inside()
    assert (taken.photographs, taken.names, taken.texts) == (("K00002",), 1, 0)
    assert [one.photographs for one in archive.scans.written_names() if one.name == "Ruth"] == [("K00002", "K00003")]
