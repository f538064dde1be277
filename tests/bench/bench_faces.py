"""Faces found: how many, in which state of the print, how small, which way up, and what it costs.

python tests/bench/bench_faces.py FOLDER

FOLDER is examples/faces of dlib's source (Debian: `apt-get source dlib`): nine photographs with 43 faces, whose boxes
its authors drew (testing.xml, training.xml). A face counts as found where a frame overlaps its box by 0.4
(intersection over union), and a frame as right where it does. Frames on two pictures within the pictures, a poster
and picture postcards with faces that the authors left out, are not counted.

Held out: the least score of a face was chosen on the state "worst" with the seeds 1 to 4 of its grain and dust, with a
look at another state (harsh, scratched, JPEG 20; seeds 1 to 3). So the table has both with other seeds, and pictures
without faces, which were not looked at; and for each photograph the least score is chosen anew on the eight others, so
that they have 95 % precision, and tried on that one.

Strangers: the likeness of every two faces of one photograph, which are two people, against that of one face and the
same face in a worse state.

Bounds: recall 98 of 100 plain, sepia, faded, blurred, turned by 10°, 28 pixels wide; 95 at 20 pixels and turned by
90, 180, 270°; 85 at worst. Precision 95 everywhere. At most 0.6 s and 1.5 s with turns for 2 megapixels, 600 MB,
and 0.1 s a descriptor, in time of one processor.
"""

from __future__ import annotations

import argparse
import io
import resource
import time
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from PIL import Image, ImageFilter
from skimage import data

from kinphoto.faces import finding
from kinphoto.faces.describing import Describer
from kinphoto.faces.finding import FacesFound, Finder

Box = tuple[float, float, float, float]
"""Left, top, width, height in pixels."""
Case = tuple[Image.Image, list[Box]]
Change = Callable[[Image.Image, list[Box]], Case]
MATCH = 0.4
LEFT_OUT = {"2008_002470.jpg": [(153.0, 94.0, 38.0, 38.0)], "2008_004176.jpg": [(443.0, 107.0, 38.0, 56.0)]}
"""Faces within pictures that hang or stand there, by eye."""


def examples(folder: Path) -> Iterator[tuple[Image.Image, list[Box], int]]:
    """Each photograph with the boxes of its faces, and how many of them its authors drew; the others follow."""
    for name in ("testing.xml", "training.xml"):
        for image in ET.parse(folder / name).iter("image"):
            boxes = [tuple(float(box.attrib[side]) for side in ("left", "top", "width", "height"))
                     for box in image.iter("box")]  # fmt: skip
            left_out = LEFT_OUT.get(image.attrib["file"], [])
            yield Image.open(folder / image.attrib["file"]).convert("RGB"), [*boxes, *left_out], len(boxes)  # type: ignore[misc]


def sepia(image: Image.Image, boxes: list[Box]) -> Case:
    """Brown on cream."""
    grey = np.asarray(image.convert("L"), dtype=np.float32)[..., None] / 255
    dark, light = np.array([60, 40, 25]), np.array([245, 228, 195])
    return Image.fromarray((dark + grey * (light - dark)).astype(np.uint8)), boxes


def faded(image: Image.Image, boxes: list[Box], to: float = 0.3) -> Case:
    """A part of the contrast is left, and what was black is light."""
    level = np.asarray(image.convert("L"), dtype=np.float32)
    return Image.fromarray((200 - 200 * to + level * to).clip(0, 255).astype(np.uint8)).convert("RGB"), boxes


def blurred(image: Image.Image, boxes: list[Box]) -> Case:
    """Out of focus."""
    return image.filter(ImageFilter.GaussianBlur(1.5)), boxes


def tilted(image: Image.Image, boxes: list[Box]) -> Case:
    """Laid on the glass askew, by 10 degrees."""
    turned = image.rotate(10, expand=True, fillcolor=(128, 128, 128), resample=Image.Resampling.BICUBIC)
    angle = np.deg2rad(10)
    middle, to = np.array(image.size) / 2, np.array(turned.size) / 2
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    moved = []
    for left, top, width, height in boxes:
        x, y = turn @ (np.array([left + width / 2, top + height / 2]) - middle) + to
        moved.append((x - width / 2, y - height / 2, width, height))
    return turned, moved


