"""How many faults of known size the checks of scans find, and how many good scans they accuse.

python tests/bench/bench_findings.py [--scans N] [--seconds S] [--large] [--seed S]

N scans (3,000) are made of scikit-image's photographs (`scanned_prints.py`), half of them good; of the good ones half
are of soft, faded or textured prints. Each kind of fault has 1.25 times the amount its limit stands for, and each print
is spoilt by all of them, one at a time. Each scan is a file, JPEG unless the fault needs a lossless one, and is read as
`scans check` does. Bounds: each kind found 95 times in 100, at most 2 of 100 good scans accused of anything (notes
about the print are no accusation). Beside each share stands its interval of 95 % (Wilson). With `--large` prints are
twice as long, so that a JPEG is decoded smaller and read in part. Limits were chosen with seeds below 1,000; the
default begins at 2,000. The cost of a check is measured by `bench_checks.py`.
"""

from __future__ import annotations

import argparse
import io
import math
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import count, islice
from pathlib import Path

import numpy as np
from PIL import Image
from scanned_prints import PHOTOGRAPHS, Print, as_jpeg, glare_light, on_bed, photograph, scanned, seen
from scipy.special import erf

from kinphoto.scans.checks.findings import findings, shared_specks
from kinphoto.scans.checks.limits import BY_KIND, Weight
from kinphoto.scans.checks.measures import Measures, of_picture
from kinphoto.scans.measure import measure_quality

Make = Callable[["Case"], bytes]


def picture(rng: np.random.Generator) -> np.ndarray:
    """One of the photographs, as it is or mirrored."""
    found = photograph(str(rng.choice(PHOTOGRAPHS)))
    return found[:, ::-1] if rng.random() < 0.5 else found


SIZE = [1500, 1100]
"""Pixels of the prints; the landscape format of most of the photographs."""


def good(rng: np.random.Generator, number: int) -> Print:
    """A scan that is as it should be; every second one of a print that is soft, faded or textured."""
    plain = Print(
        size=(SIZE[0], SIZE[1]),
        tilt=float(rng.uniform(-1.2, 1.2)),
        bed=float(rng.choice([247, 243, 14, 128])),
        border=int(rng.choice([0, 40, 40])),
        noise=float(rng.uniform(0.4, 1.0)),
        texture=float(rng.uniform(1.8, 3.5)),
        dust=int(rng.integers(5, 60)),
        blur=float(rng.uniform(0.3, 0.6)),
        softness=float(rng.uniform(0.4, 1.2)),
    )
    if number % 2:
        return plain
    kind = number // 2 % 3
    if kind == 0:
        return replace(plain, softness=float(rng.uniform(3, 8)))
    if kind == 1:
        return replace(
            plain, black=float(rng.uniform(70, 110)), white=float(rng.uniform(190, 220)), tint=(1, 0.93, 0.8)
        )
    return replace(plain, texture=float(rng.uniform(5, 9)))


@dataclass(frozen=True)
class Case:
    """A good print that is spoilt in one way after the other: the same for every fault, so that it is drawn once."""

    seed: int
    number: int

    @cached_property
    def picture(self) -> np.ndarray:
        """What is on it."""
        return picture(np.random.default_rng([self.seed, self.number, 1]))

    @cached_property
    def how(self) -> Print:
        """How it is made and scanned."""
        return good(np.random.default_rng([self.seed, self.number, 2]), 2 * self.number + 1)

    @cached_property
    def level(self) -> np.ndarray:
        """Its levels as it lies on the bed."""
        return on_bed(self.picture, self.how, self.rng(3))

    def rng(self, purpose: int | str) -> np.random.Generator:
        """Chance for one purpose."""
        return np.random.default_rng([self.seed, self.number, *str(purpose).encode()])

    def scanned(self, fault: str, **how: object) -> Image.Image:
        """Its scan, made so."""
        changed, rng = replace(self.how, **how), self.rng(fault)  # type: ignore[arg-type]
        if how.keys() <= SCANNER or changed == self.how:
            return seen(self.level, changed, rng)
        return scanned(self.picture, changed, int(rng.integers(2**31)))


SCANNER = {"blur", "shake", "noise", "gain", "lift", "glare", "sharpening"}
"""What the scanner does to a print, whichever it is."""


def spoilt(**how: float) -> Make:
    """Scans with something done to a good print of plain tones."""
    return lambda case: as_jpeg(case.scanned(str(how), **how))


def altered(change: Callable[[np.ndarray], np.ndarray], *, lossless: bool = False) -> Make:
    """Good scans whose levels are changed afterwards, within 0 to 255."""

    def made(case: Case) -> bytes:
        level = np.asarray(case.scanned("altered"), dtype=np.float32)
        image = Image.fromarray(np.clip(np.rint(change(level)), 0, 255).astype(np.uint8))
        return as_png(image) if lossless else as_jpeg(image, 97)

    return made


