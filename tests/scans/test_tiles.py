"""What is made of scans to be shown: tiles, whole pictures, faces. The references are turned by Pillow and numpy."""

from __future__ import annotations

import hashlib
import json
import os
import signal
import subprocess
import sys
import threading
import time
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pillow_heif
import pytest
from commands import with_same_modules
from PIL import Image, ImageCms, ImageOps

from kinphoto.errors import ArchiveError, NotFoundError, UnreadableFileError
from kinphoto.scans import memory, parts, tiles
from kinphoto.scans.memory import MemoryBudget
from kinphoto.scans.thumbnails import thumbnail_path
from kinphoto.scans.tiles import TILE, Pyramid
from kinphoto.scans.upright import ScanFile

ORIENTATION = 0x0112
GREEN, RED = (40, 160, 60), (200, 40, 30)


@cache
def colours(width: int, height: int) -> np.ndarray:
    """Red, green and blue without sharp edges, and different in every corner."""
    down, across = np.arange(height, dtype=float)[:, None], np.arange(width, dtype=float)
    picture = np.empty((height, width, 3), np.uint8)
    picture[..., 0] = 30 + 200 * across / width
    picture[..., 1] = 30 + 200 * down / height
    picture[..., 2] = 128 + 100 * np.sin(across / 90) * np.cos(down / 70)
    return picture


def soft(width: int, height: int, mode: str = "RGB") -> Image.Image:
    """A picture of these, so that a JPEG of it is nearly exact."""
    return Image.fromarray(colours(width, height).copy()).convert(mode)


def source(path: Path, turn: int = 0) -> ScanFile:
    """The scan at a path, as indexed now."""
    return ScanFile(str(path), hashlib.sha256(path.read_bytes()).hexdigest(), turn)


def put_together(folder: Path, scan: ScanFile, level: int) -> Image.Image:
    """A whole level from its tiles."""
    pyramid = tiles.pyramid(folder, scan)
    columns, rows = pyramid.grid(level)
    whole = Image.new("RGB", (-(-pyramid.width >> level), -(-pyramid.height >> level)))
    for column in range(columns):
        for row in range(rows):
            with Image.open(tiles.tile_path(folder, scan, level, column, row)) as tile:
                assert tile.format == "JPEG"
                assert max(tile.size) <= TILE
                whole.paste(tile, (column * TILE, row * TILE))
    return whole


def difference(one: Image.Image, other: Image.Image | np.ndarray) -> float:
    """The mean difference of two pictures of the same size, in steps of 0 to 255."""
    first, second = np.asarray(one.convert("RGB"), np.int16), np.asarray(other, np.int16)
    if second.ndim == 2:
        second = second[..., None]
    assert first.shape[:2] == second.shape[:2]
    return float(np.abs(first - second).mean())


@pytest.mark.parametrize(
    ("size", "levels", "grid"),
    [((1, 1), 1, (1, 1)), ((512, 512), 1, (1, 1)), ((513, 20), 2, (2, 1)), ((1025, 512), 3, (3, 1)),
     ((7000, 5000), 5, (14, 10)), ((40_000, 16_000), 8, (79, 32))],
)  # fmt: skip
def test_levels_go_down_to_one_tile(size: tuple[int, int], levels: int, grid: tuple[int, int]) -> None:
    """Counted by hand; halves are rounded up, so that no pixel is lost."""
    pyramid = Pyramid(*size)
    assert (pyramid.levels, pyramid.grid(0), pyramid.grid(levels - 1)) == (levels, grid, (1, 1))


