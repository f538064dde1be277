"""Prints: sizes worked out by hand, and files looked at with Pillow."""

from __future__ import annotations

from pathlib import Path

import pytest
from building import archive_with
from hiding import secrets_in
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.giving.prints import SIZES, TRIM, crop, ppi_at
from kinphoto.archive.giving.selection import Wanted
from kinphoto.archive.statements.appearances import Link
from kinphoto.errors import InvalidValueError


@pytest.mark.parametrize(
    ("pixels", "size", "ppi"),
    [((1772, 1181), "10x15", 300), ((2362, 2953), "20x25", 300), ((1181, 1181), "10x15", 200)],
)
def test_pixels_to_the_inch(pixels: tuple[int, int], size: str, ppi: int) -> None:
    """10 cm at 300 ppi are 1181 pixels, 15 cm 1772, 20 cm 2362, 25 cm 2953 (10 / 2.54 × 300)."""
    paper = SIZES[size] if pixels[0] <= pixels[1] else SIZES[size][::-1]
    assert ppi_at(pixels, (paper[0], paper[1])) == pytest.approx(ppi, abs=0.2)


@given(
    st.integers(200, 6000), st.integers(200, 6000), st.sampled_from(sorted(SIZES)),
    st.lists(st.tuples(*[st.floats(0, 0.6)] * 2, *[st.floats(0.02, 0.4)] * 2), max_size=4),
)  # fmt: skip
def test_no_face_is_ever_cut(across: int, down: int, size: str, faces: list[tuple[float, float, float, float]]) -> None:
    """Whatever the picture, the sheet and the faces: the box has the sheet's proportions, is inside the picture, and
    every face is in it, 3 mm from its edges."""
    short, long = SIZES[size]
    paper = (short, long) if across <= down else (long, short)
    box = crop((across, down), paper, faces)
    if box is None:
        return
    left, top, right, lower = box
    assert 0 <= left < right <= across
    assert 0 <= top < lower <= down
    assert (right - left) / (lower - top) == pytest.approx(paper[0] / paper[1], rel=0.02)
    spared = TRIM * min(across / paper[0], down / paper[1]) - 1  # a pixel of rounding
    for x, y, width, height in faces:
        assert left + spared <= x * across
        assert (x + width) * across <= right - spared
        assert top + spared <= y * down
        assert (y + height) * down <= lower - spared


@pytest.fixture
def box(tmp_path: Path) -> Archive:
    """K00001: 2000 by 1000 pixels, half red and half blue; K00002: too small; K00003: a glass negative, dark grey."""
    scans = tmp_path / "scans"
    scans.mkdir()
    wide = Image.new("RGB", (2000, 1000), "red")
    wide.paste((0, 0, 255), (1000, 0, 2000, 1000))
    wide.save(scans / "1.png")
    Image.new("L", (300, 200), 90).save(scans / "2.png")
    Image.linear_gradient("L").resize((1200, 1800)).save(scans / "3.png")
    archive = archive_with(tmp_path)
    archive.scans.add([scans])
    archive.people.add("Ada Marsh", "1850", "1940")
    archive.statements.record_making("K00003", "process", "glass negative")
    return archive


def test_files_of_one_size(box: Archive, tmp_path: Path) -> None:
    """Cropped around the faces, with the true ppi, no more pixels than there are; what is too small is left out."""
    box.statements.link(Link(photograph="K00001", person="X1", region="0.80,0.4,0.1,0.2"))
    done = box.give.write_prints("household", folder=tmp_path / "p", write=True)
    assert done.too_small == ("K00002",)
    assert done.bordered == ()
    with Image.open(tmp_path / "p" / "K00001.jpg") as image:
        assert image.size == (1500, 1000)
        assert image.info["dpi"] == (254, 254)
        assert image.getpixel((1400, 500))[2] > 200  # type: ignore[index]
    assert {one.photograph: one.largest for one in done.printable} == {
        "K00001": "10x15", "K00002": None, "K00003": "10x15"
    }  # fmt: skip


def test_a_border_where_cropping_would_cut(box: Archive, tmp_path: Path) -> None:
    """Faces at both ends: the whole picture, white around it, in the proportions of the sheet."""
    for person, region in (("X1", "0.01,0.4,0.1,0.2"), ("-", "0.89,0.4,0.1,0.2")):
        box.statements.link(Link(photograph="K00001", person=person, region=region))
    done = box.give.write_prints("household", Wanted(("K00001",)), folder=tmp_path / "p", write=True)
    assert done.bordered == ("K00001",)
    with Image.open(tmp_path / "p" / "K00001.jpg") as image:
        assert image.width / image.height == pytest.approx(1.5, rel=0.01)
        assert min(image.getpixel((5, 5))) > 250  # type: ignore[arg-type]
        assert image.getpixel((image.width // 4, image.height // 2))[0] > 200  # type: ignore[index]


def test_a_negative_as_a_positive(box: Archive, tmp_path: Path) -> None:
    """What was dark is light; a photograph that is no negative stays as it is."""
    box.give.write_prints("household", folder=tmp_path / "p", positives=True, write=True)
    with Image.open(tmp_path / "p" / "K00003.jpg") as image:
        assert image.getpixel((600, 20)) > 200  # type: ignore[operator]
        assert image.getpixel((600, image.height - 20)) < 60  # type: ignore[operator]


def test_nothing_of_the_living_is_printed(planted: Archive, tmp_path: Path) -> None:
    """Prints are for an audience like everything else."""
    planted.give.write_prints("public", folder=tmp_path / "p", write=True)
    assert {path.stem for path in (tmp_path / "p").glob("*.jpg")} <= {"K00001", "K00008"}
    assert secrets_in(tmp_path / "p") == []


def test_mistakes(box: Archive) -> None:
    """A size nobody prints, and a way to fit there is not."""
    with pytest.raises(InvalidValueError, match="10x15, 13x18"):
        box.give.write_prints("household", size="9 x 13")
    with pytest.raises(InvalidValueError, match="crop or border"):
        box.give.write_prints("household", fit="stretch")
    assert box.give.write_prints("household", size="13 × 18 cm").folder is None


def test_how_many_are_good_enough_for_each_size(box: Archive) -> None:
    """By hand: 2000 by 1000 pixels are 254 ppi at 10 × 15 cm, 195 at 13 × 18, 127 at 20 × 25; so says the list."""
    one, *_ = box.give.count_print_sizes(["K00001"])
    assert one == ("10x15", 0, 1, 0)
    assert [each[1:] for each in box.give.count_print_sizes(["K00001"])][1:] == [(0, 0, 1)] * 3
    listed = box.give.write_prints("household").printable
    for count in box.give.count_print_sizes([one.photograph for one in listed]):
        good = [size.good for one in listed for size in one.sizes if size.size == count.size]
        assert count[1:] == (good.count("good"), good.count("enough"), good.count("no"))
