"""What is measured on scans, compared with what was done to them: scikit-image's photographs as prints on a scanner,
spoilt by known amounts (`tests/bench/scanned_prints.py`), libjpeg's published tables, and the paper of ISO 216."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import skimage.color
from PIL import Image, ImageDraw
from scanned_prints import Print, as_jpeg, photograph, scanned
from scipy import ndimage

from kinphoto.scans.checks import compression, film, marks, resolution, sharpness, tones
from kinphoto.scans.checks.findings import findings
from kinphoto.scans.checks.limits import BY_KIND
from kinphoto.scans.checks.measures import Measures, of_picture
from kinphoto.scans.checks.outline import outline
from kinphoto.scans.checks.way_up import way_up
from kinphoto.scans.measure import measure_quality

PRINT = Print(size=(1200, 900), margin=50, border=30)


def measured(**how: object) -> Measures:
    """What is measured on a scan of the astronaut."""
    return of_picture(scanned(photograph("astronaut"), replace(PRINT, **how), 4))  # type: ignore[arg-type]


def grey(name: str) -> np.ndarray:
    """One of the photographs in grey."""
    return np.asarray(Image.fromarray(photograph(name)).convert("L"))


# Resolution ----------------------------------------------------------------------------------------------------


def test_a_sheet_of_a4_at_300_ppi_is_2480_by_3508_pixels() -> None:
    """ISO 216: A4 is 210 by 297 mm."""
    width, height = resolution.size_mm(2480, 3508, 300)
    assert (round(width), round(height)) == (210, 297)


def test_paper_of_a3_fits_a_scanner_and_a2_does_not() -> None:
    """ISO 216: A3 is 297 by 420 mm, A2 is 420 by 594 mm; either way round."""
    assert resolution.larger_than_bed((420, 297)) <= 1 < resolution.larger_than_bed((420, 594))


def test_the_largest_good_print_of_1800_by_1200_pixels_is_a_postcard() -> None:
    """Common practice: 6 by 4 inches at 300 ppi, which are 15.2 by 10.2 cm."""
    assert resolution.largest_print(1800, 1200) == (15.2, 10.2)


# Sharpness -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sigma", [0.6, 1.0, 1.4, 1.8])
def test_the_spread_of_an_edge_is_that_of_the_gaussian_that_blurred_it(sigma: float) -> None:
    """SciPy's Gaussian filter applied to perfect steps."""
    tile = np.full((192, 192), 60.0)
    tile[:, 60:130] = 190
    tile[90:, 130:] = 120
    blurred = np.rint(ndimage.gaussian_filter(tile, sigma)).astype(np.uint8)
    assert sharpness.edges(blurred[None]).spread == pytest.approx(sigma, abs=0.15)


def test_a_gaussian_leaves_a_tenth_of_the_contrast_where_the_effective_resolution_ends() -> None:
    """By hand: exp(-2 π² σ² f²) is 0.1 at f cycles a pixel; 600 pixels an inch hold 300 cycles."""
    sigma = 1.3
    cycles = sharpness.effective_ppi(600, sigma) / 600 / 2
    assert np.exp(-2 * np.pi**2 * sigma**2 * cycles**2) == pytest.approx(0.1, abs=0.001)


def test_white_noise_is_grain_of_its_own_standard_deviation_and_blurred_noise_is_none() -> None:
    """NumPy's normal distribution, sharp and blurred by 1.5 pixels."""
    noise = np.random.default_rng(1).normal(128, 6, (8, 192, 192))
    sharp = sharpness.grain(np.clip(noise, 0, 255).astype(np.uint8))
    blurred = sharpness.grain(np.clip(ndimage.gaussian_filter(noise, (0, 1.5, 1.5)), 0, 255).astype(np.uint8))
    assert sharp == pytest.approx((6, 6), rel=0.07)
    assert max(blurred) < 0.7


def test_more_blur_is_more_spread_and_a_soft_print_is_none() -> None:
    """The picture on a soft print is blurred by five pixels; its grain and the edge of its paper are not."""
    spreads = [measured(blur=blur).spread or 0 for blur in (0.45, 1.2, 1.8)]
    assert spreads == sorted(spreads)
    assert spreads[0] < 0.6
    assert spreads[2] > 1.0
    soft = measured(softness=5.0)
    assert (soft.spread or 0) < 0.6
    assert min(soft.grain) > 1.5


