"""What follows from what was measured: floors, limits, notes, and what stays quiet."""

from __future__ import annotations

from dataclasses import replace

import pytest
from measured_scans import A4, at, good, kinds

from kinphoto.scans.checks.findings import findings, largest_good_print
from kinphoto.scans.checks.limits import BY_KIND, FLOORS, LIMITS, Weight
from kinphoto.scans.checks.originals import Captured, Original, kind_of_original


@pytest.mark.parametrize(
    ("millimetres", "kind"),
    [
        ((210, 297), "print"),
        ((90, 130), "print"),
        ((60, 90), "small-print"),
        ((36, 24), "film-35mm"),
        ((63, 102), "small-print"),
    ],
)
def test_a_size_says_what_is_expected(millimetres: tuple[float, float], kind: str) -> None:
    """A sheet, a 9 × 13, a contact print, a frame of 35 mm film (24 × 36 mm, ISO 1007), a carte de visite (from
    memory)."""
    assert kind_of_original(millimetres) == kind


def test_a_print_wants_400_ppi_and_a_small_one_600() -> None:
    """36 CFR 1236.50: at least 400 for prints. At 600 ppi 1400 by 2100 pixels are 6 by 9 cm, at 400 they are 9 by
    13."""
    assert "ppi-low" in kinds(at(300))
    assert "ppi-low" not in kinds(at(400))
    assert "ppi-low" in kinds(at(590), size=(1400, 2100))
    assert "ppi-low" not in kinds(at(600), size=(1400, 2100))


def test_a_floor_of_ones_own_counts_and_is_named_as_such() -> None:
    """300 ppi are enough for prints where somebody says so; 600 are not where somebody wants 800."""
    assert "ppi-low" not in kinds(at(300), Original(floors={"print": 300}))
    (low,) = (each for each in findings(*A4, at(600), Original(floors={"print": 800})) if each.kind == "ppi-low")
    assert low.limit.startswith("800 ppi")
    assert "scans floor" in low.source


def test_film_is_not_judged_as_a_print() -> None:
    """Where it is stated to be film, 600 ppi are too few and 16 bits are advised."""
    assert {"ppi-low", "bits-film"} <= kinds(at(600), Original("film"))


def test_the_resolution_may_be_missing_a_default_or_impossible() -> None:
    """None; 72 and 96; and 4000 by 6000 pixels at 100 ppi, which would be one metre by one and a half."""
    assert "ppi-missing" in kinds(at(None))
    assert "ppi-default" in kinds(at(72))
    assert "ppi-default" in kinds(at(96))
    assert "ppi-impossible" in kinds(at(100), size=(4000, 6000))
    assert not {"ppi-missing", "ppi-default", "ppi-impossible"} & kinds(at(600))


def test_a_soft_print_is_no_blurred_scan() -> None:
    """Edges spread, but the grain of the paper is sharp. Without grain the scan is blurred, unless pixels are to
    spare."""
    assert "blurred" not in kinds(at(600, spread=2.0, grain=(3.0, 3.0)))
    assert "blurred" in kinds(at(600, spread=2.0, grain=(0.6, 0.6)))
    assert "blurred" not in kinds(at(1200, spread=1.5, grain=(0.6, 0.6)), size=(4800, 7200))


def test_what_moved_along_a_diagonal_moved_along_both_sides() -> None:
    """By hand: 1.8 pixels along a diagonal are 1.3 across and 1.3 down. Where upright and level edges are sharp, a few
    soft ones that lie askew are of the picture."""
    grain = {"grain": (0.9, 0.95)}
    assert kinds(at(600, spread=0.6, spread_by_direction=(1.3, 1.8, 1.3, 0.5), **grain)) == {"shaken"}
    assert kinds(at(600, spread=0.4, spread_by_direction=(0.4, 0.5, 0.5, 1.5), **grain)) == set()


