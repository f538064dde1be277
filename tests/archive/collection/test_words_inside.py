"""Words and dates that exiftool wrote into files, as other programs do, become statements; a day of scanning never."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest
from asking_exiftool import exiftool
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.share.reading import packets
from kinphoto.share.said_inside import said_inside


def written(path: Path, *fields: str) -> Path:
    """A small picture into which exiftool wrote these fields."""
    Image.new("RGB", (60, 40), (len(path.name), 90, 60)).save(path)
    if fields:
        exiftool("-q", "-m", "-overwrite_original", *fields, path)
    return path


TEXTS = {
    "XMP title": "-XMP-dc:Title=The mill, Åland", "XMP description": "-XMP-dc:Description=The mill, Åland",
    "XMP headline": "-XMP-photoshop:Headline=The mill, Åland",
    "EXIF description": "-EXIF:ImageDescription=The mill, Åland",
    "EXIF comment": "-EXIF:UserComment=The mill, Åland", "IIM title": "-IPTC:ObjectName=The mill, Åland",
    "IIM caption": "-IPTC:Caption-Abstract=The mill, Åland",
}  # fmt: skip


@pytest.mark.parametrize("what", TEXTS)
@pytest.mark.parametrize("ending", ["jpg", "tif"])
def test_words_are_read_wherever_programs_write_them(tmp_path: Path, what: str, ending: str) -> None:
    """Each of the fields that the MWG guidelines pair, letters beyond ASCII too."""
    path = written(tmp_path / f"a.{ending}", "-IPTC:CodedCharacterSet=UTF8", TEXTS[what])
    assert said_inside(path, [path.read_bytes()]).texts == ("The mill, Åland",)


def test_words_in_large_scans_are_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pillow by itself warns of pictures above a limit and opens none of twice as many pixels; a group photograph
    scanned at 2400 ppi has more."""
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 1000)
    path = written(tmp_path / "a.jpg", TEXTS["EXIF description"])
    assert said_inside(path, [path.read_bytes()]).texts == ("The mill, Åland",)


DAYS = {
    "what somebody typed, long before scanners": (["-EXIF:DateTimeOriginal=1931:06:12 00:00:00"], "1931-06-12"),
    "a day beside that of the scanning": (
        ["-EXIF:DateTimeOriginal=1995:07:01 12:00:00", "-EXIF:CreateDate=2019:05:04 10:00:00"], "1995-07-01",
    ),
    "the day of scanning in both fields": (
        ["-EXIF:DateTimeOriginal=2019:05:04 10:00:00", "-EXIF:CreateDate=2019:05:04 10:00:00"], "",
    ),
    "the day of scanning alone": (["-EXIF:DateTimeOriginal=2019:05:04 10:00:00"], ""),
    "the day on which the file was changed": (
        ["-EXIF:DateTimeOriginal=2019:05:04 10:00:00", "-EXIF:ModifyDate=2019:05:04 11:00:00",
         "-EXIF:CreateDate=2020:01:01 10:00:00"], "",
    ),
    "what a scanner wrote, copied into XMP by an editor": (
        ["-EXIF:Software=ScanRight 3", "-EXIF:DateTimeOriginal=2019:05:04 10:00:00",
         "-XMP-photoshop:DateCreated=2019-05-04", "-EXIF:CreateDate=2020:01:01 10:00:00"], "",
    ),
    "what a file of a print scanner says (FileSource 2)": (
        ["-EXIF:FileSource#=2", "-EXIF:DateTimeOriginal=1999:05:04 10:00:00", "-EXIF:CreateDate=2020:01:01 10:00:00"],
        "",
    ),
    "what somebody typed into a scanner's file": (
        ["-EXIF:Software=ScanRight 3", "-EXIF:DateTimeOriginal=2019:05:04 10:00:00",
         "-XMP-photoshop:DateCreated=1931-06"],
        "1931-06",
    ),
    "a clock that was never set": (["-EXIF:DateTimeOriginal=1970:01:01 00:00:00"], ""),
    "a year in XMP": (["-XMP-photoshop:DateCreated=1931"], "1931"),
    "a month in IIM, whose day is zero": (["-IPTC:DateCreated=1931:06:00"], "1931-06"),
}  # fmt: skip
"""What stands in a file, and what may be taken of it."""


@pytest.mark.parametrize("what", DAYS)
def test_a_day_of_scanning_is_never_one_of_exposure(tmp_path: Path, what: str) -> None:
    """Hand-made files with each trap; EXIF 2.32 gives FileSource 1 and 2 to scanners of film and of prints."""
    fields, date = DAYS[what]
    path = written(tmp_path / "a.jpg", *fields)
    assert said_inside(path, [path.read_bytes()]).date == date


