"""Draws the box of photographs again: `python -m sample_tree.draw [FILE ...]`.

Writes scans/ (the pictures) and truth/faces.csv (where each face lies, in shares of the upright scan). The same program
gives the same pixels every time; only the JPEG encoder may differ between versions of Pillow.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from zlib import crc32

import numpy as np
from PIL import Image

from .backs import BACKS, Back, draw_back
from .box import ALBUM_PAGE, BY_FILE, COPIED, COPY, RESCAN, RESCANNED, Shot, Sitter, Thing
from .drawing import mounts, pages, prints
from .drawing.body import Body
from .drawing.canvas import Canvas, Frame, Pixels
from .drawing.figures import Box, Figure, Pose, body_of, draw_figure, draw_hand
from .drawing.people import Guise, draw_person, figure_for
from .drawing.props import PROPS, draw_bundle, draw_car, draw_table
from .drawing.scenery import draw_place
from .family import BY_ID, HERE, age_on
from .outside import OUTSIDE

SCANS = HERE / "scans"
FACES = HERE / "truth" / "faces.csv"
MOST_BYTES = 190_000
ON_PAGE = ("outing_0001", "outing_0002", "outing_0003", "outing_0004", "outing_0005")


@dataclass(frozen=True, slots=True)
class Scan:
    """A finished scan: pixels in 0..1, ppi, and the face of each sitter as left, top, width, height in shares."""

    px: Pixels
    ppi: int
    faces: dict[int, tuple[float, float, float, float]]


def _rng(words: str) -> np.random.Generator:
    """Randomness that belongs to a file, whatever else is drawn."""
    return np.random.default_rng(crc32(words.encode()))


# The scene ---------------------------------------------------------------------------------------------------------


def sitter_age(sitter: Sitter, shot: Shot) -> tuple[int, str, float]:
    """The number, sex and true age of somebody on the day of the picture."""
    if ":" in sitter.who:
        sex, born = sitter.who.split(":")
        place = shot.sitters.index(sitter)
        return 900 + crc32(f"{shot.file}{place}".encode()) % 5000, sex, shot.day.year - int(born) + 0.3
    person = OUTSIDE[sitter.who] if sitter.who in OUTSIDE else BY_ID[sitter.who]
    return int(person.id[1:]) + (500 if sitter.who in OUTSIDE else 0), person.sex, age_on(person, shot.day)


def draw_scene(shot: Shot, width: int, height: int) -> tuple[Canvas, dict[int, Box]]:
    """Everything in front of the camera, and the face of each sitter in pixels."""
    rng = _rng(shot.file)
    canvas = Canvas(width, height)
    draw_place(canvas, shot.place, shot.ground, shot.day.year, rng)
    scale = height / shot.cm
    for thing in shot.things:
        if not thing.front:
            _thing(canvas, thing, shot, scale, rng)
    faces: dict[int, Box] = {}
    drawn: dict[str, tuple[Figure, Frame, Body]] = {}
    for i, sitter in enumerate(shot.sitters):
        faces[i] = _sit(canvas, sitter, shot, scale, i, drawn)
    for thing in shot.things:
        if thing.front:
            _thing(canvas, thing, shot, scale, rng)
    return canvas, faces


def _thing(canvas: Canvas, thing: Thing, shot: Shot, scale: float, rng: np.random.Generator) -> None:
    frame = Frame(thing.x * canvas.width, (thing.y or shot.base) * canvas.height, 100 * scale * thing.size)
    if thing.name.startswith("car"):
        colour = {"1926": (0.24, 0.2, 0.2), "1930": (0.32, 0.30, 0.34), "1967": (0.42, 0.66, 0.72)}[thing.name[4:]]
        draw_car(canvas, frame, int(thing.name[4:]), colour)
    elif thing.name == "bundle":
        draw_bundle(canvas, frame, rng)
    elif thing.name == "cake":
        draw_table(canvas, frame, cake=True)
    else:
        PROPS[thing.name](canvas, frame)


def _sit(
    canvas: Canvas, sitter: Sitter, shot: Shot, scale: float, place: int, drawn: dict[str, tuple[Figure, Frame, Body]]
) -> Box:
    """Draw one sitter where it belongs: on the ground, on a seat, on a lap, in somebody's arms."""
    number, sex, age = sitter_age(sitter, shot)
    guise = Guise(sitter.wear, sitter.hat, sitter.style, sitter.turn, sitter.smile, sitter.shut)
    pose = Pose("arms" if sitter.pose == "pram" else sitter.pose, sitter.left, sitter.right, sitter.tilt)
    figure, unit = figure_for(number, sex, age, shot.day.year, pose, guise, canvas, scale, place)
    x, y = sitter.x * canvas.width, (sitter.y or shot.base) * canvas.height
    if sitter.of:
        return _held(canvas, sitter, figure, unit, drawn[sitter.of])
    if sitter.pose == "pram":
        return draw_figure(canvas, Frame(x + 2 * scale, y - 90 * scale, unit, -0.55), figure)
    if sitter.seat:
        _seat(canvas, sitter.seat, x, y, body_of(figure), unit)
    face = draw_person(canvas, x, y, figure, unit)
    drawn[sitter.who] = (figure, Frame(x, y, unit), body_of(figure))
    return face


