"""How many faults of known size the checks of scans find, and how many good scans they accuse.

python tests/bench/bench_findings.py [--scans N] [--seconds S] [--large] [--seed S] [--results FILE] [--only KIND]

N scans (3,000) are made of scikit-image's photographs (`scanned_prints.py`), half of them good; of the good ones half
are of soft, faded or textured prints. Each kind of fault has 1.25 times the amount its limit stands for, and each print
is spoilt by all of them, one at a time. Each scan is a file, JPEG unless the fault needs a lossless one, and is read as
`scans check` does. Bounds: each kind found 95 times in 100, at most 2 of 100 good scans accused of anything (notes
about the print are no accusation). After them come evenings at the scanner with dust or a hair on the glass, and
frames of grainy film with patches that were filled. Beside each share stands its interval of 95 % (Wilson). With
`--large` prints are twice as long, so that a JPEG is decoded smaller and read in part. Limits were chosen with seeds
below 1,000; the default begins at 2,000. One process; the table so far is printed every 20 rounds. With `--results`
each scan is written to that file as it was judged, and a run that was stopped goes on from there. The cost of a check
is measured by `bench_checks.py`.
"""

from __future__ import annotations

import argparse
import io
import json
import math
import os
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # a machine that is shared: one core

import numpy as np
from PIL import Image
from scanned_films import filled, grainy
from scanned_prints import PHOTOGRAPHS, Print, as_jpeg, curled, glare_light, on_bed, photograph, scanned, seen
from scipy.special import erf

from kinphoto.scans.checks.findings import findings
from kinphoto.scans.checks.glass import shared_marks
from kinphoto.scans.checks.limits import BY_KIND, Weight
from kinphoto.scans.checks.measures import VERSION, Measures, of_picture
from kinphoto.scans.checks.repairs import smoothed_patches
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

    @cached_property
    def plain(self) -> np.ndarray:
        """The levels of its good scan."""
        return np.asarray(self.scanned("altered"), dtype=np.float32)

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
        image = Image.fromarray(np.clip(np.rint(change(case.plain)), 0, 255).astype(np.uint8))
        return as_tiff(image) if lossless else as_jpeg(image, 97)

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


def as_tiff(image: Image.Image) -> bytes:
    """A file without any loss, and quickly written."""
    file = io.BytesIO()
    image.save(file, "TIFF", dpi=(600, 600))
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


Key = tuple[str, int]
"""A scan of the benchmark: its fault ("" for a good one) and its number."""


