"""The backs that were worth scanning, and what is written on them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .drawing import mounts, pages
from .drawing.canvas import Canvas
from .drawing.lettering import width_of, write

INK = (0.22, 0.18, 0.24)
PENCIL = (0.38, 0.37, 0.37)


@dataclass(frozen=True, slots=True)
class Back:
    """The back of `front`. A postcard has an address; a studio card its imprint; a snapshot only words."""

    front: str
    kind: str
    words: tuple[str, ...]
    address: tuple[str, ...] = ()
    postmark: str = ""
    imprint: tuple[str, ...] = ()
    landscape: bool = False
    pencil: bool = False


BACKS: dict[str, Back] = {
    "box-1/studio_0013.jpg": Back("box-1/studio_0003.jpg", "carte-de-visite", ("Corvin & Maud",), imprint=("A. Dorrington", "artist in photography", "Quay Street, Pellering", "negatives are kept")),
    "box-1/ferry_0002.jpg": Back("box-1/ferry_0001.jpg", "real-photo-postcard", ("All well here. Lambert", "has the rope, young", "Ambrose says he can", "do it alone!  Rosamund"), ("Mrs Dorothea Quillern", "Upper Sallows", "by Pellering"), "PELLERING|18 JUL|1905"),
    "box-1/ferry_0004.jpg": Back("box-1/ferry_0003.jpg", "real-photo-postcard", ("The ferry, August 1909.", "Hedda & Florian with", "Clemence, Nora and", "little Maud")),
    "letters/war_0003.jpg": Back("letters/war_0002.jpg", "real-photo-postcard", ("Dear Mother, I am well", "and they feed us. Kiss", "Nora. Your Felix", "14 Nov. 1917"), ("Mrs Clemence Quillern", "Ferry House", "Pellering"), "FIELD POST|15 NOV|1917"),
    "tin/snap_0002.jpg": Back("tin/snap_0001.jpg", "real-photo-postcard", ("Sun every day. Peter", "ate sand. Love from", "all four of us", "Johanna"), ("Miss Nora Quillern", "Post Office", "Pellering"), "SANDLE POINT|7 AUG|1934"),
    "tin/snap_0007.jpg": Back("tin/snap_0006.jpg", "deckle-edge", ("Mother is 81,", "Aunt Rosamund 72.", "Tilly behind them"), pencil=True),
}  # fmt: skip


def draw_back(back: Back, rng: np.random.Generator) -> Canvas:
    """Draw a back: its paper, its print, its hand."""
    kind = mounts.KINDS[back.kind]
    if back.kind == "real-photo-postcard":
        return pages.postcard_back(kind, rng, back.words, back.address, back.postmark)
    canvas = pages.back(kind, back.landscape, (0.90, 0.85, 0.74) if back.imprint else (0.93, 0.92, 0.89), rng)
    w, h = canvas.width, canvas.height
    if back.imprint:
        mounts.imprint(canvas, back.imprint, h * 0.3, w * 0.105, (0.50, 0.24, 0.22), rng)
        write(canvas, back.words[0], w * 0.14, h * 0.86, w * 0.085, INK, rng=rng, weight=0.06, slope=-0.03)
        return canvas
    size = min(h * 0.07, w * 0.8 / max(width_of(line, 1.0) for line in back.words))
    for i, line in enumerate(back.words):
        write(
            canvas,
            line,
            w * 0.1,
            h * (0.3 + 0.12 * i),
            size,
            PENCIL if back.pencil else INK,
            rng=rng,
            weight=0.07,
            slope=-0.03,
            alpha=0.8,
        )
    return canvas
