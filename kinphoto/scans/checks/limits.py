"""The limits a scan is judged by: each with its value, its unit, where it comes from, and what to do beyond it.

`docs/checks.md` shows this table. Where no published value was found, the limit is a judgement of the project and
says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

OURS = "a judgement of kinphoto"
PRACTICE = "common practice"


class Weight(StrEnum):
    """What a finding asks for."""

    REDO = "redo"
    """The scan could be better: scan the print again."""
    LOOK = "look"
    """Something to look at; perhaps it is meant so."""
    NOTE = "note"
    """Said of the print or for information; nothing to do."""


@dataclass(frozen=True, slots=True)
class Limit:
    """One kind of finding. `title` is what it is called, `limit` the value beyond which it is found, in `unit`;
    `source` says where that comes from and `remedy` what to do."""

    kind: str
    weight: Weight
    title: str
    limit: float
    unit: str
    source: str
    remedy: str
    backs: bool = False
    """Whether it also matters on the back of a print."""


CAUTION = (
    "Film that smells of vinegar is decaying, and film from before 1951 may be nitrate, which can catch fire. "
    "Nothing that kinphoto measures can show that film is safe."
)
"""What is said wherever film is known as such."""

LIMITS = (
    Limit(
        "ppi-low",
        Weight.REDO,
        "too few pixels per inch",
        400,
        "ppi",
        "the minimum for that kind of original",
        "Scan it again at this resolution or higher.",
        backs=True,
    ),
    Limit(
        "ppi-missing",
        Weight.LOOK,
        "no resolution in the file",
        0,
        "ppi",
        "EXIF 3.0, TIFF 6.0 and JFIF 1.02 have a field for it",
        "Set the resolution in the scanning program, so that the size of the print is known.",
        backs=True,
    ),
    Limit(
        "ppi-default",
        Weight.LOOK,
        "a placeholder instead of a resolution",
        96,
        "ppi",
        "72 is the default of EXIF 3.0, 96 that of screens (CSS)",
        "Set the resolution in the scanning program. If this is a copy made for the web, add the original instead.",
        backs=True,
    ),
    Limit(
        "ppi-impossible",
        Weight.LOOK,
        "too large to have fitted on a scanner",
        1.02,
        "times the largest bed",
        "ISO 216: A3 is 297 × 420 mm; beds for it have 310 × 437 mm (from memory)",
        "The resolution in the file cannot be right. Check the scanner's settings.",
        backs=True,
    ),
    Limit(
        "capture-pixels",
        Weight.REDO,
        "too few pixels for the print",
        2360,
        "pixels along the print",
        "400 ppi (the minimum for prints) along 15 cm; 10 × 15 cm is assumed, since a camera does not know the size",
        "Go closer, so that the print fills the picture, or scan it; if it was sent to you, ask for the original file.",
    ),
    Limit(
        "perspective",
        Weight.LOOK,
        "seen at an angle",
        20,
        "degrees",
        f"{OURS}: one side then has about a tenth fewer pixels than the other, and lies at the end of what is sharp",
        "Hold the camera straight above the middle of the print, level with it, and take it again if it is worth it.",
    ),
    Limit(
        "bits-low",
        Weight.REDO,
        "too few tones",
        8,
        "bits a channel",
        "FADGI 2023: 8 or 16 bits a channel (from memory)",
        "Scan it again as “greyscale” or “colour”, not as “text” or “line art”: that gives at least 8 bits a channel.",
        backs=True,
    ),
    Limit(
        "bits-film",
        Weight.NOTE,
        "film in 8 bits",
        16,
        "bits a channel",
        f"{PRACTICE}: 16 bits for film",
        "If you ever scan this film again, choose 16 bits a channel (48-bit colour or 16-bit grey) and TIFF. "
        "Switch infrared dust removal off for black-and-white film: it takes the silver for dust.",
    ),
    Limit(
        "grey",
        Weight.LOOK,
        "a print with colour, scanned in grey",
        0,
        "channels",
        f"{PRACTICE}: the tone of a print tells how it was made",
        "Scan it again in colour.",
    ),
    Limit(
        "jpeg-low",
        Weight.REDO,
        "coarse JPEG",
        80,
        "quality (1 to 100)",
        f"{OURS}; quality as libjpeg counts it, tables of ITU-T T.81 annex K",
        "Scan it again and save it as TIFF or PNG, or as JPEG at the highest quality.",
        backs=True,
    ),
    Limit(
        "jpeg-twice",
        Weight.LOOK,
        "saved as JPEG twice",
        0.25,
        "unevenness of coefficients",
        f"{OURS}; after Popescu and Farid 2004",
        "If you still have the file as the scanner saved it, use that one instead.",
    ),
    Limit(
        "damaged",
        Weight.REDO,
        "part of the picture is missing",
        0.01,
        "of its height",
        OURS,
        "Copy the file again from where it came, or scan the print again.",
        backs=True,
    ),
    Limit(
        "clipped-light",
        Weight.REDO,
        "highlights are blown out",
        0.01,
        "of the picture",
        f"{OURS}; white to within what JPEG moves it",
        "Scan it again with automatic correction switched off, or with a lower exposure.",
    ),
    Limit(
        "clipped-dark",
        Weight.REDO,
        "shadows are blocked",
        0.02,
        "of the picture",
        f"{OURS}; black to within what JPEG moves it",
        "Scan it again with automatic correction switched off, or with the shadows lightened (a higher “gamma”).",
    ),
    Limit(
        "blurred",
        Weight.REDO,
        "the scan is blurred",
        1.0,
        "pixels",
        f"{OURS}: about half of the resolution is left; FADGI asks 80 % for three stars (from memory)",
        "Clean the glass, make sure the print lies flat, close the lid gently, and scan it again.",
    ),
    Limit(
        "shaken",
        Weight.REDO,
        "blurred in one direction",
        1.0,
        "pixels",
        f"{OURS}, as for blur",
        "The print, the scanner or the camera moved. Scan it again.",
    ),
    Limit(
        "glare",
        Weight.REDO,
        "glare",
        0.004,
        "of the picture",
        OURS,
        "Move the lamp or turn the print until nothing is reflected, and switch the flash off. Take the print out of "
        "its frame only if it comes out easily.",
    ),
    Limit(
        "cut",
        Weight.REDO,
        "the print runs out of the picture",
        0.5,
        "of a side",
        OURS,
        "Scan it again with half a centimetre to spare on every side.",
        backs=True,
    ),
    Limit(
        "tilted",
        Weight.LOOK,
        "not straight",
        2.0,
        "degrees",
        OURS,
        "If the print matters, lay it straight and scan it again: straightening it afterwards costs some sharpness.",
        backs=True,
    ),
    Limit(
        "dust",
        Weight.REDO,
        "dust or hair on the glass",
        3,
        "scans with the same speck or hair",
        OURS,
        "Take the print off and wipe the glass with a soft, dry cloth; never spray anything on it. Then scan the ones "
        "that matter again.",
        backs=True,
    ),
    Limit(
        "enlarged",
        Weight.REDO,
        "enlarged by software",
        2.2,
        "times chance",
        f"{OURS}; Gallagher 2005",
        "Scan it again at a resolution that the scanner really has (its “optical” resolution).",
        backs=True,
    ),
    Limit(
        "sharpened",
        Weight.LOOK,
        "sharpening left pale and dark lines along edges",
        0.1,
        "of an edge's step",
        OURS,
        "Switch sharpening off in the scanning program, and scan the ones that matter again.",
    ),
    Limit(
        "repaired",
        Weight.LOOK,
        "perhaps painted over by infrared dust removal",
        0.002,
        "of the picture",
        f"{OURS}: patches without grain on black-and-white film; silver stops infrared light as dust does",
        "Look at it at full size. If parts are smeared, switch infrared dust removal off and scan it again: it suits "
        "colour film only.",
    ),
    Limit(
        "stretched",
        Weight.LOOK,
        "tones were stretched",
        0.1,
        "of the levels are empty",
        OURS,
        "Switch automatic correction off in the scanning program, and scan the ones that matter again.",
    ),
    Limit(
        "clipped-colours",
        Weight.LOOK,
        "automatic correction cut off the lightest and darkest tones",
        0.001,
        "of each end of each channel",
        f"{OURS}: programs clip 0.1 to 0.5 % (from memory)",
        "Switch automatic colour off in the scanning program, and scan the ones that matter again.",
    ),
    Limit(
        "sideways",
        Weight.LOOK,
        "perhaps not upright",
        0,
        "",
        f"{OURS}: light and even above, dark and busy below",
        "Have a look. If it needs turning: kinphoto scans turn, which leaves the file as it is.",
    ),
    Limit(
        "faded",
        Weight.NOTE,
        "the print has faded",
        45,
        "of 100 steps of lightness (L*)",
        OURS,
        "The scan is fine, and nothing is corrected. Keep the print out of the light.",
    ),
    Limit(
        "cast",
        Weight.NOTE,
        "the print has a strong colour cast",
        1.5,
        "times its colours' scatter",
        "Gasparini and Schettini 2004 (the limit from memory)",
        "Nothing is corrected. If the print itself has no cast, check the scanner's colour settings.",
    ),
    Limit(
        "negative",
        Weight.NOTE,
        "a negative",
        0.95,
        "of the picture",
        f"{OURS}: the orange mask of colour film; or perforations (ISO 1007) in edges clearer than 90 % of the picture",
        f"Scan it as film, with light from behind, if you can. {CAUTION}",
    ),
    Limit(
        "negative-perhaps",
        Weight.LOOK,
        "perhaps a negative",
        0.9,
        "of the picture is darker than its edges",
        f"{OURS}: nearly all as orange as film with a mask; clear edges in black, as wide as roll film (ISO 732, from "
        "memory); or a frame of 35 mm film in grey without any black",
        f"Have a look. If it is a negative, kinphoto scans turn SCAN positive shows it as a positive and leaves the "
        f"file as it is. {CAUTION}",
    ),
)
"""Every kind of finding, in the order of a report."""

OF_SCANNERS = frozenset(
    "ppi-low ppi-missing ppi-default ppi-impossible tilted dust sharpened repaired stretched clipped-colours".split()
)
"""Kinds of findings that say nothing of a print which was photographed: a camera has no resolution in ppi and no glass,
and telephones sharpen and stretch whatever they take."""

REMEDIES_OF_CAPTURES = {
    "blurred": "Hold the camera with both hands, in more light, touch the print on the screen to focus, and try again.",
    "shaken": "The hand or the print moved: rest both elbows, use more light or a timer, and take it again.",
    "glare": "Keep lamps and windows behind the print or to its side, switch off the flash, and take it again.",
    "clipped-light": "Touch the lightest part of the print on the screen to expose for it, and take it again.",
    "jpeg-twice": "If you still have the file as the camera wrote it, replace this one by it.",
    "clipped-dark": "Use more light, from the side, and take it again.",
    "cut": "Leave some of the table on every side of the print and take it again.",
    "jpeg-low": "If it was sent as a message, ask for the original file: messages make pictures smaller and coarser.",
}
"""What to do about findings of a photographed print, where it is not what to do at a scanner."""

CAPTURE_MM = 152.4
"""Millimetres of the longer side that a photographed print is taken to have: 4 × 6 inches, as most prints since the
1980s (from memory)."""

BY_KIND = {limit.kind: limit for limit in LIMITS}


@dataclass(frozen=True, slots=True)
class Floor:
    """The minimum resolution for one kind of original: `ppi` unless the user set another."""

    original: str
    title: str
    ppi: float
    source: str


FLOORS = (
    Floor(
        "print",
        "a print",
        400,
        "NARA, 36 CFR 1236.50 (2023): at least 400 ppi for photographic prints, after FADGI three stars",
    ),
    Floor("small-print", "a print under 9 × 12 cm", 600, f"{PRACTICE}: 600 for cartes de visite and contact prints"),
    Floor("film-35mm", "35 mm film or slide", 3000, "from memory: 3000 to 4000 for 35 mm film"),
    Floor("film", "larger film, or a glass plate", 1200, f"{PRACTICE}: 1200 where it will be enlarged (from memory)"),
    Floor("page", "an album page", 300, f"{PRACTICE}: 300 at the size it will be printed at"),
    Floor("back", "a back", 300, "NARA, 36 CFR 1236.50 (2023): 300 ppi for modern text"),
)
"""Floors of resolution, in pixels per inch of the original."""

FLOOR_OF = {floor.original: floor for floor in FLOORS}
SMALL_MM = (90.0, 120.0)
"""Prints smaller than this (either way round) want more: 9 × 12 cm is a traditional size of paper (from memory)."""
FILM_35MM = (24.0, 36.0)
"""The frame of 35 mm film (ISO 1007)."""
ROLL_FILM = (61.5, 46.0)
"""Millimetres of the width of roll film, of the numbers 120 and 127 (ISO 732, from memory)."""
