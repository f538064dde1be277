"""The checks of scans: how many faults of known size they find, whom they accuse wrongly, and what they cost.

python tests/bench/bench_checks.py [--scans N] [--only speed|findings]

Findings: N scans (300) are made of scikit-image's photographs, half of them good; of the good ones half are of soft,
faded or textured prints. Each kind of fault has 1.25 times the amount its limit stands for. Bounds: each kind found 95
times in 100; at most 2 of 100 good scans accused of anything.

Speed: a JPEG and a TIFF of 35 megapixels are checked, against decoding the same file in the same process. Bound: 2
times, which is reading the file twice. The quickest of some runs counts, in time of the processor.
"""

from __future__ import annotations

import argparse
import io
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
from bench_scans import scan_of_35_megapixels
from PIL import Image
from scanned_prints import PHOTOGRAPHS, Print, as_jpeg, photograph, scanned

from kinphoto.scans.checks.findings import findings, shared_specks
from kinphoto.scans.checks.limits import Weight
from kinphoto.scans.checks.measures import Measures, measures

Make = Callable[[np.random.Generator, int], bytes]


def picture(rng: np.random.Generator) -> np.ndarray:
    """One of the photographs, as it is or mirrored."""
    found = photograph(str(rng.choice(PHOTOGRAPHS)))
    return found[:, ::-1] if rng.random() < 0.5 else found


