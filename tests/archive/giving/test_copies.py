"""Copies for relatives: everything is read again with exiftool, which is none of ours, and every pixel compared."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest
from asking_exiftool import exiftool
from edtf import parse_edtf
from hiding import is_shown, plant, scans_of, secrets_in
from PIL import Image
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.giving.copies import ALONE, BESIDE, CopiesWritten, CopyOptions
from kinphoto.archive.giving.selection import Wanted
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import ArchiveError, InvalidValueError
from kinphoto.store import tables as t


def read(path: Path) -> dict[str, Any]:
    """Every field of a file as exiftool reads it, numbers as numbers."""
    found: dict[str, Any] = json.loads(exiftool("-j", "-n", "-a", "-G1", "-struct", path))[0]
    return found


def digests(folder: Path) -> dict[str, str]:
    """Every file of a folder by its bytes."""
    return {str(p): hashlib.sha256(p.read_bytes()).hexdigest() for p in sorted(folder.rglob("*")) if p.is_file()}


def give(
    archive: Archive, audience: str, manner: CopyOptions = CopyOptions(), wanted: Wanted = Wanted()
) -> CopiesWritten:
    """Copies in the folder `out` beside the archive."""
    return archive.give.write_copies(archive.folder.parent / "out", audience, wanted, manner, write=True)


@pytest.mark.parametrize(
    "manner", [CopyOptions(), CopyOptions(BESIDE), CopyOptions(ALONE), CopyOptions(edge=300)], ids=str
)
@pytest.mark.parametrize("audience", ["public", "cousins"])
def test_nothing_of_the_living_is_in_any_copy(planted: Archive, audience: str, manner: CopyOptions) -> None:
    """Not in names of files, words, fields, thumbnails or second pictures; and the scans are as they were."""
    masters = digests(scans_of(planted))
    done = give(planted, audience, manner)
    assert set(done.report.going) == {"K00001", "K00008"}
    out = planted.folder.parent / "out"
    assert secrets_in(out) == []
    assert not is_shown(out)
    assert digests(scans_of(planted)) == masters


def test_where_a_picture_ends_is_noted_when_it_is_added(planted: Archive) -> None:
    """Each of these files has a second picture after the first, as telephones append them: the copies above are made
    up to where the first ends, without reading it."""
    with planted.reading() as connection:
        query = select(t.scan.c.size, t.scan.c.picture_end).where(t.scan.c.path.like("%zelda.jpg"))
        rows = [row for row in connection.execute(query) if row.size > 3000]
    assert len(rows) >= 7
    assert all(0 < row.picture_end < row.size - 300 for row in rows)


def test_the_search_for_secrets_finds_them(planted: Archive) -> None:
    """The household's copies have her in them, so the test above can fail."""
    give(planted, "household")
    out = planted.folder.parent / "out"
    assert {"zelda", "harbour", "judge", "1991"} <= set(secrets_in(out))
    assert is_shown(out)


def _withdraw(archive: Archive, kind: str) -> None:
    (mark,) = (mark for mark in archive.photographs.details("K00001").marks if mark.kind == kind)
    archive.statements.withdraw(mark.id)


@pytest.fixture
def titled(planted: Archive) -> Archive:
    """K00001 with a stated day, and words that were looked through for the cousins."""
    planted.statements.record(NewClaim(photograph="K00001", kind="taken", date="12 JUN 1920", trust="certain"))
    words = {"title": "Ada at the quay", "place": "Skerry Point", "note": "In her Sunday best", "maker": "Holm & Son"}
    described = Description(**words, rights="", former_number="")
    planted.photographs.describe("K00001", described)
    _withdraw(planted, "inscription")
    planted.give.release(["K00001"], "cousins", what="words", looked_by="Clemence")
    return planted


def test_every_field_as_it_was_written(titled: Archive) -> None:
    """MWG regions by their centre, IPTC regions by their corner, the stated day, the words; read by exiftool."""
    give(titled, "cousins")
    found = read(titled.folder.parent / "out" / "K00001.jpg")
    expected = {
        "XMP-dc:Title": "Ada at the quay", "XMP-dc:Identifier": "K00001", "XMP-dc:Creator": ["Holm & Son"],
        "XMP-dc:Description": "In her Sunday best\nTaken: 12 June 1920 (stated).",
        "XMP-iptcExt:PersonInImage": ["Ada Marsh"], "XMP-dcterms:Created": "1920-06-12",
        "XMP-exif:DateTimeOriginal": "1920:06:12", "XMP-photoshop:DateCreated": "1920:06:12",
        "ExifIFD:DateTimeOriginal": "1920:06:12   :  :  ", "IFD0:Orientation": 1, "IFD0:XResolution": 300,
        "XMP-iptcExt:LocationCreated": [{"LocationName": "Skerry Point"}],
    }  # fmt: skip
    assert {key: found.get(key) for key in expected} == expected
    region = found["XMP-mwg-rs:RegionInfo"]
    assert region["AppliedToDimensions"] == {"W": 600, "H": 400, "Unit": "pixel"}
    area = {"X": 0.25, "Y": 0.4, "W": 0.3, "H": 0.4, "Unit": "normalized"}
    assert region["RegionList"] == [{"Area": area, "Type": "Face", "Name": "Ada Marsh"}]
    (framed,) = found["XMP-iptcExt:ImageRegion"]
    boundary = {"RbShape": "rectangle", "RbUnit": "relative", "RbX": 0.1, "RbY": 0.2, "RbW": 0.3, "RbH": 0.4}
    assert framed["RegionBoundary"] == boundary
    assert framed["Name"] == "Ada Marsh"


