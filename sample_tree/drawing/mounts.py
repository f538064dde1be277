"""From a print to a scan: card mounts and borders, imprints, the backs of things, album pages, and the scanner's glass."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageFilter

from .canvas import Canvas, Colour, Pixels, cloud, mix
from .lettering import width_of, write

Rng = np.random.Generator
Box = tuple[float, float, float, float]
GOLD: Colour = (0.74, 0.60, 0.34)


@dataclass(frozen=True, slots=True)
class Kind:
    """The measures of a kind of object in mm, upright: the whole of it, the print on it, the margin above the print,
    and the ppi at which its owner scans it."""

    wide: float
    high: float
    print_wide: float
    print_high: float
    above: float
    ppi: int


KINDS: dict[str, Kind] = {
    "carte-de-visite": Kind(63, 103, 55, 88, 4.5, 300),
    "small carte": Kind(63, 103, 55, 88, 4.5, 120),
    "cabinet-card": Kind(108, 165, 98, 140, 5.5, 200),
    "tintype": Kind(64, 83, 64, 83, 0, 360),
    "real-photo-postcard": Kind(88, 138, 88, 138, 0, 220),
    "postcard-white": Kind(88, 138, 80, 130, 4, 220),
    "large mount": Kind(200, 260, 152, 204, 22, 130),
    "school mount": Kind(200, 250, 160, 205, 17, 130),
    "white-border": Kind(76, 110, 66, 100, 5, 300),
    "small print": Kind(64, 90, 56, 82, 4, 320),
    "deckle-edge": Kind(88, 118, 76, 106, 6, 260),
    "cyanotype": Kind(95, 125, 95, 125, 0, 240),
    "square-126": Kind(89, 89, 79, 79, 5, 300),
    "colour print": Kind(89, 127, 89, 127, 0, 240),
    "slide-35mm": Kind(50, 50, 34.2, 22.9, 13.5, 600),
}


@dataclass
class Sheet:
    """An object on its way to being a scan: its pixels, where it is (1) or the glass shows (0), and where the print lies."""

    px: Pixels
    cover: Pixels
    left: float
    top: float


def print_size(kind: Kind, landscape: bool) -> tuple[int, int]:
    """Width and height in pixels of the picture itself."""
    dot = kind.ppi / 25.4
    w, h = round(kind.print_wide * dot), round(kind.print_high * dot)
    return (max(w, h), min(w, h)) if landscape else (min(w, h), max(w, h))


def sheet_size(kind: Kind, landscape: bool) -> tuple[int, int]:
    """Width and height in pixels of the whole object."""
    dot = kind.ppi / 25.4
    w, h = round(kind.wide * dot), round(kind.high * dot)
    return (max(w, h), min(w, h)) if landscape else (min(w, h), max(w, h))


def rounded(w: int, h: int, radius: float, rng: Rng, worn: float = 0.3) -> Pixels:
    """Where a card with rounded and slightly worn corners is."""
    fine = 2
    yy, xx = np.mgrid[0 : h * fine, 0 : w * fine].astype(np.float32) / fine
    r = max(radius, 1.0)
    dx, dy = np.maximum(np.maximum(r - xx, xx - (w - r)), 0), np.maximum(np.maximum(r - yy, yy - (h - r)), 0)
    inside = (np.hypot(dx, dy) <= r).astype(np.uint8) * 255
    mask = Image.fromarray(inside).reduce(fine)
    cover = np.asarray(mask, np.float32) / 255
    if worn:
        bite = cloud(w, h, 9, rng, 2)
        y, x = np.mgrid[0:h, 0:w].astype(np.float32)
        near = np.minimum(np.minimum(x, w - x), np.minimum(y, h - y))
        cover = cover * (near > 0.8 + worn * 1.6 * np.clip(bite, 0, 1))
    return cover


def card(w: int, h: int, colour: Colour, rng: Rng, dirt: float = 0.5) -> Canvas:
    """A piece of paper or card, toned and a little dirty towards its edges."""
    canvas = Canvas(w, h, colour)
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    near = np.minimum(np.minimum(x, w - x), np.minimum(y, h - y)) / (0.12 * min(w, h))
    tone = 1 - 0.09 * dirt * np.exp(-near) - 0.02 * dirt * np.clip(cloud(w, h, w / 4, rng, 4), -1, 1)
    fibre = rng.normal(0, 0.006, (h, w)).astype(np.float32)
    canvas.px *= (tone + fibre)[..., None]
    canvas.px[..., 2] *= 1 - 0.05 * dirt * np.exp(-near)
    for _ in range(int(18 * dirt)):
        px, py, r = rng.uniform(0, w), rng.uniform(0, h), abs(rng.normal(0, 2.2)) + 1
        canvas.glow(px, py, r, r, (0.5, 0.36, 0.22), float(rng.uniform(0.1, 0.35)))
    return canvas


def lay(canvas: Canvas, picture: Pixels, left: int, top: int, edge: float = 0.0) -> None:
    """Paste a print on a card; `edge` darkens the card around it."""
    h, w = picture.shape[:2]
    if edge:
        for grow, alpha in ((3, 0.10), (1, 0.25)):
            ring = [
                (left - grow, top - grow),
                (left + w + grow, top - grow),
                (left + w + grow, top + h + grow),
                (left - grow, top + h + grow),
            ]
            canvas.shade(ring, (0.2, 0.15, 0.1), alpha * edge, 1.5)
    canvas.px[top : top + h, left : left + w] = picture


def imprint(canvas: Canvas, lines: tuple[str, ...], y: float, size: float, ink: Colour, rng: Rng) -> None:
    """A photographer's name in script between flourishes, and his town in capitals."""
    name, *rest = lines
    w = canvas.width
    wide = width_of(name, size)
    x = w / 2 - wide / 2 - size * 0.1
    steady = np.random.default_rng(1)
    write(canvas, name, x, y, size, ink, rng=steady, weight=0.07, alpha=0.95)
    for side in (-1, 1):
        start = w / 2 + side * (wide / 2 + size * 0.9)
        curl = [
            (start, y - size * 0.25),
            (start + side * size * 1.1, y - size * 0.45),
            (start + side * size * 2.4, y - size * 0.15),
            (start + side * size * 3.4, y - size * 0.3),
        ]
        canvas.stroke(curl, ink, max(1.0, size * 0.05), alpha=0.8, taper=True)
    for i, line in enumerate(rest):
        small = size * 0.46
        spaced = line.upper()
        x = w / 2 - width_of(spaced, small, True) / 2
        write(
            canvas, spaced, x, y + size * (0.95 + 0.8 * i), small, ink, rng=steady, upright=True, weight=0.09, alpha=0.9
        )