def test_shaking_spreads_edges_in_one_direction() -> None:
    """A mean over nine pixels along the rows."""
    across, _, down, _ = measured(shake=9).spread_by_direction
    assert across is not None
    assert down is not None
    assert across > 1.0
    assert down < across / 2


def test_shaking_along_a_diagonal_is_found() -> None:
    """A mean over nine pixels along a diagonal, by SciPy."""
    level = np.asarray(scanned(photograph("coffee"), PRINT, 4), dtype=np.float32)
    moved = ndimage.convolve(level, np.eye(9)[::-1, :, None] / 9)
    found = of_picture(Image.fromarray(np.rint(moved).astype(np.uint8)))
    assert "shaken" in {each.kind for each in findings(1300, 1000, found)}


@pytest.mark.parametrize("seed", [4, 5, 6])
def test_the_edge_of_paper_tells_softness_from_blur_where_there_is_no_grain(seed: int) -> None:
    """A soft picture on smooth paper: the edge of the paper on the bed is sharp, and blurred with the scan."""
    smooth = replace(PRINT, softness=6.0, texture=0.5, dust=0, border=0)
    sharp = of_picture(scanned(photograph("coffee"), smooth, seed))
    blurred = of_picture(scanned(photograph("coffee"), replace(smooth, blur=1.75), seed))
    assert (sharp.spread or 9) < 0.8 < 1.0 < (blurred.spread or 0)


def test_unsharp_masking_overshoots() -> None:
    """By seven tenths of the difference from a Gaussian of 1.2 pixels is told of already; without there is none."""
    limit = BY_KIND["sharpened"].limit
    assert measured().overshoot < limit / 2 < limit < measured(sharpening=0.7).overshoot


def test_a_shadow_beside_the_paper_is_no_sharpening() -> None:
    """White paper on a grey bed: on its right and below lies a thin dark line, and no pale one across the edge."""
    grey_bed = Print(size=(1200, 900), margin=50, border=40, bed=150.0, tilt=0.0, blur=0.35)
    plain = of_picture(scanned(photograph("rocket"), grey_bed, 4))
    sharpened = of_picture(scanned(photograph("rocket"), replace(grey_bed, sharpening=2.0), 4))
    assert plain.overshoot < 0.05 < BY_KIND["sharpened"].limit < sharpened.overshoot


def test_sharpening_is_seen_on_a_bed_that_is_nearly_white() -> None:
    """A bed of level 243 clips most of what a step overshoots by. By the error function, unsharp masking of 0.84 with a
    Gaussian of 1.2 pixels does so by an eighth of a step that is blurred by 0.38 pixels and by pixels of that size."""
    white = Print(size=(1500, 1100), border=0, bed=243.0, blur=0.38, softness=0.5, tilt=0.48)
    plain, sharpened = (
        of_picture(jpeg(scanned(photograph("coffee"), replace(white, sharpening=amount), 4), 95))
        for amount in (0.0, 0.84)
    )
    assert plain.overshoot < 0.05 < 1.25 * BY_KIND["sharpened"].limit <= sharpened.overshoot


def test_a_soft_print_shows_that_it_was_enlarged() -> None:
    """Pillow's bicubic enlargement of a scan whose finest structure is next to nothing: what rows and columns have in
    common stands out."""
    soft = Print(size=(1500, 1100), blur=0.585, softness=1.13, texture=1.85, noise=0.8, enlarged=1.5)
    found = of_picture(jpeg(scanned(photograph("rocket"), soft, 2), 95))
    assert found.interpolated > 1.25 * BY_KIND["enlarged"].limit


@pytest.mark.parametrize("factor", [1.25, 1.5, 2.5])
def test_enlarging_leaves_a_period(factor: float) -> None:
    """Pillow's bicubic enlargement, saved as JPEG 95; and nothing in the same scan at its own size."""
    enlarged = of_picture(
        jpeg(scanned(photograph("coffee"), replace(PRINT, size=(1500, 1125), enlarged=factor), 2), 95)
    )
    plain = of_picture(jpeg(scanned(photograph("coffee"), replace(PRINT, size=(1500, 1125)), 2), 95))
    assert plain.interpolated < 2.0 < 2.5 < enlarged.interpolated