def quarter(turns: int) -> Callable[[Image.Image, list[Box]], Case]:
    """Turned by quarters to the right."""

    def turned(image: Image.Image, boxes: list[Box]) -> Case:
        for _ in range(turns):
            boxes = [(image.height - top - height, left, height, width) for left, top, width, height in boxes]
            image = image.transpose(Image.Transpose.ROTATE_270)
        return image, boxes

    return turned


def small(pixels: int) -> Callable[[Image.Image, list[Box]], Case]:
    """Made smaller, until the smallest face is so wide."""

    def scaled(image: Image.Image, boxes: list[Box]) -> Case:
        scale = min(pixels / min(box[2] for box in boxes), 1.0)
        size = round(image.width * scale), round(image.height * scale)
        return image.resize(size, Image.Resampling.LANCZOS), [tuple(side * scale for side in box) for box in boxes]  # type: ignore[misc]

    return scaled


def worst(image: Image.Image, boxes: list[Box], seed: int = 7) -> Case:
    """A soft and grainy print that has faded and gone brown, with dust on it, saved as a JPEG of quality 25."""
    rng = np.random.default_rng(seed)
    level = np.asarray(blurred(image, boxes)[0].convert("L"), dtype=np.float32)
    level = level + rng.normal(0, 8, level.shape)  # the grain is part of the print, and fades with it
    image, boxes = sepia(*faded(Image.fromarray(level.clip(0, 255).astype(np.uint8)), boxes, to=0.5))
    colours = np.array(image)
    specks = rng.random(colours.shape[:2])
    colours[specks < 0.001] = 255
    colours[specks > 0.999] = 20
    file = io.BytesIO()
    Image.fromarray(colours).save(file, "JPEG", quality=25)
    return Image.open(file).convert("RGB"), boxes


def harsh(image: Image.Image, boxes: list[Box], seed: int = 7) -> Case:
    """A harsh print, too dark and then faded, grainy and scratched from top to bottom, saved as a JPEG (20)."""
    rng = np.random.default_rng(seed)
    level = np.asarray(image.filter(ImageFilter.BoxBlur(1.5)).convert("L"), dtype=np.float32) / 255
    level = 70 + 153 * level**1.6 + rng.normal(0, 6, level.shape)
    level[:, rng.integers(0, level.shape[1], 8)] = 230
    file = io.BytesIO()
    Image.fromarray(level.clip(0, 255).astype(np.uint8)).save(file, "JPEG", quality=20)
    return Image.open(file).convert("RGB"), boxes


def with_seeds(change: Callable[[Image.Image, list[Box], int], Case], seeds: range) -> list[Change]:
    """The same with these seeds."""
    return [lambda image, boxes, seed=seed: change(image, boxes, seed) for seed in seeds]  # type: ignore[misc]


CASES: list[tuple[str, Callable[[Image.Image, list[Box]], Case], bool, float]] = [
    ("plain", lambda image, boxes: (image, boxes), False, 0.98),
    ("sepia", sepia, False, 0.98),
    ("faded to 30 %", faded, False, 0.98),
    ("blurred", blurred, False, 0.98),
    ("turned by 10°", tilted, False, 0.98),
    ("28 pixels", small(28), False, 0.98),
    ("20 pixels", small(20), False, 0.95),
    ("plain, turns tried", lambda image, boxes: (image, boxes), True, 0.95),
    ("turned by 90°", quarter(1), True, 0.95),
    ("turned by 180°", quarter(2), True, 0.95),
    ("turned by 270°", quarter(3), True, 0.95),
    ("worst", worst, False, 0.85),
]
"""What is done to the photographs, whether turns are tried, and the least recall."""


def overlap(one: Box, other: Box) -> float:
    """Intersection over union."""
    across = min(one[0] + one[2], other[0] + other[2]) - max(one[0], other[0])
    down = min(one[1] + one[3], other[1] + other[3]) - max(one[1], other[1])
    shared = max(across, 0.0) * max(down, 0.0)
    return shared / (one[2] * one[3] + other[2] * other[3] - shared)


