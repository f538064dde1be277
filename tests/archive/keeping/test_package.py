"""A package can be read without kinphoto, and the archive that is made from it is the same."""

from __future__ import annotations

import csv
import errno
import hashlib
import json
import os
import shutil
import signal
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import bagit
import pytest
import soundfile
from building import archive_with, tree_of
from commands import invoked
from forking import Forked
from making import make_scans
from recordings import m4a, write
from sqlalchemy import Table

from kinphoto.archive import Archive
from kinphoto.archive.keeping import package as packing
from kinphoto.archive.keeping.dictionary import column_words, table_words
from kinphoto.archive.keeping.restoring import restore
from kinphoto.archive.keeping.unpacking import unpack
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.statements.telling import NewStory
from kinphoto.cli.documents import documents
from kinphoto.errors import ArchiveError, InvalidValueError, NotFoundError
from kinphoto.store import tables as t


@pytest.fixture
def family(tmp_path: Path) -> Iterator[Archive]:
    """An archive with a tree and four scans."""
    with closing(archive_with(tmp_path, tree_of("Ada /Marsh/ 1890"), scans=4)) as archive:
        archive.statements.record(NewClaim(photograph="K00001", kind="taken", date="1925", by="Aunt Edda"))
        yield archive


@pytest.fixture(scope="module")
def sample_package(shared_sample: Archive, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The package of the sample."""
    copy = shutil.copytree(shared_sample.folder, tmp_path_factory.mktemp("packed") / "sample")
    with closing(Archive.open(copy)) as archive:
        return Path(archive.keep.make_package(copy.parent / "packages").folder)


def files_below(folder: Path) -> dict[str, str]:
    """The SHA-256 of every file below a folder, as Python's own library finds it."""
    found = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest() for path in found}


def test_bagit_validates_it(sample_package: Path) -> None:
    """The reference implementation of the Library of Congress reads every file and compares it with the manifests."""
    bag = bagit.Bag(str(sample_package))
    bag.validate()
    assert bag.version_info == (1, 0)
    assert bag.algorithms == ["sha256"]
    assert len(bag.payload_entries()) == int(bag.info["Payload-Oxum"].split(".")[1])