def jpeg(image: Image.Image, quality: int) -> Image.Image:
    """The picture as it comes back from a JPEG."""
    return Image.open(io.BytesIO(as_jpeg(image, quality)))


# Tones ---------------------------------------------------------------------------------------------------------


def test_lab_is_that_of_scikit_image() -> None:
    """skimage.color.rgb2lab, for all greys and a thousand colours."""
    colours = np.random.default_rng(3).integers(0, 256, (40, 25, 3), dtype=np.uint8)
    assert np.abs(tones.lab(colours) - skimage.color.rgb2lab(colours)).max() < 0.1
    greys = np.arange(256, dtype=np.uint8)[None]
    assert np.abs(tones.lab(greys) - skimage.color.rgb2lab(np.repeat(greys[..., None], 3, axis=2))).max() < 0.1


def test_as_much_is_clipped_as_was_clipped() -> None:
    """Three per cent pure white in the middle, five per cent pure black; a white border is paper."""
    picture = np.full((200, 200), 120, np.uint8)
    picture[50:80, 60:100] = 255  # 1200 of 40,000 pixels
    picture[100:140, 100:150] = 0  # 2000
    assert tones.clipped_shares(picture) == pytest.approx((0.03, 0.05))
    picture[:10] = picture[-10:] = picture[:, :10] = picture[:, -10:] = 255
    assert tones.clipped_shares(picture)[0] == pytest.approx(1200 / 180**2)


@pytest.mark.parametrize("quality", [97, 88])
def test_what_was_clipped_in_colours_is_counted_after_jpeg(quality: int) -> None:
    """A scan of warm colours, lighter until 1.25 % of it is white, and darker until 2.5 % is black: JPEG keeps colours
    in a quarter of the pixels, and so leaves fewer at the very end of each channel."""
    level = np.asarray(scanned(photograph("chelsea"), replace(PRINT, border=0, margin=0), 4), dtype=np.float32)
    lighter = level * (254.5 / np.quantile(level.min(axis=2), 1 - 0.0125))
    darker = level - np.quantile(level.max(axis=2), 0.025)
    for made, which, limit in ((lighter, 0, 0.01), (darker, 1, 0.02)):
        picture = np.clip(np.rint(made), 0, 255).astype(np.uint8)
        kept = np.asarray(jpeg(Image.fromarray(picture), quality))
        truth = ((picture.min(axis=2) >= 254).mean(), (picture.max(axis=2) <= 1).mean())[which]
        assert limit < tones.clipped_shares(kept)[which] < 1.7 * truth


def test_automatic_correction_clips_all_channels_and_a_full_range_none() -> None:
    """A fifth of a per cent cut off at each end of each channel, seen after JPEG; and tones that reach 2 and 253
    without being cut off."""
    level = np.asarray(photograph("coffee"), dtype=np.float32)
    low, high = np.quantile(level.reshape(-1, 3), (0.002, 0.998), axis=0)
    cut = np.clip((level - low) * 255 / (high - low), 0, 255)
    least, most = level.min(axis=(0, 1)), level.max(axis=(0, 1))
    whole = 2 + (level - least) * (251 / (most - least))
    shares = []
    for made in (cut, whole):
        kept = np.asarray(jpeg(Image.fromarray(np.rint(made).astype(np.uint8)), 92))
        shares.append(
            tones.channels_clipped(np.array([np.bincount(kept[..., k].ravel(), minlength=256) for k in range(3)]))
        )
    assert shares[0] > 0.001 > 0.0005 > shares[1]


def test_stretching_192_levels_over_256_leaves_a_quarter_empty() -> None:
    """By hand: 1 - 192/256."""
    levels = np.random.default_rng(5).integers(0, 192, 200_000)
    stretched = np.rint(levels * (255 / 191)).astype(int)
    assert tones.empty_levels(np.bincount(stretched, minlength=256)) == pytest.approx(0.25, abs=0.02)
    assert tones.empty_levels(np.bincount(levels, minlength=256)) == 0