HELD_OUT: list[tuple[str, list[Change], float, float]] = [
    ("worst, seeds 11 to 18", with_seeds(worst, range(11, 19)), 0.85, 0.95),
    ("harsh and scratched, seeds 11 to 14", with_seeds(harsh, range(11, 15)), 0.7, 0.95),
]
"""States with grain, dust and scratches that were not looked at, the least recall and the least precision."""
NO_FACES = (
    "brick", "grass", "gravel", "coins", "text", "page", "moon", "hubble_deep_field", "cell", "immunohistochemistry",
    "retina", "chelsea", "coffee", "rocket", "horse", "checkerboard", "colorwheel", "clock", "logo",
)  # fmt: skip
"""Pictures of scikit-image without a human face: walls, stones, writing, a cat, a cup, a rocket, a clock."""


def in_pixels(found: FacesFound, image: Image.Image) -> list[Box]:
    """The frames in pixels."""
    sides = (image.width, image.height, image.width, image.height)
    return [tuple(part * side for part, side in zip(face.region, sides, strict=True)) for face in found.faces]  # type: ignore[misc]


def quality(finder: Finder, cases: list[tuple[Image.Image, list[Box], int]]) -> bool:
    """The table of what is found; whether it is within the bounds."""
    good = True
    print(
        "| state | faces | found | recall | bound | frames | precision |\n| --- | --- | --- | --- | --- | --- | --- |"
    )
    for name, change, turns, bound in CASES:
        there = hit = frames = right = 0
        for image, boxes, drawn in cases:
            changed, moved = change(image, boxes)
            result = in_pixels(finder.find(np.asarray(changed), turns=turns), changed)
            result = [frame for frame in result if not any(overlap(box, frame) >= 0.2 for box in moved[drawn:])]
            there, frames = there + drawn, frames + len(result)
            hit += sum(any(overlap(box, frame) >= MATCH for frame in result) for box in moved[:drawn])
            right += sum(any(overlap(box, frame) >= MATCH for box in moved[:drawn]) for frame in result)
        good &= hit >= bound * there and right >= 0.95 * frames
        print(f"| {name} | {there} | {hit} | {hit / there:.1%} | {bound:.0%} | {frames} | {right / frames:.1%} |")
    return good


def counted(finder: Finder, cases: list[tuple[Image.Image, list[Box], int]], changes: list[Change]) -> list[Found]:
    """Of each photograph what is found after these changes, however unsure."""
    found = []
    for number, (image, boxes, drawn) in enumerate(cases):
        for change in changes:
            changed, moved = change(image, boxes)
            result = finder.find(np.asarray(changed))
            frames = [
                (face.score, [n for n, box in enumerate(moved[:drawn]) if overlap(box, frame) >= MATCH])
                for face, frame in zip(result.faces, in_pixels(result, changed), strict=True)
                if not any(overlap(box, frame) >= 0.2 for box in moved[drawn:])
            ]
            found.append(Found(number, drawn, frames))
    return found


class Found(NamedTuple):
    """The number of a photograph, how many faces its authors drew, and of each frame the score and which it is on."""

    photograph: int
    drawn: int
    frames: list[tuple[float, list[int]]]


def rates(found: list[Found], least: float) -> tuple[float, float]:
    """Recall and precision where frames of so much and more are offered."""
    offered = [(one, [on for score, on in one.frames if score >= least]) for one in found]
    hit = sum(len({number for on in frames for number in on}) for _, frames in offered)
    right, frames = sum(bool(on) for _, some in offered for on in some), sum(len(some) for _, some in offered)
    return hit / sum(one.drawn for one in found), right / max(frames, 1)


