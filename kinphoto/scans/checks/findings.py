"""What a scan is found to lack, by comparing what was measured with the limits.

Quick, and kept nowhere: so a limit that somebody sets, or what was found out about the print, counts at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from kinphoto.scans.checks import film_findings, resolution, sharpness
from kinphoto.scans.checks.found import Found, MeasuredScan, finding
from kinphoto.scans.checks.limits import BY_KIND, FLOOR_OF, LIMITS, OF_SCANNERS, REMEDIES_OF_CAPTURES, Weight
from kinphoto.scans.checks.measures import Measures
from kinphoto.scans.checks.originals import Original
from kinphoto.scans.checks.tones import COLOURED

_GRAIN = 1.5  # grey levels: with more than this the finest structure is there, and the scan is sharp
_SHAKEN_GRAIN = 1.1  # how much more of it there is across the shake
_GRAIN_LOST = 1.4  # the same, where the edges of the picture are soft in every direction
_AS_ENLARGED = 2.0  # pixels over which the edges of a sharp scan spread once it is enlarged four times


def findings(
    width: int, height: int, measured: Measures, original: Original = Original(), *, back: bool = False, marks: int = 0
) -> list[Found]:
    """What is to be said of a scan of `width` by `height` pixels, the most important first.

    `marks` are the specks and hairs that other scans have at the same places (`glass.py`).
    """
    scan = MeasuredScan(width, height, measured, original, back, marks)
    kinds = [limit.kind for limit in LIMITS if limit.backs or not back]
    if original.capture is not None:
        kinds = [kind for kind in kinds if kind not in OF_SCANNERS]
    found = [each for kind in kinds for each in _CHECKS[kind](scan)]
    found = [each for each in found if not _explained(each, found)]
    if original.capture is not None:
        found = [replace(each, remedy=REMEDIES_OF_CAPTURES.get(each.kind, each.remedy)) for each in found]
    order = list(Weight)
    return sorted(found, key=lambda each: order.index(each.weight))


def _explained(symptom: Found, found: Sequence[Found]) -> bool:
    """Whether something else that was found is the cause of this: the cause is said, the symptom follows from it.

    What moved is blurred; and so is what was enlarged by computing, as far as a sharp scan would be. Glare is blown
    out: highlights are a fault of their own where more than their limit is blown out beside it.
    """
    values = {each.kind: each.value for each in found}
    if symptom.kind == "blurred":
        return "shaken" in values or ("enlarged" in values and symptom.value <= _AS_ENLARGED)
    if symptom.kind == "clipped-light":
        return symptom.value - values.get("glare", 0.0) <= BY_KIND["clipped-light"].limit
    return False


def largest_good_print(width: int, height: int, measured: Measures) -> tuple[float, float]:
    """Centimetres of the largest print at 300 ppi that the detail in a scan is enough for; a blurred one has less
    than its pixels."""
    share = (
        min(1.0, sharpness.effective_ppi(1.0, measured.spread)) if measured.spread and not _grainy(measured) else 1.0
    )
    across, down = resolution.largest_print(width, height)
    return round(across * share, 1), round(down * share, 1)


Check = Callable[[MeasuredScan], Iterator[Found]]
_CHECKS: dict[str, Check] = {
    "bits-film": film_findings.bits,
    "repaired": film_findings.repaired,
    "negative": film_findings.negative,
    "negative-perhaps": film_findings.perhaps_negative,
}


def _check(kind: str) -> Callable[[Check], Check]:
    def noted(check: Check) -> Check:
        _CHECKS[kind] = check
        return check

    return noted


@_check("ppi-low")
def _ppi_low(scan: MeasuredScan) -> Iterator[Found]:
    if scan.ppi is not None and scan.ppi < scan.least_ppi * 0.99:  # 399.9 is 400
        across, down = (round(edge / 10, 1) for edge in scan.size)
        title = FLOOR_OF[scan.floor].title
        yield finding(
            "ppi-low",
            f"{scan.ppi:g} ppi ({across:g} × {down:g} cm)",
            scan.ppi,
            f"{scan.least_ppi:g} ppi for {title}",
            f"Scan it again at {scan.least_ppi:g} ppi or more.",
            "set here: kinphoto scans floor" if scan.floor in scan.original.floors else FLOOR_OF[scan.floor].source,
        )


@_check("ppi-missing")
def _ppi_missing(scan: MeasuredScan) -> Iterator[Found]:
    if scan.m.camera:
        yield finding(
            "ppi-missing",
            "taken with a camera, which cannot know it",
            0,
            "a resolution",
            "If the print can go on a scanner, scan it. A camera is right for what is framed, glued in or fragile.",
        )
    elif scan.m.ppi is None:
        yield finding("ppi-missing", "none", 0, "a resolution")


@_check("ppi-default")
def _ppi_default(scan: MeasuredScan) -> Iterator[Found]:
    ppi = scan.m.ppi
    if ppi is not None and not scan.m.camera and resolution.is_default(ppi):
        yield finding("ppi-default", f"{ppi:g} ppi", ppi, "72 and 96 stand for “not known”")


@_check("ppi-impossible")
def _ppi_impossible(scan: MeasuredScan) -> Iterator[Found]:
    if scan.ppi is None:
        return
    size = resolution.size_mm(scan.width, scan.height, scan.ppi)
    times = resolution.larger_than_bed(size)
    if times > BY_KIND["ppi-impossible"].limit:
        yield finding(
            "ppi-impossible",
            f"{size[0] / 10:.0f} × {size[1] / 10:.0f} cm at {scan.ppi:g} ppi",
            times,
            "31 × 44 cm, the largest bed at home",
        )


@_check("capture-pixels")
def _capture_pixels(scan: MeasuredScan) -> Iterator[Found]:
    capture = scan.original.capture
    if capture is not None and capture.along < scan.least_along:
        centimetres = capture.along / resolution.PRINT_PPI * resolution.MM_PER_INCH / 10
        yield finding(
            "capture-pixels",
            f"{capture.along:,.0f} pixels along the print, enough for a good copy of {centimetres:.0f} cm",
            capture.along,
            f"{scan.least_along:,.0f} pixels",
            source="set here: kinphoto scans floor" if "print" in scan.original.floors else "",
        )


@_check("perspective")
def _perspective(scan: MeasuredScan) -> Iterator[Found]:
    capture, limit = scan.original.capture, BY_KIND["perspective"].limit
    if capture is not None and capture.angle > limit:
        yield finding(
            "perspective",
            f"{capture.angle:.0f} degrees from straight above; the far side has {1 / capture.uneven:.0%} of the pixels "
            "of the near one",
            capture.angle,
            f"{limit:g} degrees",
        )


@_check("bits-low")
def _bits_low(scan: MeasuredScan) -> Iterator[Found]:
    if scan.m.bits is not None and scan.m.bits < 8:
        bits = scan.m.bits
        yield finding("bits-low", f"{bits} bit{'' if bits == 1 else 's'} a channel", bits, "8 bits a channel")


@_check("grey")
def _grey(scan: MeasuredScan) -> Iterator[Found]:
    if scan.m.grey and scan.original.coloured:
        yield finding("grey", "grey", 1, "colour, because the print is toned or coloured")


@_check("jpeg-low")
def _jpeg_low(scan: MeasuredScan) -> Iterator[Found]:
    if scan.m.quality is not None and scan.m.quality < BY_KIND["jpeg-low"].limit:
        yield finding("jpeg-low", f"quality {scan.m.quality}", scan.m.quality, "quality 80 of 100")


@_check("jpeg-twice")
def _jpeg_twice(scan: MeasuredScan) -> Iterator[Found]:
    if scan.m.saved_twice > BY_KIND["jpeg-twice"].limit:
        yield finding(
            "jpeg-twice", f"traces of an earlier compression ({scan.m.saved_twice:.2f})", scan.m.saved_twice, "0.25"
        )


@_check("damaged")
def _damaged(scan: MeasuredScan) -> Iterator[Found]:
    if scan.m.unwritten > BY_KIND["damaged"].limit:
        yield finding("damaged", f"the bottom {scan.m.unwritten:.0%} is empty", scan.m.unwritten, "1 %")


@_check("clipped-light")
def _clipped_light(scan: MeasuredScan) -> Iterator[Found]:
    if scan.m.clipped_light > BY_KIND["clipped-light"].limit:
        yield finding(
            "clipped-light", f"{scan.m.clipped_light:.1%} of the picture is pure white", scan.m.clipped_light, "1 %"
        )


@_check("clipped-dark")
def _clipped_dark(scan: MeasuredScan) -> Iterator[Found]:
    if scan.m.clipped_dark > BY_KIND["clipped-dark"].limit:
        yield finding(
            "clipped-dark", f"{scan.m.clipped_dark:.1%} of the picture is pure black", scan.m.clipped_dark, "2 %"
        )


@_check("blurred")
def _blurred(scan: MeasuredScan) -> Iterator[Found]:
    spread, limit = scan.m.spread, BY_KIND["blurred"].limit
    if spread is None or spread <= limit or _grainy(scan.m):
        return
    if scan.ppi is not None and sharpness.effective_ppi(scan.ppi, spread) >= scan.least_ppi:
        return  # there are pixels to spare
    capture = scan.original.capture
    if capture is not None and sharpness.effective_ppi(capture.along, spread) >= scan.least_along:
        return
    detail = "" if scan.ppi is None else f": the detail of {sharpness.effective_ppi(scan.ppi, spread):.0f} ppi"
    yield finding("blurred", f"the sharpest edges spread over {spread:.1f} pixels{detail}", spread, f"{limit:g} pixels")


def _grainy(m: Measures) -> bool:
    """Whether paper grain or dust is sharp, so that it is the picture which is soft and not its scan."""
    return min(m.grain) >= _GRAIN


@_check("shaken")
def _shaken(scan: MeasuredScan) -> Iterator[Found]:
    limit = BY_KIND["shaken"].limit
    if _grainy(scan.m):
        return
    across, rising, down, falling = scan.m.spread_by_direction
    along_rows, along_columns = scan.m.grain
    ratio = max(scan.m.grain) / max(min(scan.m.grain), 1e-6)
    smeared = across if along_rows < along_columns else down  # the direction in which the grain is lost
    if ratio >= _GRAIN_LOST and smeared is not None and smeared > limit:
        yield _shaken_by(smeared, min(each for each in (across, down) if each is not None), limit)
        return
    for one, other in ((across, down), (down, across)):
        if one is not None and other is not None and one > limit and other <= one / 2 and ratio >= _SHAKEN_GRAIN:
            yield _shaken_by(one, other, limit)
            return
    # What moved along a diagonal moved along both sides as well, by 1/sqrt(2) of it.
    least = min((each for each in (across, down) if each is not None), default=float("inf"))
    for one, other in ((rising, falling), (falling, rising)):
        if one is not None and other is not None and one > limit and other <= one / 2 and least >= one / 2:
            yield _shaken_by(one, other, limit)
            return


def _shaken_by(one: float, other: float, limit: float) -> Found:
    return finding(
        "shaken",
        f"edges spread over {one:.1f} pixels in one direction and {other:.1f} in the other",
        one,
        f"{limit:g} pixels",
    )


@_check("glare")
def _glare(scan: MeasuredScan) -> Iterator[Found]:
    if scan.m.glare > BY_KIND["glare"].limit:
        yield finding("glare", f"{scan.m.glare:.1%} of the picture", scan.m.glare, "0.4 %")


@_check("cut")
def _cut(scan: MeasuredScan) -> Iterator[Found]:
    if scan.m.cut:
        from kinphoto.phrases import listed

        yield finding("cut", f"on the {listed(list(scan.m.cut))}", len(scan.m.cut), "a margin of bed on every side")


@_check("tilted")
def _tilted(scan: MeasuredScan) -> Iterator[Found]:
    limit = BY_KIND["tilted"].limit
    if scan.m.tilt is not None and abs(scan.m.tilt) > limit:
        way = "right" if scan.m.tilt > 0 else "left"
        yield finding("tilted", f"{abs(scan.m.tilt):.1f} degrees to the {way}", abs(scan.m.tilt), f"{limit:g} degrees")


@_check("dust")
def _dust(scan: MeasuredScan) -> Iterator[Found]:
    if scan.marks:
        several = "" if scan.marks == 1 else "s"
        yield finding(
            "dust",
            f"{scan.marks} speck{several} or hair{several} in the same place{several} in other scans",
            scan.marks,
            "none in 3 scans",
        )


@_check("enlarged")
def _enlarged(scan: MeasuredScan) -> Iterator[Found]:
    limit = BY_KIND["enlarged"].limit
    if scan.m.interpolated > limit:
        yield finding(
            "enlarged",
            f"a regular pattern of computed pixels, {scan.m.interpolated:.0f} times as strong as chance",
            scan.m.interpolated,
            f"{limit:g} times",
        )


@_check("sharpened")
def _sharpened(scan: MeasuredScan) -> Iterator[Found]:
    limit = BY_KIND["sharpened"].limit
    if scan.m.overshoot > limit:
        yield finding("sharpened", f"edges overshoot by {scan.m.overshoot:.0%}", scan.m.overshoot, f"{limit:.0%}")


@_check("stretched")
def _stretched(scan: MeasuredScan) -> Iterator[Found]:
    if scan.m.empty_levels > BY_KIND["stretched"].limit:
        yield finding("stretched", f"{scan.m.empty_levels:.0%} of the levels are empty", scan.m.empty_levels, "10 %")


@_check("clipped-colours")
def _clipped_colours(scan: MeasuredScan) -> Iterator[Found]:
    if scan.m.channels_clipped > BY_KIND["clipped-colours"].limit:
        share = scan.m.channels_clipped
        yield finding(
            "clipped-colours", f"at least {share:.2%} cut off at both ends of red, green and blue", share, "0.1 %"
        )


@_check("sideways")
def _sideways(scan: MeasuredScan) -> Iterator[Found]:
    if scan.m.up in ("left", "right", "over"):
        way = {"left": "a quarter to the left", "right": "a quarter to the right", "over": "upside down"}[scan.m.up]
        yield finding(
            "sideways",
            f"turned {way} it would be {scan.m.up_why}",
            1,
            "upright",
            f"Have a look. To turn it: kinphoto scans turn SCAN {scan.m.up}.",
        )


@_check("faded")
def _faded(scan: MeasuredScan) -> Iterator[Found]:
    reach = scan.m.lightest - scan.m.darkest
    if not film_findings.is_negative(scan.m) and reach < BY_KIND["faded"].limit:
        yield finding("faded", f"tones over {reach:.0f} of 100 steps", reach, "45 steps")


@_check("cast")
def _cast(scan: MeasuredScan) -> Iterator[Found]:
    if scan.m.hues >= COLOURED and scan.m.cast > BY_KIND["cast"].limit and not film_findings.is_negative(scan.m):
        yield finding(
            "cast",
            f"{_hue(scan.m.cast_a, scan.m.cast_b)}, {scan.m.cast:.1f} times the scatter of its colours",
            scan.m.cast,
            "1.5 times",
        )


def _hue(a: float, b: float) -> str:
    """A hue in a word, from CIE a* and b*."""
    if abs(a) > 2 * abs(b):
        return "red" if a > 0 else "green"
    if abs(b) > 2 * abs(a):
        return "yellow" if b > 0 else "blue"
    return {(True, True): "orange", (True, False): "magenta", (False, True): "yellow-green"}.get((a > 0, b > 0), "cyan")