def test_a_cast_over_everything_is_one_and_the_colours_of_a_picture_are_none() -> None:
    """A cat among warm colours, and the same with half of its blue and some of its green gone."""
    colours = photograph("chelsea")
    faded = (colours * np.array([1.0, 0.62, 0.55])).astype(np.uint8)
    assert tones.cast(tones.lab(colours))[0] < 1.5 < tones.cast(tones.lab(faded))[0]
    assert tones.cast(tones.lab(photograph("astronaut")))[0] == 0


# Where the print lies ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("tilt", [-4.0, -0.7, 0.0, 1.3, 5.0])
@pytest.mark.parametrize("bed", [246.0, 14.0])
def test_the_tilt_is_the_angle_by_which_the_print_was_turned(tilt: float, bed: float) -> None:
    """Pillow's rotation, on a white and on a black lid; within a tenth of a degree."""
    found = outline(np.asarray(scanned(photograph("chelsea"), replace(PRINT, tilt=tilt, bed=bed), 6)))
    assert found is not None
    assert found.tilt == pytest.approx(tilt, abs=0.1)
    assert len(found.corners) == 4


def test_a_print_that_runs_out_of_the_picture_is_cut_there() -> None:
    """Thirty columns of it are missing on the left."""
    assert measured(cut=30).cut == ("left",)
    assert measured().cut == ()


def test_without_a_bed_there_is_no_outline() -> None:
    """A photograph that fills the scan; and one with an even sky, which is no bed."""
    assert outline(photograph("coffee")) is None
    assert outline(photograph("rocket")) is None


# Marks ---------------------------------------------------------------------------------------------------------


def test_glare_covers_what_it_was_made_to_cover() -> None:
    """The pixels of 250 and more in all channels, within a half; none without it, nor where a scan is overexposed."""
    how = replace(PRINT, glare=0.02)
    picture = np.asarray(scanned(photograph("astronaut"), how, 4))
    inner = picture[90:-90, 90:-90]
    truth = float((inner.min(axis=2) >= 250).mean())
    assert measured(glare=0.02).glare == pytest.approx(truth, rel=0.5)
    assert measured().glare == 0
    assert measured(gain=1.12).glare == 0


@pytest.mark.parametrize("start", [500, 0])
def test_glare_over_dark_lines_is_one_glare(start: int) -> None:
    """A soft light on grey paper, of which the right half or all has a grid of black lines, through which it does not
    blow out: what is blown out in NumPy's count is found. Before, the small pieces were lost."""
    rows, columns = np.indices((1000, 1000), dtype=np.float32)
    paper = np.where(((columns % 30 < 3) | (rows % 30 < 3)) & (columns > start), 20.0, 140.0)
    light = 300 / (1 + np.exp((np.hypot(rows - 500, columns - 500) - 40) / 25))
    picture = np.clip(paper + light, 0, 255).astype(np.uint8)
    truth = float((picture >= 250).mean())
    assert truth > 0.006
    assert marks.glare_share(picture) == pytest.approx(truth, rel=0.1)


@pytest.mark.parametrize(("border", "seed"), [(0, 3), (40, 4)])
def test_blown_highlights_that_fade_softly_are_no_glare_where_the_paper_is_blown_out_too(
    border: int, seed: int
) -> None:
    """A cat before a light background that is out of focus, exposed until 1.25 % is white: its red is at the end of the
    scale all over."""
    level = np.asarray(scanned(photograph("chelsea"), Print(border=border, softness=0.8), seed), dtype=np.float32)
    inner = level[130:-130, 130:-130].min(axis=2)
    lighter = np.clip(level * (254.5 / np.quantile(inner, 1 - 0.0125)), 0, 255)
    found = of_picture(Image.fromarray(np.rint(lighter).astype(np.uint8)))
    assert found.clipped_light > 0.01
    assert found.glare == 0