def on_card(
    picture: Pixels,
    kind: Kind,
    landscape: bool,
    colour: Colour,
    ink: Colour,
    lines: tuple[str, ...],
    rule: Colour | None,
    corner: float,
    rng: Rng,
) -> Sheet:
    """A print on a photographer's card mount."""
    w, h = sheet_size(kind, landscape)
    canvas = card(w, h, colour, rng, 0.7)
    ph, pw = picture.shape[:2]
    left, top = (w - pw) // 2, round(kind.above * kind.ppi / 25.4)
    lay(canvas, picture, left, top, 0.8)
    dot = kind.ppi / 25.4
    if rule:
        for gap, thick in ((1.6 * dot, 0.45 * dot), (2.6 * dot, 0.2 * dot)):
            corners = [(gap, gap), (w - gap, gap), (w - gap, h - gap), (gap, h - gap)]
            for start, end in zip(corners, [*corners[1:], corners[0]], strict=True):
                canvas.stroke([start, end], rule, max(1.0, thick), alpha=0.85)
    if lines:
        space = h - top - ph
        size = min(space * 0.34, w / max(width_of(lines[0], 1.0), 1) * 0.62)
        imprint(canvas, lines, top + ph + space * 0.46, size, ink, rng)
    return Sheet(canvas.px, rounded(w, h, corner * dot, rng, 0.7), left, top)


def with_border(
    picture: Pixels,
    kind: Kind,
    landscape: bool,
    paper: Colour,
    corner: float,
    rng: Rng,
    stamp: str = "",
    deckled: bool = False,
) -> Sheet:
    """A print with a paper border; `stamp` is the month of processing printed in it."""
    w, h = sheet_size(kind, landscape)
    canvas = card(w, h, paper, rng, 0.35)
    ph, pw = picture.shape[:2]
    left, top = (w - pw) // 2, (h - ph) // 2
    lay(canvas, picture, left, top)
    dot = kind.ppi / 25.4
    if stamp:
        size = 1.9 * dot
        write(
            canvas,
            stamp,
            w - left - width_of(stamp, size, True) - 1 * dot,
            h - (h - top - ph) * 0.32,
            size,
            (0.35, 0.33, 0.32),
            rng=np.random.default_rng(1),
            upright=True,
            weight=0.1,
        )
    cover = rounded(w, h, corner * dot, rng, 0.25)
    if deckled:
        cover = cover * _deckle(w, h, dot, rng)
    return Sheet(canvas.px, cover, left, top)


def _deckle(w: int, h: int, dot: float, rng: Rng) -> Pixels:
    """The wavy edge of a deckled print."""
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    phase = rng.uniform(0, 6, 4)

    def wave(t: Pixels, k: int) -> Pixels:
        return dot * (0.75 + 0.42 * np.sin(t / dot * 2.1 + phase[k]) + 0.3 * np.sin(t / dot * 3.7 + phase[k] * 2))

    ins = np.minimum.reduce([x - wave(y, 0), w - 1 - x - wave(y, 1), y - wave(x, 2), h - 1 - y - wave(x, 3)])
    return np.clip(ins + 0.5, 0, 1).astype(np.float32)