def _seat(canvas: Canvas, seat: str, x: float, y: float, body: Body, unit: float) -> None:
    """What somebody sits on, at the height of the hips."""
    high = -body.hip_y * unit
    if seat == "stool":
        canvas.fill([(x - unit * 0.75, y - high * 0.95), (x + unit * 0.75, y - high * 0.95), (x + unit * 0.7, y), (x - unit * 0.7, y)],
                    (0.40, 0.30, 0.21), relief=0.3, shadow=0.2)  # fmt: skip
        return
    PROPS[seat](canvas, Frame(x, y, high / (0.6 if seat == "wicker chair" else 0.52)))


def _held(canvas: Canvas, sitter: Sitter, figure: Figure, unit: float, holder: tuple[Figure, Frame, Body]) -> Box:
    """A child on a lap or in arms, and the holder's hand over it."""
    big, frame, body = holder
    if sitter.pose == "lap":
        seat = body_of(figure).hip_y
        x, y = frame.at(0.12, body.hip_y - 0.02)
        face = draw_person(canvas, x, y - seat * unit, figure, unit)
        draw_hand(
            canvas,
            frame,
            (-0.42, body.waist_y + 0.25),
            (-0.9, body.waist_y - 0.2),
            big.head.looks.skin,
            body.limb / 0.19,
        )
        return face
    x, y = frame.at(0.02, body.waist_y + 0.02)
    face = draw_figure(canvas, Frame(x, y, unit, -1.12), figure)
    draw_hand(canvas, frame, (0.42, body.waist_y + 0.22), (0.9, body.waist_y), big.head.looks.skin, body.limb / 0.19)
    return face


# The object and its scan -------------------------------------------------------------------------------------------

MOUNTS = {
    "cream": ((0.91, 0.86, 0.75), (0.46, 0.33, 0.22), (0.62, 0.45, 0.30), 0.4),
    "cream rounded": ((0.92, 0.88, 0.78), (0.55, 0.27, 0.22), (0.62, 0.30, 0.24), 2.6),
    "maroon": ((0.30, 0.11, 0.12), mounts.GOLD, mounts.GOLD, 2.2),
    "grey": ((0.72, 0.70, 0.65), (0.34, 0.31, 0.28), None, 1.5),
    "grey large": ((0.66, 0.645, 0.61), (0.27, 0.25, 0.24), (0.56, 0.54, 0.51), 0.8),
    "cream large": ((0.88, 0.85, 0.78), (0.4, 0.36, 0.32), (0.76, 0.72, 0.65), 0.8),
}
"""Colour of the card, of the imprint, of the rule around it, and the radius of its corners in mm."""


def object_of(shot: Shot) -> tuple[mounts.Sheet, dict[int, Box]]:
    """The print of a shot on its mount, and the faces in the pixels of the object."""
    kind, rng = mounts.KINDS[shot.kind], _rng(shot.file + " print")
    width, height = mounts.print_size(kind, shot.landscape)
    canvas, faces = draw_scene(shot, width, height)
    tones = shot.tones or ("gelatin-silver" if shot.process in prints.COLOURED else shot.process)
    picture = prints.develop(canvas.px, shot.process, tones, shot.day.year, shot.wear, rng)
    if shot.process == "gelatin-silver" and shot.day.year < 1940:
        picture = np.clip(prints.mirrored(picture, rng), 0, 1)
    sheet = _mounted(shot, kind, picture, rng)
    return sheet, {
        i: (b[0] + sheet.left, b[1] + sheet.top, b[2] + sheet.left, b[3] + sheet.top) for i, b in faces.items()
    }


