"""Proposals for a whole folder: named backs, backs in order, rescans and copies; confirmed, rejected and undone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import skimage.data
from building import brought_along
from PIL import Image, ImageDraw, ImageFilter

from kinphoto.archive import Archive
from kinphoto.errors import InvalidValueError, NotFoundError

SIZES = [(540, 360), (780, 540), (600, 600), (534, 762)]


def picture(seed: int, size: tuple[int, int]) -> Image.Image:
    """A picture of broad shapes, another one for each seed."""
    rng = np.random.default_rng(seed)
    small = Image.fromarray(rng.integers(20, 235, (6, 6), dtype=np.uint8))
    return small.resize(size, Image.Resampling.BICUBIC)


def photograph(name: str) -> Image.Image:
    """One of scikit-image's photographs, in grey."""
    return Image.fromarray(getattr(skimage.data, name)()).convert("L")


def paper(seed: int, size: tuple[int, int]) -> Image.Image:
    """A back: paper with a line of writing."""
    image = Image.new("L", size, 232)
    ImageDraw.Draw(image).text((40, 60 + 20 * seed), f"Aunt Edda, no. {seed}", fill=90)
    return image


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the archive and its scans."""
    place = tmp_path_factory.mktemp("pairs")
    tin = place / "tin"
    tin.mkdir()
    for number, size in enumerate(SIZES):
        picture(number, size).save(tin / f"scan{3 * number:02}.png", dpi=(150, 150))
        if number != 2:
            paper(number, size).save(tin / f"scan{3 * number + 1:02}.png", dpi=(150, 150))
    width, height = SIZES[3]
    picture(3, (width * 2, height * 2)).save(tin / "scan20.png", dpi=(300, 300))
    archive = Archive.create(place / "archive")
    archive.scans.add([tin])
    archive.close()
    return place


@pytest.fixture
def archive(made: Path, tmp_path: Path) -> Archive:
    """Four prints of four sizes, each followed by its back but the third; the fourth was scanned twice."""
    return brought_along(made, tmp_path)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Where its scans are."""
    return tmp_path / "tin"


def found(archive: Archive) -> list[tuple[str, str, str, bool]]:
    return [
        (each.kind, Path(each.one.path).stem, Path(each.other.path).stem, each.sure)
        for each in archive.scans.pairs().proposals
    ]


def test_backs_and_a_rescan_are_proposed(archive: Archive) -> None:
    """Each with why; nothing is joined."""
    assert found(archive) == [
        ("back", "scan00", "scan01", True),
        ("back", "scan03", "scan04", True),
        ("back", "scan09", "scan10", True),
        ("rescan", "scan09", "scan20", True),
    ]
    first = archive.scans.pairs().proposals[0]
    assert first.why == "it follows its front, the same size"
    assert first.one.words == "540 × 360 pixels, 150 ppi, 91 × 61 mm"
    assert len(archive.statements.history()) == 1


def test_papers_are_measured_where_the_bed_shows(tmp_path: Path) -> None:
    """Scans of one glass are of one size, and the papers on it are not: backs that were all scanned last find theirs,
    although one is missing."""
    folder = tmp_path / "glass"
    folder.mkdir()
    papers = [(520, 360), (524, 357), (516, 362), (522, 365), (513, 358), (527, 362)]
    for number, size in enumerate(papers):
        for name, made in (("a", picture(number, size)), ("z", paper(number, size))):
            if (number, name) != (2, "z"):
                glass = Image.new("L", (640, 480), 250)
                glass.paste(made.point(lambda level: min(level, 225)), (50 + number, 40))
                glass.save(folder / f"{name}{number}.png", dpi=(150, 150))
    archive = Archive.create(tmp_path / "archive")
    archive.scans.add([folder])
    backs = [(one, other) for kind, one, other, _ in found(archive) if kind == "back"]
    assert backs == [(f"a{number}", f"z{number}") for number in (0, 1, 3, 4, 5)]


def test_all_that_are_sure_together_and_undone(archive: Archive) -> None:
    """One change: the better scan stands in front, the back is with it; and one undo."""
    done = archive.scans.confirm_sure_pairs()
    assert done.joined == 4
    assert found(archive) == []
    scans = archive.photographs.details("scan20.png").scans
    assert Path(scans[0].path).stem == "scan20"
    assert {(Path(one.path).stem, one.side, one.superseded) for one in scans} == {
        ("scan20", "recto", False), ("scan10", "verso", False), ("scan09", "recto", True)
    }  # fmt: skip
    archive.statements.undo(done.change)
    assert len(found(archive)) == 4


def test_one_by_one_and_rejected(archive: Archive) -> None:
    """A press each. What was rejected does not come back, until that is undone; and confirming twice does nothing."""
    first, second, *_ = archive.scans.pairs().proposals
    assert archive.scans.confirm_pairs([first.key]).joined == 1
    assert archive.scans.confirm_pairs([first.key]).joined == 0
    archive.scans.reject_pairs([second.key])
    assert [one for _, one, _, _ in found(archive)] == ["scan09", "scan09"]
    assert [Path(path).name for path in archive.scans.pairs().unpaired] == ["scan04.png"]
    archive.statements.undo()
    assert [one for _, one, _, _ in found(archive)] == ["scan03", "scan09", "scan09"]


