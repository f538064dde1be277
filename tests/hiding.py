"""An archive in which somebody living is hidden wherever she could be, and the means to look for her."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

from asking_exiftool import asked, exiftool
from PIL import Image, TiffImagePlugin
from recordings import write

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.archive.statements.descriptions import Description
from kinphoto.archive.statements.telling import NewStory, StoryChange

FAMILY = """0 HEAD
1 GEDC
2 VERS 5.5.1
2 FORM LINEAGE-LINKED
1 CHAR UTF-8
0 @I1@ INDI
1 NAME Ada /Marsh/
1 SEX F
1 NOTE Great-grandmother of Zelda, who lives at 12 Harbour Street.
1 BIRT
2 DATE 3 MAR 1850
1 DEAT
2 DATE 1940
0 @I2@ INDI
1 NAME Tom /Marsh/
1 SEX M
1 BIRT
2 DATE 1888
1 DEAT
2 DATE 1950
1 FAMC @F1@
1 FAMS @F2@
0 @I3@ INDI
1 NAME Zelda /Quickenborough/
2 NICK Zizi
1 SEX F
1 BIRT
2 DATE 7 MAY 1991
2 PLAC Leeds
1 FAMC @F2@
1 FAMS @F3@
0 @I4@ INDI
1 NAME Xavier /Prestwick/
1 SEX M
1 FAMS @F3@
0 @I5@ INDI
1 NAME Yolanda /Quickenborough/
1 SEX F
1 FAMC @F3@
0 @F1@ FAM
1 WIFE @I1@
1 CHIL @I2@
0 @F2@ FAM
1 HUSB @I2@
1 CHIL @I3@
1 MARR
2 DATE 1915
0 @F3@ FAM
1 HUSB @I4@
1 WIFE @I3@
1 CHIL @I5@
1 MARR
2 DATE 6 JUN 2017
2 PLAC Whitby
0 TRLR
"""

SECRETS = (
    "zelda", "zizi", "quickenborough", "xavier", "prestwick", "yolanda", "harbour", "leeds", "whitby", "1991", "2017",
    "great-grand", "daughter", "judge", "53.79", "SN-778899",
)  # fmt: skip
"""Names, days, places, a story, an address, kinship words, a position and a serial number: all of the living."""
MAGENTA = (255, 0, 255)
"""The colour of whatever shows her: her picture, the back, and the thumbnail hidden inside a file."""


def plant(tmp_path: Path) -> Archive:
    """K00001 to K00008: of Ada, who died in 1940, with Zelda all over it; of Zelda; a copy of the next; Ada, private; a
    face without a name; a face that is Ada or Zelda; the album page on which the copy is; a TIFF of Tom."""
    scans = tmp_path / "Zelda's flat, 12 Harbour Street"
    scans.mkdir()
    for number in range(1, 9):
        _save(scans / f"{number} zelda.{'tif' if number == 8 else 'jpg'}", number)
    Image.new("RGB", (60, 40), MAGENTA).save(scans / "back of 1 zelda.jpg")
    archive = Archive.create(tmp_path / "archive")
    (tmp_path / "family.ged").write_text(FAMILY, encoding="utf-8")
    archive.tree.import_file(tmp_path / "family.ged")
    archive.scans.add([scans])
    archive.statements.undo()  # what the files say: see take_from_files
    archive.scans.join(["1 zelda.jpg", "back of 1 zelda.jpg"], side="verso")
    archive.statements.add_informant("Zelda Quickenborough", "I3", "the judge in Leeds")
    face = "0.1,0.2,0.3,0.4"
    for code, person, region in (
        ("K00001", "I1", face), ("K00002", "I3", face), ("K00003", "I1", face), ("K00004", "I1", face),
        ("K00005", "I1", face), ("K00005", "-", "0.6,0.2,0.3,0.4"), ("K00006", "I1", face), ("K00006", "I3", face),
        ("K00007", "I1", "0.1,0.1,0.1,0.1"), ("K00008", "I2", face),
    ):  # fmt: skip
        archive.statements.link(Link(photograph=code, person=person, region=region, by="Zelda Quickenborough"))
    for code in ("K00001", "K00008"):
        archive.photographs.describe(
            code,
            Description(
                title="Zelda's christening gown", place="Zelda's garden, Leeds", maker="Zelda Photo",
                note="Worn by her great-granddaughter Zizi in 1991, now a judge, at 12 Harbour Street",
                rights="Xavier Prestwick", former_number="zelda-7", container="Zelda's box",
            ),
        )  # fmt: skip
        archive.statements.record(
            NewClaim(photograph=code, kind="inscription", date="1920", text="for my daughter Zelda", by="Zelda")
        )
    archive.statements.relate(Tie(photograph="K00003", relation="copy-of", other="K00004"))
    archive.statements.relate(Tie(photograph="K00003", relation="part-of", other="K00007"))
    archive.give.mark_private(["K00004"])
    archive.give.add_audience("cousins", "Zelda and Yolanda")
    _tell(archive, tmp_path)
    archive.give.record_consent("I4", "cousins", what="nothing", asked_by="Zelda", note="Xavier said no in 2017")
    archive.dates.refresh()
    return archive


def take_from_files(archive: Archive) -> None:
    """What programs wrote into the scans becomes statements of "the file": titles and captions of all, the days of
    those on which Zelda is. Her name, which is in all of them too, is taken by whoever wants it."""
    taken = archive.scans.read_inside()
    assert taken.texts >= 14
    assert taken.dates >= 3
    assert "K00001" in taken.photographs


def _tell(archive: Archive, place: Path) -> None:
    """T1 to T7: stories of Zelda told by her, by nobody, and by Tom, who is dead, in words and as recordings; one of
    hers that was gone through and then grew; one that is private; one that is withdrawn. And T8, told by Tom and gone
    through, whose recording has her in its name and its tags: its words may go, and its sound."""
    archive.statements.add_informant("Tom Marsh", "I2")
    secret = "Zelda of 12 Harbour Street is my daughter, the judge in Leeds; she was born in 1991"
    sound = write(place / "Zelda's birthday, Leeds.mp3", "MP3", artist="Zelda Quickenborough")
    for new, recording in (
        (NewStory(text=secret, title="Zelda", by="Zelda Quickenborough", about=["K00001"]), None),
        (NewStory(text=secret, about=["K00008"]), sound),
        (NewStory(text=secret, by="Tom Marsh", about=["I3", "K00002"]), None),
        (NewStory(text="The mill burned down.", by="Tom Marsh", about=["K00001"]), None),
        (NewStory(text=secret, by="Tom Marsh", about=["K00001"]), sound),
        (NewStory(text=secret, by="Tom Marsh", about=["I2"]), None),
        (NewStory(text=secret, by="Tom Marsh", about=["K00004"]), None),
        (NewStory(text="The miller sang.", by="Tom Marsh", when="1949", about=["K00001", "I1"]), sound),
    ):
        archive.stories.tell(new, recording)
    for audience in ("public", "cousins"):
        archive.give.record_telling("T2", audience, asked_by="Clemence")
        archive.give.release(["T4", "T5", "T6", "T7", "T8"], audience, what="words", looked_by="Clemence")
    archive.stories.change("T4", StoryChange(text=f"The mill burned down. {secret}"))
    archive.give.mark_private(["T5"])
    archive.statements.withdraw("T6")


def scans_of(archive: Archive) -> Path:
    """The folder of the scans of this archive."""
    return Path(archive.scans.folders()[0])


def _save(path: Path, number: int) -> None:
    """A scan with somebody living in every place of its file that programs write to."""
    hers = number in (2, 3, 7)
    image = Image.new("RGB", (600, 400), MAGENTA if hers else (40 + 20 * number, 60, 90))
    image.paste((0, 10 * number, 0), (0, 0, 16, 16))  # no two files are the same
    exif = Image.Exif()
    exif[0x013B], exif[0x8298], exif[0x010E] = "Zelda Quickenborough", "Zelda", "Zizi the judge, 12 Harbour Street"
    exif[0x010F] = "Scanner of Leeds"
    exif.get_ifd(0x8769).update({0xA431: "SN-778899", 0xA430: "Zelda", 0x9286: b"ASCII\0\0\0Zelda in Leeds"})
    exif.get_ifd(0x8825).update({1: "N", 2: (53.0, 47.0, 59.0), 3: "W", 4: (1.0, 32.0, 57.0)})
    xmp = (
        b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        b'<rdf:Description xmlns:dc="http://purl.org/dc/elements/1.1/" dc:source="Zelda, 53.79"/></rdf:RDF></x:xmpmeta>'
    )
    if path.suffix == ".tif":
        info = TiffImagePlugin.ImageFileDirectory_v2()
        for tag, text in ((315, "Zelda Quickenborough"), (270, "Zizi the judge"), (33432, "Zelda")):
            info[tag] = text
        image.save(path, "TIFF", tiffinfo=info)
        return
    image.save(path, "JPEG", exif=exif, comment=b"Zelda at 12 Harbour Street", xmp=xmp, dpi=(300, 300))
    small = path.with_suffix(".thumb")
    Image.new("RGB", (60, 40), MAGENTA).save(small, "JPEG")
    exiftool(
        "-q", "-overwrite_original", f"-ThumbnailImage<={small}", "-IPTC:By-line=Zelda",
        "-XMP-iptcExt:PersonInImage=Zelda Quickenborough", "-XMP-dc:Title=Zizi and her daughter Yolanda",
        "-IPTC:Caption-Abstract=The judge at home, 12 Harbour Street",
        *(("-XMP-photoshop:DateCreated=2017:06",) if hers else ()),
        "-XMP-mwg-rs:RegionInfo={AppliedToDimensions={W=600,H=400,Unit=pixel},RegionList=[{Area={X=0.7,Y=0.5,W=0.1,"
        "H=0.2,Unit=normalized},Name=Zelda Quickenborough,Type=Face}]}", path,
    )  # fmt: skip
    with path.open("ab") as file:  # a second picture after the first, as telephones append them
        file.write(small.read_bytes())
    small.unlink()


def everything_in(folder: Path) -> str:
    """Whatever can be read out of the files of a folder: their names, their bytes, all their metadata, text of PDFs."""
    found, described = [], []
    for path in sorted(folder.rglob("*")):
        found.append(str(path.relative_to(folder)))
        if not path.is_file():
            continue
        data = path.read_bytes()
        found += [data.decode("latin-1"), data.decode("utf-8", "ignore"), data.decode("utf-16", "ignore")]
        if path.suffix in (".jpg", ".tif", ".png", ".xmp", ".pdf", ".flac", ".mp3", ".m4a"):
            described.append(str(path))
        if path.suffix == ".pdf":
            done = subprocess.run(
                ["pdftotext", "-layout", path, "-"], capture_output=True, text=True, errors="replace", check=False
            )
            found.append(done.stdout)
    if described:
        found.append(_of_what_is_in(asked("-a", "-u", "-U", "-g1", "-ee", *described)[0]))
    return "\n".join(found).replace(str(folder), "")


def _of_what_is_in(printed: str) -> str:
    """What exiftool prints of files without what it says of their place and age."""
    return "\n".join(line for line in printed.splitlines() if not re.match(r"(Directory|File .*|MIME Type)\s+:", line))


def secrets_in(folder: Path) -> list[str]:
    """Which of the secrets can be found in the files of a folder."""
    text = re.sub(r"\b[0-9a-f]{16,64}\b", "", everything_in(folder).casefold())  # checksums have any four digits
    assert text, "nothing was written"
    return [secret for secret in SECRETS if secret.casefold() in text]


def is_shown(folder: Path) -> bool:
    """Whether her colour is in any picture of a folder."""
    for path in folder.rglob("*"):
        if path.suffix in (".jpg", ".tif", ".png", ".webp"):
            with Image.open(path) as image:
                if any(_is_magenta(colour) for _, colour in image.convert("RGB").getcolors(1 << 24) or []):
                    return True
    return False


def _is_magenta(colour: object) -> bool:
    red, green, blue = colour  # type: ignore[misc]
    return bool(red > 240 and green < 20 and blue > 240)