def sharpened(case: Case) -> bytes:
    """Sharpened by as much as makes a step overshoot by 1.25 times the limit."""
    return as_jpeg(case.scanned("sharpened", sharpening=sharpening_for(1.25 * LEAST_OVERSHOOT, case.how.blur)))


LEAST_OVERSHOOT = BY_KIND["sharpened"].limit


def sharpening_for(overshoot: float, blur: float) -> float:
    """How strong unsharp masking has to be (`scanned_prints.py`; the Gaussian has 1.2 pixels) for a step to overshoot
    by so much of itself, by the error function: the step is blurred by the scanner and by the area of a pixel and of
    the one it is turned into (1/12 square pixels each)."""
    apart = np.linspace(0, 6, 241)
    spread = blur**2 + 2 / 12
    step, broader = (erf(apart / np.sqrt(2 * each)) / 2 + 0.5 for each in (spread, spread + 1.2**2))
    return float(np.min((overshoot + 1 - step[step > broader]) / (step - broader)[step > broader]))


def glared(case: Case) -> bytes:
    """A print with a border, of whose picture glare blows out 1.25 times the limit: how much light that takes depends
    on what lies below, so it is sought by halving, on every fourth pixel."""
    how = replace(case.how, border=40)
    level = case.level if case.how == how else on_bed(case.picture, how, case.rng(3))
    lowest = level[::4, ::4].min(axis=2)
    least, most = 0.0, 0.01
    for _ in range(7):
        share = (least + most) / 2
        light = lowest + glare_light(lowest.shape, share, case.rng("glare"))
        enough = (light[33:-33, 33:-33] >= 250).mean() >= 1.25 * BY_KIND["glare"].limit
        least, most = (least, share) if enough else (share, most)
    return as_jpeg(seen(level, replace(how, glare=most), case.rng("glare")))


def enlarged(case: Case) -> bytes:
    """Enlarged by computing, by one of four factors."""
    return as_jpeg(case.scanned("enlarged", enlarged=float(case.rng("factor").choice([1.25, 1.5, 2.5, 3]))))


def as_png(image: Image.Image) -> bytes:
    """A file without any loss."""
    file = io.BytesIO()
    image.save(file, "PNG", dpi=(600, 600))
    return file.getvalue()


def lighter(share: float) -> Callable[[np.ndarray], np.ndarray]:
    """As much exposure as blows out `share` of the inner picture."""
    return lambda level: level * (254.5 / max(np.quantile(_picture(level).min(axis=2), 1 - share), 1))


def darker(share: float) -> Callable[[np.ndarray], np.ndarray]:
    """As much black as blocks `share` of the inner picture."""
    return lambda level: level - np.quantile(_picture(level).max(axis=2), share) + 0.5


def stretched(level: np.ndarray) -> np.ndarray:
    """223 levels stretched over 255, so that an eighth of them stays empty."""
    return np.rint(np.clip(np.rint(level * 0.86), 0, 223) * (255 / 223))


def auto_colours(share: float) -> Callable[[np.ndarray], np.ndarray]:
    """Each channel stretched until `share` of it is clipped at each end."""

    def change(level: np.ndarray) -> np.ndarray:
        inner = _picture(level).reshape(-1, 3)
        low, high = np.quantile(inner, (share, 1 - share), axis=0)
        return (level - low) * (255 / np.maximum(high - low, 1))

    return change


def unwritten(level: np.ndarray) -> np.ndarray:
    """The lowest rows grey, as where a file ends early."""
    found = level.copy()
    found[-max(1, round(0.0125 * len(found))) :] = 128
    return found


def recompressed(case: Case) -> bytes:
    """Saved coarsely, then once more finely."""
    rng = case.rng("recompressed")
    once = as_jpeg(case.scanned("once"), int(rng.integers(72, 82)))
    return as_jpeg(Image.open(io.BytesIO(once)), int(rng.integers(90, 97)))


def _picture(level: np.ndarray) -> np.ndarray:
    """The scan without the bed, the border of the print and what its tilt leaves of them."""
    return level[130:-130, 130:-130]


FAULTS: dict[str, Make] = {
    "clipped-light": altered(lighter(0.0125)),
    "clipped-dark": altered(darker(0.025)),
    "blurred": spoilt(blur=1.75),
    "shaken": spoilt(shake=7),
    "glare": glared,
    "cut": spoilt(cut=75),
    "tilted": spoilt(tilt=2.5),
    "enlarged": enlarged,
    "sharpened": sharpened,
    "stretched": altered(stretched, lossless=True),
    "clipped-colours": altered(auto_colours(0.00125)),
    "damaged": altered(unwritten, lossless=True),
    "jpeg-low": lambda case: as_jpeg(case.scanned("jpeg-low"), 75),
    "jpeg-twice": recompressed,
}