def test_bagit_rejects_it_with_one_bit_flipped(sample_package: Path, tmp_path: Path) -> None:
    """In a scan, in a table, and in the manifest itself."""
    scan = next((sample_package / "data" / "scans").rglob("*.jpg")).relative_to(sample_package)
    for number, name in enumerate((scan, Path("data/tables/person.csv"), Path("manifest-sha256.txt"))):
        copy = shutil.copytree(sample_package, tmp_path / str(number))
        data = bytearray((copy / name).read_bytes())
        data[len(data) // 2] ^= 1
        (copy / name).write_bytes(data)
        with pytest.raises(bagit.BagError):
            bagit.Bag(str(copy)).validate()


def test_every_scan_is_in_it_under_its_own_name(sample_package: Path, shared_sample: Archive) -> None:
    """Byte for byte."""
    with shared_sample.reading() as connection:
        paths = connection.scalars(t.scan.select().with_only_columns(t.scan.c.path)).all()
    wanted = {(Path(path).name, hashlib.sha256(Path(path).read_bytes()).hexdigest()) for path in paths}
    packed = files_below(sample_package / "data" / "scans")
    assert {(Path(name).name, sha256) for name, sha256 in packed.items()} == wanted


def test_every_table_is_in_it_twice(sample_package: Path, shared_sample: Archive) -> None:
    """CSV as Python's csv module reads it, and JSON, have the rows that SQLite finds in the archive."""
    tables = sample_package / "data" / "tables"
    with closing(sqlite3.connect(f"file:{shared_sample.folder / 'kinphoto.db'}?mode=ro", uri=True)) as connection:
        names = {row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        assert names - {"alembic_version"} == {path.stem for path in tables.glob("*.csv")}
        for name in sorted(
            names - {"alembic_version", "change_row", "scan_root", "setting", "from_container", "one_container"}
        ):
            rows = connection.execute(f"SELECT * FROM {name} ORDER BY 1").fetchall()
            exact = json.loads((tables / f"{name}.json").read_text(encoding="utf-8"))
            assert sorted(map(repr, (tuple(row.values()) for row in exact))) == sorted(map(repr, rows)), name
            with (tables / f"{name}.csv").open(encoding="utf-8", newline="") as file:
                plain = list(csv.reader(file))[1:]
            assert sorted(plain) == sorted(["" if v is None else str(v) for v in row] for row in rows), name


@pytest.mark.parametrize("table", t.metadata.sorted_tables, ids=lambda table: str(table.name))
def test_every_column_is_explained(table: Table) -> None:
    """In the data dictionary of each package."""
    assert table_words(table)
    assert [column.name for column in table.c if not column_words(column)] == []


class Addresses(HTMLParser):
    """What a page leads to and shows."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, _tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note where it leads."""
        self.found += [value for name, value in attrs if name in ("href", "src") and value]


def test_its_pages_lead_nowhere_else(sample_package: Path, shared_sample: Archive) -> None:
    """Every picture and address is a file of the package; every photograph is on a page; no script is needed."""
    data, shown = sample_package / "data", ""
    for page in (data / "START HERE.html", *sorted((data / "pages").glob("*.html"))):
        text = page.read_text(encoding="utf-8")
        shown += text
        addresses = Addresses()
        addresses.feed(text)
        assert addresses.found or page.name != "START HERE.html"
        for address in addresses.found:
            assert (page.parent / unquote(address)).is_file(), (page, address)
        assert "<script" not in text
    with shared_sample.reading() as connection:
        codes = connection.scalars(t.photograph.select().with_only_columns(t.photograph.c.code)).all()
    assert [code for code in codes if f'id="{code}"' not in shown] == []
    assert "it includes living people" in (data / "START HERE.html").read_text(encoding="utf-8")


READING = [
    "list", "find 1920", "people marsh", "families", "pictures I24", "kin I24 I12", "show I24", "container list",
    "informants", "log", "dates", "conflicts", "ask", "hindsight", "tree check", "scans where",
    *(f"{word} K{number:05}" for number in (4, 2, 9, 16, 23, 31, 44) for word in ("show", "dates")),
    "explain K00009", "explain K00023", "who K00016", "proband", "give report public", "give consents",
    "stories", "stories T1",
]  # fmt: skip
"""Commands that only read, each of which prints JSON."""
CHANGING = [
    "undo", "undo", "link K00009 I24 --by Aunt", "state K00016 taken 1931 --by Cousin", "process K00016 albumen",
    "format K00016 real-photo-postcard", "relate K00016 before K00009", "describe K00016 --title Harbour",
    "informant Ruth", "tell Onwards --by Ruth --about K00009",
    "people add Nils/Holm/", "proband I24", "remove K00044 --with-statements", "undo", "log",
]  # fmt: skip
"""Commands that change something, whose answers hold numbers that must go on where they were."""
ELSEWHERE = {
    "init", "tree import", "tree write", "scans add", "scans join", "scans part", "scans turn", "frame", "unname",
    "container rename", "container nest", "container place", "container order", "container in-order", "withdraw",
    "reinstate", "replace",
    "settle", "people same", "keep backup", "keep restore", "keep bag", "keep verify", "keep state",
    "container expect", "container lent", "scans find", "scans inside", "scans names", "scans pair", "scans rename",
    "scans watch", "scans check", "scans accept", "scans floor", "give copies", "give labels", "give prints",
    "give sheet", "give site", "give clear", "give revoke", "give audience", "give consent", "give private", "progress",
    "scans straighten", "scans capture", "scans compare",
    "read", "scans cut", "faces on", "faces off", "faces find", "faces offers", "faces accept", "faces refuse",
    "faces forget", "faces state", "faces alike", "faces apart", "faces name",
}  # fmt: skip
"""Commands that need a file or a number of their own: they work on the same rows, and a test compares those."""


def answers(folder: Path, commands: list[str]) -> dict[str, Any]:
    """What each command prints as JSON, with the archive's folder and times left out."""
    found = {}
    for number, command in enumerate(commands):
        run = invoked([*command.split(), "--json", "--archive", str(folder)])
        text = run.stdout.replace(str(folder), "FOLDER") or run.stderr
        found[f"{number} {command}"] = json.loads(text, object_hook=_without_times) if run.exit_code == 0 else text
    return found


def _without_times(fields: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if name not in ("at", "said_at")}


def test_every_command_is_compared() -> None:
    """A command that is added must be compared too, or be named with the others."""
    compared = {" ".join(command.split()[:2]) for command in (*READING, *CHANGING)}
    compared |= {command.split()[0] for command in (*READING, *CHANGING)}
    assert set(documents()) - compared - ELSEWHERE == set()


def test_the_archive_that_is_made_from_it_is_the_same(shared_sample: Archive, tmp_path: Path) -> None:
    """The sample is packed and lost; what is made from the package in another folder answers every command with the
    same JSON, field by field, has the same history, and goes on the same way when things are undone and added."""
    original = tmp_path / "original"
    shutil.copytree(shared_sample.folder, original)
    with closing(Archive.open(original)) as archive:
        story = NewStory(by="Ruth", about=["K00009", "I24"])
        archive.stories.tell(story, write(tmp_path / "ruth.wav"))
        archive.give.record_telling("T1", "public", asked_by="Nora")
        archive.dates.refresh()
    before = answers(original, READING)
    with closing(Archive.open(original)) as archive:
        package = Path(archive.keep.make_package(tmp_path / "packages").folder)
    then = answers(original, CHANGING)
    shutil.rmtree(original)
    again = tmp_path / "deep" / "again"
    unpacked = unpack(package, again)
    assert (unpacked.missing, unpacked.damaged) == ([], [])
    after = answers(again, READING)
    for command, answer in before.items():
        assert after[command] == answer, command
    assert [command for command, answer in before.items() if not isinstance(answer, dict)] == []
    assert answers(again, CHANGING) == then
    assert [command for command, answer in then.items() if not isinstance(answer, dict)] == []


def test_recordings_are_in_it_as_they_are_and_as_flac(family: Archive, tmp_path: Path) -> None:
    """The original byte for byte; the copy has every sample of it, as libsndfile reads both. Its page plays it, and the
    words say of which there is no such copy."""
    wav = write(tmp_path / "edda.wav")
    family.stories.tell(NewStory(text="The ferry sank.", by="Edda", about=["K00001"]), wav)
    (tmp_path / "tom.m4a").write_bytes(m4a(b"Tom"))
    family.stories.tell(NewStory(by="Tom"), tmp_path / "tom.m4a")
    package = Path(family.keep.make_package(tmp_path / "packages").folder)
    bagit.Bag(str(package)).validate()
    data = package / "data"
    packed = files_below(data / "archive" / "sounds")
    assert hashlib.sha256(wav.read_bytes()).hexdigest() in packed.values()
    assert [path.name for path in (data / "sounds as FLAC").iterdir()] == ["T1.flac"]
    was, now = (soundfile.read(str(path), dtype="int16") for path in (wav, data / "sounds as FLAC" / "T1.flac"))
    assert was[1] == now[1]
    assert (was[0] == now[0]).all()
    page = (data / "pages" / "stories.html").read_text(encoding="utf-8")
    assert "The ferry sank." in page
    addresses = Addresses()
    addresses.feed(page)
    assert all((data / "pages" / unquote(address)).is_file() for address in addresses.found)
    assert "The recordings of T2 are there as they were put in" in (data / "READ ME FIRST.txt").read_text("utf-8")
    unpack(package, tmp_path / "again")
    with closing(Archive.open(tmp_path / "again")) as again:
        assert [one.recording.missing for one in again.stories.list() if one.recording] == [False, False]


def test_every_row_is_the_same(family: Archive, tmp_path: Path) -> None:
    """As SQLite finds them in both files, but for where the scans are; what a change noted is compared unpacked."""
    package = family.keep.make_package(tmp_path / "packages").folder
    unpack(package, tmp_path / "again")
    with family.reading() as one, closing(Archive.open(tmp_path / "again")) as archive, archive.reading() as other:
        for table in t.metadata.sorted_tables:
            if table.name not in ("scan_root", "setting", "change_row"):
                query = f"SELECT * FROM {table.name} ORDER BY 1"
                assert one.exec_driver_sql(query).all() == other.exec_driver_sql(query).all(), table.name
        assert archive.scans.roots()[0].found == 4
    assert archive.scans.add([tmp_path / "again" / "scans"]).unchanged == 4


def test_masters_are_untouched(family: Archive, tmp_path: Path) -> None:
    """Packing only reads."""
    masters = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in (tmp_path / "scans").rglob("*.*")}
    family.keep.make_package(tmp_path / "packages")
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in masters} == masters