def test_white_things_all_over_a_picture_are_no_glare() -> None:
    """Four soft spots of the same size, by NumPy: no lamp is seen in four places. One of them, and two, are glare."""
    rows, columns = np.indices((600, 800), dtype=np.float32)
    places = ((150, 150), (450, 600), (150, 600), (450, 150))
    found = []
    for count in (1, 2, 4):
        light = sum(300 / (1 + np.exp((np.hypot(rows - y, columns - x) - 30) / 12)) for y, x in places[:count])
        found.append(marks.glare_share(np.clip(90 + light, 0, 255).astype(np.uint8)))
    assert found[0] > 0.004
    assert found[1] == pytest.approx(2 * found[0], rel=0.01)
    assert found[2] == 0


def drawn(*lines: tuple[tuple[float, float], ...]) -> np.ndarray:
    """Lines (points x, y), two pixels wide and 80 levels darker than an even ground with noise, drawn by Pillow."""
    ground = Image.fromarray(np.random.default_rng(9).normal(170, 3, (600, 800)).astype(np.uint8))
    draw = ImageDraw.Draw(ground)
    for line in lines:
        draw.line(line, fill=90, width=2)
    return np.asarray(ground)


ARC = tuple((300 + 120 * np.cos(turn), 300 + 120 * np.sin(turn)) for turn in np.linspace(0, 2.5, 60))


def test_a_hair_is_found_along_its_whole_length() -> None:
    """An arc of 120 pixels and 2.5 radians: the points of one hair lie within two pixels of it, from end to end."""
    found = marks.hairs(marks.spots(drawn(ARC)))
    assert set(found[:, 3]) == {0}
    assert np.abs(np.hypot(found[:, 0] - 300, found[:, 1] - 300) - 120).max() < 2
    turns = np.arctan2(found[:, 1] - 300, found[:, 0] - 300)
    assert (turns.min(), turns.max()) == (pytest.approx(0, abs=0.05), pytest.approx(2.5, abs=0.05))
    assert (found[:, 2] < -22).all()


def test_what_is_straight_short_thick_or_an_edge_is_no_hair() -> None:
    """A ruled frame, a wire, a comma, a fat arc, and a round thing that is darker than what lies around it."""
    frame = ((100, 100), (700, 100), (700, 500), (100, 500), (100, 100))
    wire, comma = ((50, 560), (750, 580)), ((400, 300), (406, 304), (404, 312))
    thick = [tuple((x + shift, y) for x, y in ARC) for shift in range(-5, 6)]
    disc = drawn()
    rows, columns = np.indices(disc.shape)
    disc = np.where(np.hypot(rows - 300, columns - 400) < 150, disc - 60, disc)
    for picture in (drawn(frame), drawn(wire), drawn(comma), drawn(*thick), disc, drawn()):
        assert len(marks.hairs(marks.spots(picture))) == 0


@pytest.mark.parametrize("seed", range(6))
def test_spots_are_the_parts_that_scipy_labels(seed: int) -> None:
    """`ndimage.uniform_filter` has the mean of 11 by 11 pixels, and `ndimage.label` what hangs together, also by a
    corner, among what is darker or lighter than that by 17.6 levels (0.8 times 22): in noise that is blurred more
    from picture to picture, of odd sizes."""
    rng = np.random.default_rng(seed)
    noise = ndimage.gaussian_filter(rng.normal(size=(int(rng.integers(1, 200)), int(rng.integers(1, 300)))), seed / 2)
    level = np.clip(128 + 45 * noise / max(noise.std(), 1e-9), 0, 255).astype(np.uint8)
    apart = level - ndimage.uniform_filter(level.astype(float), 11, mode="nearest")
    expected = set()
    for far in (apart >= 17.6 - 1e-9, apart <= -17.6 + 1e-9):
        parts, count = ndimage.label(far, np.ones((3, 3)))
        expected |= {tuple(np.flatnonzero(parts == k + 1)) for k in range(count)}
    found = marks.spots(level)
    at = [found.pixels(np.array([spot])) for spot in range(len(found.sizes))]
    assert {tuple(np.sort(rows * level.shape[1] + columns)) for rows, columns in at} == expected
    assert found.sizes.tolist() == [len(rows) for rows, _ in at]


