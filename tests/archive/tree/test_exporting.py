"""Writing the tree that was imported with the pictures of its people in it."""

from __future__ import annotations

import hashlib
import zipfile
from pathlib import Path

import gedcom7
import pytest
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import ArchiveError, InvalidValueError, KinphotoError, NotFoundError

TREE = """0 HEAD
1 GEDC
2 VERS {version}
1 CHAR {char}
0 @I1@ INDI
1 NAME Ada /Marsh/
1 BIRT
2 DATE 3 MAR 1890
1 DEAT
2 DATE 1961
0 @I2@ INDI
1 NAME Tom /Holm/
1 BIRT
2 DATE 1888
1 DEAT
2 DATE 1950
0 @I3@ INDI
1 NAME Nis /Holm/
1 BIRT
2 DATE 1990
0 TRLR
"""
FIVE = TREE.format(version="5.5.1", char="UTF-8")
SEVEN = TREE.format(version="7.0", char="").replace("1 CHAR \n", "")


def family(folder: Path, tree: str = FIVE, name: str = "holm.ged", codec: str = "utf-8", scans: int = 3) -> Archive:
    """An archive with this tree and photographs K00001 ... of 400 by 200 pixels in `scans` below the same folder."""
    archive = Archive.create(folder / "archive")
    (folder / name).write_bytes(tree.encode(codec))
    archive.tree.import_file(folder / name)
    (folder / "scans").mkdir()
    for number in range(1, scans + 1):
        Image.new("L", (400, 200), number).save(folder / "scans" / f"{number}.jpg")
    archive.scans.add([folder / "scans"])
    return archive


def link(archive: Archive, photograph: str, person: str, **more: str | bool) -> None:
    """Name somebody in a photograph."""
    archive.statements.link(Link(photograph=photograph, person=person, **more))  # type: ignore[arg-type]


def added(folder: Path, name: str = "out.ged", tree: str = FIVE) -> list[str]:
    """The lines that are new in a file, all others being there in order."""
    new, rest = [], tree.splitlines()
    for line in (folder / name).read_text("utf-8").splitlines():
        if rest and line == rest[0]:
            rest.pop(0)
        else:
            new.append(line)
    assert rest == []
    return new


def links(folder: Path, name: str = "out.ged", tree: str = FIVE) -> list[str]:
    """The links that are new in a file."""
    return [line for line in added(folder, name, tree) if line.startswith("1 OBJE")]


def test_pictures_of_a_tree_of_5_5_1(tmp_path: Path) -> None:
    """A record for each photograph, its path from the file's own folder, a link from everybody in it."""
    archive = family(tmp_path)
    link(archive, "K00001", "I1", region="0.1,0.2,0.3,0.4")
    link(archive, "K00001", "I2")
    done = archive.tree.write_file(tmp_path / "out.ged")
    assert (done.people, done.photographs, done.links, done.version, done.changed) == (2, 1, 2, "5.5.1", True)
    mark = added(tmp_path)[-1].removeprefix("2 TYPE kinphoto ")
    assert added(tmp_path) == [
        "1 OBJE @K00001@",
        "1 OBJE @K00001@",
        "0 @K00001@ OBJE",
        "1 FILE scans/1.jpg",
        "2 FORM jpg",
        "3 TYPE photo",
        "1 REFN K00001",
        f"2 TYPE kinphoto {mark}",
    ]
    assert len(mark) == 12


