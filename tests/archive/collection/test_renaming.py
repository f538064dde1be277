"""Renaming scans: the plan, one step, and what a kill, a full disk or another program may do in the middle."""

from __future__ import annotations

import errno
import hashlib
import os
import random
import resource
import signal
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from forking import Forked
from PIL import Image
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.errors import ArchiveError, ChangedMeanwhileError, InvalidValueError, KinphotoError
from kinphoto.scans import file_moves
from kinphoto.store import tables as t

NOT_SEEN = (
    "no scan in the archive has it: left out at the scanner, given and undone since, or deleted before it was added"
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder "Blue tin" with IMG_9 to IMG_12, each another picture."""
    made = tmp_path / "Blue tin"
    made.mkdir()
    for number in (9, 10, 11, 12):
        draw(made / f"IMG_{number}.png", number)
    return made


@pytest.fixture
def archive(tmp_path: Path, folder: Path) -> Archive:
    """An archive of them: K00001 is IMG_10, because files are added in the order of their letters."""
    made = Archive.create(tmp_path / "archive")
    made.scans.add([folder])
    return made


def draw(path: Path, seed: int) -> None:
    Image.linear_gradient("L").rotate(17 * seed).resize((60, 40)).save(path)


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def contents(folder: Path) -> list[str]:
    """The bytes of the files, whatever they are called."""
    return sorted(hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir())


def paths(archive: Archive) -> list[str]:
    """Where the archive believes its scans to be."""
    with archive.reading() as connection:
        return sorted(Path(path).name for path in connection.scalars(select(t.scan.c.path)))


def new_names(plan: object) -> list[tuple[str, str]]:
    return [(Path(each.old).name, Path(each.new).name) for each in plan.names]  # type: ignore[attr-defined]


PLANNED = [(f"IMG_{9 + number}.png", f"blue-tin_{number + 1:04}.png") for number in range(4)]


def test_a_plan_changes_nothing(archive: Archive, folder: Path) -> None:
    """The theme is made of the folder's name, the numbers follow the names as people sort them."""
    before = names(folder)
    assert new_names(archive.scans.plan_names()) == PLANNED
    assert names(folder) == before
    assert len(archive.statements.history()) == 1


def test_renaming_changes_names_only(archive: Archive, folder: Path) -> None:
    """Bytes and times of the files, codes and links stay; the old name still finds the scan, also in a search; and
    adding the folder again finds nothing new."""
    archive.people.add("Ada Marsh")
    archive.statements.link(Link(photograph="K00001", person="X1"))
    before, times = contents(folder), {path.stat().st_mtime_ns for path in folder.iterdir()}
    done = archive.scans.rename(key=archive.scans.plan_names().key)
    assert (new_names(done), done.done) == (PLANNED, True)
    assert names(folder) == [new for _, new in PLANNED] == paths(archive)
    assert contents(folder) == before
    assert {path.stat().st_mtime_ns for path in folder.iterdir()} == times
    assert archive.photographs.details("IMG_10.png").code == "K00001"
    assert archive.photographs.details("IMG_10").code == "K00001"
    assert archive.photographs.faces("blue-tin_0002.png").faces == archive.photographs.faces("K00001").faces
    from kinphoto.archive.search.question import SearchQuery

    found = archive.search.find(SearchQuery(text="IMG_10"), for_anybody=False)
    assert [one.code for one in found.photographs] == ["K00001"]
    again = archive.scans.add([folder])
    assert (again.added, again.unchanged, again.moved) == (0, 4, ())


def test_undo_renames_everything_back_and_redo_does_it_again(archive: Archive, folder: Path) -> None:
    """One command each; the files follow."""
    (folder / "IMG_9.xmp").write_text("a note of another program")
    before = names(folder)
    done = archive.scans.rename()
    assert "blue-tin_0001.xmp" in names(folder)
    undone = archive.statements.undo(done.change)
    assert names(folder) == before
    assert paths(archive) == [name for name in before if name.endswith("png")]
    archive.statements.undo(undone.logged_as)
    assert names(folder) == ["blue-tin_0001.png", "blue-tin_0001.xmp", *(new for _, new in PLANNED[1:])]


def test_a_number_once_given_is_never_given_again(archive: Archive, folder: Path) -> None:
    """Not after an undo, nor after a removal, nor when the file is deleted; and each gap says why it is one."""
    archive.statements.undo(archive.scans.rename().change)
    assert archive.scans.names("blue-tin").next == "blue-tin_0005"
    assert [Path(each.new).stem for each in archive.scans.rename().names] == [f"blue-tin_000{n}" for n in (5, 6, 7, 8)]
    archive.photographs.remove(["blue-tin_0008.png"])
    (folder / "blue-tin_0008.png").unlink()
    assert archive.scans.hold_number("blue-tin", "stuck to the page") == "blue-tin_0009"
    (theme,) = archive.scans.names().themes
    assert (theme.scans, theme.first, theme.last, theme.next) == (3, 5, 7, "blue-tin_0010")
    assert [(gap.first, gap.last, gap.why) for gap in theme.gaps] == [
        (1, 4, NOT_SEEN),
        (8, 8, "K00003 had it, which was removed from the archive"),
        (9, 9, "stuck to the page"),
    ]


def test_a_number_left_out_at_the_scanner_is_not_called_given(tmp_path: Path) -> None:
    """tin_0001 and tin_0004 came: nobody knows what became of the two between, and nothing else is said."""
    place = tmp_path / "tin"
    place.mkdir()
    for number in (1, 4):
        Image.linear_gradient("L").rotate(17 * number).save(place / f"tin_000{number}.png")
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([place])
    (theme,) = archive.scans.names().themes
    assert [(gap.first, gap.last, gap.why) for gap in theme.gaps] == [(2, 3, NOT_SEEN)]


def test_a_back_has_the_number_of_its_front(archive: Archive, folder: Path) -> None:
    """So has a second scan of the front; what joins later gets the number that the front has already."""
    archive.scans.join(["IMG_9.png", "IMG_10.png"], side="verso")
    archive.scans.join(["IMG_9.png", "IMG_11.png"], side="recto")
    archive.scans.rename(["IMG_9.png", "IMG_10.png", "IMG_11.png"], "tin")
    assert names(folder) == ["IMG_12.png", "tin_0001.png", "tin_0001_2.png", "tin_0001_back.png"]
    archive.scans.join(["tin_0001.png", "IMG_12.png"], side="detail")
    assert new_names(archive.scans.plan_names()) == [("IMG_12.png", "tin_0001_detail.png")]


def test_pages_of_a_file_move_with_it(archive: Archive, folder: Path) -> None:
    """A file of two pages is two scans, and one file that gets one name."""
    pages = [Image.linear_gradient("L").rotate(n).resize((50, 50)) for n in (0, 90)]
    pages[0].save(folder / "scan0001.tif", save_all=True, append_images=pages[1:])
    archive.scans.add([folder])
    archive.scans.rename(["scan0001.tif#page=2"], "album")
    assert "album_0001.tif" in names(folder)
    assert paths(archive)[:1] == ["IMG_10.png"]
    assert {"album_0001.tif#page=1", "album_0001.tif#page=2"} <= set(paths(archive))


def test_nothing_is_overwritten(archive: Archive, folder: Path) -> None:
    """A name that some file has, also one the archive knows nothing of, is not given; one that appears after the plan
    stops it before anything is renamed."""
    (folder / "blue-tin_0001.txt").write_text("a list")
    assert new_names(archive.scans.plan_names())[0] == ("IMG_9.png", "blue-tin_0001_2.png")
    (folder / "blue-tin_0001.txt").unlink()
    done = archive.scans.rename()
    (folder / "IMG_11.png").write_bytes(b"somebody else's")
    with pytest.raises(ArchiveError, match=r"IMG_11\.png: something has this name already, so nothing was renamed"):
        archive.statements.undo(done.change)
    assert (folder / "IMG_11.png").read_bytes() == b"somebody else's"
    assert [name for name in names(folder) if name.startswith("blue")] == [new for _, new in PLANNED]
    assert not (archive.folder / file_moves.FILE).exists()


def test_a_plan_that_is_out_of_date(archive: Archive, folder: Path) -> None:
    """What was shown is what is done, or nothing is."""
    key = archive.scans.plan_names().key
    archive.scans.rename(["IMG_9.png"])
    before = names(folder)
    with pytest.raises(ChangedMeanwhileError, match="nothing was renamed"):
        archive.scans.rename(key=key)
    assert names(folder) == before


def test_what_keeps_its_name(archive: Archive, folder: Path) -> None:
    """A file that is gone, one that has changed since, one that has a number already: each with the reason."""
    archive.scans.rename(["IMG_9.png"])
    (folder / "IMG_10.png").unlink()
    draw(folder / "IMG_11.png", 50)
    plan = archive.scans.plan_names([str(folder)])
    assert new_names(plan) == [("IMG_12.png", "blue-tin_0002.png")]
    assert {Path(each.path).name: each.why.split(";")[0] for each in plan.left} == {
        "IMG_10.png": "the file is not there",
        "IMG_11.png": "the file has changed since it was added",
        "blue-tin_0001.png": "it has a number of this theme already",
    }


def test_a_folder_whose_name_says_nothing(tmp_path: Path) -> None:
    """A theme has to be chosen; one of letters that are not plain is written in plain ones."""
    (tmp_path / "scans").mkdir()
    draw(tmp_path / "scans" / "scan1.png", 1)
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([tmp_path / "scans"])
    with pytest.raises(InvalidValueError, match=r"says nothing about the pictures\. Choose a theme"):
        archive.scans.plan_names()
    plan = archive.scans.plan_names(theme="Weiße Kiste")
    assert new_names(plan) == [("scan1.png", "weisse-kiste_0001.png")]
    assert "weisse-kiste" in plan.notes[0]


def test_a_disc_without_an_order(tmp_path: Path) -> None:
    """Nine files of three sizes with random names: those of one size get numbers in a row, and a picture that was
    scanned twice is next to itself."""
    place = tmp_path / "disc"
    place.mkdir()
    names_there = random.Random(5).sample(range(1000, 9999), 9)
    for number, name in enumerate(names_there):
        shapes = Image.effect_noise((6, 6), 90).resize([(300, 200), (400, 300), (200, 200)][number % 3])
        shapes.save(place / f"{name}.png", dpi=(100, 100))
    with Image.open(place / f"{names_there[0]}.png") as again:
        again.point(lambda grey: min(255, grey + 9)).save(place / "0001.png", dpi=(100, 100))
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([place])
    plan = archive.scans.plan_names(theme="disc", order="looks")
    sizes = [Image.open(each.old).size for each in plan.names]
    assert len(sizes) == 10
    assert sum(one != other for one, other in pairwise(sizes)) == 2
    order = [Path(each.old).stem for each in plan.names]
    assert abs(order.index("0001") - order.index(str(names_there[0]))) == 1


def test_groups_of_a_disc_are_shown_and_named_one_by_one(tmp_path: Path) -> None:
    """Three sizes of print, two days and two papers make four groups, each said in words before anything is named; one
    of them is named by itself, and the others keep their names. 300 pixels at 100 an inch are 7.6 cm."""
    place = tmp_path / "disc"
    place.mkdir()
    random.seed(3)
    kinds = (
        ("RGB", (300, 200), "2019:05:04"), ("L", (300, 200), "2019:05:04"),
        ("L", (200, 200), ""), ("L", (300, 200), "2019:05:05"),
    )  # fmt: skip
    for number, name in enumerate(random.sample(range(1000, 9999), 12)):
        mode, size, day = kinds[number % 4]
        picture = Image.effect_noise((6, 6), 90).resize(size)
        if mode == "RGB":
            picture = Image.merge("RGB", (picture, picture.rotate(180), picture.rotate(90).resize(size)))
        exif = Image.Exif()
        if day:
            exif.get_ifd(0x8769)[0x9004] = f"{day} 10:00:00"  # DateTimeDigitized
        picture.save(place / f"IMG_{name}.jpg", dpi=(100, 100), exif=exif)
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([place], check=True)
    plan = archive.scans.plan_names(theme="disc", order="looks")
    assert [(each.files, each.words) for each in plan.groups] == [
        (3, "5.1 × 5.1 cm, black and white"),
        (3, "4 May 2019, 7.6 × 5.1 cm, black and white"),
        (3, "4 May 2019, 7.6 × 5.1 cm, in colour"),
        (3, "5 May 2019, 7.6 × 5.1 cm, black and white"),
    ]
    assert [each.group for each in plan.names] == [1] * 3 + [2] * 3 + [3] * 3 + [4] * 3
    done = archive.scans.rename(theme="harbour", order="looks", group=3)
    assert {Path(each.old) for each in done.names} == {Path(each.old) for each in plan.names if each.group == 3}
    assert sorted(path.name for path in place.iterdir() if "harbour" in path.name) == [
        f"harbour_000{number}.jpg" for number in (1, 2, 3)
    ]
    assert [each.files for each in archive.scans.plan_names(theme="disc", order="looks").groups] == [3, 3, 3]
    with pytest.raises(InvalidValueError, match=r"no group 9\. There are 3 groups"):
        archive.scans.plan_names(theme="disc", order="looks", group=9)
    with pytest.raises(InvalidValueError, match="there are groups only when scans are ordered by looks"):
        archive.scans.plan_names(theme="disc", group=1)


def test_slips_and_names_that_occur_twice(archive: Archive, folder: Path, tmp_path: Path) -> None:
    """Both are reported with the files."""
    for number, name in enumerate(("harbour_0001", "harbour_0002", "harbuor_0003"), 30):
        draw(folder / f"{name}.png", number)
    draw(tmp_path / "more.png", 40)
    (tmp_path / "Other").mkdir()
    (tmp_path / "more.png").rename(tmp_path / "Other" / "harbour_0001.png")
    archive.scans.add([folder, tmp_path / "Other"])
    found = archive.scans.names()
    assert [(one.theme, one.meant) for one in found.slips] == [("harbuor", "harbour")]
    assert [one.name for one in found.same] == ["harbour_0001"]
    assert len(found.same[0].paths) == 2


def test_years_are_no_numbers(archive: Archive, folder: Path) -> None:
    """summer_1924 and summer_1931 are names of pictures, not the start of a series with 1,923 gaps."""
    draw(folder / "summer_1924.png", 24)
    draw(folder / "summer_1931.png", 31)
    archive.scans.add([folder])
    assert archive.scans.names().themes == ()


def test_a_disk_without_links(archive: Archive, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As memory cards have it: the new name is reserved first, and taken then."""

    def no_links(*_: object, **__: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    before = contents(folder)
    archive.scans.rename()
    assert names(folder) == [new for _, new in PLANNED]
    assert contents(folder) == before


@pytest.mark.parametrize("links", [True, False])
@pytest.mark.parametrize("at", [0, 1, 3])
def test_a_full_disk_in_the_middle(
    archive: Archive, folder: Path, monkeypatch: pytest.MonkeyPatch, at: int, links: bool
) -> None:
    """The third file cannot get its name: all have their old ones, nothing is in the log, and it is said what to do."""
    name = "link" if links else "rename"
    real: Callable[..., None] = getattr(os, name)
    left = [at]

    def full(*args: str, **more: bool) -> None:
        if Path(args[1]).name.startswith("blue-tin"):
            left[0] -= 1
            if left[0] < 0:
                raise OSError(errno.ENOSPC, "No space left on device")
        real(*args, **more)

    if not links:
        monkeypatch.setattr(os, "link", lambda *_, **__: (_ for _ in ()).throw(OSError(errno.EPERM, "not permitted")))
    monkeypatch.setattr(os, name, full)
    before, kept = names(folder), contents(folder)
    with pytest.raises(ArchiveError, match=r"No space left on device.*nothing was renamed.*Check free space"):
        archive.scans.rename()
    assert (names(folder), contents(folder)) == (before, kept)
    assert paths(archive) == before
    assert len(archive.statements.history()) == 1
    assert not (archive.folder / file_moves.FILE).exists()


def test_a_change_that_cannot_be_kept(archive: Archive, folder: Path) -> None:
    """The disk of the archive is full when the change is committed: the files have their old names again."""
    before = names(folder)
    archive.close()
    carry_out = file_moves.carry_out

    def and_full(renaming: Any) -> None:
        carry_out(renaming)
        print("renamed", flush=True)
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, resource.RLIM_INFINITY))

    def rename() -> None:
        file_moves.carry_out = and_full
        try:
            Archive.open(archive.folder).scans.rename()
        except Exception as problem:
            print(type(problem).__name__, problem)

    _, printed = Forked(rename).ended()
    assert printed.startswith("renamed\nArchiveError ")
    assert "disk is full" in printed
    assert names(folder) == before == paths(Archive.open(archive.folder))


def killed_at(folder: Path, step: int, links: str, what: str) -> int:
    """How a process ends (negative: the signal) that renames, or undoes it, and is killed before one of the calls that
    touch a disk, counted from 0."""

    def do() -> None:
        archive, left = Archive.open(folder), iter(range(step))

        def counting(name: str) -> None:
            real = getattr(os, name)

            def call(*args: Any, **more: Any) -> Any:
                if next(left, None) is None:
                    os.kill(os.getpid(), signal.SIGKILL)
                return real(*args, **more)

            setattr(os, name, call)

        for name in ("link", "unlink", "fsync", "rename", "open"):
            counting(name)
        if links == "no links":

            def refuse(*_args: Any, **_more: Any) -> None:
                raise OSError(errno.EPERM, "not permitted")

            os.link = refuse  # type: ignore[assignment]
        (archive.scans.rename if what == "rename" else archive.statements.undo)()

    return Forked(do).ended()[0]


@pytest.mark.parametrize("what", ["rename", "undo"])
@pytest.mark.parametrize("links", ["links", "no links"])
def test_killed_between_any_two_steps(archive: Archive, folder: Path, what: str, links: str) -> None:
    """SIGKILL before the first, second, third ... call that touches a disk: each file has its old name or its new one,
    none is lost; the next command puts them right, and the archive knows where they are."""
    if what == "undo":
        archive.scans.rename()
    before, kept = names(folder), contents(folder)
    with archive.reading() as connection:
        changes = connection.exec_driver_sql("SELECT count(*) FROM change").scalar()
    archive.close()
    killed = 0
    for step in range(200):
        ended = killed_at(archive.folder, step, links, what)
        if ended == 0:
            break
        assert ended == -signal.SIGKILL
        killed += 1
        there = {hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir() if path.stat().st_size > 40}
        assert there == set(kept)
        opened = Archive.open(archive.folder)
        added = opened.scans.add([folder])
        assert (added.added, added.moved, added.vanished) == (0, (), ())
        assert contents(folder) == kept
        assert paths(opened) == names(folder)
        assert not (archive.folder / file_moves.FILE).exists()
        with opened.reading() as connection:
            kept_anyway = connection.exec_driver_sql("SELECT count(*) FROM change").scalar() != changes
        opened.close()
        if kept_anyway:
            assert names(folder) != before
            return
        assert names(folder) == before
    assert killed > 8
    assert names(folder) != before


def test_killed_at_random_moments(archive: Archive, folder: Path) -> None:
    """SIGKILL ten times at a random moment (seed 3) while two hundred files are renamed: as above."""
    for number in range(200):
        draw(folder / f"scan{number}.png", 100 + number)
    archive.scans.add([folder])
    kept = contents(folder)
    began = time.monotonic()
    archive.scans.rename()
    took = time.monotonic() - began
    archive.statements.undo()
    archive.close()

    def rename() -> None:
        opened = Archive.open(archive.folder)
        print("ready", flush=True)
        opened.scans.rename()

    dice, finished = random.Random(3), 0
    for _ in range(10):
        run = Forked(rename)
        run.printed.readline()
        time.sleep(dice.uniform(0, took))
        run.kill()
        run.ended()
        opened = Archive.open(archive.folder)
        before = {path.name for path in folder.iterdir()}
        assert all(name.startswith(("IMG_", "scan", "blue-tin_")) for name in before)
        assert opened.scans.add([folder]).moved == ()
        assert contents(folder) == kept
        assert paths(opened) == names(folder)
        if "blue-tin_0001.png" in names(folder) or any(n.startswith("blue") for n in names(folder)):
            finished += 1
            opened.statements.undo()
        opened.close()
    assert finished < 10


def test_somebody_else_s_list_of_names(archive: Archive) -> None:
    """What was written down about a renaming is damaged: it is said, and nothing is touched."""
    (archive.folder / file_moves.FILE).write_text("{")
    with pytest.raises(KinphotoError, match="cannot be read"):
        archive.scans.rename()
