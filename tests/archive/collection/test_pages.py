"""Files with several pages: each page is a scan and a photograph of its own, and stays it when the file changes."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.collection.images import source_of
from kinphoto.archive.collection.scans_added import FiledScan, PagedFile, ScansAdded, code_ranges
from kinphoto.errors import AmbiguousError, NotFoundError
from kinphoto.scans.tiles import view_path
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """An empty archive."""
    return Archive.create(tmp_path / "archive")


@pytest.fixture
def album(tmp_path: Path) -> Path:
    """A place for a file of several pages."""
    (tmp_path / "box").mkdir()
    return tmp_path / "box" / "album.tif"


def page(seed: int) -> Image.Image:
    """A picture of its own for each seed."""
    return Image.fromarray(np.random.default_rng(seed).integers(0, 255, (20, 30), dtype=np.uint8))


def save(path: Path, *seeds: int) -> None:
    """A file with a page for each seed."""
    first, *others = map(page, seeds)
    first.save(path, save_all=True, append_images=others)


def codes(archive: Archive) -> dict[str, tuple[str, int]]:
    """By the name of each scan its photograph's code, and whether it is missing."""
    s, p = t.scan.c, t.photograph.c
    with archive.reading() as connection:
        found = connection.execute(select(s.path, p.code, s.missing).join(t.photograph, p.id == s.photograph_id))
        return {Path(path).name: (code, missing) for path, code, missing in found}


def code_of(archive: Archive, text: str) -> str:
    """The photograph that somebody means."""
    with archive.reading() as connection:
        return str(find_photograph(connection, text)["code"])


def summed(result: ScansAdded) -> tuple[int, int, int, int]:
    """Seen, added, unchanged, changed."""
    return result.seen, result.added, result.unchanged, len(result.changed)


@pytest.mark.parametrize("name", ["a.tif", "a.pdf", "a.webp"])
def test_each_page_becomes_a_photograph(archive: Archive, album: Path, name: str) -> None:
    """In their order, told with their codes, each with the pixels of its page; and twice is once."""
    path = album.with_name(name)
    first, *others = (page(seed).convert("RGB") for seed in (1, 2, 3))
    first.save(path, save_all=True, append_images=others, **({"lossless": True} if name == "a.webp" else {}))
    before = path.read_bytes()
    result = archive.scans.add([album.parent])
    assert summed(result) == (3, 3, 0, 0)
    assert result.paged == (PagedFile(str(path), 3, ("K00001", "K00002", "K00003")),)
    assert result.codes == "K00001 to K00003"
    assert codes(archive) == {f"{name}#page={n}": (f"K0000{n}", 0) for n in (1, 2, 3)}
    assert summed(archive.scans.add([album.parent])) == (3, 0, 3, 0)
    path.touch()
    assert summed(archive.scans.add([album.parent])) == (3, 0, 3, 0)
    assert path.read_bytes() == before
    with archive.reading() as connection:
        rows = connection.execute(select(t.scan).order_by(t.scan.c.page)).mappings().all()
    for seed, row in enumerate(rows, 1):
        shown = Image.open(view_path(archive.folder, source_of(row))).convert("L")
        assert np.abs(np.asarray(shown, dtype=float) - np.asarray(page(seed), dtype=float)).mean() < 25


def test_a_page_is_named_by_its_number(archive: Archive, album: Path) -> None:
    """As a PDF viewer's address does (RFC 8118), or in words; the file alone fits all its pages."""
    save(album, 1, 2, 3)
    archive.scans.add([album])
    assert code_of(archive, f"{album}#page=2") == code_of(archive, "album.tif page 2") == "K00002"
    with pytest.raises(AmbiguousError, match=r"album\.tif#page=1"):
        code_of(archive, "album.tif")
    with pytest.raises(NotFoundError):
        code_of(archive, "album.tif#page=9")
    archive.scans.join(["K1", "K2", "K3"], "recto")
    assert code_of(archive, "album.tif") == "K00001"


def test_a_page_that_is_added_leaves_the_others(archive: Archive, album: Path) -> None:
    """Put in front, all others keep their codes although each has another number now."""
    save(album, 1, 2)
    archive.scans.add([album])
    save(album, 9, 1, 2)
    assert summed(archive.scans.add([album])) == (3, 1, 2, 0)
    assert codes(archive) == {
        "album.tif#page=1": ("K00003", 0), "album.tif#page=2": ("K00001", 0), "album.tif#page=3": ("K00002", 0),
    }  # fmt: skip


def test_a_page_that_changes_or_goes_is_told(archive: Archive, album: Path) -> None:
    """The changed one by its number; the one that is gone keeps its photograph, as missing."""
    save(album, 1, 2, 3)
    archive.scans.add([album])
    save(album, 1, 3)
    result = archive.scans.add([album.parent])
    assert summed(result) == (2, 0, 2, 0)
    assert [each.photograph for each in result.vanished] == ["K00002"]
    assert dict(codes(archive).values()) == {"K00001": 0, "K00002": 1, "K00003": 0}
    save(album, 1, 7)
    changed = archive.scans.add([album])
    assert changed.changed == (FiledScan(f"{album}#page=2", "K00003"),)
    archive.statements.undo()
    archive.statements.undo()
    assert codes(archive)["album.tif#page=2"] == ("K00002", 0)