@pytest.mark.parametrize("name", ["a.jpg", "a.tif", "a.png", "a.webp", "a.heic"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_tiles_put_together_are_the_upright_picture(tmp_path: Path, name: str, orientation: int) -> None:
    """In every format, orientation and turn. Reference: exif_transpose by Pillow, turned by numpy."""
    pillow_heif.register_heif_opener()
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    soft(700, 530).save(tmp_path / name, exif=exif, quality=95)
    turn = orientation % 4
    with Image.open(tmp_path / name) as image:
        expected = np.rot90(np.asarray(ImageOps.exif_transpose(image).convert("RGB")), -turn)
    scan = source(tmp_path / name, turn)
    found = put_together(tmp_path / "archive", scan, 0)
    assert difference(found, expected) < 1.5


@pytest.mark.parametrize("mode", ["L", "RGBA", "P", "CMYK", "1", "I;16", "LA"])
def test_every_kind_of_pixel_is_shown(tmp_path: Path, mode: str) -> None:
    """Reference: what Pillow converts to eight bits; of 16 bits the upper eight."""
    grey = soft(700, 530, "L")
    if mode == "I;16":
        Image.fromarray(np.asarray(grey).astype(np.uint16) * 256 + 77).save(tmp_path / "a.tif")
        expected = grey.convert("RGB")
    else:
        soft(700, 530).convert(mode).save(tmp_path / "a.tif")
        with Image.open(tmp_path / "a.tif") as image:
            expected = image.convert("RGB")
    scan = source(tmp_path / "a.tif", 1)
    close = {"1": 12, "P": 20}.get(mode, 3)  # a JPEG blurs the dots of which these are made
    assert difference(put_together(tmp_path / "archive", scan, 0), np.rot90(expected, -1)) < close


def test_each_level_is_half_of_the_one_before(tmp_path: Path) -> None:
    """Reference: Pillow's reduce of the whole, by 2 and by 4; the sizes are odd on purpose."""
    picture = soft(1301, 1723)
    picture.save(tmp_path / "a.png")
    scan = source(tmp_path / "a.png")
    assert tiles.pyramid(tmp_path / "archive", scan).levels == 3
    for level in (1, 2):
        assert difference(put_together(tmp_path / "archive", scan, level), picture.reduce(2**level)) < 1.5


def test_the_view_and_the_thumbnail_are_turned(tmp_path: Path) -> None:
    """Both fit into their edge and show the whole picture; the thumbnail also when it was made before it was turned."""
    soft(2100, 1500).save(tmp_path / "a.jpg", quality=95)
    folder = tmp_path / "archive"
    plain, over = source(tmp_path / "a.jpg"), source(tmp_path / "a.jpg", 3)
    for path, size in ((tiles.view_path(folder, over), (1143, 1600)), (tiles.small_path(folder, over), (366, 512))):
        with Image.open(path) as image:
            assert image.size == size
            assert difference(image, soft(2100, 1500).rotate(90, expand=True).resize(size)) < 3
    small = tiles.small_path(folder, plain)
    assert small == thumbnail_path(folder / "thumbs", plain.sha256)
    with Image.open(tiles.small_path(folder, source(tmp_path / "a.jpg", 1))) as image:
        assert difference(image, soft(2100, 1500).rotate(-90, expand=True).resize((366, 512))) < 3


def test_a_small_scan_is_not_blown_up(tmp_path: Path) -> None:
    """A view of 30 by 20 pixels has 30 by 20 pixels."""
    soft(30, 20).save(tmp_path / "a.png")
    with Image.open(tiles.view_path(tmp_path / "archive", source(tmp_path / "a.png"))) as image:
        assert image.size == (30, 20)


def another_profile() -> bytes:
    """An ICC profile in which red and green change places: sRGB with two tags renamed (ICC.1, 7.3, the tag table)."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    swapped = profile.replace(b"rXYZ", b"????").replace(b"gXYZ", b"rXYZ").replace(b"????", b"gXYZ")
    return swapped.replace("sRGB".encode("utf-16-be"), "xRGB".encode("utf-16-be"))


def test_colours_are_converted_to_srgb(tmp_path: Path) -> None:
    """A file that calls its red green is shown green: as tiles, as a whole, and as the thumbnail."""
    Image.new("RGB", (600, 400), (250, 0, 0)).save(tmp_path / "a.png", icc_profile=another_profile())
    scan, folder = source(tmp_path / "a.png"), tmp_path / "archive"
    for path in (tiles.tile_path(folder, scan, 0, 0, 0), tiles.view_path(folder, scan), tiles.small_path(folder, scan)):
        with Image.open(path) as image:
            red, green, blue = image.convert("RGB").getpixel((5, 5))
            assert green > 240
            assert max(red, blue) < 20


def test_a_broken_colour_profile_leaves_colours_as_they_are(tmp_path: Path) -> None:
    """Better slightly wrong than not at all."""
    Image.new("RGB", (60, 40), RED).save(tmp_path / "a.png", icc_profile=b"no profile at all" * 20)
    with Image.open(tiles.view_path(tmp_path / "archive", source(tmp_path / "a.png"))) as image:
        assert difference(image, np.full((40, 60, 3), RED)) < 3


def test_nothing_of_the_file_but_its_pixels_leaves(tmp_path: Path) -> None:
    """Neither EXIF, XMP, comment nor colour profile is in anything that is made."""
    exif = Image.Exif()
    exif[0x010E] = "Skerry Point"  # ImageDescription
    soft(900, 600).save(
        tmp_path / "a.jpg",
        exif=exif,
        comment=b"Skerry Point",
        xmp=b"<x>Skerry Point</x>",
        icc_profile=another_profile(),
    )
    assert (tmp_path / "a.jpg").read_bytes().count(b"Skerry Point") == 3
    scan, folder = source(tmp_path / "a.jpg"), tmp_path / "archive"
    for turn in (0, 1):
        turned = ScanFile(scan.path, scan.sha256, turn)
        tiles.pyramid(folder, turned)
        tiles.view_path(folder, turned)
        tiles.small_path(folder, turned)
        tiles.face_path(folder, turned, (0.4, 0.4, 0.1, 0.1))
    made = [path.read_bytes() for path in folder.rglob("*.jpg")]
    assert len(made) == 2 * (4 + 1 + 3)  # two levels of tiles, and three single pictures
    for words in (b"Skerry", b"Exif", b"ICC_PROFILE", b"adobe.com/xap"):
        assert not any(words in one for one in made)


@pytest.mark.parametrize("size", [(1000, 600), (600, 1000)])
def test_a_face_is_cut_out_with_its_surroundings(tmp_path: Path, size: tuple[int, int]) -> None:
    """A red square on green: it stands in the middle, 1 / 1.6 of the whole across, and the whole is square."""
    width, height = size
    picture = Image.new("RGB", size, GREEN)
    picture.paste(RED, (400, 300, 500, 400))
    picture.save(tmp_path / "a.png")
    region = (400 / width, 300 / height, 100 / width, 100 / height)
    with Image.open(tiles.face_path(tmp_path / "archive", source(tmp_path / "a.png"), region)) as face:
        assert face.size == (160, 160)
        reds = np.argwhere(np.asarray(face.convert("RGB"))[..., 0] > 120)
        assert reds.min(0) == pytest.approx([30, 30], abs=2)
        assert reds.max(0) == pytest.approx([129, 129], abs=2)


def test_a_face_of_a_large_scan_has_all_its_pixels(tmp_path: Path) -> None:
    """A scan decoded at a quarter of its size would do for the page, not for a face that takes a fiftieth of it."""
    picture = soft(6000, 400)
    picture.paste(RED, (3000, 100, 3120, 220))
    picture.save(tmp_path / "a.jpg", quality=95)
    with Image.open(tiles.face_path(tmp_path / "archive", source(tmp_path / "a.jpg"), (0.5, 0.25, 0.02, 0.3))) as face:
        assert face.size == (192, 192)


def test_faces_at_the_edge_stay_inside() -> None:
    """The square is moved, and cut only where the picture is narrower than it."""
    assert tiles.face_box((0.0, 0.9, 0.1, 0.1), (1000, 1000)) == (0, 840, 160, 1000)
    assert tiles.face_box((0.0, 0.0, 1.0, 1.0), (1000, 500)) == (0, 0, 1000, 500)
    assert tiles.face_box((0.5, 0.5, 0.0001, 0.0001), (10, 10)) == (5, 5, 6, 6)


def test_a_tile_outside_the_picture_is_not_there(tmp_path: Path) -> None:
    """Neither beside it nor on a level it does not have."""
    soft(700, 530).save(tmp_path / "a.png")
    scan = source(tmp_path / "a.png")
    for place in ((0, 2, 0), (0, 0, 2), (2, 0, 0), (-1, 0, 0), (0, -1, 0)):
        with pytest.raises(NotFoundError, match="no such part"):
            tiles.tile_path(tmp_path / "archive", scan, *place)


def test_a_scan_that_is_gone_or_changed_is_told(tmp_path: Path) -> None:
    """What was made before stays; what was not says why it cannot be made."""
    path = tmp_path / "a.png"
    soft(700, 530).save(path)
    scan, folder = source(path), tmp_path / "archive"
    tiles.small_path(folder, scan)
    path.unlink()
    with pytest.raises(UnreadableFileError, match="no longer there"):
        tiles.pyramid(folder, scan)
    soft(700, 531).save(path)
    with pytest.raises(UnreadableFileError, match="changed since it was added"):
        tiles.view_path(folder, scan)
    assert tiles.small_path(folder, scan).exists()
    assert tiles.face_in_small_path(folder, scan, (0.4, 0.4, 0.1, 0.1)).exists()
    assert tiles.small_path(folder, ScanFile(scan.path, scan.sha256, 2)).exists()


def test_what_was_thrown_away_is_made_again(tmp_path: Path) -> None:
    """The whole folder, some of it, or what tells its size."""
    soft(700, 530).save(tmp_path / "a.png")
    scan, folder = source(tmp_path / "a.png"), tmp_path / "archive"
    place = tiles.tile_path(folder, scan, 0, 1, 1).parents[1]
    for gone in (place / "0" / "1-1.jpg", place / "pyramid.json"):
        gone.unlink()
        assert tiles.tile_path(folder, scan, 0, 1, 1).exists()
        assert gone.exists()
    (place / "pyramid.json").write_text("{")
    assert tiles.pyramid(folder, scan) == Pyramid(700, 530)
    assert json.loads((place / "pyramid.json").read_text()) == {"width": 700, "height": 530}


def test_no_room_on_the_disk_is_the_archives_affair(tmp_path: Path) -> None:
    """A file stands where the folder should be."""
    soft(70, 53).save(tmp_path / "a.png")
    (tmp_path / "tiles").write_text("in the way")
    for ask in (tiles.pyramid, tiles.view_path):
        with pytest.raises(ArchiveError, match="cannot be stored"):
            ask(tmp_path, source(tmp_path / "a.png"))


CODE = """
import sys, os, signal
from pathlib import Path
from kinphoto.scans import tiles
from kinphoto.scans.upright import ScanFile
folder, path, sha256, most = Path(sys.argv[1]), sys.argv[2], sys.argv[3], int(sys.argv[4])
real, count = tiles.save, 0
def save(picture, path):
    global count
    count += 1
    if count > most:
        os.kill(os.getpid(), signal.SIGKILL)
    real(picture, path)
tiles.save = save
print("ready", flush=True)
sys.stdin.readline()
print(tiles.pyramid(folder, ScanFile(path, sha256)))
"""


def making(folder: Path, scan: ScanFile, most: int) -> subprocess.Popen[str]:
    """A process that makes the tiles of a scan when it is told to, and is killed after `most` of them."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(place for place in sys.path if place)}
    process = subprocess.Popen(
        [sys.executable, "-c", CODE, str(folder), scan.path, scan.sha256, str(most)],
        env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    return process


def test_a_killed_process_leaves_nothing_that_is_taken_for_whole(tmp_path: Path) -> None:
    """Whatever it had written; an hour later the next making removes it."""
    soft(1500, 1100).save(tmp_path / "a.png")
    scan, folder = source(tmp_path / "a.png"), tmp_path / "archive"
    for most in (0, 1, 5, 11):
        process = making(folder, scan, most)
        process.communicate("now\n")
        assert process.returncode == -signal.SIGKILL
        assert list(folder.glob("tiles/??/*")) == []
    left = list(folder.glob("tiles/*.part"))
    assert len(left) == 4
    for part in left[:3]:
        os.utime(part, (time.time() - 4000,) * 2)
    assert difference(put_together(folder, scan, 0), soft(1500, 1100)) < 1.5
    assert list(folder.glob("tiles/*.part")) == [left[3]]  # somebody may still be at work there


def test_two_processes_may_make_the_same(tmp_path: Path) -> None:
    """Both come to the same end, and nothing half made is left."""
    soft(1500, 1100).save(tmp_path / "a.png")
    scan, folder = source(tmp_path / "a.png"), tmp_path / "archive"
    processes = [making(folder, scan, 1000) for _ in range(2)]
    for process in processes:
        assert process.stdin is not None
        process.stdin.write("now\n")
        process.stdin.flush()
    for process in processes:
        assert process.communicate()[0] == "Pyramid(width=1500, height=1100)\n"
        assert process.returncode == 0
    assert list(folder.glob("tiles/*.part")) == []
    assert difference(put_together(folder, scan, 0), soft(1500, 1100)) < 1.5


def test_a_jpeg_too_large_for_the_memory_is_shown_at_half_its_size(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """4 bytes a pixel for 1600 by 1200 are 7.7 MB; with 2 MB there is room for half the size. A TIFF is refused with
    the figure."""
    monkeypatch.setattr(parts, "BUDGET", MemoryBudget(2_000_000))
    monkeypatch.setattr(parts, "_GIGABYTE", 1_000_000)
    soft(1600, 1200).save(tmp_path / "a.jpg", quality=95)
    soft(1600, 1200).save(tmp_path / "a.tif")
    scan = source(tmp_path / "a.jpg")
    assert tiles.pyramid(tmp_path, scan) == Pyramid(800, 600)
    assert difference(put_together(tmp_path, scan, 0), soft(1600, 1200).reduce(2)) < 1.5
    with pytest.raises(UnreadableFileError, match=r"takes 7\.7 GB of memory"):
        tiles.pyramid(tmp_path, source(tmp_path / "a.tif"))


def test_many_askers_start_few_decoders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Thirty threads ask for three scans: each is decoded once, and never more than two at a time."""
    for number in range(3):
        soft(600 + number, 400).save(tmp_path / f"{number}.png")
    scans = [source(tmp_path / f"{number}.png") for number in range(3)]
    running, most, made, counting = 0, 0, [], threading.Lock()
    decode = parts.Upright.__init__

    def slowly(self: parts.Upright, image: Image.Image, *how: Any) -> None:
        nonlocal running, most
        with counting:
            running += 1
            most = max(most, running)
            made.append(image.size)
        time.sleep(0.05)
        decode(self, image, *how)
        with counting:
            running -= 1

    monkeypatch.setattr(parts.Upright, "__init__", slowly)
    threads = [threading.Thread(target=tiles.pyramid, args=(tmp_path, scans[n % 3])) for n in range(30)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(made) == [(600, 400), (601, 400), (602, 400)]
    assert 1 <= most <= memory.MOST_PICTURES == 2


def test_memory_is_lent_only_while_there_is_some() -> None:
    """Who needs all of it waits until the other has given back his."""
    lending, order = MemoryBudget(100), []

    def borrow(name: str, needed: int, inside: threading.Event, until: threading.Event) -> None:
        with lending.reserved(needed):
            order.append(name)
            inside.set()
            until.wait(10)
        order.append(f"{name} done")

    first_in, second_in, go, at_once = threading.Event(), threading.Event(), threading.Event(), threading.Event()
    at_once.set()
    first = threading.Thread(target=borrow, args=("first", 60, first_in, go))
    second = threading.Thread(target=borrow, args=("second", 100, second_in, at_once))
    first.start()
    assert first_in.wait(10)
    second.start()
    assert not second_in.wait(0.1)
    go.set()
    first.join()
    second.join()
    assert [word for word in order if "done" not in word] == ["first", "second"]


def test_tiles_load_what_only_negatives_need_for_negatives_alone() -> None:
    """Neither numpy nor scipy: they are half of the memory and most of the start of a process that cuts tiles."""
    code = "import sys, kinphoto.scans.tiles\nprint([name for name in ('numpy', 'scipy') if name in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], env=with_same_modules(), capture_output=True, text=True, check=True
    )
    assert done.stdout == "[]\n"