def held_out(finder: Finder, cases: list[tuple[Image.Image, list[Box], int]]) -> bool:
    """The tables of what was not tuned on; whether it is within the bounds."""
    good = True
    print("\n| held out | recall | bound | precision | bound |\n| --- | --- | --- | --- | --- |")
    for name, changes, least_recall, least_precision in HELD_OUT:
        recall, precision = rates(counted(finder, cases, changes), finding.LEAST_SCORE)
        good &= recall >= least_recall and precision >= least_precision
        print(f"| {name} | {recall:.1%} | {least_recall:.0%} | {precision:.1%} | {least_precision:.0%} |")
    usual = finding.LEAST_SCORE
    finding.LEAST_SCORE = 0.3
    every = counted(finder, cases, with_seeds(worst, range(11, 15)))
    finding.LEAST_SCORE = usual
    steps = np.arange(0.4, 0.9, 0.01)
    chosen, tried = [], []
    for number in range(len(cases)):
        others = [one for one in every if one.photograph != number]
        least = next((step for step in steps if rates(others, step)[1] >= 0.95), steps[-1])
        chosen.append(float(least))
        tried += [
            one._replace(frames=[frame for frame in one.frames if frame[0] >= least])
            for one in every
            if one.photograph == number
        ]
    recall, precision = rates(tried, 0.0)
    print(
        f"each photograph by the others (worst, seeds 11 to 14): least scores {min(chosen):.2f} to {max(chosen):.2f}, "
        f"recall {recall:.1%}, precision {precision:.1%}"
    )
    frames = pictures = 0
    for name in NO_FACES:
        picture = Image.fromarray(np.asarray(getattr(data, name)()).astype(np.uint8)).convert("RGB")
        for change in (lambda image, boxes: (image, boxes), worst, harsh):
            frames += len(finder.find(np.asarray(change(picture, [])[0])).faces)  # type: ignore[operator]
            pictures += 1
    print(f"pictures without faces, plain, worst and harsh: {frames} frames on {pictures}")
    return good and frames <= 0.05 * pictures


def likeness(finder: Finder, describer: Describer, cases: list[tuple[Image.Image, list[Box], int]]) -> None:
    """How alike the faces of two people are, and one face in two states of its print."""
    strangers, same = [], []
    for image, _, _ in cases:
        picture = np.asarray(image)
        points = [face.points for face in finder.find(picture).faces]
        plain = describer.describe(picture, points)
        strangers += [float(one @ other) for at, one in enumerate(plain) for other in plain[:at]]
        for change in (blurred, faded, sepia):
            worse = describer.describe(np.asarray(change(image, [])[0]), points)
            same += [float(one @ other) for one, other in zip(plain, worse, strict=True)]
    for words, found in (("two people of one photograph", strangers), ("one face, blurred, faded, sepia", same)):
        spread = np.percentile(found, (5, 50, 95))
        print(
            f"{words}: {len(found)} pairs, mean {np.mean(found):.2f}, spread {np.std(found):.2f}, "
            f"5, 50, 95 %: {spread.round(2)};"
            f" above 0.36: {np.mean(np.array(found) > 0.363):.1%}, above 0.5: {np.mean(np.array(found) > 0.5):.1%}"
        )


def cost(finder: Finder, describer: Describer, image: Image.Image) -> bool:
    """What a picture of 2 megapixels and a descriptor cost; whether it is within the bounds."""
    large = image.resize((1632, 1224), Image.Resampling.LANCZOS)
    picture = np.asarray(large)
    plain = quickest(lambda: finder.find(picture))
    empty = np.full_like(picture, 128)
    turned = quickest(lambda: finder.find(empty, turns=True))  # no face stands upright: every way is tried
    faces = finder.find(picture).faces
    each = quickest(lambda: describer.describe(picture, [faces[0].points]))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    print(
        f"\n2 megapixels: {plain:.2f} s, with turns {turned:.2f} s; a descriptor {each * 1000:.0f} ms; {memory:.0f} MB"
    )
    return plain <= 0.6 and turned <= 1.5 and each <= 0.1 and memory <= 600


def quickest(work: Callable[[], object], times: int = 3) -> float:
    """The least time of the processor that it takes."""
    taken = []
    for _ in range(times):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return min(taken)


def main() -> int:
    """Print the tables; 1 where a bound is missed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    cases = list(examples(parser.parse_args().folder))
    finder, describer = Finder(), Describer()
    found = quality(finder, cases) & held_out(finder, cases)
    print()
    likeness(finder, describer, cases)
    within = cost(finder, describer, cases[0][0])
    print("within the bounds" if found and within else "OUTSIDE THE BOUNDS")
    return 0 if found and within else 1


if __name__ == "__main__":
    raise SystemExit(main())