def test_failing_scans_stand_apart_and_first(family: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk is dying: one scan has other bytes, a block of another cannot be read, a third is gone. The package is
    made all the same, is valid, has what could be read, and says so before anything else."""
    rotted, dying, gone, _ = sorted((tmp_path / "scans").rglob("*.*"))
    rotted.write_bytes(rotted.read_bytes()[:-1] + b"?")
    gone.unlink()
    copy, read = packing.copy_hashed, os.pread

    def failing_copy(source: str, *more: Any) -> Any:
        if source == str(dying):
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        return copy(source, *more)

    monkeypatch.setattr(packing, "copy_hashed", failing_copy)
    monkeypatch.setattr(packing, "_is_of_the_source", lambda path: path == str(dying))
    monkeypatch.setattr(packing, "_BLOCK", 256)

    def failing_read(file: int, size: int, at: int) -> bytes:
        if at == 256:
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        return read(file, size, at)

    monkeypatch.setattr(packing.os, "pread", failing_read)
    done = family.keep.make_package(tmp_path / "packages")
    assert done.scans == 3
    assert done.missing == [str(gone)]
    assert [line.split(":")[0] for line in done.failing] == [str(rotted), str(dying)]
    bagit.Bag(done.folder).validate()
    data = Path(done.folder) / "data"
    apart = {path.name: path.read_bytes() for path in (data / "failing").rglob("*.jpg")}
    assert apart[rotted.name] == rotted.read_bytes()
    whole = dying.read_bytes()
    assert apart[dying.name] == whole[:256] + bytes(256) + whole[512:]
    first = (data / "START HERE.html").read_text(encoding="utf-8")
    assert first.index("Not as they should be") < first.index("The photographs</h2>")
    assert rotted.name in first
    assert "BAD NEWS FIRST: 3 files" in (data / "READ ME FIRST.txt").read_text(encoding="utf-8")


def test_names_that_not_every_disk_can_hold(tmp_path: Path) -> None:
    """The files of the package have plainer names, told apart whatever a disk makes of capitals; the archive that is
    made from it has the true ones again."""
    names = ["100% wool.jpg", "a:b?.jpg", "Line\nbreak.jpg", "same.jpg", "SAME.jpg", "Übung ü.jpg", "dot./x.jpg"]
    scans = make_scans(tmp_path / "made", len(names), seed=4)
    for path, name in zip(scans, names, strict=True):
        to = tmp_path / "scans" / name
        to.parent.mkdir(parents=True, exist_ok=True)
        path.rename(to)
    with closing(Archive.create(tmp_path / "archive")) as archive:
        assert archive.scans.add([tmp_path / "scans"]).added == len(names)
        package = Path(archive.keep.make_package(tmp_path / "packages").folder)
    bagit.Bag(str(package)).validate()
    packed = [str(path.relative_to(package)) for path in package.rglob("*") if path.is_file()]
    assert not any(set(name) & set('%:?\n"<>|*\\') for name in packed)
    assert len({name.casefold() for name in packed}) == len(packed)
    unpack(package, tmp_path / "again")
    assert files_below(tmp_path / "again" / "scans" / "scans") == files_below(tmp_path / "scans")


def test_it_never_replaces_an_earlier_one(family: Archive, tmp_path: Path) -> None:
    """A second one of the same day gets another name."""
    first, second = (Path(family.keep.make_package(tmp_path / "packages").folder) for _ in range(2))
    assert second.name == f"{first.name}-2"
    bagit.Bag(str(first)).validate()


def test_a_package_that_is_killed_is_not_there(family: Archive, tmp_path: Path) -> None:
    """SIGKILL half way: no folder of its name, and the next one is made as if nothing had been."""
    family.close()

    def progress(done: int, _total: int) -> None:
        if done == 3:
            os.kill(os.getpid(), signal.SIGKILL)

    killed = Forked(lambda: Archive.open(family.folder).keep.make_package(tmp_path / "packages", progress))
    assert killed.ended()[0] == -signal.SIGKILL
    assert [path.name for path in (tmp_path / "packages").iterdir() if not path.name.startswith(".")] == []
    bagit.Bag(family.keep.make_package(tmp_path / "packages").folder).validate()


def test_what_cannot_be_unpacked_says_why(family: Archive, tmp_path: Path) -> None:
    """No package, a damaged table, a full folder; a damaged scan is put there and named."""
    package = Path(family.keep.make_package(tmp_path / "packages").folder)
    with pytest.raises(NotFoundError, match="no package of an archive here"):
        unpack(tmp_path / "scans", tmp_path / "again")
    with pytest.raises(NotFoundError, match="It is a package: kinphoto init NEW-FOLDER --from "):
        restore(package, tmp_path / "again")
    with pytest.raises(ArchiveError, match="something in this folder already"):
        unpack(package, tmp_path / "scans")
    scan = next((package / "data" / "scans").rglob("*.jpg"))
    scan.write_bytes(scan.read_bytes()[:-1] + b"?")
    assert [Path(path).name for path in unpack(package, tmp_path / "again").damaged] == [scan.name]
    table = package / "data" / "tables" / "person.json"
    table.write_text(table.read_text(encoding="utf-8").replace("Marsh", "Marsk"), encoding="utf-8")
    with pytest.raises(ArchiveError, match="this package is damaged"):
        unpack(package, tmp_path / "third")
    assert not (tmp_path / "third").exists()


def test_where_no_package_may_be(family: Archive, tmp_path: Path) -> None:
    """Among the scans or in the archive it would be taken for a part of them."""
    for place in (family.folder, tmp_path / "scans" / "new"):
        with pytest.raises(InvalidValueError, match="a package cannot be inside"):
            family.keep.make_package(place)
