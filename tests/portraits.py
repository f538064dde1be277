"""An archive with real faces: scikit-image's astronaut (a portrait by NASA, in the public domain) in several prints."""

from __future__ import annotations

from pathlib import Path

from PIL import Image, ImageFilter
from skimage import data

from kinphoto.archive import Archive

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
    """An archive of these and of a small tree, turned on and searched."""
    (folder / "family.ged").write_text(TREE)
    archive = Archive.create(folder / "archive")
    archive.tree.import_file(folder / "family.ged")
    archive.scans.add([prints(folder / "box")])
    archive.faces.turn_on("Aunt Edda")
    archive.faces.find()
    archive.close()
    return archive.folder