def test_what_follows_from_another_finding_is_not_said_as_well() -> None:
    """Enlarged pixels spread edges, as far as a sharp scan enlarged four times does; what moved is blurred in one
    direction; glare is blown out. Blur beyond that, and highlights beside the glare, are said too."""
    soft = {"grain": (0.5, 0.5), "interpolated": 9.0}
    assert kinds(at(600, spread=1.4, **soft)) == {"enlarged"}
    assert kinds(at(600, spread=2.5, **soft)) == {"enlarged", "blurred"}
    assert kinds(at(600, spread=1.4, grain=(0.5, 0.5), spread_by_direction=(1.8, 1.2, 0.5, 1.2))) == {"blurred"}
    moved = {"grain": (0.5, 0.9), "spread_by_direction": (1.8, 1.2, 0.5, 1.2)}
    assert kinds(at(600, spread=1.4, **moved)) == {"shaken"}
    assert kinds(at(600, glare=0.03, clipped_light=0.032)) == {"glare"}
    assert kinds(at(600, glare=0.03, clipped_light=0.05)) == {"glare", "clipped-light"}


def test_what_is_faded_or_has_a_cast_is_only_noted() -> None:
    """Nothing about the print asks for another scan."""
    found = findings(*A4, at(600, darkest=45.0, lightest=80.0, cast=2.0, cast_a=20.0, cast_b=3.0, hues=9.0))
    assert {each.kind: each.weight for each in found} == {"faded": Weight.NOTE, "cast": Weight.NOTE}
    assert "red" in next(each.measured for each in found if each.kind == "cast")


def test_a_back_is_judged_by_less() -> None:
    """Pale paper with writing is neither overexposed nor faded, and 300 ppi are enough for text."""
    back = at(300, clipped_light=0.5, darkest=70.0, lightest=95.0, spread=2.0, grain=(0.5, 0.5))
    assert kinds(back, back=True) == set()


def test_a_good_scan_has_no_findings() -> None:
    """The astronaut at 600 ppi."""
    assert kinds(at(600)) == set()


def test_every_finding_says_what_was_measured_its_limit_its_source_and_what_to_do() -> None:
    """All kinds at once, from measures beyond every limit."""
    bad = at(
        100, bits=1, grey=True, quality=40, saved_twice=1.0, unwritten=0.3, clipped_light=0.2, clipped_dark=0.2,
        cut=("left",), tilt=5.0, interpolated=9.0, overshoot=0.3, empty_levels=0.4, channels_clipped=0.01, up="left",
        up_why="so", orange=1.0, spread=3.0, grain=(0.5, 0.5),
    )  # fmt: skip
    found = [
        *findings(9000, 9000, bad, Original("film", coloured=True), marks=4),
        *findings(*A4, at(None, glare=0.1, spread_by_direction=(2.0, 1.5, 0.4, 1.5), grain=(0.5, 1.0))),
        *findings(*A4, at(None, clear_edges=0.97)),
        *findings(*A4, at(None, smoothed=0.01, hues=0.0), Original("film")),
        *findings(*A4, at(None), Original(capture=Captured(1000.0, angle=30.0, uneven=1.2))),
        *findings(*A4, at(72, darkest=45.0, lightest=80.0, cast=2.0, cast_a=3.0, cast_b=20.0, hues=9.0)),
    ]
    assert {each.kind for each in found} == set(BY_KIND)
    for each in found:
        assert all((each.measured, each.limit, each.source, each.remedy.endswith("."))), each
    assert [each.weight for each in found[:3]] == [Weight.REDO] * 3


def test_the_largest_print_of_a_blurred_scan_is_smaller_than_its_pixels() -> None:
    """By hand: 2480 pixels are 21 cm at 300 ppi; of 683 in a thousand 14.3."""
    assert largest_good_print(*A4, good())[0] == 21.0
    assert largest_good_print(*A4, replace(good(), spread=1.0, grain=(0.5, 0.5)))[0] == 14.3


def test_the_table_of_limits_is_whole() -> None:
    """Each kind once, every one with a source; floors in descending importance, each with one too."""
    assert len({limit.kind for limit in LIMITS}) == len(LIMITS)
    assert all(limit.source and limit.remedy and limit.title for limit in LIMITS)
    assert all(floor.source and floor.ppi >= 300 for floor in FLOORS)
