"""A front and its back, the same picture again, or two pictures: by their names and by their looks."""

from __future__ import annotations

import csv
from pathlib import Path

import imagehash
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFilter

from kinphoto.archive.sample import source
from kinphoto.scans.likeness import Likeness, bits_apart, likeness, side_by_name, tone


@pytest.mark.parametrize(
    ("first", "second", "told"),
    [
        ("harbour_7", "harbour_7_back", "back"),
        ("harbour_7", "Harbour_7-VERSO", "back"),
        ("harbour_7_front", "harbour_7_back", "back"),
        ("IMG 12", "IMG 12 (Rückseite)", "back"),
        ("front", "back", "back"),
        ("harbour_7 verso", "harbour_7", "front"),
        ("harbour_7", "harbour_8_back", None),
        ("harbour_7", "harbour_8", None),
        ("portrait_a", "portrait_b", None),
        ("way back", "way back", None),
        ("outback", "out", None),
    ],
)
def test_names_of_a_front_and_its_back(first: str, second: str, told: str | None) -> None:
    """Common ways to name a back, in either order; numbers that follow each other say nothing."""
    assert side_by_name(first, second) == told


def writing(paper: int, ink: int, seed: int) -> Image.Image:
    """The back of a print: paper under an uneven lamp, some lines of writing, a stamp in a corner."""
    dice = np.random.default_rng(seed)
    lamp = np.linspace(0, 30, 512)[None, :] + dice.normal(0, 3, (360, 512))
    page = Image.fromarray(np.clip(paper + lamp, 0, 255).astype(np.uint8))
    draw = ImageDraw.Draw(page)
    for line in range(5):
        points = [(60 + step * 4, 80 + line * 40 + int(dice.integers(-9, 9))) for step in range(60)]
        draw.line(points, fill=ink, width=3)
    draw.rectangle((420, 30, 470, 90), outline=ink, width=2)
    return page


def portrait(seed: int) -> Image.Image:
    """A head and shoulders before a plain backdrop, a little soft."""
    dice = np.random.default_rng(seed)
    picture = Image.new("L", (360, 512), 190)
    draw = ImageDraw.Draw(picture)
    x, y = 150 + int(dice.integers(0, 60)), 150 + int(dice.integers(0, 60))
    draw.ellipse((x - 20, y + 90, x + 150, y + 420), fill=int(dice.integers(30, 90)))
    draw.ellipse((x, y, x + 110, y + 140), fill=int(dice.integers(120, 150)))
    draw.ellipse((x - 4, y - 20, x + 114, y + 40), fill=int(dice.integers(20, 70)))
    return picture.filter(ImageFilter.GaussianBlur(3))


@pytest.mark.parametrize("seed", range(6))
def test_paper_with_writing_is_a_back(seed: int) -> None:
    """Light paper or dark card, and an uneven lamp."""
    back = writing(*((200, 60), (60, 180), (150, 120))[seed % 3], seed)
    assert likeness(portrait(seed), back, 32) is Likeness.BACK


@pytest.mark.parametrize("seed", range(6))
def test_another_portrait_is_no_back(seed: int) -> None:
    """Two sitters before one backdrop, a faded print among them."""
    other = portrait(seed + 100)
    faded = other.point(lambda grey: 150 + grey // 6)
    assert likeness(portrait(seed), other, 30) is Likeness.ANOTHER
    assert likeness(portrait(seed), faded, 30) is Likeness.ANOTHER


def test_the_same_picture_again_is_a_front() -> None:
    """A second scan, lighter and smaller; the distance is that of the library's own hashes."""
    first = portrait(1)
    again = first.resize((270, 384)).point(lambda grey: min(255, grey + 12))
    one, other = imagehash.phash(first), imagehash.phash(again)
    assert bits_apart(str(one), str(other)) == one - other
    assert likeness(first, again, one - other) is Likeness.SAME
    assert bits_apart(None, "0") == 64


def test_blank_backs_are_not_the_same_picture() -> None:
    """The hash of plain paper is an accident: two blank sides that agree in it are still paper."""
    blank = Image.new("L", (300, 200), 220)
    assert likeness(blank, blank, 0) is Likeness.BACK


def test_the_sample_s_backs_and_rescans_are_told() -> None:
    """Every pair that the sample joins comes out as what it says there."""
    root = source()
    for row in csv.DictReader((root / "joins.csv").read_text(encoding="utf-8").splitlines()):
        first, other = (small(root / "scans" / row[key]) for key in ("first", "other"))
        apart = imagehash.phash(first) - imagehash.phash(other)
        assert likeness(first, other, apart) is {"verso": Likeness.BACK, "recto": Likeness.SAME}[row["side"]], row


def test_tone_is_a_share() -> None:
    """Half black, half white: half of it is apart from the paper."""
    half = Image.new("L", (256, 256), 255)
    half.paste(0, (0, 0, 120, 256))
    assert tone(half) == pytest.approx(0.46, abs=0.05)


def small(path: Path) -> Image.Image:
    """A thumbnail as the archive keeps it."""
    with Image.open(path) as image:
        picture = image.convert("RGB")
    picture.thumbnail((512, 512))
    return picture


def test_the_bed_is_no_tone_of_a_back() -> None:
    """A back on a lid that is whiter than its paper is still paper with writing."""
    glass = Image.new("L", (640, 480), 250)
    glass.paste(Image.new("L", (520, 330), 226), (50, 40))
    ImageDraw.Draw(glass).text((120, 120), "At the weir, with Edda", fill=80)
    assert tone(glass) < 0.01
