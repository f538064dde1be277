"""PDFs of scans, against PDFium's own rendering of the same page and pixels that were put in by hand."""

from __future__ import annotations

import io
import zlib
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from kinphoto.errors import UnreadableFileError
from kinphoto.scans.measure import measure
from kinphoto.scans.parts import shown
from kinphoto.scans.pdf import PdfImageFile
from kinphoto.scans.upright import ScanFile

WIDTH, HEIGHT = 60, 40


def pixels() -> np.ndarray:
    """A picture that shows how it is turned: four corners of four colours, and soft shapes."""
    field = np.random.default_rng(5).integers(90, 160, (4, 6, 3), dtype=np.uint8)
    grey = np.asarray(Image.fromarray(field).resize((WIDTH, HEIGHT), Image.Resampling.BICUBIC)).copy()
    for (y, x), colour in {
        (0, 0): (255, 0, 0), (0, 1): (0, 255, 0), (1, 0): (0, 0, 255), (1, 1): (255, 255, 255),
    }.items():  # fmt: skip
        grey[y * 28 : y * 28 + 12, x * 45 : x * 45 + 15] = colour
    return grey


def pdf(*contents: str, rotate: int = 0, size: tuple[int, int] = (300, 300)) -> bytes:
    """A PDF (ISO 32000-1, 7.5) written by hand: a page for each content stream; `/Im Do` draws the picture."""
    image = zlib.compress(pixels().tobytes())
    kids = " ".join(f"{5 + 2 * number} 0 R" for number in range(len(contents)))
    objects = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        f"<</Type/Pages/Kids[{kids}]/Count {len(contents)}>>".encode(),
        f"<</Type/XObject/Subtype/Image/Width {WIDTH}/Height {HEIGHT}/ColorSpace/DeviceRGB/BitsPerComponent 8"
        f"/Filter/FlateDecode/Length {len(image)}>>\nstream\n".encode()
        + image
        + b"\nendstream",
        b"<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>",
    ]
    for number, content in enumerate(contents):
        objects.append(
            f"<</Type/Page/Parent 2 0 R/MediaBox[0 0 {size[0]} {size[1]}]/Rotate {rotate}"
            f"/Resources<</XObject<</Im 3 0 R>>/Font<</F 4 0 R>>>>/Contents {6 + 2 * number} 0 R>>".encode()
        )
        objects.append(f"<</Length {len(content)}>>\nstream\n{content}\nendstream".encode())
    out = io.BytesIO(b"%PDF-1.4\n")
    out.seek(0, io.SEEK_END)
    places = []
    for number, body in enumerate(objects, 1):
        places.append(out.tell())
        out.write(f"{number} 0 obj\n".encode() + body + b"\nendobj\n")
    table = out.tell()
    out.write(f"xref\n0 {len(objects) + 1}\n0000000000 65535 f \n".encode())
    out.write("".join(f"{place:010d} 00000 n \n" for place in places).encode())
    out.write(f"trailer\n<</Size {len(objects) + 1}/Root 1 0 R>>\nstartxref\n{table}\n%%EOF\n".encode())
    return out.getvalue()


PLAIN = "q 240 0 0 160 30 70 cm /Im Do Q"


def decoded(data: bytes, page: int = 0) -> Image.Image:
    """One page as a picture."""
    image = PdfImageFile(io.BytesIO(data))
    image.seek(page)
    announced = image.size
    image.load()
    assert image.size == announced
    return image