def test_crop_of_7_against_gedcom7(tmp_path: Path) -> None:
    """gedcom7 finds nothing wrong; CROP is the region in pixels of the upright picture, paths are URI references."""
    (tmp_path / "scans").mkdir()
    sideways = Image.new("L", (400, 200))
    exif = sideways.getexif()
    exif[0x0112] = 6  # to be shown with a quarter turn: 200 wide, 400 high (EXIF, tag 274)
    sideways.save(tmp_path / "scans" / "a b.jpg", exif=exif)
    archive = Archive.create(tmp_path / "archive")
    (tmp_path / "holm.ged").write_text(SEVEN)
    archive.tree.import_file(tmp_path / "holm.ged")
    archive.scans.add([tmp_path / "scans"])
    link(archive, "K00001", "I1", region="0.1,0.2,0.3,0.4")
    archive.tree.write_file(tmp_path / "out.ged")
    records = gedcom7.loads((tmp_path / "out.ged").read_text())
    assert gedcom7.validate(records) == []
    ada = next(record for record in records if record.xref == "@I1@")
    crop = next(c for c in ada.children if c.tag == "OBJE").children[0]
    assert {side.tag: side.value for side in crop.children} == {"LEFT": 20, "TOP": 80, "WIDTH": 60, "HEIGHT": 160}
    medium = next(record for record in records if record.tag == "OBJE")
    assert medium.children[0].value == "scans/a%20b.jpg"
    (tmp_path / "elsewhere").mkdir()
    archive.tree.write_file(tmp_path / "elsewhere" / "out.ged")
    assert f"1 FILE file://{tmp_path}/scans/a%20b.jpg\n" in (tmp_path / "elsewhere" / "out.ged").read_text()


def test_what_is_doubtful_is_not_written(tmp_path: Path) -> None:
    """A rival on the face, a denial, a mere guess and a name in a conflict are counted, not written."""
    archive = family(tmp_path, scans=6)
    link(archive, "K00001", "I1", region="0.1,0.2,0.3,0.4")
    link(archive, "K00001", "I2", region="0.1,0.2,0.3,0.4")
    link(archive, "K00002", "I1")
    link(archive, "K00002", "I1", denied=True)
    link(archive, "K00003", "I2", trust="weak")
    link(archive, "K00004", "I2")
    link(archive, "K00004", "I3")  # he was born forty years after Tom had died
    link(archive, "K00005", "I1", trust="fair")
    done = archive.tree.write_file(tmp_path / "out.ged")
    assert (done.doubtful, done.links) == (6, 1)
    assert links(tmp_path) == ["1 OBJE @K00005@"]


def test_people_outside_the_tree(tmp_path: Path) -> None:
    """A neighbour is counted and not written; when he turns out to be Tom, Tom has the picture."""
    archive = family(tmp_path)
    archive.people.add("Jon Tveit")
    link(archive, "K00001", "X1")
    assert archive.tree.write_file(tmp_path / "out.ged").outside == 1
    assert added(tmp_path) == []
    archive.people.identify("X1", "I2")
    assert archive.tree.write_file(tmp_path / "out.ged", replace=True).outside == 0
    assert links(tmp_path) == ["1 OBJE @K00001@"]


def test_the_living(tmp_path: Path) -> None:
    """Their pictures are counted; with `leave_out_living` the file names none that shows one of them."""
    archive = family(tmp_path)
    link(archive, "K00001", "I3")
    link(archive, "K00002", "I1")
    archive.people.add("Jon Tveit")
    link(archive, "K00003", "I1")
    link(archive, "K00003", "X1")
    done = archive.tree.write_file(tmp_path / "out.ged")
    assert (done.living, done.photographs, done.left_out) == (2, 3, 0)
    done = archive.tree.write_file(tmp_path / "out.ged", replace=True, leave_out_living=True)
    assert (done.living, done.photographs, done.left_out) == (0, 1, 2)
    assert links(tmp_path) == ["1 OBJE @K00002@"]


@pytest.mark.parametrize("tree", [FIVE, SEVEN])
def test_written_imported_and_written_again(tmp_path: Path, tree: str) -> None:
    """The import finds nobody changed, the second file is the first; a name withdrawn goes, and nothing else."""
    archive = family(tmp_path, tree)
    link(archive, "K00001", "I1", region="0.1,0.2,0.3,0.4")
    link(archive, "K00002", "I2")
    archive.tree.write_file(tmp_path / "out.ged")
    back = archive.tree.import_file(tmp_path / "out.ged")
    assert (back.added, back.changed, back.removed, back.warnings) == (0, 0, 0, ())
    archive.tree.write_file(tmp_path / "again.ged")
    assert (tmp_path / "again.ged").read_bytes() == (tmp_path / "out.ged").read_bytes()
    archive.statements.withdraw("A2")
    archive.tree.write_file(tmp_path / "less.ged")
    assert links(tmp_path, "less.ged", tree) == ["1 OBJE @K00001@"]
    assert "K00002" not in (tmp_path / "less.ged").read_text()


