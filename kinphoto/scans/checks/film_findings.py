"""What is found about film: whether it is a negative, surely or perhaps, whether dust removal painted it over, and
whether it has too few tones."""

from __future__ import annotations

from collections.abc import Iterator

from kinphoto.scans.checks import film
from kinphoto.scans.checks.found import Found, MeasuredScan, finding
from kinphoto.scans.checks.limits import BY_KIND, ROLL_FILM
from kinphoto.scans.checks.measures import Measures
from kinphoto.scans.checks.originals import kind_of_original
from kinphoto.scans.checks.tones import COLOURED

_FILM_WIDTH_OFF = 1.5  # millimetres by which what lies in a holder may differ from the width of film
_NO_BLACK, _NO_LAMP = 12.0, 96.0  # L*: the densest part of a negative is lighter, its clearest darker


def bits(scan: MeasuredScan) -> Iterator[Found]:
    """`bits-film`: fewer than 16 bits a channel."""
    if scan.floor in ("film", "film-35mm") and scan.m.bits is not None and scan.m.bits < 16:
        yield finding("bits-film", f"{scan.m.bits} bits a channel", scan.m.bits, "16 bits a channel for film")


def repaired(scan: MeasuredScan) -> Iterator[Found]:
    """`repaired`: patches without grain in black-and-white film."""
    of_film = scan.floor in ("film", "film-35mm") or is_negative(scan.m) or scan.m.clear_edges >= film.CLEAR
    limit = BY_KIND["repaired"].limit
    if of_film and scan.m.hues < COLOURED and scan.m.smoothed > limit:
        yield finding(
            "repaired",
            f"{scan.m.smoothed:.1%} of the picture lies in small patches without grain",
            scan.m.smoothed,
            f"{100 * limit:g} %",
        )


def negative(scan: MeasuredScan) -> Iterator[Found]:
    """`negative`: what is sure to be one."""
    if not is_negative(scan.m):
        return
    mask = f"{scan.m.orange:.0%} of it has the mask, the clearest film too"
    edges = f"its edges are clearer than {scan.m.clear_edges:.0%} of the picture, and perforated"
    if scan.m.orange >= film.MASKED:
        yield finding("negative", mask, scan.m.orange, "95 %")
    else:
        yield finding("negative", edges, scan.m.clear_edges, "90 %")


def perhaps_negative(scan: MeasuredScan) -> Iterator[Found]:
    """`negative-perhaps`: what looks like one, for somebody to say."""
    m = scan.m
    if film.surely_negative(m.perforated, m.clear_edges, m.orange):
        return
    if m.orange >= film.MOSTLY_MASKED:
        measured, value = f"{m.orange:.0%} of it is as orange as film with a mask", m.orange
    elif m.clear_edges >= film.CLEAR and scan.ppi is None:
        measured, value = f"edges clearer than {m.clear_edges:.0%} of the picture, in black", m.clear_edges
    elif m.clear_edges >= film.CLEAR and _as_wide_as_film(scan):
        measured = f"edges clearer than {m.clear_edges:.0%} of the picture, in black, and as wide as roll film"
        value = m.clear_edges
    elif _frame_without_blacks(scan):
        measured = f"a grey frame of 35 mm film whose darkest tones are grey: {m.darkest:.0f} of 100 steps of lightness"
        value = m.darkest
    else:
        return
    yield finding(
        "negative-perhaps", measured, value, "80 % orange; edges clearer than 90 %; or, in a grey frame, no black"
    )


def _as_wide_as_film(scan: MeasuredScan) -> bool:
    """Whether what lies in a black holder has the width of roll film: a print with a white border on a black ground
    looks the same, but is seldom as wide and seldom scanned as film is."""
    wide = any(abs(edge - width) <= _FILM_WIDTH_OFF for edge in scan.size for width in ROLL_FILM)
    return wide and scan.ppi is not None and scan.ppi >= film.FILM_PPI


def _frame_without_blacks(scan: MeasuredScan) -> bool:
    """Whether it is a frame of 35 mm film without hues, by its size and resolution, and nothing in it is black: the
    shadows of a slide let hardly anything through, but the densest part of a negative does."""
    return (
        not scan.original.kind
        and scan.ppi is not None
        and scan.ppi >= film.FILM_PPI
        and kind_of_original(scan.size) == "film-35mm"
        and scan.m.hues < COLOURED
        and _NO_BLACK <= scan.m.darkest < scan.m.lightest <= _NO_LAMP
    )


def is_negative(m: Measures) -> bool:
    """Whether it is surely a negative (`film.surely_negative`)."""
    return film.surely_negative(m.perforated, m.clear_edges, m.orange)