@pytest.mark.parametrize("text", ["OLYMPUS DIGITAL CAMERA", "default", "Scan 12", "Image0003", "ScanRight 3"])
def test_what_devices_fill_in_is_no_caption(tmp_path: Path, text: str) -> None:
    """Nor the name of the program that wrote the file."""
    path = written(tmp_path / "a.jpg", f"-EXIF:ImageDescription={text}", "-EXIF:Software=ScanRight 3")
    assert said_inside(path, packets(path.read_bytes())).texts == ()


def test_it_is_recorded_when_scans_are_added_and_undone_at_once(tmp_path: Path) -> None:
    """With the file as who says so; a second time nothing is new; a broken file, a sidecar, and a date that is still to
    come hinder nothing."""
    scans = tmp_path / "scans"
    scans.mkdir()
    written(scans / "a.jpg", "-XMP-dc:Title=The mill", "-XMP-photoshop:DateCreated=1931")
    written(scans / "bb.png")
    (scans / "bb.xmp").write_bytes(b"")
    exiftool("-q", "-o", scans / "ccc.xmp", "-XMP-dc:Description=A sidecar's words")
    written(scans / "ccc.jpg", "-XMP-photoshop:DateCreated=2199")
    with closing(Archive.create(tmp_path / "archive")) as archive:
        done = archive.scans.add([scans])
        assert [each.photograph for each in done.telling] == ["K00001", "K00003"]
        assert [(one.photograph, one.texts, one.date) for one in archive.scans.written_words()] == [
            ("K00001", ("The mill",), "1931"), ("K00003", ("A sidecar's words",), ""),
        ]  # fmt: skip
        marks = archive.photographs.details("K00001").marks
        assert {(mark.kind, mark.words, mark.date, mark.informant) for mark in marks} == {
            ("recollection", "The mill", "", "the file"), ("taken", "", "1931", "the file"),
        }  # fmt: skip
        again = archive.scans.read_inside()
        assert (again.change, [one.photograph for one in again.refused]) == (None, ["K00003"])
        archive.statements.undo(done.telling_change)
        assert archive.photographs.details("K00001").marks == ()
        assert archive.scans.add([scans]).telling == ()
        taken = archive.scans.read_inside()
        assert (taken.photographs, taken.texts, taken.dates) == (("K00001", "K00003"), 2, 1)


def test_what_was_withdrawn_is_not_recorded_again(tmp_path: Path) -> None:
    """A caption that is nonsense stays away, however often the files are read."""
    written(tmp_path / "a.jpg", "-XMP-dc:Title=Party", "-XMP-photoshop:DateCreated=1931")
    with closing(Archive.create(tmp_path / "archive")) as archive:
        archive.scans.add([tmp_path / "a.jpg"])
        for mark in archive.photographs.details("K00001").marks:
            archive.statements.withdraw(mark.id)
        assert archive.scans.read_inside().change is None
        assert archive.scans.written_words() == ()


def test_only_files_that_tell_something_are_told_of(tmp_path: Path) -> None:
    """Those with words, a name, or something in a sidecar; those of a scanner say nothing. What is there already is
    not said again."""
    box = tmp_path / "box"
    box.mkdir()
    written(box / "a.jpg", "-XMP-dc:Description=The mill")
    written(box / "b.jpg", "-EXIF:Software=ScanRight 3", "-EXIF:DateTimeOriginal=2019:05:04 10:00:00")
    written(box / "c.jpg", "-XMP-iptcExt:PersonInImage=Ada Marsh")
    written(box / "d.jpg")
    written(tmp_path / "e.jpg", "-XMP-dc:Title=The pier")
    sidecar = next(packets((tmp_path / "e.jpg").read_bytes()))
    (box / "d.xmp").write_bytes(bytes(sidecar))
    with closing(Archive.create(tmp_path / "archive")) as archive:
        done = archive.scans.add([box])
        assert [Path(each.path).name for each in done.telling] == ["a.jpg", "c.jpg", "d.jpg"]
        assert archive.photographs.faces("K00003").elsewhere[0].called == "Ada Marsh"
        assert archive.scans.add([box]).telling == ()


def test_an_interrupted_adding_is_caught_up_with(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped after the scans were recorded and before their words were, those are read when the rest is added."""
    from kinphoto.archive.collection import reading_inside

    for name in ("a.jpg", "bb.jpg"):
        written(tmp_path / name, f"-XMP-dc:Title=Words of {name}")

    def interrupted(*_given: object, **_more: object) -> None:
        raise KeyboardInterrupt

    with closing(Archive.create(tmp_path / "archive")) as archive:
        with monkeypatch.context() as patch:
            patch.setattr(reading_inside, "read_new", interrupted)
            with pytest.raises(KeyboardInterrupt):
                archive.scans.add([tmp_path / "a.jpg"])
        assert archive.scans.written_words() == ()
        assert len(archive.scans.add([tmp_path / "bb.jpg"]).telling) == 1
        assert {one.photograph for one in archive.scans.written_words()} == {"K00001", "K00002"}