def slide(picture: Pixels, kind: Kind, stamp: str, number: int, rng: Rng) -> Sheet:
    """A transparency in its card mount."""
    w, h = sheet_size(kind, False)
    canvas = card(w, h, (0.93, 0.92, 0.88), rng, 0.5)
    ph, pw = picture.shape[:2]
    left, top = (w - pw) // 2, (h - ph) // 2
    dot = kind.ppi / 25.4
    canvas.px[top - 3 : top + ph + 3, left - 3 : left + pw + 3] *= 0.55
    hole = rounded(pw, ph, 1.5 * dot, rng, 0)[..., None]
    canvas.px[top : top + ph, left : left + pw] = picture * hole + np.asarray((0.1, 0.09, 0.09), np.float32) * (
        1 - hole
    )
    ink, steady = (0.55, 0.22, 0.2), np.random.default_rng(1)
    title = "COLOUR TRANSPARENCY"
    write(
        canvas,
        title,
        w / 2 - width_of(title, 1.7 * dot, True) / 2,
        5.2 * dot,
        1.7 * dot,
        ink,
        rng=steady,
        upright=True,
        weight=0.1,
    )
    if stamp:
        write(
            canvas,
            stamp,
            w / 2 - width_of(stamp, 1.5 * dot, True) / 2,
            h - 3.6 * dot,
            1.5 * dot,
            (0.3, 0.3, 0.33),
            rng=steady,
            upright=True,
            weight=0.1,
        )
    write(canvas, str(number), w - 6.5 * dot, 6.6 * dot, 3 * dot, (0.2, 0.24, 0.5), rng=rng, weight=0.1)
    return Sheet(canvas.px, rounded(w, h, 2 * dot, rng, 0.2), left, top)


def plate(picture: Pixels, kind: Kind, rng: Rng) -> Sheet:
    """A tintype: clipped corners, bent edges, specks of rust."""
    h, w = picture.shape[:2]
    canvas = Canvas(w, h)
    canvas.px = picture.copy()
    dot = kind.ppi / 25.4
    for _ in range(36):
        side = int(rng.integers(4))
        t, depth = rng.uniform(0, 1), abs(rng.normal(0, 1.1)) * dot
        x, y = ((t * w, depth), (t * w, h - depth), (depth, t * h), (w - depth, t * h))[side]
        canvas.glow(x, y, rng.uniform(0.2, 0.9) * dot, rng.uniform(0.2, 0.9) * dot, (0.34, 0.20, 0.12), 0.75)
    yy, xx = np.mgrid[0:h, 0:w].astype(np.float32)
    cut = 2.6 * dot
    cover = ((xx + yy > cut) & (w - xx + yy > cut * 0.8) & (xx + h - yy > cut * 1.2) & (w - xx + h - yy > cut)).astype(
        np.float32
    )
    return Sheet(canvas.px, cover * rounded(w, h, 1, rng, 0.5), 0, 0)


def scan(sheet: Sheet, rng: Rng, margin: int = 14, turn: float = 0.0) -> Pixels:
    """Lay an object on the scanner: a pale glass with a margin (pixels) around it, a soft shadow, a slight turn (degrees,
    about the middle of the scan)."""
    h, w = sheet.px.shape[:2]
    full_h, full_w = h + 2 * margin, w + 2 * margin
    pad = ((margin, margin), (margin, margin))
    px = np.pad(sheet.px, (*pad, (0, 0)), mode="edge")
    cover = np.pad(sheet.cover, pad)
    image = Image.fromarray((np.clip(px, 0, 1) * 255).astype(np.uint8)).rotate(turn, Image.Resampling.BICUBIC)
    mask = Image.fromarray((np.clip(cover, 0, 1) * 255).astype(np.uint8)).rotate(turn, Image.Resampling.BILINEAR)
    shadow = np.asarray(mask.filter(ImageFilter.GaussianBlur(5)), np.float32) / 255
    shadow = np.roll(np.roll(shadow, 3, 0), 3, 1)[..., None]
    glass = np.asarray((0.925, 0.928, 0.925), np.float32) * (1 - 0.38 * shadow)
    glass = glass + cloud(full_w, full_h, full_w / 3, rng, 2)[..., None] * 0.006
    alpha = np.asarray(mask, np.float32)[..., None] / 255
    result = glass * (1 - alpha) + np.asarray(image, np.float32) / 255 * alpha
    return np.clip(result, 0, 1).astype(np.float32)


def turned_box(box: Box, width: int, height: int, degrees: float) -> Box:
    """The upright box around a box that was turned with its picture."""
    a = np.deg2rad(degrees)
    cx, cy = (width - 1) / 2, (height - 1) / 2
    corners = [(x - cx, y - cy) for x in (box[0], box[2]) for y in (box[1], box[3])]
    xs = [cx + x * np.cos(a) + y * np.sin(a) for x, y in corners]
    ys = [cy - x * np.sin(a) + y * np.cos(a) for x, y in corners]
    return float(min(xs)), float(min(ys)), float(max(xs)), float(max(ys))


def tone_of(colour: Colour, year: int) -> Colour:
    """Card a little yellower the older it is."""
    return mix(colour, (0.86, 0.76, 0.56), min(max((1930 - year) / 200, 0), 0.3))