def measured(data: bytes, folder: Path) -> tuple[Measures, tuple[int, int]]:
    """What is measured on a file with these bytes, and its size in pixels."""
    place = folder / "scan"
    place.write_bytes(data)
    with Image.open(place) as image:
        return measure_quality(str(place)), image.size


def kinds(data: bytes, folder: Path) -> set[str]:
    """The findings that ask for something, notes apart."""
    found, size = measured(data, folder)
    return {each.kind for each in findings(*size, found) if each.weight != Weight.NOTE}


def interval(hits: int, of: int) -> str:
    """Wilson's interval of a share, 95 %: p̃ ± z sqrt(p(1-p)/n + z²/4n²) / (1 + z²/n), p̃ = (p + z²/2n) / (1 + z²/n)."""
    z, share = 1.96, hits / of
    middle, reach = share + z * z / (2 * of), z * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    low, high = ((middle + way * reach) / (1 + z * z / of) for way in (-1, 1))
    return f"{share:.1%} ({max(low, 0):.1%} to {min(high, 1):.1%})"


@dataclass
class Counts:
    """How many scans of a kind were tried, how many of them were found, and what else was said."""

    of: int = 0
    hits: int = 0
    others: Counter[str] = field(default_factory=Counter)

    def add(self, said: set[str], fault: str = "") -> None:
        """Count one scan; a good one (without a fault) is hit by anything that is said."""
        self.of += 1
        self.hits += fault in said if fault else bool(said)
        self.others.update(said - {fault})

    def row(self, name: str) -> str:
        """A row of the table."""
        also = ", ".join(f"`{kind}` {count}" for kind, count in self.others.most_common())
        return f"| {name} | {self.hits} of {self.of} | {interval(self.hits, self.of)} | {also} |"


def good_file(seed: int, number: int) -> bytes:
    """A good scan as a file."""
    rng = np.random.default_rng([seed, number, 7])
    return as_jpeg(scanned(picture(rng), good(rng, number), number), int(rng.integers(90, 98)))


def try_all(each: int, seed: int, only: str, folder: Path, seconds: float) -> None:
    """The table, from `each` scans of each fault and as many good ones after each round; fewer where that takes
    longer than `seconds`."""
    faults = {name: make for name, make in FAULTS.items() if only in name}
    found = {name: Counts() for name in faults}
    well, numbers, end = Counts(), count(), time.monotonic() + seconds
    for number in range(each):
        case = Case(seed, number)
        for name, make in faults.items():
            found[name].add(kinds(make(case), folder), name)
        for good_one in islice(numbers, len(FAULTS) if only in ("", "good") else 0):
            well.add(kinds(good_file(seed, good_one), folder))
        if number % 5 == 4:
            print(f"{number + 1} of each after {time.process_time():.0f} s", file=sys.stderr, flush=True)
        if time.monotonic() > end:
            break
    print("| scan | found | share | also said |\n| --- | --- | --- | --- |")
    for name, counts in found.items():
        print(counts.row(f"`{name}`"))
    if well.of:
        print(well.row("a good scan: accused"))


def try_dust() -> None:
    """Specks on the glass: five of eight scans made after each other have the same eight."""
    rng = np.random.default_rng(11)
    glass = tuple((int(y), int(x)) for y, x in zip(rng.integers(200, 900, 8), rng.integers(200, 1300, 8), strict=True))
    made = [
        of_picture(
            scanned(picture(rng), replace(good(rng, 1), specks=glass if number < 5 else (), tilt=0.1), number)
        ).specks
        for number in range(8)
    ]
    print(
        "specks on the glass, of 8, in five scans; in three without:",
        shared_specks([[s[:2] for s in m] for m in made], 3),
    )


def main() -> None:
    """The tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--scans", type=int, default=3000)
    parser.add_argument("--seed", type=int, default=2000)
    parser.add_argument("--seconds", type=float, default=math.inf, help="stop after so long, with what was tried")
    parser.add_argument("--large", action="store_true")
    parser.add_argument(
        "--only", default="", metavar="KIND", help="faults with this in their name; `good` for good scans"
    )
    wanted = parser.parse_args()
    if wanted.large:
        SIZE[:] = [3000, 2200]
    start = time.process_time()
    with tempfile.TemporaryDirectory() as folder:
        each = max(1, wanted.scans // 2 // len(FAULTS))
        try_all(each, wanted.seed, wanted.only, Path(folder), wanted.seconds)
    if not wanted.only:
        try_dust()
    print(f"{time.process_time() - start:.0f} s of the processor")


if __name__ == "__main__":
    main()