def _mounted(shot: Shot, kind: mounts.Kind, picture: Pixels, rng: np.random.Generator) -> mounts.Sheet:
    if shot.style in MOUNTS:
        card, ink, rule, corner = MOUNTS[shot.style]
        return mounts.on_card(picture, kind, shot.landscape, card, ink, shot.lines, rule, corner, rng)
    if shot.kind == "tintype":
        return mounts.plate(picture, kind, rng)
    if shot.kind == "slide-35mm":
        return mounts.slide(picture, kind, shot.stamp, 4 + int(rng.integers(30)), rng)
    paper = (
        (0.95, 0.945, 0.93) if shot.process in prints.COLOURED else mounts.tone_of((0.94, 0.925, 0.885), shot.day.year)
    )
    corner = 5.0 if shot.style == "rounded" else 0.3
    return mounts.with_border(picture, kind, shot.landscape, paper, corner, rng, shot.stamp, shot.kind == "deckle-edge")


def _scanned(file: str, sheet: mounts.Sheet, faces: dict[int, Box], ppi: int) -> Scan:
    """Lay an object on the glass a little askew, and carry its faces along."""
    rng = _rng(file + " scan")
    turn = float(rng.normal(0, 0.35))
    px = mounts.scan(sheet, rng, margin := 16, turn)
    high, wide = px.shape[:2]
    shares = {}
    for i, box in faces.items():
        moved = (box[0] + margin, box[1] + margin, box[2] + margin, box[3] + margin)
        left, top, right, bottom = mounts.turned_box(moved, wide, high, turn)
        left, top, right, bottom = max(left, 0), max(top, 0), min(right, wide), min(bottom, high)
        shares[i] = (left / wide, top / high, (right - left) / wide, (bottom - top) / high)
    return Scan(px, ppi, shares)


def draw(file: str) -> Scan:
    """One scan of the box, by its path below scans/."""
    if file == ALBUM_PAGE:
        return _album_page()
    if file == COPY:
        return _copy()
    if file == RESCAN:
        shot = BY_FILE[RESCANNED]
        return _scanned(file, *object_of(shot), mounts.KINDS[shot.kind].ppi)
    if file in BACKS:
        back: Back = BACKS[file]
        canvas = draw_back(back, _rng(file))
        return _scanned(file, pages.blank_like(canvas, _rng(file + " edge")), {}, mounts.KINDS[back.kind].ppi)
    shot = BY_FILE[file]
    return _scanned(file, *object_of(shot), mounts.KINDS[shot.kind].ppi)


def _album_page() -> Scan:
    """The page of the green album with its five prints."""
    places = ((0.05, 0.05, 1.2), (0.53, 0.04, -0.8), (0.055, 0.365, -1.0), (0.62, 0.355, 0.7), (0.1, 0.675, 0.5))
    captions = (
        ("the new pram", 0.14, 0.345), ("Grandfather", 0.64, 0.33), ("Sandle Point", 0.15, 0.655), ("at the door", 0.68, 0.76),
        ("a borrowed car!", 0.18, 0.965),
    )  # fmt: skip
    pieces = []
    for name, (left, top, turn) in zip(ON_PAGE, places, strict=True):
        sheet, _ = object_of(BY_FILE[f"album-green/{name}.jpg"])
        small = _smaller(sheet.px, 0.42), _smaller(sheet.cover[..., None].repeat(3, -1), 0.42)[..., 0]
        pieces.append((*small, left, top, turn))
    page = pages.album_page(pieces, list(captions), 1120, 1340, _rng(ALBUM_PAGE))
    return _scanned(ALBUM_PAGE, page, {}, 150)


def _smaller(px: Pixels, share: float) -> Pixels:
    image = Image.fromarray((np.clip(px, 0, 1) * 255).astype(np.uint8))
    size = (round(image.width * share), round(image.height * share))
    return np.asarray(image.resize(size, Image.Resampling.LANCZOS), np.float32) / 255


