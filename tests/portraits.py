"""An archive with real faces: scikit-image's astronaut (a portrait by NASA, in the public domain) in several prints."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image, ImageFilter
from skimage import data

from kinphoto.archive import Archive
from kinphoto.archive.faces.kept import VERSION, keep_found
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.store import face_file

TREE = """0 HEAD
1 GEDC
2 VERS 5.5.1
1 CHAR UTF-8
0 @I1@ INDI
1 NAME Ada /Marsh/
1 SEX F
1 BIRT
2 DATE 1890
1 DEAT
2 DATE 1970
0 @I2@ INDI
1 NAME Una /Holm/
1 SEX F
1 BIRT
2 DATE 1985
0 @I3@ INDI
1 NAME Cora /Vane/
1 SEX F
1 BIRT
2 DATE 1889
1 DEAT
2 DATE 1975
0 @I4@ INDI
1 NAME Ruth /Pell/
1 SEX F
1 BIRT
2 DATE 1892
1 DEAT
2 DATE 1971
0 @I5@ INDI
1 NAME Vera /Pell/
1 SEX F
1 BIRT
2 DATE 1894
1 DEAT
2 DATE 1972
0 @I6@ INDI
1 NAME Walter /Pell/
1 SEX M
1 BIRT
2 DATE 1889
1 DEAT
2 DATE 1916
0 @I7@ INDI
1 NAME Xaver /Pell/
1 SEX M
1 BIRT
2 DATE 1912
1 DEAT
2 DATE 1980
0 @I8@ INDI
1 NAME Yves /Pell/
1 SEX M
1 DEAT
2 DATE 1940
0 @F1@ FAM
1 HUSB @I8@
1 CHIL @I6@
1 CHIL @I4@
1 CHIL @I5@
1 CHIL @I7@
0 TRLR
"""


def portrait() -> Image.Image:
    """Somebody who looks at us."""
    return Image.fromarray(data.astronaut())


def prints(folder: Path) -> Path:
    """Four scans: a portrait (K00001), a faded print of it that lies on its side (K00002), a wall (K00003), and one
    with a picture of her beside her (K00004)."""
    folder.mkdir()
    portrait().save(folder / "a_portrait.png")
    faded = portrait().filter(ImageFilter.GaussianBlur(1)).convert("L").point(lambda level: 120 + 0.4 * level)
    faded.transpose(Image.Transpose.ROTATE_90).save(folder / "b_on_its_side.png")
    Image.fromarray(data.brick()).save(folder / "c_wall.png")
    both = Image.new("RGB", (1024, 512), (90, 80, 70))
    both.paste(portrait(), (0, 0))
    both.paste(portrait().resize((256, 256)), (700, 30))
    both.save(folder / "d_with_a_picture.png")
    return folder


def searched(folder: Path) -> Path:
    """An archive of these and of a small tree, turned on and searched, in a new folder."""
    folder.mkdir()
    (folder / "family.ged").write_text(TREE)
    archive = Archive.create(folder / "archive")
    archive.tree.import_file(folder / "family.ged")
    archive.scans.add([prints(folder / "box")])
    archive.faces.turn_on("Aunt Edda")
    archive.faces.find()
    archive.close()
    return archive.folder


def like_each_other(archive: Archive, faces: list[tuple[str | None, float, int]]) -> list[str]:
    """Add as many photographs (the first is K00005), each with one face: who is named on it, how alike it is to a first
    face, the year. Descriptors are made by hand: that first face lies along one axis and each of these at its angle
    from it, all else orthogonal. The photographs' codes."""
    box = archive.folder.parent / "more"
    box.mkdir()
    for number in range(len(faces)):
        Image.fromarray(np.full((40, 40), 5 + number, np.uint8)).save(box / f"m{number}.png")
    archive.scans.add([box])
    codes = [f"K{5 + number:05}" for number in range(len(faces))]
    for number, (code, (person, cosine, year)) in enumerate(zip(codes, faces, strict=True)):
        recto = archive.photographs.details(code).recto
        assert recto is not None
        sha256 = archive.scans.picture(recto.id).source.sha256
        numbers = np.zeros(128, dtype="<f4")
        numbers[0], numbers[1 + number] = cosine, (1 - cosine**2) ** 0.5
        with face_file.writing(archive.folder) as file:
            frames = [{"region": [0.4, 0.4, 0.1, 0.1], "score": 0.9, "points": []}]
            keep_found(file, (sha256, VERSION), {"faces": frames, "turn": 0})
            file.execute("UPDATE face SET descriptor = ? WHERE sha256 = ?", [numbers.tobytes(), sha256])
        if person:
            archive.statements.link(Link(photograph=code, person=person, region="0.4,0.4,0.1,0.1"))
        archive.statements.record(NewClaim(photograph=code, kind="taken", date=str(year), trust="certain"))
    archive.dates.refresh()
    return codes
