"""The place of each of several prints on the glass, and which outlines somebody should look at.

A print is what differs from the bare bed (`ground.py`): clearly somewhere, at least a little up to its edge, so that a
white border on a white lid belongs to its picture. It is a rectangle (`rectangles.py`), each side laid on the edge of
the paper.

What the picture does not show is not guessed: such an outline is unsure and says why. Nothing on the bed is ignored:
what is neither bed, dust nor print is given back as something left.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from kinphoto.scans.beds.ground import ground_of
from kinphoto.scans.beds.places import Place
from kinphoto.scans.beds.rectangles import rectangle_around

PER_MM = 4.0
"""Pixels a millimetre, about 100 an inch, at which a bed is looked at: four points within the millimetre asked for."""

_FAINT, _CLEAR = 2.5, 9.0  # grey levels by which a print differs from the bed: up to its edge, and somewhere
_NOISY = 4.5  # standard deviations of the bed that are no difference
_SMALLEST = 12.0  # millimetres: the shorter side of a print at least
_SPECK = 4.0  # square millimetres: what is smaller and no print is dust
_HAIR = 1.2  # millimetres: what is thinner is a hair or a shadow
_BRIDGE = 1.5  # millimetres: what is thinner does not make one print of two
_INWARDS, _OUTWARDS = 1.8, 0.8  # millimetres around a fitted side in which the edge of the paper is looked for
_INNERMOST = 0.6  # of the strongest step: that of the paper's edge at least
_CLOSE = 1.0  # millimetres: prints that are nearer may touch
_SEAM = 0.93  # of a line from side to side that is an edge, where two prints may touch
_BORDER = 9.0  # millimetres: the widest white border that is looked for outside a picture
_LINE = 0.6  # of a side along which the shadow of an edge shows
_BEYOND = (1.4, 2.8)  # millimetres outside an outline: the strip in which the paper would go on
_HARDLY = 0.9  # grey levels by which such a strip differs from the lid at most, when it is the lid
_WHITE = 190.0  # grey levels: a lid that a white border can be mistaken for


_NOT_ONE = "its sides are not those of one rectangle: prints may touch or overlap, or it is torn or round"


@dataclass(frozen=True, slots=True)
class Outline:
    """A print on the bed. `doubts` say why somebody should look at it; a sure one has none."""

    place: Place
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Left:
    """Something on the bed that is in no outline: a box in pixels (left, top, right, lower edge)."""

    box: tuple[int, int, int, int]
    area: float


@dataclass(frozen=True, slots=True)
class Bed:
    """What is on a bed. `bed_seen` is False where the rim of the picture shows no even ground; then nothing is
    found. `covered` is the share of the picture that the outlines cover, `level` the grey level of the bed."""

    outlines: tuple[Outline, ...]
    left: tuple[Left, ...] = ()
    bed_seen: bool = True
    level: float = 0.0

    @property
    def sure(self) -> bool:
        """Whether everything on the bed is in outlines without a doubt."""
        return self.bed_seen and not self.left and not any(each.doubts for each in self.outlines)


def prints_on(picture: NDArray[np.uint8], per_mm: float = PER_MM) -> Bed:
    """The prints on a bed (RGB or grey, about `PER_MM` pixels a millimetre), in reading order."""
    colours = (picture[..., None] if picture.ndim == 2 else picture).astype(np.float32)
    ground = ground_of(colours)
    if ground is None:
        return Bed((), bed_seen=False)
    surface, noise = ground
    apart = np.abs(colours - surface).max(axis=2)
    faint, clear = max(_FAINT, _NOISY * noise), max(_CLEAR, 2 * _NOISY * noise)
    thin = ndimage.binary_opening(apart > faint, np.ones((3, 3)))
    solid = ndimage.binary_propagation(thin & (apart > clear), mask=thin)
    # Hairs and shadows that lie across a gap are thinner than any border; without them no gap is a hole.
    solid = ndimage.binary_opening(solid, np.ones((round(_BRIDGE * per_mm),) * 2))
    solid = ndimage.binary_fill_holes(ndimage.binary_closing(np.pad(solid, 2), np.ones((3, 3))))[2:-2, 2:-2]
    level = float(np.median(surface))
    found, rest = _fitted(solid, per_mm)
    grey = colours.mean(axis=2)
    found = [replace(each, place=_on_edges(each.place, grey, per_mm)) for each in found]
    lines = (apart > faint) & ~ndimage.binary_dilation(solid, iterations=round(0.8 * per_mm))
    found = [_with_border(each, lines, level, per_mm) for each in found]
    found = _told_apart(found, per_mm)
    rise = np.where(solid, np.nan, grey - surface.mean(axis=2))
    found = [_looked_at(each, picture, apart, rise, clear, level, per_mm) for each in found]
    order = _reading_order([each.place for each in found])
    left = _left_over(rest, [each.place for each in found], per_mm)
    return Bed(tuple(found[k] for k in order), left, True, level)


# Rectangles ----------------------------------------------------------------------------------------------------


def _fitted(solid: NDArray[np.bool_], per_mm: float) -> tuple[list[Outline], NDArray[np.bool_]]:
    """The rectangles of what is large enough, and the rest."""
    parts, _ = ndimage.label(solid)
    rest = np.zeros_like(solid)
    found = []
    for number, box in enumerate(ndimage.find_objects(parts), 1):
        one = parts[box] == number
        around = rectangle_around(one, per_mm) if one.sum() >= (_SMALLEST * per_mm) ** 2 / 2 else None
        if around is None or min(around[0].width, around[0].height) < _SMALLEST * per_mm:
            rest[box] |= one
            continue
        (place, is_rectangle), top, left = around, box[0].start, box[1].start
        doubts = [
            doubt
            for doubt, at in (
                (_NOT_ONE, not is_rectangle),
                ("it runs out of the picture at the top", top == 0),
                ("it runs out of the picture at the right", box[1].stop == solid.shape[1]),
                ("it runs out of the picture at the bottom", box[0].stop == solid.shape[0]),
                ("it runs out of the picture at the left", left == 0),
            )
            if at
        ]
        found.append(Outline(replace(place, x=place.x + left, y=place.y + top), tuple(doubts)))
    return found, rest


def _on_edges(place: Place, grey: NDArray[np.float32], per_mm: float) -> Place:
    """The outline with each side on the edge of the paper, and not on that of its shadow: the innermost of the steps
    that show all along the side."""
    angle = np.radians(place.turn)
    along, down = np.array((np.cos(angle), np.sin(angle))), np.array((-np.sin(angle), np.cos(angle)))
    away = np.arange(-_INWARDS * per_mm, _OUTWARDS * per_mm, 0.5)
    moved = []
    for side, out, length, half in (
        (down, -along, place.height, place.width / 2), (down, along, place.height, place.width / 2),
        (along, -down, place.width, place.height / 2), (along, down, place.width, place.height / 2),
    ):  # fmt: skip
        steps = np.linspace(-0.42, 0.42, max(24, min(160, round(length / 2)))) * length
        where = np.array((place.x, place.y)) - 0.5 + steps[None, :, None] * side + (half + away)[:, None, None] * out
        seen = ndimage.map_coordinates(grey, (where[..., 1], where[..., 0]), order=1, mode="nearest")
        step = np.median(np.abs(seen[2:] - seen[:-2]), axis=1)
        if step.max() <= _FAINT / 2:
            moved.append(0.0)
            continue
        strong = step >= _INNERMOST * step.max()
        first = int(strong.argmax())
        extent = int((~strong[first:]).argmax()) or len(step) - first
        peak = slice(first, first + extent)
        moved.append(float(np.average(away[1:-1][peak], weights=step[peak])))
    left, right, top, lower = moved
    centre = np.array((place.x, place.y)) + along * (right - left) / 2 + down * (lower - top) / 2
    return Place(
        float(centre[0]), float(centre[1]), place.width + left + right, place.height + top + lower, place.turn
    )  # fmt: skip


# Doubts --------------------------------------------------------------------------------------------------------


def _with_border(outline: Outline, differs: NDArray[np.bool_], level: float, per_mm: float) -> Outline:
    """On a white lid: the outline moved to the thin shadows that the edges of a white border throw, if there are."""
    if level < _WHITE:
        return outline
    place, reach = outline.place, round(_BORDER * per_mm)
    angle = np.radians(place.turn)
    along, down = np.array((np.cos(angle), np.sin(angle))), np.array((-np.sin(angle), np.cos(angle)))
    found: dict[str, float] = {}
    for name, side, out, length, half in (
        ("left", down, -along, place.height, place.width / 2), ("right", down, along, place.height, place.width / 2),
        ("top", along, -down, place.width, place.height / 2), ("lower", along, down, place.width, place.height / 2),
    ):  # fmt: skip
        steps = np.arange(-0.4 * length, 0.4 * length, 1.0)
        away = np.arange(round(1.0 * per_mm), reach)
        where = (
            np.array((place.x, place.y)) + steps[None, :, None] * side + (half + away)[:, None, None] * out
        )  # fmt: skip
        columns, rows = np.rint(where[..., 0] - 0.5).astype(int), np.rint(where[..., 1] - 0.5).astype(int)
        inside = (columns >= 0) & (rows >= 0) & (columns < differs.shape[1]) & (rows < differs.shape[0])
        values = np.where(inside, differs[rows.clip(0, differs.shape[0] - 1), columns.clip(0, differs.shape[1] - 1)], 0)
        share = ndimage.maximum_filter1d(values, 3, axis=0).mean(axis=1)
        bare = np.flatnonzero(share < 0.2)
        lines = [k for k in np.flatnonzero(share >= _LINE) if len(bare) and k > bare[0]]
        if lines:
            beyond = [k for k in bare if k > lines[0]]
            thick = (beyond[0] if beyond else len(share)) - lines[0]
            if thick <= 2.0 * per_mm:
                found[name] = float(away[lines[0]]) + 1.0
    if not found:
        return outline
    width = max(found.get("left", 0.0), found.get("right", 0.0))
    height = max(found.get("top", 0.0), found.get("lower", 0.0))
    both = width or height, height or width
    grown = replace(place, width=place.width + 2 * both[0], height=place.height + 2 * both[1])
    doubt = "a white border on a white lid: only the shadow of its edge shows"
    return Outline(grown, (*outline.doubts, doubt))


def _told_apart(found: list[Outline], per_mm: float) -> list[Outline]:
    """Pieces of one print taken together; prints that are very near to each other get a doubt."""
    whole: list[Outline] = []
    for each in sorted(found, key=lambda one: -one.place.area):
        if not any(_inside(each.place, other.place) for other in whole):
            whole.append(each)
    near = f"less than {_CLOSE:g} mm from another print: they may touch"
    for k, each in enumerate(whole):
        others = [other.place for n, other in enumerate(whole) if n != k]
        if any(each.place.apart(other) < _CLOSE * per_mm for other in others):
            whole[k] = Outline(each.place, (*each.doubts, near))
    return whole


def _inside(one: Place, other: Place) -> bool:
    corners = np.array(one.corners, dtype=np.float32)
    return bool(other.grown(1.0).covered(corners[:, 1], corners[:, 0]).all())


def _looked_at(
    outline: Outline, picture: NDArray[np.uint8], apart: NDArray[np.float32], rise: NDArray[np.float32], clear: float,
    level: float, per_mm: float,
) -> Outline:  # fmt: skip
    """The outline with what only the pictures inside and around it show: edges that hardly show, paper that goes on
    beyond it, and seams."""
    doubts = list(outline.doubts)
    edge = _straightened(apart, outline.place)
    rim = max(2, round(0.8 * per_mm))
    rims = {"top": edge[1:rim], "right": edge[:, -rim:-1], "bottom": edge[-rim:-1], "left": edge[:, 1:rim]}
    faint = [name for name, part in rims.items() if np.median(part) < clear / 2]
    if faint and not doubts:
        sides = " and ".join(faint) if len(faint) < 3 else "sides"
        doubts.append(f"its {sides} hardly differ{'s' if len(faint) == 1 else ''} from the lid")
    if level >= _WHITE and not doubts and _paper_beyond(rise, outline.place, per_mm):
        doubts.append("a white border on a white lid may go on beyond it")
    grey = _straightened((picture if picture.ndim == 2 else picture.mean(axis=2)).astype(np.float32), outline.place)
    if (place := outline.place).area > (60 * per_mm) ** 2 and _seam(grey):
        doubts.append("an edge runs through it from side to side: two prints may touch there")
    return Outline(place, tuple(doubts))


def _paper_beyond(rise: NDArray[np.float32], place: Place, per_mm: float) -> bool:
    """Whether the lid right outside an outline is not quite the lid, on two sides at least. A whole strip shows less
    than a single pixel could."""
    near, far = (round(edge * per_mm) for edge in _BEYOND)
    around = _straightened(rise, place.grown(far))
    wide = far - near
    strips = (around[:wide, far:-far], around[-wide:, far:-far], around[far:-far, :wide], around[far:-far, -wide:])
    off = [np.nanmedian(each) for each in strips if np.isfinite(each).mean() > 0.5]
    return sum(bool(abs(each) > _HARDLY) for each in off) >= 2


def _straightened(picture: NDArray[np.float32], place: Place) -> NDArray[np.float32]:
    """What an outline encloses, straight, by the nearest pixels."""
    angle = np.radians(place.turn)
    rows, columns = max(4, round(place.height)), max(4, round(place.width))
    y = (np.arange(rows) - rows / 2 + 0.5)[:, None]
    x = (np.arange(columns) - columns / 2 + 0.5)[None, :]
    across = place.x + x * np.cos(angle) - y * np.sin(angle)
    down = place.y + x * np.sin(angle) + y * np.cos(angle)
    height, width = picture.shape
    found: NDArray[np.float32] = picture[
        np.clip(down.astype(np.int64), 0, height - 1), np.clip(across.astype(np.int64), 0, width - 1)
    ]
    return found


def _seam(grey: NDArray[np.float32]) -> bool:
    """Whether a straight edge crosses the middle of a picture from side to side, with both halves unlike there."""
    for picture in (grey, grey.T):
        rows = picture.shape[0]
        steps = np.abs(
            ndimage.uniform_filter1d(picture, 3, axis=0)[2:] - ndimage.uniform_filter1d(picture, 3, axis=0)[:-2]
        )
        strong = ndimage.maximum_filter1d(steps > 12, 3, axis=0)
        share = strong[:, 2:-2].mean(axis=1)[round(0.2 * rows) : round(0.8 * rows)]
        if len(share) and share.max() >= _SEAM:
            return True
    return False


# The rest ------------------------------------------------------------------------------------------------------


def _left_over(rest: NDArray[np.bool_], places: list[Place], per_mm: float) -> tuple[Left, ...]:
    """What is in no outline and not dust, the largest first."""
    rest = ndimage.binary_opening(rest, np.ones((round(_HAIR * per_mm),) * 2))
    parts, _ = ndimage.label(rest)
    found = []
    for number, box in enumerate(ndimage.find_objects(parts), 1):
        ys, xs = np.nonzero(parts[box] == number)
        ys, xs = ys + box[0].start, xs + box[1].start
        outside = np.ones(len(ys), dtype=bool)
        for place in places:
            outside &= ~place.grown(per_mm).covered(ys.astype(np.float32) + 0.5, xs.astype(np.float32) + 0.5)
        area = float(outside.sum()) / per_mm**2
        if area >= _SPECK:
            found.append(Left((box[1].start, box[0].start, box[1].stop, box[0].stop), round(area, 1)))
    return tuple(sorted(found, key=lambda one: -one.area))


def _reading_order(places: list[Place]) -> list[int]:
    """From the top, and in a row from the left: a row is what reaches over the middle of its first."""
    left = sorted(range(len(places)), key=lambda k: places[k].y - places[k].height / 2)
    order: list[int] = []
    while left:
        first = places[left[0]]
        row = [k for k in left if places[k].y - places[k].height / 2 < first.y]
        order += sorted(row, key=lambda k: places[k].x)
        left = [k for k in left if k not in row]
    return order