@pytest.mark.parametrize(("turn", "x", "y"), [("left", 0.6, 0.25), ("right", 0.4, 0.75), ("half", 0.75, 0.6)])
def test_regions_are_of_the_stored_pixels(titled: Archive, turn: str, x: float, y: float) -> None:
    """A person turned the scan; the face was framed on the upright picture at a quarter of the width from the left and
    at 0.4 of the height. The centre on the stored pixels was found by hand with a sheet of paper."""
    titled.statements.undo()
    titled.scans.turn("1 zelda.jpg", turn)
    (face,) = titled.photographs.faces("K00001").faces
    titled.statements.move_face("K00001", face.region, "0.1,0.2,0.3,0.4")
    give(titled, "household", wanted=Wanted(photographs=("K00001",)))
    found = read(titled.folder.parent / "out" / "K00001.jpg")
    area = found["XMP-mwg-rs:RegionInfo"]["RegionList"][0]["Area"]
    assert (area["X"], area["Y"]) == pytest.approx((x, y))
    assert found["IFD0:Orientation"] == {"left": 8, "right": 6, "half": 3}[turn]


@pytest.mark.parametrize(
    ("date", "trust", "expected"),
    [
        ("12 JUN 1920", "certain", ("1920:06:12   :  :  ", "1920:06:12", "1920-06-12")),
        ("JUN 1920", "certain", (None, "1920:06", "1920-06")),
        ("1920", "certain", (None, 1920, 1920)),
        ("12 JUN 1920", "weak", (None, None, None)),
        ("1920?", "certain", (None, None, None)),
    ],
)
def test_only_stated_dates_are_in_fields_for_dates(
    titled: Archive, date: str, trust: str, expected: tuple[str | None, ...]
) -> None:
    """A whole day in DateTimeOriginal, what is coarser in DateCreated as exact as it was stated, what is weak or
    doubtful in words and as a range that `edtf` parses."""
    _withdraw(titled, "taken")
    titled.statements.record(NewClaim(photograph="K00001", kind="taken", date=date, trust=trust))
    give(titled, "household", wanted=Wanted(photographs=("K00001",)))
    found = read(titled.folder.parent / "out" / "K00001.jpg")
    original, created, edtf = expected
    assert found.get("ExifIFD:DateTimeOriginal") == original
    assert found.get("XMP-photoshop:DateCreated") == created
    assert edtf is None or found["XMP-dcterms:Created"] == edtf
    assert parse_edtf(str(found["XMP-dcterms:Created"]))
    assert "Taken: " in found["XMP-dc:Description"]


def test_an_inferred_date_is_called_so_and_leaves_as_a_range(own_sample: Archive) -> None:
    """In words and as EDTF, which the `edtf` package parses; never as a day. All photographs of the sample."""
    own_sample.give.write_copies(own_sample.folder.parent / "out", "household", write=True)
    inferred = {one.code for one in own_sample.dates.estimates() if one.estimate.inferred and one.estimate.edtf}
    assert len(inferred) > 20
    folder = own_sample.folder.parent / "out"
    files = {path.name.split(".")[0]: path for path in sorted(folder.iterdir())}  # the sidecar, where there is one
    paths = [files[code] for code in sorted(inferred)]
    for found in json.loads(exiftool("-j", "-n", "-a", "-G1", "-struct", *paths)):
        assert "(inferred: nobody stated it)" in found["XMP-dc:Description"]
        assert parse_edtf(str(found["XMP-dcterms:Created"]))
        assert not {"ExifIFD:DateTimeOriginal", "XMP-photoshop:DateCreated"} & found.keys()


def test_pixels_and_profile_are_the_scans_own(own_sample: Archive) -> None:
    """Every scan of the sample, decoded before and after; nothing was encoded anew."""
    done = own_sample.give.write_copies(own_sample.folder.parent / "out", "household", write=True)
    assert done.converted == done.unusable == ()
    with own_sample.reading() as connection:
        from kinphoto.archive.giving.selection import gift

        given = gift(connection, "household").photographs
    for one in given:
        (path,) = (p for p in (own_sample.folder.parent / "out").glob(f"{one.code}.*") if p.suffix != ".xmp")
        with Image.open(path) as copy, Image.open(one.front.path) as scan:
            assert copy.tobytes() == scan.tobytes()
            assert copy.info.get("icc_profile") == scan.info.get("icc_profile")


