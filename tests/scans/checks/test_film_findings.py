"""What is said of film, from what was measured: dust removal, and what is perhaps a negative."""

from __future__ import annotations

from dataclasses import replace

from measured_scans import at, kinds

from kinphoto.scans.checks.originals import Original


def test_film_without_grain_in_places_was_perhaps_repaired() -> None:
    """Said of black-and-white film only: dyes let infrared light through, and paper is not repaired so."""
    grey = at(3000, smoothed=0.01, hues=1.0, darkest=3.0)
    frame = (4252, 2835)  # 24 by 36 mm (ISO 1007) at 3000 ppi
    assert "repaired" in kinds(grey, size=frame)
    assert "repaired" in kinds(grey, Original("film"), size=(9000, 9000))
    assert "repaired" not in kinds(replace(grey, hues=9.0), size=frame)
    assert "repaired" not in kinds(replace(grey, smoothed=0.001), size=frame)
    assert "repaired" not in kinds(grey, size=(9000, 9000))


def test_clear_edges_in_black_may_be_film_where_they_are_as_wide_as_film() -> None:
    """By hand: at 1200 ppi roll film of 61.5 mm (number 120; ISO 732, from memory) is 2906 pixels wide. A 9 × 13 with a
    white border, on black, is not; and at the resolution of prints nothing is."""
    assert "negative-perhaps" in kinds(at(1200, clear_edges=0.97), size=(2906, 4300))
    assert "negative-perhaps" not in kinds(at(1200, clear_edges=0.97), size=(4252, 6142))
    assert "negative-perhaps" not in kinds(at(600, clear_edges=0.97), size=(1453, 2150))


def test_a_grey_frame_of_35_mm_film_is_perhaps_a_negative_unless_it_has_black() -> None:
    """By hand: at 3000 ppi 24 × 36 mm (ISO 1007) are 2835 by 4252 pixels."""
    frame = at(3000, darkest=30.0, lightest=88.0, hues=0.0)
    assert "negative-perhaps" in kinds(frame, size=(4252, 2835))
    assert "negative-perhaps" not in kinds(replace(frame, darkest=3.0), size=(4252, 2835))
    assert "negative-perhaps" not in kinds(replace(frame, hues=9.0), size=(4252, 2835))
    assert "negative-perhaps" not in kinds(frame, Original("film-35mm"), size=(4252, 2835))
    assert "negative-perhaps" not in kinds(frame, size=(9000, 6000))