@dataclass
class Results:
    """What was said of each scan, kept in a file as it goes (`path`), so that a run can be continued."""

    path: Path | None
    settings: dict[str, object]
    said: dict[Key, set[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Read what an earlier run with the same settings kept."""
        if self.path is None:
            return
        if not self.path.exists():
            self.path.write_text(json.dumps(self.settings) + "\n", encoding="utf-8")
            return
        first, *lines = self.path.read_text(encoding="utf-8").splitlines()
        if json.loads(first) != self.settings:
            sys.exit(f"{self.path} is of a run with other settings: {first}")
        for fault, number, said in map(json.loads, lines):
            self.said[fault, number] = set(said)

    def judge(self, key: Key, judged: Callable[[], set[str]]) -> None:
        """What is said of this scan, unless it is known already."""
        if key in self.said:
            return
        self.said[key] = judged()
        if self.path is not None:
            with self.path.open("a", encoding="utf-8") as file:
                file.write(json.dumps([*key, sorted(self.said[key])]) + "\n")

    def table(self) -> str:
        """Each kind of fault, and the good scans, with what was found."""
        counts: dict[str, Counts] = {}
        for (fault, _), said in self.said.items():
            counts.setdefault(fault, Counts()).add(said, fault)
        rows = [counts[fault].row(f"`{fault}`") for fault in FAULTS if fault in counts]
        rows += [counts[""].row("a good scan: accused")] if "" in counts else []
        return "\n".join(["| scan | found | share | also said |", "| --- | --- | --- | --- |", *rows])


def try_all(each: int, seed: int, only: str, folder: Path, seconds: float, results: Results) -> None:
    """Judge `each` scans of each fault and as many good ones after each round; fewer where that takes longer than
    `seconds`."""
    faults = {name: make for name, make in FAULTS.items() if only in name}
    if not faults and only != "good":
        return
    end = time.monotonic() + seconds
    for number in range(each):
        case = Case(seed, number)
        for name, make in faults.items():
            results.judge((name, number), lambda make=make, case=case: kinds(make(case), folder))  # type: ignore[misc]
        for good_one in range(number * len(FAULTS), (number + 1) * len(FAULTS)) if only in ("", "good") else ():
            results.judge(("", good_one), lambda number=good_one: kinds(good_file(seed, number), folder))  # type: ignore[misc]
        if number % 5 == 4:
            print(f"{number + 1} of each after {time.process_time():.0f} s", file=sys.stderr, flush=True)
        if number % 20 == 19 and number + 1 < each:
            print(f"after {number + 1} of each:\n{results.table()}\n", file=sys.stderr, flush=True)
        if time.monotonic() > end:
            break
    print(results.table(), flush=True)


EVENING, DIRTY = 8, 5
"""Scans of an evening, and those of them that were made before the glass was wiped."""


LEAST = round(BY_KIND["dust"].limit)


def stands_out(level: np.ndarray, hair: tuple[tuple[float, float], ...]) -> bool:
    """Whether three quarters of a hair lie on what is lighter than it by 60 levels or more: on dark parts of a print a
    dark hair is not to be seen."""
    beneath = np.array([level[round(y), round(x)].mean() for x, y in hair])
    return bool((beneath >= 105).mean() >= 0.75)


def visible_hair(levels: list[np.ndarray], rng: np.random.Generator) -> tuple[tuple[float, float], ...]:
    """A hair that stands out in as many of these scans as a finding needs; after many tries any."""
    for _ in range(400):
        hair = curled(rng, (SIZE[0], SIZE[1]), float(rng.uniform(120, 400)))
        if sum(stands_out(level, hair) for level in levels) >= LEAST:
            break
    return hair


def try_glass(evenings: int, seed: int) -> None:
    """Specks and hairs on the glass: five of eight scans made after each other have the same. Counted are scans in
    which they are to be seen, where that is so in three of an evening or more."""
    rows = []
    for name in ("eight specks", "one hair", "a clean glass"):
        dirty = Counts()
        clean = Counts()
        for evening in range(evenings):
            rng = np.random.default_rng([seed, evening, 41])
            prints = [good(rng, number) for number in range(EVENING)]
            levels = [on_bed(picture(rng), how, rng) for how in prints]
            places = zip(rng.integers(200, SIZE[1] - 200, 8), rng.integers(200, SIZE[0] - 200, 8), strict=True)
            on_glass = {
                "eight specks": {"specks": tuple((int(y), int(x)) for y, x in places)},
                "one hair": {"hairs": (visible_hair(levels[:DIRTY], rng),)},
            }.get(name, {})
            made, shown = [], []
            for number, (level, how) in enumerate(zip(levels, prints, strict=True)):
                dirt = on_glass if number < DIRTY else {}
                made.append(of_picture(seen(level, replace(how, **dirt), rng)).specks)
                shown.append(number < DIRTY and all(stands_out(level, hair) for hair in on_glass.get("hairs", ())))
            for number, shared in enumerate(shared_marks(made, LEAST)):
                said = {"dust"} if shared else set()
                if number >= DIRTY or not on_glass:
                    clean.add(said)
                elif shown[number] and sum(shown) >= LEAST:
                    dirty.add(said, "dust")
        rows += [dirty.row(name)] if dirty.of else []
        rows += [clean.row(f"{name}: scans without, accused")]
    print("\n".join(["\n| on the glass | found | share | |", "| --- | --- | --- | --- |", *rows]), flush=True)


def try_film(frames: int, seed: int) -> None:
    """Patches that were filled on grainy black-and-white film, by the grain and by how much of the frame they are."""
    limit = BY_KIND["repaired"].limit
    rows = []
    for name, grain in (("fine", 0.03), ("usual", 0.06), ("coarse", 0.12)):
        plain = [grainy(seed + number, grain) for number in range(frames)]
        kept = [np.asarray(Image.open(io.BytesIO(as_jpeg(Image.fromarray(each), 90)))) for each in plain]
        cells = [
            sum(smoothed_patches(each) > limit for each in made)
            for made in (plain, kept, *([filled(each, share, seed) for each in plain] for share in FILLED))
        ]
        rows.append(f"| {name} | " + " | ".join(f"{cell} of {frames}" for cell in cells) + " |")
    head = ["grain", "nothing filled", "the same as JPEG 90", *(f"{share:.1%} filled" for share in FILLED)]
    print("\n".join([f"\n| {' | '.join(head)} |", "| --- " * len(head) + "|", *rows]), flush=True)


FILLED = (0.005, 0.01, 0.02)
"""Shares of a frame."""


def main() -> None:
    """The tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--scans", type=int, default=3000)
    parser.add_argument("--seed", type=int, default=2000)
    parser.add_argument("--seconds", type=float, default=math.inf, help="stop after so long, with what was tried")
    parser.add_argument("--large", action="store_true")
    parser.add_argument("--results", type=Path, metavar="FILE", help="keep what is found there, and go on from it")
    parser.add_argument(
        "--only",
        default="",
        metavar="KIND",
        help="faults with this in their name; `good`: good scans; `dust`; `repaired`",
    )
    wanted = parser.parse_args()
    if wanted.large:
        SIZE[:] = [3000, 2200]
    start = time.process_time()
    with tempfile.TemporaryDirectory() as folder:
        each = math.ceil(wanted.scans / 2 / len(FAULTS))
        results = Results(wanted.results, {"seed": wanted.seed, "large": wanted.large, "measures": VERSION})
        try_all(each, wanted.seed, wanted.only, Path(folder), wanted.seconds, results)
    if wanted.only in ("", "dust"):
        try_glass(max(1, wanted.scans // 250), wanted.seed)
    if wanted.only in ("", "repaired"):
        try_film(max(1, wanted.scans // 250), wanted.seed)
    print(f"{time.process_time() - start:.0f} s of the processor")


if __name__ == "__main__":
    main()
