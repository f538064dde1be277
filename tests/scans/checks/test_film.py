"""Film among the scans: drawn by the measures of 35 mm film (ISO 1007, `tests/bench/scanned_films.py`)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from scanned_films import BLACK_AND_WHITE, COLOUR, FRAME, MOUNTED, ROLL, SLIDE, STRIP, Film, film
from scanned_prints import Print, photograph, scanned
from scipy import ndimage

from kinphoto.scans.checks.findings import findings
from kinphoto.scans.checks.measures import of_picture
from kinphoto.scans.measure import measure
from kinphoto.scans.positive import positive_table
from kinphoto.scans.upright import POSITIVE


def said(picture: Image.Image, ppi: float, times: float = 1) -> set[str]:
    """What is found that is about negatives, in a scan so many times as large as the picture."""
    found = findings(round(picture.width * times), round(picture.height * times), of_picture(picture, ppi))
    return {each.kind for each in found if each.kind.startswith("negative")}


def said_of(one: Film) -> set[str]:
    """The same of film, which is drawn smaller than a scanner writes it."""
    return said(one.picture, one.ppi * one.times, one.times)


@pytest.mark.parametrize("kind", [BLACK_AND_WHITE, COLOUR])
@pytest.mark.parametrize("seed", [2, 3])
def test_a_strip_of_negatives_is_known_by_its_perforations_and_clear_edges(kind: str, seed: int) -> None:
    """ISO 1007: a perforation every 4.75 mm, in two rows 28.18 mm apart."""
    assert said_of(film(kind, STRIP, seed)) == {"negative"}


@pytest.mark.parametrize("shape", [STRIP, ROLL, FRAME, MOUNTED])
def test_slides_are_no_negatives(shape: str) -> None:
    """Their edges are their darkest part, perforated or not."""
    assert not any(said_of(film(SLIDE, shape, seed)) for seed in range(3))


def test_clear_edges_in_a_black_holder_are_called_unsure() -> None:
    """Film of 61.5 mm (number 120; ISO 732, from memory). A print with a white border on a black ground looks the same
    but for its size: nothing is said of it, at the resolution of prints nor at that of film."""
    rolls = [said_of(film(BLACK_AND_WHITE, ROLL, seed)) for seed in range(6)]
    assert sum(each == {"negative-perhaps"} for each in rolls) >= 3
    assert {"negative"} not in rolls
    for seed in range(4):
        on_black = scanned(photograph("camera"), Print(size=(900, 660), border=30, bed=2), seed)
        assert [said(on_black, ppi) for ppi in (600, 1200)] == [set(), set()]


def test_a_grey_frame_of_film_without_black_is_called_unsure() -> None:
    """A frame of 24 by 36 mm (ISO 1007) without its edges: of a negative even the densest part lets light through, the
    shadows of a slide are black."""
    frames = [said_of(film(BLACK_AND_WHITE, FRAME, seed)) for seed in range(6)]
    assert sum(each == {"negative-perhaps"} for each in frames) >= 5
    assert {"negative"} not in frames


def test_a_black_and_white_strip_is_shown_as_a_positive_from_the_start(tmp_path: Path) -> None:
    """Its file keeps every byte."""
    path = tmp_path / "film_0001.png"
    film(BLACK_AND_WHITE, STRIP, 2).picture.save(path)
    before = path.read_bytes()
    assert measure(str(path)).scans[0].turn == POSITIVE
    assert path.read_bytes() == before


def test_the_lamp_in_the_perforations_is_not_taken_for_clear_film() -> None:
    """Clear film with a mask becomes black in all channels, although white perforations are beside it."""
    strip = film(COLOUR, STRIP, 3).picture
    level = np.asarray(strip)
    lamp = level.min(axis=2) >= 250
    assert lamp.mean() > 0.02
    table = positive_table(strip)
    film_only = level[~ndimage.binary_dilation(lamp, iterations=3)]
    clear = np.percentile(film_only, 98, axis=0).astype(int)
    assert max(table[256 * k + clear[k]] for k in range(3)) <= 12