def test_a_page_that_is_one_image_gives_its_very_pixels() -> None:
    """Nothing is rendered; the resolution is that of the image on the page: 60 pixels on 240 points are 18 an inch."""
    image = decoded(pdf(PLAIN))
    assert np.array_equal(np.asarray(image), pixels())
    assert image.info["dpi"] == pytest.approx((18, 18))


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
@pytest.mark.parametrize(
    "matrix",
    [
        "240 0 0 160 30 70", "0 240 -160 0 200 30", "-240 0 0 -160 270 230", "0 -240 160 0 70 270",
        "-240 0 0 160 270 70", "240 0 0 -160 30 230", "0 240 160 0 70 30", "0 -240 -160 0 230 270",
    ],
)  # fmt: skip
def test_it_is_turned_as_the_page_shows_it(matrix: str, rotate: int) -> None:
    """All eight ways an image can lie on a page, on a page turned in all four ways, as PDFium renders it."""
    data = pdf(f"q {matrix} cm /Im Do Q", rotate=rotate)
    ours = decoded(data).convert("RGB")
    page = pypdfium2.PdfDocument(data)[0].render(scale=1).to_pil().convert("RGB")
    inked = np.argwhere(np.asarray(page.convert("L")) < 250)
    (top, left), (lower, right) = inked.min(0), inked.max(0)
    theirs = page.crop((left, top, right + 1, lower + 1))
    assert abs(ours.width / ours.height - theirs.width / theirs.height) < 0.1
    small = [np.asarray(p.resize((12, 12), Image.Resampling.BOX), dtype=float) for p in (ours, theirs)]
    assert np.abs(small[0] - small[1]).mean() < 12


def test_words_that_nobody_sees_do_not_count() -> None:
    """A text recognition writes its words with rendering mode 3 (ISO 32000-1, 9.3.6): still the very image."""
    unseen = decoded(pdf(f"{PLAIN} BT /F 12 Tf 3 Tr 40 100 Td (Skerry) Tj ET"))
    assert np.array_equal(np.asarray(unseen), pixels())
    seen = decoded(pdf(f"{PLAIN} BT /F 12 Tf 0 Tr 40 100 Td (Skerry) Tj ET"))
    assert seen.size == (625, 625)  # rendered: 300 points at 150 an inch, since the image has only 18


def test_two_images_on_a_page_are_rendered_together() -> None:
    """As fine as the finest of them: 60 pixels on 12 points are 360 an inch."""
    image = decoded(pdf(f"{PLAIN} q 12 0 0 8 2 2 cm /Im Do Q"))
    assert image.size == (1500, 1500)


def test_pages_without_a_picture_are_no_scans(tmp_path: Path) -> None:
    """The letter between the photographs keeps its number and is left out; a file of letters is refused."""
    words = "BT /F 12 Tf 40 100 Td (Dear all) Tj ET"
    path = tmp_path / "mixed.pdf"
    path.write_bytes(pdf(PLAIN, words, PLAIN))
    scans = measure(str(path)).scans
    assert [(scan.page, scan.pages, scan.path) for scan in scans] == [
        (1, 2, f"{path}#page=1"), (3, 2, f"{path}#page=3"),
    ]  # fmt: skip
    path.write_bytes(pdf(words))
    with pytest.raises(UnreadableFileError, match="none of its pages holds a picture"):
        measure(str(path))


def test_a_pdf_of_one_page_is_one_file(tmp_path: Path) -> None:
    """Named by its path, with the hash of its bytes, measured like any scan."""
    path = tmp_path / "one.pdf"
    path.write_bytes(pdf(PLAIN))
    (scan,) = measure(str(path), tmp_path / "thumbs").scans
    assert (scan.path, scan.page, scan.file_type, scan.width, scan.height) == (str(path), 0, "PDF", WIDTH, HEIGHT)
    assert scan.ppi == 18
    with shown(ScanFile(str(path), scan.sha256)) as picture:
        assert picture.size == (WIDTH, HEIGHT)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"%PDF-1.7 and so on", "damaged"),
        (pdf(PLAIN)[:300], "damaged"),
        (b"%PDF-1.4\n" + bytes(500), "damaged"),
    ],
)
def test_damaged_pdfs_are_refused_in_plain_words(tmp_path: Path, data: bytes, words: str) -> None:
    """And no traceback."""
    path = tmp_path / "a.pdf"
    path.write_bytes(data)
    with pytest.raises(UnreadableFileError, match=words):
        measure(str(path))