def test_rows_that_were_never_written_are_counted() -> None:
    """A twentieth of the height in the grey with which decoders fill up; white lids do not count."""
    picture = np.random.default_rng(2).integers(0, 255, (400, 300, 3), dtype=np.uint8)
    assert marks.unwritten_rows(picture) == 0
    picture[-20:] = 128
    assert marks.unwritten_rows(picture) == pytest.approx(0.05)
    picture[-20:] = 255
    assert marks.unwritten_rows(picture) == 0


def test_a_bed_that_jpeg_made_even_is_no_damage(tmp_path: Path) -> None:
    """A grey lid with little noise, saved at quality 70: its rows below the print are all of one level."""
    quiet = replace(PRINT, bed=128.0, noise=0.2, tilt=0.0)
    path = tmp_path / "scan.jpg"
    path.write_bytes(as_jpeg(scanned(photograph("coffee"), quiet, 4), 70))
    with Image.open(path) as image:
        assert marks.unwritten_rows(np.asarray(image)) > 0.01
    assert measure_quality(str(path)).unwritten == 0


# Compression ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("quality", [5, 50, 75, 85, 90, 95, 100])
def test_the_quality_is_the_one_that_libjpeg_was_asked_for(quality: int) -> None:
    """Pillow writes JPEG with libjpeg, whose tables are those of ITU-T T.81, annex K, scaled by the quality."""
    with Image.open(io.BytesIO(as_jpeg(Image.fromarray(photograph("chelsea")), quality))) as image:
        table = compression.luminance_table(image.quantization)  # type: ignore[attr-defined]
        assert table is not None
        assert tuple(table) == compression.scaled_table(quality)
        assert compression.jpeg_quality(table) == quality


def test_two_entries_of_the_published_table_at_quality_75() -> None:
    """By hand: half of 16 and of 99, rounded up (libjpeg, jcparam.c)."""
    assert (compression.scaled_table(75)[0], compression.scaled_table(75)[63]) == (8, 50)


def test_a_jpeg_saved_twice_shows_it() -> None:
    """First at 75, then at 93, against once at 93."""
    scan = scanned(photograph("astronaut"), PRINT, 4)
    found = []
    for image in (jpeg(scan, 93), jpeg(jpeg(scan, 75), 93)):
        grey, table = np.asarray(image.convert("L")), image.quantization[0]  # type: ignore[attr-defined]
        found.append(compression.saved_twice(grey, table))
    assert found[0] < 0.2 < 0.3 < found[1]


# Film and which way is up --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["astronaut", "chelsea", "coffee", "rocket"])
def test_a_colour_negative_is_told_from_sepia_and_from_faded_prints(name: str) -> None:
    """The orange mask simulated: an inverted photograph times the colour of clear film (230, 140, 85, from memory)."""
    picture = photograph(name) / 255
    negative = ((0.25 + 0.75 * (1 - picture)) * np.array([230, 140, 85])).astype(np.uint8)
    assert film.orange_mask(tones.lab(negative)) > 0.95
    assert film.orange_mask(tones.lab(photograph(name))) == 0
    grey = picture.mean(axis=2, keepdims=True)
    for tint in ((235, 215, 180), (245, 205, 190), (230, 190, 140)):
        assert film.orange_mask(tones.lab((grey * np.array(tint)).astype(np.uint8))) == 0


@pytest.mark.parametrize(("quarters", "way"), [(0, "upright"), (1, "right"), (2, "over"), (3, "left")])
def test_which_way_is_up_follows_the_turns_of_a_landscape(quarters: int, way: str) -> None:
    """Sky above gravel, turned left by NumPy, needs as many turns to the right; a texture alone says nothing."""
    gravel = photograph("gravel")
    landscape = np.concatenate([np.full((300, 512), 225, np.uint8), (gravel[:300] * 0.5).astype(np.uint8)])
    assert way_up(np.rot90(landscape, quarters)).way == way
    assert way_up(np.rot90(gravel, quarters)).way == "unsure"


def test_photographs_that_are_upright_are_never_called_something_else() -> None:
    """Most of scikit-image's leave it unsure."""
    ways = {name: way_up(grey(name)).way for name in ("astronaut", "camera", "chelsea", "coffee", "rocket")}
    assert set(ways.values()) <= {"upright", "unsure"}, ways