def test_letters_that_need_utf_8(tmp_path: Path) -> None:
    """A title the encoding of the tree cannot hold turns the file into UTF-8, which the header then says."""
    tree = TREE.format(version="5.5.1", char="ANSEL").replace("Ada", "Zoë").replace("\n", "\r\n")
    archive = family(tmp_path, tree, codec="gedcom")
    link(archive, "K00001", "I1")
    assert archive.tree.write_file(tmp_path / "ansel.ged").encoding == "ANSEL"
    archive.photographs.describe("K00001", Description(title="冬"))
    assert archive.tree.write_file(tmp_path / "utf.ged").encoding == "UTF-8"
    text = (tmp_path / "utf.ged").read_bytes().decode()
    assert "1 CHAR UTF-8\r\n" in text
    assert "1 NAME Zoë /Marsh/\r\n" in text
    assert "2 TITL 冬\r\n" in text
    assert text.count("\r\n") == text.count("\n")
    assert archive.tree.import_file(tmp_path / "utf.ged").changed == 0


def test_a_package(tmp_path: Path) -> None:
    """gedcom.ged and every file it names, the scans unchanged, the tree's own picture too; the same bytes each time."""
    tree = SEVEN.replace("0 TRLR\n", "0 @O1@ OBJE\n1 FILE old/w%C3%A9.jpg\n2 FORM image/jpeg\n0 TRLR\n")
    archive = family(tmp_path, tree)
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "wé.jpg").write_bytes(b"theirs")
    link(archive, "K00001", "I1")
    link(archive, "K00002", "I1")
    (tmp_path / "scans" / "2.jpg").unlink()
    done = archive.tree.write_file(tmp_path / "out.gdz")
    assert (done.photographs, done.missing, done.warnings) == (1, (str(tmp_path / "scans" / "2.jpg"),), ())
    with zipfile.ZipFile(tmp_path / "out.gdz") as package:
        assert package.testzip() is None
        assert package.namelist() == ["gedcom.ged", "media/K00001.jpg", "old/wé.jpg"]
        assert package.read("media/K00001.jpg") == (tmp_path / "scans" / "1.jpg").read_bytes()
        assert package.read("old/wé.jpg") == b"theirs"
        records = gedcom7.loads(package.read("gedcom.ged").decode())
    assert gedcom7.validate(records) == []
    assert [r.children[0].value for r in records if r.tag == "OBJE"] == ["old/w%C3%A9.jpg", "media/K00001.jpg"]
    first = hashlib.sha256((tmp_path / "out.gdz").read_bytes()).digest()
    archive.tree.write_file(tmp_path / "other.gdz")
    assert hashlib.sha256((tmp_path / "other.gdz").read_bytes()).digest() == first
    assert archive.tree.import_file(tmp_path / "out.gdz").changed == 0
    archive.tree.write_file(tmp_path / "other.gdz")  # what was there beside the tree comes from the package now
    assert hashlib.sha256((tmp_path / "other.gdz").read_bytes()).digest() == first


def test_a_tree_of_5_5_1_as_7(tmp_path: Path) -> None:
    """Asked for, or because a package is of 7.0: valid for gedcom7, with CROP; brought in again, nobody has changed."""
    archive = family(tmp_path, FIVE.replace("@I1@", "@ada-1@").replace("2 DATE 1888", "2 DATE ABT 1888"))
    link(archive, "K00001", "ada-1", region="0.1,0.2,0.3,0.4")
    done = archive.tree.write_file(tmp_path / "out.ged", "7.0")
    assert (done.version, done.links) == ("7.0", 1)
    text = (tmp_path / "out.ged").read_text()
    assert gedcom7.validate(gedcom7.loads(text)) == []
    assert "1 OBJE @K00001@\n2 CROP\n3 TOP 40\n3 LEFT 40\n3 HEIGHT 80\n3 WIDTH 120\n" in text
    archive.tree.write_file(tmp_path / "out.gdz")
    back = archive.tree.import_file(tmp_path / "out.gdz")
    assert (back.added, back.removed) == (0, 0)
    assert archive.tree.write_file(tmp_path / "again.ged").links == 1
    with pytest.raises(InvalidValueError, match="cannot hold everything"):
        archive.tree.write_file(tmp_path / "five.ged", "5.5.1")


