"""The box of photographs: what is in it, that it can be drawn again, and that every face is where the sheets say."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from sample_tree import draw
from sample_tree.box import BY_FILE, SHOTS
from sample_tree.family import BY_ID, HERE
from sample_tree.outside import OUTSIDE

SCANS = HERE / "scans"


def _rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def test_every_scan_is_there_and_nothing_else() -> None:
    """The folder holds exactly what the program draws."""
    on_disk = sorted(str(path.relative_to(SCANS)) for path in SCANS.rglob("*") if path.is_file())
    assert on_disk == draw.files()


def test_forty_photographs_over_a_hundred_and_ten_years() -> None:
    """From 1868 to 1978, and no two on the same day."""
    days = sorted(shot.day for shot in SHOTS)
    assert len(days) >= 42
    assert len(set(days)) == len(days)
    assert days[-1].year - days[0].year >= 110


def test_the_kinds_found_in_such_a_box() -> None:
    """Cartes de visite, cabinet cards, a tintype, postcards, deckled snapshots, square colour prints, slides."""
    made = {shot.format for shot in SHOTS} | {shot.process for shot in SHOTS}
    assert made >= {
        "carte-de-visite", "cabinet-card", "tintype", "real-photo-postcard", "deckle-edge", "white-border",
        "square-126", "slide-35mm",
        "albumen", "cyanotype", "gelatin-silver", "chromogenic", "colour-slide",
    }  # fmt: skip


def test_sizes_stay_small() -> None:
    """No JPEG over 200 kB, nothing over 250 kB, all of them under 10 MB: the sample travels with the program."""
    sizes = [path.stat().st_size for path in SCANS.rglob("*") if path.is_file()]
    assert max(path.stat().st_size for path in SCANS.rglob("*.jpg")) <= 200_000
    assert max(sizes) <= 250_000
    assert sum(sizes) < 10_000_000


def test_scans_say_when_they_were_scanned_not_taken() -> None:
    """DateTimeOriginal (EXIF 2.3, tag 0x9003) holds an evening of 2024 or 2025, as it does in real scans."""
    for path in SCANS.rglob("*.jpg"):
        with Image.open(path) as image:
            assert image.getexif().get_ifd(0x8769)[0x9003][:4] in ("2024", "2025")
            assert 100 <= image.info["dpi"][0] <= 600


def test_one_scan_of_sixteen_bits_and_one_png() -> None:
    """The odd ones that every real box has."""
    with Image.open(SCANS / "box-1/studio_0005.tif") as image:
        assert image.mode.startswith("I;16")
    with Image.open(SCANS / draw.RESCAN) as image:
        assert image.format == "PNG"


@pytest.mark.parametrize("file", ["box-1/studio_0003.jpg", "album-green/outing_0002.jpg", "letters/war_0003.jpg"])
def test_drawing_again_gives_the_same_picture(file: str) -> None:
    """What the program draws today is what lies in the folder, but for the losses of JPEG."""
    drawn = np.clip(draw.draw(file).px, 0, 1) * 255
    with Image.open(SCANS / file) as image:
        kept = np.asarray(image.convert("RGB"), dtype=np.float32)
    assert drawn.shape == kept.shape
    assert np.abs(drawn - kept).mean() < 6


def test_faces_lie_inside_their_pictures_and_apart() -> None:
    """Every face is inside its scan, large enough to see, and not where another face is."""
    boxes: dict[str, list[tuple[float, float, float, float]]] = {}
    for row in _rows("truth/faces.csv"):
        left, top, width, height = (float(row[k]) for k in ("left", "top", "width", "height"))
        assert 0 <= left < left + width <= 1.0001, row
        assert 0 <= top < top + height <= 1.0001, row
        with Image.open(SCANS / row["photo"]) as image:
            assert width * image.width >= 14, row
            assert 0.5 < width * image.width / (height * image.height) < 1.5, row
        boxes.setdefault(row["photo"], []).append((left, top, width, height))
    for photo, found in boxes.items():
        for i, a in enumerate(found):
            for b in found[i + 1 :]:
                across = min(a[0] + a[2], b[0] + b[2]) - max(a[0], b[0])
                down = min(a[1] + a[3], b[1] + b[3]) - max(a[1], b[1])
                shared = max(across, 0) * max(down, 0)
                assert shared <= 0.35 * min(a[2] * a[3], b[2] * b[3]), photo


def test_faces_are_where_the_drawing_put_them() -> None:
    """Drawn again, a face lies where truth/faces.csv has it (to a thousandth of the picture)."""
    file = "album-green/outing_0004.jpg"
    scan = draw.draw(file)
    for row in (r for r in _rows("truth/faces.csv") if r["photo"] == file):
        told = [float(row[k]) for k in ("left", "top", "width", "height")]
        assert np.allclose(told, scan.faces[int(row["place"])], atol=1e-3)


def test_everybody_in_a_picture_was_alive_then() -> None:
    """True days and true lives agree."""
    for shot in SHOTS:
        for sitter in shot.sitters:
            if ":" in sitter.who:
                continue
            person = OUTSIDE.get(sitter.who) or BY_ID[sitter.who]
            assert date.fromisoformat(person.birth) <= shot.day, (shot.file, person.id)
            assert not person.death or shot.day <= date.fromisoformat(person.death), (shot.file, person.id)


def test_nobody_is_twice_in_one_picture() -> None:
    """One body each."""
    for shot in SHOTS:
        named = [s.who for s in shot.sitters if ":" not in s.who]
        assert len(set(named)) == len(named), shot.file


def test_true_dates_are_kept_for_every_photograph() -> None:
    """truth/dates.csv repeats the days of the box."""
    told = {row["photo"]: row["date"] for row in _rows("truth/dates.csv")}
    assert told == {**{file: shot.date for file, shot in BY_FILE.items()}, draw.COPY: BY_FILE[draw.COPIED].date}
    assert all(Path(SCANS / photo).is_file() for photo in told)