def good(rng: np.random.Generator, number: int) -> Print:
    """A scan that is as it should be; every second one of a print that is soft, faded or textured."""
    plain = Print(
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


def spoilt(**how: float) -> Make:
    """Scans with something done to a good print of plain tones."""
    return lambda rng, number: as_jpeg(scanned(picture(rng), replace(good(rng, 2 * number + 1), **how), number))


def altered(change: Callable[[np.ndarray], np.ndarray], *, lossless: bool = False) -> Make:
    """Good scans whose levels are changed afterwards, within 0 to 255."""

    def made(rng: np.random.Generator, number: int) -> bytes:
        level = np.asarray(scanned(picture(rng), good(rng, 2 * number + 1), number), dtype=np.float32)
        image = Image.fromarray(np.clip(np.rint(change(level)), 0, 255).astype(np.uint8))
        return as_png(image) if lossless else as_jpeg(image, 97)

    return made


def as_png(image: Image.Image) -> bytes:
    """A file without any loss."""
    file = io.BytesIO()
    image.save(file, "PNG", dpi=(600, 600))
    return file.getvalue()


def lighter(share: float) -> Callable[[np.ndarray], np.ndarray]:
    """As much exposure as blows out `share` of the inner picture."""
    return lambda level: level * (254.5 / max(np.quantile(_inner(level).min(axis=2), 1 - share), 1))


def darker(share: float) -> Callable[[np.ndarray], np.ndarray]:
    """As much black as blocks `share` of the inner picture."""
    return lambda level: level - np.quantile(_inner(level).max(axis=2), share) + 0.5


def stretched(level: np.ndarray) -> np.ndarray:
    """223 levels stretched over 255, so that an eighth of them stays empty."""
    return np.rint(np.clip(np.rint(level * 0.86), 0, 223) * (255 / 223))


def auto_colours(share: float) -> Callable[[np.ndarray], np.ndarray]:
    """Each channel stretched until `share` of it is clipped at each end."""

    def change(level: np.ndarray) -> np.ndarray:
        inner = _inner(level).reshape(-1, 3)
        low, high = np.quantile(inner, (share, 1 - share), axis=0)
        return (level - low) * (255 / np.maximum(high - low, 1))

    return change


def unwritten(level: np.ndarray) -> np.ndarray:
    """The lowest rows grey, as where a file ends early."""
    found = level.copy()
    found[-max(1, round(0.0125 * len(found))) :] = 128
    return found


def recompressed(rng: np.random.Generator, number: int) -> bytes:
    """Saved coarsely, then once more finely."""
    once = as_jpeg(scanned(picture(rng), good(rng, 2 * number + 1), number), int(rng.integers(72, 82)))
    return as_jpeg(Image.open(io.BytesIO(once)), int(rng.integers(90, 97)))


def _inner(level: np.ndarray) -> np.ndarray:
    rows, columns = level.shape[:2]
    return level[rows // 8 : -rows // 8, columns // 8 : -columns // 8]


FAULTS: dict[str, Make] = {
    "clipped-light": altered(lighter(0.02)),
    "clipped-dark": altered(darker(0.035)),
    "blurred": spoilt(blur=1.75),
    "shaken": spoilt(shake=7),
    "glare": spoilt(glare=0.005, border=40),
    "cut": spoilt(cut=75),
    "tilted": spoilt(tilt=2.5),
    "enlarged": lambda rng, number: as_jpeg(
        scanned(
            picture(rng), replace(good(rng, 2 * number + 1), enlarged=float(rng.choice([1.25, 1.5, 2.5, 3]))), number
        )
    ),
    "sharpened": spoilt(sharpening=1.6),
    "stretched": altered(stretched, lossless=True),
    "clipped-colours": altered(auto_colours(0.004)),
    "damaged": altered(unwritten, lossless=True),
    "jpeg-low": lambda rng, number: as_jpeg(scanned(picture(rng), good(rng, 2 * number + 1), number), 72),
    "jpeg-twice": recompressed,
}


def measured(data: bytes, folder: Path) -> tuple[Measures, tuple[int, int]]:
    """What is measured on a file with these bytes, and its size in pixels."""
    place = folder / "scan"
    place.write_bytes(data)
    with Image.open(place) as image:
        return measures(str(place)), image.size


def kinds(data: bytes, folder: Path) -> set[str]:
    """The findings that ask for something, notes apart."""
    found, size = measured(data, folder)
    return {each.kind for each in findings(*size, found) if each.weight != Weight.NOTE}


def try_findings(scans: int, folder: Path) -> None:
    """The table of what is found, and of wrong accusations."""
    each = max(2, scans // 2 // len(FAULTS))
    print(f"| fault | found of {each} | also said |\n| --- | --- | --- |")
    for name, make in FAULTS.items():
        hits, others = 0, Counter[str]()
        for number in range(each):
            said = kinds(make(np.random.default_rng([number, len(name)]), number), folder)
            hits += name in said
            others.update(said - {name})
        print(
            f"| {name} | {hits} | {', '.join(f'{kind} {count}' for kind, count in others.most_common())} |", flush=True
        )
    accused, wrong = 0, Counter[str]()
    for number in range(scans // 2):
        rng = np.random.default_rng([number, 7])
        said = kinds(as_jpeg(scanned(picture(rng), good(rng, number), number), int(rng.integers(90, 98))), folder)
        accused += bool(said)
        wrong.update(said)
    share = accused / (scans // 2)
    print(f"good scans accused: {accused} of {scans // 2} ({share:.1%}): {dict(wrong)}")
    try_dust()


def try_dust() -> None:
    """Specks on the glass: five of eight scans made after each other have the same eight."""
    rng = np.random.default_rng(11)
    glass = tuple((int(y), int(x)) for y, x in zip(rng.integers(200, 900, 8), rng.integers(200, 1300, 8), strict=True))
    from kinphoto.scans.checks.measures import of_picture

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


def quickest(do: Callable[[], object], times: int = 3) -> float:
    """Seconds of the processor."""
    best = float("inf")
    for _ in range(times):
        start = time.process_time()
        do()
        best = min(best, time.process_time() - start)
    return best


def try_speed(folder: Path) -> None:
    """Checking against decoding."""
    jpeg = scan_of_35_megapixels(1)
    files = {"JPEG of 35 megapixels": jpeg}
    file = io.BytesIO()
    with Image.open(io.BytesIO(jpeg)) as image:
        image.save(file, "TIFF", dpi=(1200, 1200))
    files["TIFF of 35 megapixels"] = file.getvalue()
    for name, data in files.items():
        place = folder / "large"
        place.write_bytes(data)

        def decode(place: Path = place) -> None:
            with Image.open(place) as image:
                image.load()

        bare, checked = quickest(decode), quickest(lambda place=place: measures(str(place)))
        print(f"{name}: checked in {checked:.2f} s, decoded in {bare:.2f} s: {checked / bare:.2f} times", flush=True)


def main() -> None:
    """Both, or one of them."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--scans", type=int, default=300)
    parser.add_argument("--only", choices=("speed", "findings"))
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        if wanted.only != "findings":
            try_speed(Path(folder))
        if wanted.only != "speed":
            try_findings(wanted.scans, Path(folder))


if __name__ == "__main__":
    main()