def test_names_come_first(archive: Archive, folder: Path) -> None:
    """`_back` and the letter b say it; a series a, b, c does not."""
    for number, name in enumerate(("tin_0001b", "tin_0001", "tin_0002", "tin_0002_back", "tin_0003", "tin_0003b"), 40):
        picture(number, SIZES[0]).save(folder / f"{name}.png", dpi=(150, 150))
    picture(60, SIZES[0]).save(folder / "tin_0003a.png", dpi=(150, 150))
    archive.scans.add([folder])
    named = [each for each in found(archive) if each[1].startswith("tin")]
    assert named == [("back", "tin_0001", "tin_0001b", True), ("back", "tin_0002", "tin_0002_back", True)]


@pytest.mark.parametrize("relation", ["negative", "copy"])
def test_another_size_of_the_same_picture_is_another_object(archive: Archive, folder: Path, relation: str) -> None:
    """A print from another relative, however sharp: that it is of the same negative is proposed, and whoever knows
    better says that it is a copy. Nothing is joined, and one undo takes it back."""
    picture(0, (1080, 720)).save(folder / "zz-from-clara.png", dpi=(150, 150))
    archive.scans.add([folder])
    other = next(each for each in archive.scans.pairs().proposals if each.kind == "negative")
    assert (other.sure, Path(other.other.path).stem) == (False, "zz-from-clara")
    assert other.why == "the same picture, 2.00 times as large on one as on the other: another print"
    assert archive.scans.confirm_sure_pairs().joined == 4
    assert archive.photographs.details("zz-from-clara.png").code != archive.photographs.details("scan00.png").code
    done = archive.scans.confirm_pairs([other.key.replace("negative", relation)])
    assert "negative" not in {kind for kind, *_ in found(archive)}
    assert archive.photographs.details("zz-from-clara.png").code != archive.photographs.details("scan00.png").code
    with archive.reading() as connection:
        kinds = connection.exec_driver_sql("SELECT kind FROM statement").scalars().all()
    assert kinds == [{"negative": "same-negative", "copy": "copy-of"}[relation]]
    archive.statements.undo(done.change)
    assert "negative" in {kind for kind, *_ in found(archive)}


def test_a_soft_one_is_a_copy_of_the_sharp_one(archive: Archive, folder: Path) -> None:
    """A photograph taken of a print is larger here and has lost its detail, whichever was scanned first."""
    soft = photograph("camera").resize((450, 450)).filter(ImageFilter.GaussianBlur(2.2)).resize((900, 900))
    soft.save(folder / "a-from-clara.png", dpi=(150, 150))
    photograph("camera").resize((600, 600)).save(folder / "b-from-edda.png", dpi=(150, 150))
    archive.scans.add([folder])
    (copy,) = [each for each in archive.scans.pairs().proposals if each.kind == "copy"]
    assert [Path(one.path).stem for one in (copy.one, copy.other)] == ["b-from-edda", "a-from-clara"]


def test_a_crop_a_tilt_and_a_faded_one_are_the_same_print(archive: Archive, folder: Path) -> None:
    """Of one enlargement in millimetres, so they may be scans of one print; never sure, as a second print that a
    machine made looks just like that. The back that was joined before is no hindrance."""
    whole = photograph("astronaut").resize((600, 600))
    whole.save(folder / "x0.png", dpi=(150, 150))
    paper(5, (600, 600)).save(folder / "x0_back.png", dpi=(150, 150))
    archive.scans.add([folder])
    archive.scans.confirm_sure_pairs()
    whole.crop((40, 20, 590, 560)).save(folder / "x1.png", dpi=(150, 150))
    whole.rotate(4, Image.Resampling.BICUBIC, expand=True, fillcolor=250).save(folder / "x2.png", dpi=(150, 150))
    whole.resize((1200, 1200)).point(lambda level: 90 + level // 2).rotate(90).save(folder / "x3.png", dpi=(300, 300))
    archive.scans.add([folder])
    kinds = {(kind, one, other): sure for kind, one, other, sure in found(archive)}
    assert {("rescan", "x0", other) for other in ("x1", "x2", "x3")} <= set(kinds)
    assert not any(kinds.values())
    (faded,) = [each.key for each in archive.scans.pairs().proposals if Path(each.other.path).stem == "x3"
                and Path(each.one.path).stem == "x0"]  # fmt: skip
    archive.scans.confirm_pairs([faded])
    scans = archive.photographs.details("x3.png").scans
    assert [(Path(each.path).stem, each.side) for each in scans if not each.superseded] == [
        ("x3", "recto"), ("x0_back", "verso")
    ]  # fmt: skip


def test_two_exposures_of_one_sitting_are_two_pictures(archive: Archive, folder: Path) -> None:
    """Seconds apart somebody moved: nothing is proposed."""
    first = photograph("coffee").resize((600, 400))
    figure = photograph("astronaut").crop((150, 0, 320, 220)).resize((150, 200))
    for name, left in (("s1", 200), ("s2", 218)):
        taken = first.copy()
        taken.paste(figure, (left, 120))
        taken.save(folder / f"{name}.png", dpi=(150, 150))
    archive.scans.add([folder])
    assert not [each for each in found(archive) if "s1" in each or "s2" in each]


def test_where_to_look(archive: Archive, folder: Path) -> None:
    """A folder, a box, or neither."""
    assert len(archive.scans.pairs(str(folder)).proposals) == len(archive.scans.pairs("tin").proposals) == 4
    with pytest.raises(NotFoundError, match="no folder or box called 'trunk'"):
        archive.scans.pairs("trunk")
    with pytest.raises(InvalidValueError, match="is not an offered pair"):
        archive.scans.confirm_pairs(["front-1-2"])