def test_nothing_is_written_over(tmp_path: Path) -> None:
    """Another file only with `replace`, the same file again without a word, the imported one never."""
    archive = family(tmp_path)
    link(archive, "K00001", "I1")
    with pytest.raises(ArchiveError, match="imported from"):
        archive.tree.write_file(tmp_path / "holm.ged", replace=True)
    (tmp_path / "alias.ged").symlink_to(tmp_path / "holm.ged")
    with pytest.raises(ArchiveError, match="imported from"):
        archive.tree.write_file(tmp_path / "alias.ged", replace=True)
    (tmp_path / "out.ged").write_text("a diary")
    with pytest.raises(ArchiveError, match="--replace"):
        archive.tree.write_file(tmp_path / "out.ged")
    assert (tmp_path / "out.ged").read_text() == "a diary"
    assert archive.tree.write_file(tmp_path / "out.ged", replace=True).changed
    assert not archive.tree.write_file(tmp_path / "out.ged").changed
    assert (tmp_path / "holm.ged").read_text() == FIVE
    assert sorted(path.name for path in tmp_path.iterdir() if path.is_file()) == ["alias.ged", "holm.ged", "out.ged"]


def test_a_scan_is_not_written_over(tmp_path: Path) -> None:
    """A picture whose file ends in .ged or .gdz, by whatever way it is named, and though its disk is not there now."""
    archive = family(tmp_path)
    link(archive, "K00001", "I1")
    for name in ("front.ged", "BACK.GDZ"):
        Image.new("L", (400, 200), len(name) * 9).save(tmp_path / "scans" / name, "JPEG")
        archive.scans.add([tmp_path / "scans" / name])
    (tmp_path / "link").symlink_to(tmp_path / "scans")
    before = {path.name: path.read_bytes() for path in (tmp_path / "scans").iterdir()}
    for named in ("scans/front.ged", "scans/../scans/BACK.GDZ", "link/front.ged"):
        with pytest.raises(ArchiveError, match=r"a scan of K0000[45], and kinphoto does not write to scans"):
            archive.tree.write_file(tmp_path / named, replace=True)
    assert {path.name: path.read_bytes() for path in (tmp_path / "scans").iterdir()} == before
    (tmp_path / "scans" / "front.ged").unlink()
    with pytest.raises(ArchiveError, match="a scan of"):
        archive.tree.write_file(tmp_path / "link" / "front.ged")
    assert archive.tree.write_file(tmp_path / "scans" / "other.ged").changed


@pytest.mark.parametrize(
    ("name", "version", "error", "word"),
    [
        ("out.txt", None, InvalidValueError, ".ged or .gdz"),
        ("out.ged", "6.0", InvalidValueError, "5.5.1 or 7.0"),
        ("out.gdz", "5.5.1", InvalidValueError, "7.0"),
        ("no/out.ged", None, NotFoundError, "folder"),
        ("n" * 300 + ".ged", None, ArchiveError, "too long"),
    ],
)
def test_what_cannot_be(tmp_path: Path, name: str, version: str | None, error: type[KinphotoError], word: str) -> None:
    """Each is refused in one line, and nothing is left behind."""
    archive = family(tmp_path)
    with pytest.raises(error, match=word):
        archive.tree.write_file(tmp_path / name, version)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["archive", "holm.ged", "scans"]


def test_without_a_tree(tmp_path: Path) -> None:
    """An archive without a tree has none to write."""
    with pytest.raises(ArchiveError, match="no family tree"):
        Archive.create(tmp_path / "archive").tree.write_file(tmp_path / "out.ged")


def test_what_else_to_know(tmp_path: Path) -> None:
    """A tree that went on since it was imported, and pictures of its own that will not be found from elsewhere."""
    archive = family(tmp_path, FIVE.replace("0 TRLR", "0 @O1@ OBJE\n1 FILE old.jpg\n2 FORM jpg\n0 TRLR"))
    (tmp_path / "else").mkdir()
    assert archive.tree.write_file(tmp_path / "out.ged").warnings == ()
    (tmp_path / "holm.ged").write_text(FIVE)
    moved, stale = archive.tree.write_file(tmp_path / "else" / "out.ged").warnings
    assert "The tree itself refers to 1 media file" in moved
    assert "has changed since it was imported" in stale
