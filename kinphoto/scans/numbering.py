"""Names of scans: a theme and a number of four digits, `harbour_0007.jpg`, with the back as `harbour_0007_back.jpg`.

That plain letters, digits and hyphens are safe on every disk, that numbers with zeros in front sort, and that a guessed
date has no place in a name is common practice.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from kinphoto.scans.walk import plain_name

BACKS = frozenset(
    (
        "back backside reverse rear verso rückseite rueckseite hinten dos retro revers achterkant baksida bagside "
        "rewers"
    ).split()
)
FRONTS = frozenset("front frontside recto vorderseite vorne avers obverse voorkant framsida forside awers".split())
"""Words at the end of a name that say which side is shown."""
DIGITS = 4
LARGEST = 99_999
LONGEST_THEME = 40
"""Letters of a theme, so that names fit wherever files are copied to."""

_NUMBERED = re.compile(r"(?P<theme>.*[^\W\d_][^_]*?)[_ -](?P<number>\d{4,5})(?P<mark>(?:[_ -]?[^\W\d_]+|[_-]\d{1,2})?)")
_SPELLED = str.maketrans({"ß": "ss", "æ": "ae", "ø": "o", "œ": "oe", "ł": "l", "đ": "d", "þ": "th", "ð": "d", "ı": "i"})
_NAMELESS = frozenset(
    (
        "img image images scan scans scanned scn dsc dscn dscf pict pic picture photo foto photograph bild page file "
        "document doc untitled unnamed export output screenshot numerisation skan scannen pxl mvi"
    ).split()
)
"""Words that a camera, a scanner or a phone writes, and that say nothing of the picture."""
_SIDES = BACKS | FRONTS
_NO_THEME = frozenset("dcim sent incoming inbox downloads desktop pictures bilder photos tmp temp new folder".split())


class NumberedName(NamedTuple):
    """A name of the kind that is given here."""

    theme: str
    number: int
    mark: str = ""

    @property
    def key(self) -> str:
        """The theme as it is compared: names that differ only in capitals are one on many disks."""
        return self.theme.casefold()

    @property
    def stem(self) -> str:
        """The name without folder and suffix."""
        return f"{self.theme}_{self.number:0{DIGITS}}{self.mark}"


def numbered(stem: str) -> NumberedName | None:
    """A stem as theme and number; None for any other, as that of a camera."""
    found = _NUMBERED.fullmatch(stem)
    if found is None or is_nameless(stem) or not 0 < int(found["number"]) <= LARGEST:
        return None
    return NumberedName(found["theme"], int(found["number"]), found["mark"])


def is_nameless(stem: str) -> bool:
    """Whether a stem says nothing of its picture: `IMG_2031`, `scan0007`, `2024-01-05 12.30.11`, `Image (3)`."""
    words = re.findall(r"[^\W\d_]+", _plain(plain_name(stem)))
    return all(word in _NAMELESS | _SIDES or len(word) == 1 for word in words)


def theme_of(text: str) -> str:
    """A theme made of any words, in small letters without accents: "Grüne Kiste, 2" becomes "grune-kiste-2"; "" when
    nothing is left of them, or nothing that says anything."""
    plain = re.sub(r"[^a-z0-9]+", "-", _plain(text)).strip("-")[:LONGEST_THEME].strip("-")
    words = re.findall(r"[a-z]+", plain)
    return plain if any(len(word) > 1 and word not in _NAMELESS | _NO_THEME for word in words) else ""


def slips(counts: Mapping[str, int], shortest: int = 4) -> list[tuple[str, str]]:
    """Themes that differ from another by a slip of the finger, each with the one that is probably meant: the one of
    more scans. Numbers in a theme are no slips (box-1, box-2), nor is a letter in one of fewer than `shortest`."""
    from rapidfuzz.distance import OSA

    themes, found = sorted(counts, key=lambda theme: (-counts[theme], theme)), []
    for at, theme in enumerate(themes):
        for other in themes[:at]:
            one, two = _compared(theme), _compared(other)
            most = 2 if min(len(one), len(two)) >= 9 else 1 if min(len(one), len(two)) >= shortest else 0
            digits = re.findall(r"\d+", one) == re.findall(r"\d+", two)
            if digits and OSA.distance(one, two, score_cutoff=most) <= most:
                found.append((theme, other))
                break
    return found


def natural_key(name: str) -> tuple[tuple[int, int, str], ...]:
    """For sorting names as people do: scan2 before scan10."""
    parts = re.findall(r"\d+|\D+", name.casefold())
    return tuple((0, int(part), "") if part.isdecimal() else (1, 0, part) for part in parts)


def sidecars(names: Sequence[str], name: str, pictures: frozenset[str]) -> list[str]:
    """The files of a folder that belong to one of its pictures: `a.xmp` and `a.jpg.xmp` to `a.jpg`. No picture does:
    its ending is among `pictures`."""
    stem = Path(name).stem
    found = []
    for other in names:
        ending = other[len(stem) :] if other.startswith(f"{stem}.") else ""
        beside = other.startswith(f"{name}.") or (ending.count(".") == 1 and other != name)
        if ending and beside and Path(other).suffix.casefold() not in pictures:
            found.append(other)
    return found


def renamed_sidecar(sidecar: str, name: str, new: str) -> str:
    """What a sidecar is called after its picture: "b.jpg.xmp" for "a.jpg.xmp", when a.jpg becomes b.jpg."""
    if sidecar.startswith(f"{name}."):
        return new + sidecar[len(name) :]
    return Path(new).stem + sidecar[len(Path(name).stem) :]


def _plain(text: str) -> str:
    """Small letters without accents."""
    spread = unicodedata.normalize("NFKD", text.casefold().translate(_SPELLED))
    return "".join(letter for letter in spread if not unicodedata.combining(letter))


def _compared(theme: str) -> str:
    return re.sub(r"[^a-z0-9]+", "", _plain(theme)) or theme