def _copy() -> Scan:
    """A copy that somebody had made in the nineteen-thirties from the oldest portrait, card and all."""
    original, rng = BY_FILE[COPIED], _rng(COPY)
    sheet, faces = object_of(original)
    kind = mounts.KINDS["white-border"]
    width, height = mounts.print_size(kind, False)
    high, wide = sheet.px.shape[:2]
    top = round((high - wide * height / width) / 2)
    cut = sheet.px[max(top, 0) : high - max(top, 0)]
    image = Image.fromarray((np.clip(cut, 0, 1) * 255).astype(np.uint8)).resize(
        (width, height), Image.Resampling.LANCZOS
    )
    wear = prints.Wear(fade=0.15, foxing=0.05, scratches=0.3, vignette=0.15, blur=0.9)
    picture = prints.develop(np.asarray(image, np.float32) / 255, "gelatin-silver", "gelatin-silver", 1935, wear, rng)
    copy = mounts.with_border(picture, kind, False, (0.94, 0.93, 0.90), 0.3, rng)
    sx, sy = width / wide, height / cut.shape[0]
    moved = {
        i: (b[0] * sx + copy.left, (b[1] - max(top, 0)) * sy + copy.top, b[2] * sx + copy.left, (b[3] - max(top, 0)) * sy + copy.top)
        for i, b in faces.items()
    }  # fmt: skip
    return _scanned(COPY, copy, moved, kind.ppi)


# Files -------------------------------------------------------------------------------------------------------------


def files() -> list[str]:
    """Every scan of the box, in the order in which it was scanned."""
    return sorted([*BY_FILE, *BACKS, ALBUM_PAGE, COPY, RESCAN])


def scanned_at(file: str) -> datetime:
    """The evening on which a scan was made: four or five an evening, through the winter of 2024 to 2025."""
    order = files().index(file)
    evening = datetime(2024, 11, 2, 19, 10) + timedelta(days=9 * (order // 5))
    return evening + timedelta(minutes=6 * (order % 5), seconds=crc32(file.encode()) % 60)


def save(file: str, scan: Scan) -> None:
    """Write a scan with its ppi and, as scanners do, the moment of scanning in DateTimeOriginal."""
    path = SCANS / file
    path.parent.mkdir(parents=True, exist_ok=True)
    pixels = (np.clip(scan.px, 0, 1) * 255 + 0.5).astype(np.uint8)
    if file.endswith(".tif"):
        grey = (np.clip(scan.px.mean(-1), 0, 1) * 65535).astype(np.uint16)
        Image.fromarray(grey).save(path, dpi=(scan.ppi, scan.ppi), compression="tiff_adobe_deflate")
        return
    if file.endswith(".png"):
        small = (
            Image.fromarray(pixels)
            .convert("L")
            .resize((470, round(470 * pixels.shape[0] / pixels.shape[1])), Image.Resampling.LANCZOS)
        )
        small.save(path, dpi=(scan.ppi // 2, scan.ppi // 2), optimize=True)
        return
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = "Flatbed", "Evening 600"
    stamp = scanned_at(file).strftime("%Y:%m:%d %H:%M:%S")
    exif.get_ifd(0x8769)[0x9003] = stamp
    exif.get_ifd(0x8769)[0x9004] = stamp
    for quality in (88, 84, 80, 75, 70, 64, 58, 50):
        Image.fromarray(pixels).save(path, quality=quality, dpi=(scan.ppi, scan.ppi), exif=exif, optimize=True)
        if path.stat().st_size <= MOST_BYTES:
            return


def sitters_of(file: str) -> tuple[Sitter, ...]:
    """Who is in a scan."""
    shot = BY_FILE.get(COPIED if file == COPY else RESCANNED if file == RESCAN else file)
    return shot.sitters if shot else ()


def _rows(file: str, scan: Scan) -> Iterator[list[str]]:
    for i, sitter in enumerate(sitters_of(file)):
        yield [file, str(i), sitter.who, *(f"{share:.4f}" for share in scan.faces[i])]


def main(chosen: list[str], say: Callable[[str], None] = print) -> None:
    """Draw all, or the chosen, scans and write where the faces are."""
    known: dict[str, list[list[str]]] = {}
    if FACES.exists():
        with FACES.open(encoding="utf-8", newline="") as lines:
            for row in list(csv.reader(lines))[1:]:
                known.setdefault(row[0], []).append(row)
    for file in chosen or files():
        scan = draw(file)
        save(file, scan)
        known[file] = list(_rows(file, scan))
        say(file)
    FACES.parent.mkdir(exist_ok=True)
    with FACES.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(["photo", "place", "who", "left", "top", "width", "height"])
        writer.writerows(row for file in files() for row in known.get(file, []))


if __name__ == "__main__":
    main(sys.argv[1:])