def test_a_renamed_file_takes_its_pages_along(archive: Archive, album: Path) -> None:
    """Every page is recognised under the new name."""
    save(album, 1, 2)
    archive.scans.add([album.parent])
    album.rename(album.with_name("summer.tif"))
    result = archive.scans.add([album.parent])
    assert len(result.moved) == 2
    assert codes(archive) == {"summer.tif#page=1": ("K00001", 0), "summer.tif#page=2": ("K00002", 0)}


def test_a_copy_of_a_file_of_pages_is_a_copy(archive: Archive, album: Path) -> None:
    """Said once for the file."""
    save(album, 1, 2)
    archive.scans.add([album.parent])
    (album.parent / "zz.tif").write_bytes(album.read_bytes())
    assert archive.scans.add([album.parent]).duplicates == ((str(album.parent / "zz.tif"), str(album)),)


def test_pages_that_an_older_kinphoto_passed_over_are_added(archive: Archive, album: Path) -> None:
    """It indexed the first page alone: that one keeps its code, and is not called changed."""
    save(album, 1, 2, 3)
    archive.scans.add([album])
    archive.statements.undo()
    save(album, 1, 2, 3)
    with archive.working("as before") as work:
        photograph = work.insert_one(t.photograph, code="K00009", indexed=738000)
        stat = album.stat()
        work.insert_one(
            t.scan, photograph_id=photograph, path=str(album), sha256=sha256(album), size=stat.st_size,
            mtime_ns=stat.st_mtime_ns, file_type="TIFF", width=30, height=20, pages=3, indexed_at=work.at,
            first_sha256=sha256(album), first_code="K00009",
        )  # fmt: skip
    result = archive.scans.add([album])
    assert (result.added, result.changed) == (2, ())
    assert codes(archive)["album.tif#page=1"] == ("K00009", 0)
    assert summed(archive.scans.add([album])) == (3, 0, 3, 0)


def test_the_plain_name_of_a_copy_is_of_use(archive: Archive, album: Path) -> None:
    """`photo (1).jpg` sorts before `photo.jpg` and is the copy all the same; both names mean the photograph."""
    box = album.parent
    page(1).save(box / "photo.jpg")
    (box / "photo (1).jpg").write_bytes((box / "photo.jpg").read_bytes())
    result = archive.scans.add([box])
    assert result.duplicates == ((str(box / "photo (1).jpg"), str(box / "photo.jpg")),)
    for text in ("photo.jpg", str(box / "photo.jpg"), str(box / "photo (1).jpg")):
        assert code_of(archive, text) == "K00001"


def test_the_plain_name_is_of_use_when_only_the_copy_was_indexed(archive: Archive, album: Path) -> None:
    """By its path the bytes tell, by its name alone the name does."""
    box = album.parent
    page(1).save(box / "photo (1).jpg")
    archive.scans.add([box])
    (box / "photo.jpg").write_bytes((box / "photo (1).jpg").read_bytes())
    archive.scans.add([box])
    assert code_of(archive, str(box / "photo.jpg")) == code_of(archive, "photo.jpg") == "K00001"


def test_a_copy_with_other_bytes_is_a_photograph(archive: Archive, album: Path) -> None:
    """Each has its own name then."""
    page(1).save(album.with_name("photo.jpg"))
    page(2).save(album.with_name("photo (1).jpg"))
    archive.scans.add([album.parent])
    assert (code_of(archive, "photo.jpg"), code_of(archive, "photo (1).jpg")) == ("K00001", "K00002")


def test_scans_that_vanished_are_told_until_they_are_back(archive: Archive, album: Path) -> None:
    """With their codes, each time, noted once; back in their place they are simply there."""
    save(album, 1, 2)
    page(3).save(album.with_name("b.jpg"))
    archive.scans.add([album.parent])
    away = album.rename(album.parent.parent / "away.tif")
    first = archive.scans.add([album.parent])
    assert [each.photograph for each in first.vanished] == ["K00001", "K00002"]
    assert archive.statements.history(1)[0].what == f"found 2 missing in {album.parent}"
    assert archive.scans.add([album.parent]).vanished == first.vanished
    assert len(archive.statements.history()) == 2
    assert archive.scans.add([album.parent / "b.jpg"]).vanished == ()
    away.rename(album)
    back = archive.scans.add([album.parent])
    assert (back.unchanged, back.vanished) == (3, ())
    assert all(missing == 0 for _, missing in codes(archive).values())


def test_codes_in_few_words() -> None:
    """Runs of neighbours are told by their ends."""
    assert code_ranges(["K00012", "K00013", "K00014", "K00040"]) == "K00012 to K00014 and K00040"
    assert code_ranges([]) == ""


def sha256(path: Path) -> str:
    """The hash of the file's bytes."""
    return hashlib.sha256(path.read_bytes()).hexdigest()