def test_fields_can_be_kept_one_by_one(titled: Archive) -> None:
    """Whoever wants the make of the scanner in the copies names it; the position cannot be kept."""
    give(titled, "cousins", CopyOptions(keep=("make",)))
    found = read(titled.folder.parent / "out" / "K00001.jpg")
    assert found["IFD0:Make"] == "Scanner of Leeds"
    assert not {"IFD0:Artist", "GPS:GPSLatitude", "ExifIFD:SerialNumber"} & found.keys()
    for field in ("GPSInfo", "MakerNote", "Nonsense"):
        with pytest.raises(InvalidValueError, match=field):
            give(titled, "cousins", CopyOptions(keep=(field,)))


def test_a_second_run_writes_only_what_changed_and_removes_what_may_no_longer_go(titled: Archive) -> None:
    """Zelda agrees, a copy is written; she revokes it, the copy goes. What somebody else put there stays."""
    out = titled.folder.parent / "out"
    assert give(titled, "cousins").written == 3
    assert (give(titled, "cousins").written, give(titled, "cousins").unchanged) == (0, 3)
    consent = titled.give.record_consent("I3", "cousins", asked_by="Clemence").consents[0]
    done = give(titled, "cousins")
    assert (done.written, done.unchanged) == (4, 1)  # hers, and those she told about: she may be named now
    assert (out / "K00002.jpg").exists()
    (out / "hello.txt").write_text("from Ruth")
    titled.give.revoke(consent.id)
    again = give(titled, "cousins")
    assert (again.written, again.removed) == (2, 2)
    assert sorted(path.name for path in out.iterdir()) == [
        "K00001-back.jpg", "K00001.jpg", "K00008.tif", "hello.txt", "kinphoto-gift.json",
    ]  # fmt: skip


def test_only_a_folder_of_its_own_is_written_to(titled: Archive) -> None:
    """Not the scans' or the archive's, not one with other things, not one that was filled for others."""
    scans = scans_of(titled)
    for folder in (scans, scans / "new", titled.folder / "new", titled.folder.parent):
        with pytest.raises(InvalidValueError, match="a folder of its own"):
            titled.give.write_copies(folder, "public", write=True)
    full = titled.folder.parent / "full"
    full.mkdir()
    (full / "letter.txt").write_text("dear")
    with pytest.raises(ArchiveError, match="something else"):
        titled.give.write_copies(full, "public", write=True)
    give(titled, "cousins")
    with pytest.raises(ArchiveError, match="copies for cousins"):
        give(titled, "public")


def test_without_write_nothing_is_written(planted: Archive) -> None:
    """The report comes first."""
    done = planted.give.write_copies(planted.folder.parent / "out", "public")
    assert not done.done
    assert done.report.going == ("K00001", "K00008")
    assert not (planted.folder.parent / "out").exists()


def test_a_scan_that_changed_since_is_not_given(tmp_path: Path) -> None:
    """It may show somebody else now."""
    archive = plant(tmp_path)
    Image.new("RGB", (10, 10), (255, 0, 255)).save(scans_of(archive) / "8 zelda.tif")
    done = give(archive, "cousins")
    assert [(one.photograph, one.why) for one in done.unusable] == [
        ("K00008", "the file has changed since it was added")
    ]
    assert not (tmp_path / "out" / "K00008.tif").exists()


def test_nameless_faces_of_the_living_have_no_place(planted: Archive) -> None:
    """A photograph released for its faces goes without saying where they are."""
    planted.give.release(["K00005"], "cousins", what="faces", looked_by="Clemence")
    planted.statements.link(Link(photograph="K00008", person="-", region="0.6,0.2,0.2,0.2"))
    give(planted, "cousins", wanted=Wanted(photographs=("K00005",)))
    found = read(planted.folder.parent / "out" / "K00005.jpg")
    assert [one.get("Name") for one in found["XMP-mwg-rs:RegionInfo"]["RegionList"]] == ["Ada Marsh"]


def test_without_room_nothing_is_begun(planted: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk is asked before the first file: one line says how much is needed and how much there is."""
    monkeypatch.setattr("kinphoto.share.folder.free_space", lambda _: 1000)
    with pytest.raises(ArchiveError, match=r"this needs \d+ kB, and the disk has 1 kB free") as problem:
        give(planted, "public")
    assert problem.value.remedy == "Make room, or name a folder on a larger disk."
    assert not (planted.folder.parent / "out").exists()
    monkeypatch.setattr("kinphoto.share.folder.free_space", lambda _: 10**9)
    assert give(planted, "public").written
    monkeypatch.setattr("kinphoto.share.folder.free_space", lambda _: 1000)
    assert give(planted, "public").written == 0  # what is there already needs no room
