"""An archive is opened by its path alone, told as damaged only when it is, and whole in one file when nobody works."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, closing, contextmanager
from pathlib import Path

import pytest
from sqlalchemy import Engine, event, select
from sqlalchemy.exc import OperationalError

from kinphoto.archive import Archive
from kinphoto.archive.dates.background import main as refresh
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.errors import ArchiveError
from kinphoto.store import opening, problems
from kinphoto.store import tables as t

WithoutRights = Callable[[], AbstractContextManager[None]]
pytestmark = pytest.mark.usefixtures("created_each_time")
NAMES = [
    "Who is it? 1",
    "Box A",
    "Box%20A",
    "100%",
    "a#b&mode=ro;c",
    "file:x?mode=memory",
    ":memory:",
    ' it\'s "hers" ',
    "Gödöllő",
]


def names(archive: Archive) -> list[str]:
    """The people outside the tree, read in a transaction of its own."""
    with archive.reading() as connection:
        return list(connection.scalars(select(t.person.c.name).order_by(t.person.c.id)))


def alone(folder: Path, to: Path) -> list[str]:
    """The same from a copy of `kinphoto.db` without the files beside it."""
    to.mkdir()
    shutil.copyfile(folder / "kinphoto.db", to / "kinphoto.db")
    copy = Archive.open(to)
    found = names(copy)
    copy.close()
    shutil.rmtree(to)
    return found


def bytes_of(folder: Path) -> dict[str, bytes]:
    """Every file of a folder and what is in it."""
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir()) if path.is_file()}


# --- the path ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("relative", [False, True])
def test_every_name_of_a_folder_is_that_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, relative: bool) -> None:
    """What means something in an address of a database means nothing in a path: each archive is in its own folder."""
    monkeypatch.chdir(tmp_path)
    base = Path() if relative else tmp_path
    for name in NAMES:
        archive = Archive.create(base / name)
        archive.people.add(name)
        archive.close()
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(NAMES)
    for name in NAMES:
        assert [path.name for path in (tmp_path / name).iterdir()] == ["kinphoto.db"]
        assert names(Archive.open(base / name)) == [" ".join(name.split())]


def test_undo_in_one_folder_leaves_its_namesake_alone(tmp_path: Path) -> None:
    """`Box%20A` is not `Box A`, as it would be in a URL."""
    space, percent = Archive.create(tmp_path / "Box A"), Archive.create(tmp_path / "Box%20A")
    space.people.add("Ada Marsh")
    percent.people.add("Tom Holm")
    percent.statements.undo()
    assert (names(space), names(percent)) == (["Ada Marsh"], [])


def test_a_name_that_is_no_utf_8(tmp_path: Path) -> None:
    """Folders from an older system may be named in Latin-1."""
    folder = tmp_path / os.fsdecode(b"caf\xe9?")
    try:
        folder.mkdir()
    except OSError:
        pytest.skip("this file system knows UTF-8 only")
    archive = Archive.create(folder)
    archive.people.add("Ada Marsh")
    archive.close()
    assert names(Archive.open(folder)) == ["Ada Marsh"]


def test_an_upgrade_copies_the_archive_it_upgrades(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The copy that is set aside before lies in the same folder, whatever its name."""
    from kinphoto.store.upgrading import set_aside

    for name in ("Box A", "Box%20A"):
        archive = Archive.create(tmp_path / name)
        archive.people.add(name)
    copy = set_aside(archive.engine, "before-9999")
    assert copy == tmp_path / "Box%20A" / "kinphoto.db.before-9999"
    with closing(sqlite3.connect(copy)) as connection:
        assert connection.execute("SELECT name FROM person").fetchall() == [("Box%20A",)]


def test_an_archive_is_made_in_one_transaction(tmp_path: Path) -> None:
    """Whoever looks while its tables are being made sees none of them; interrupted there, none is left half made."""
    engine, seen = opening.connect(opening.database_url(tmp_path)), []

    @event.listens_for(engine, "before_cursor_execute")
    def _look(_connection: object, _cursor: object, statement: str, *_others: object) -> None:
        if "CREATE INDEX" in statement or "alembic_version" in statement:
            with closing(sqlite3.connect(tmp_path / "kinphoto.db")) as other:
                seen.append(other.execute("SELECT count(*) FROM sqlite_master").fetchone()[0])

    opening.create(engine)
    assert len(seen) > 20
    assert set(seen) == {0}
    engine.dispose()


def test_an_archive_that_went_away_is_not_made_anew(tmp_path: Path) -> None:
    """Nothing empty is put in the place of a database whose disk was disconnected."""
    archive = Archive.create(tmp_path / "family")
    archive.people.add("Ada Marsh")
    archive.close()
    (tmp_path / "family").rename(tmp_path / "elsewhere")
    (tmp_path / "family").mkdir()
    with pytest.raises(ArchiveError, match=r"no longer there.*disk disconnected"):
        names(archive)
    assert list((tmp_path / "family").iterdir()) == []


# --- permission -------------------------------------------------------------------------------------------------------


@pytest.fixture
def family(shared: Path) -> Archive:
    """An archive of two photographs of which one has a date; nothing was dated yet."""
    archive = Archive.create(shared / "family")
    with archive.working("two photographs") as work:
        work.insert(t.photograph, [{"code": f"K0000{n}", "indexed": 739_000} for n in (1, 2)])
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1924"))
    archive.people.add("Ada Marsh")
    archive.dates.estimates()  # imports whatever dating needs ...
    archive.statements.record(NewClaim(photograph="K2", kind="taken", date="1931"))  # ... and is out of date again
    archive.close()
    return archive


@pytest.mark.parametrize(
    ("modes", "why"),
    [
        ({"": 0o555}, "you do not have permission to write to family"),
        ({"kinphoto.db": 0o444}, "you do not have permission to write to kinphoto.db"),
        ({"": 0o555, "kinphoto.db": 0o444}, "you do not have permission to write to kinphoto.db"),
    ],
)
def test_reading_works_without_permission_to_write(
    family: Archive, without_rights: WithoutRights, modes: dict[str, int], why: str
) -> None:
    """Everything is found and dated, also what was not dated before; a change is refused with the reason; every byte of
    the folder is as it was."""
    if os.geteuid() == 0:
        modes = {"": 0o777, "kinphoto.db": 0o666} | modes
    for name, mode in modes.items():
        (family.folder / name).chmod(mode)
    before = bytes_of(family.folder)
    with without_rights():
        opened = Archive.open(family.folder)
        assert names(opened) == ["Ada Marsh"]
        assert [d.estimate.edtf for d in opened.dates.estimates()] == ["1924", "1931"]
        with pytest.raises(ArchiveError, match=rf"cannot be changed: {why}\..*nothing was changed") as told:
            opened.people.add("Tom Holm")
        assert "damaged" not in str(told.value)
        assert names(opened) == ["Ada Marsh"]
        opened.close()
    assert bytes_of(family.folder) == before


@pytest.mark.parametrize(("name", "mode"), [("kinphoto.db", 0o000), ("", 0o000)])
def test_what_may_not_be_read_is_not_damaged(
    family: Archive, without_rights: WithoutRights, name: str, mode: int
) -> None:
    """Neither is it missing: the message is about permission."""
    path = family.folder / name
    path.chmod(mode)
    with without_rights(), pytest.raises(ArchiveError, match="do not have permission to read") as told:
        Archive.open(family.folder)
    assert not re.search("damaged|backup|init", str(told.value))


@contextmanager
def at_work(archive: Archive) -> Iterator[None]:
    """Another program that has the archive open, with its newest changes in `kinphoto.db-wal`."""
    with closing(sqlite3.connect(archive.folder / "kinphoto.db", isolation_level=None)) as other:
        other.execute("PRAGMA wal_autocheckpoint=0").close()
        other.execute("UPDATE person SET name = 'Ada Holm'").close()
        yield


def test_who_may_only_read_sees_what_another_has_just_changed(family: Archive, without_rights: WithoutRights) -> None:
    """While the keeper's program has it open, its newest changes are read from beside the database."""
    family.folder.chmod(0o555)
    (family.folder / "kinphoto.db").chmod(0o644)
    if os.geteuid() != 0:
        pytest.skip("needs another user")
    with at_work(family), without_rights():
        assert names(Archive.open(family.folder)) == ["Ada Holm"]


def test_newest_changes_that_cannot_be_read_are_not_passed_over(
    family: Archive, shared: Path, without_rights: WithoutRights
) -> None:
    """Of a copy with `-wal` and without `-shm`, on a disk that can only be read, SQLite reads nothing: it is said."""
    copy = shared / "copy"
    copy.mkdir()
    with at_work(family):
        for name in ("kinphoto.db", "kinphoto.db-wal"):
            shutil.copyfile(family.folder / name, copy / name)
    copy.chmod(0o555)
    (copy / "kinphoto.db").chmod(0o444)
    with without_rights(), pytest.raises(ArchiveError, match=r"newest changes are in kinphoto\.db-wal.*Copy the whole"):
        Archive.open(copy)
    copy.chmod(0o755)
    (copy / "kinphoto.db").chmod(0o644)
    assert names(Archive.open(copy)) == ["Ada Holm"]


def test_what_changes_while_it_is_read_is_neither_used_nor_called_damaged(
    family: Archive, without_rights: WithoutRights
) -> None:
    """Who may only read looks at the file as at one that nobody changes. When it is changed all the same, what was read
    is thrown away, and the next look sees the change."""
    if os.geteuid() != 0:
        pytest.skip("needs another user")
    family.folder.chmod(0o755)
    with without_rights():
        opened = Archive.open(family.folder)
        names(opened)

    def read_while_it_changes() -> None:
        with opened.reading() as connection:
            connection.exec_driver_sql("SELECT name FROM person").all()
            os.setresuid(0, 0, 0)
            with closing(sqlite3.connect(family.folder / "kinphoto.db")) as other, other:
                other.execute("UPDATE person SET name = 'Ada Holm'")

    with (
        pytest.raises(ArchiveError, match=r"somebody else changed the archive.*Run the command again"),
        without_rights(),
    ):
        read_while_it_changes()
    with without_rights():
        assert names(opened) == ["Ada Holm"]


def test_a_background_that_may_not_write_says_so(
    family: Archive, without_rights: WithoutRights, capsys: pytest.CaptureFixture[str]
) -> None:
    """It does not date everything again and again for nothing."""
    family.folder.chmod(0o555)
    (family.folder / "kinphoto.db").chmod(0o444)
    with without_rights():
        assert refresh([str(family.folder)]) == 1
    assert "cannot be changed" in capsys.readouterr().err


# --- in use, no room, a disk that fails -------------------------------------------------------------------------------


def test_what_another_program_holds_is_in_use(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also when it is opened: whoever waited long enough is told to wait, not to restore a backup."""
    monkeypatch.setattr(opening, "_PATIENCE", 50)
    Archive.create(tmp_path / "family").close()
    with closing(sqlite3.connect(tmp_path / "family" / "kinphoto.db", isolation_level=None)) as other:
        other.execute("PRAGMA locking_mode=EXCLUSIVE").close()
        other.execute("BEGIN EXCLUSIVE").close()
        with pytest.raises(ArchiveError, match=r"in use by another program.*try again; nothing was changed"):
            Archive.open(tmp_path / "family")
    archive = Archive.open(tmp_path / "family")
    with closing(sqlite3.connect(tmp_path / "family" / "kinphoto.db", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE").close()
        assert names(archive) == []
        with pytest.raises(ArchiveError, match="in use by another program"):
            archive.people.add("Ada Marsh")


def test_a_full_disk_is_full(tmp_path: Path) -> None:
    """Neither damaged nor in use; what is there stays, and with room again it goes on."""
    archive = Archive.create(tmp_path / "family")
    archive.people.add("Ada Marsh")
    archive.close()

    @event.listens_for(archive.engine, "connect")
    def _fill(connection: sqlite3.Connection, _record: object) -> None:
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count={pages}").close()

    with pytest.raises(ArchiveError, match=r"disk is full.*Free some space.*nothing was changed"):
        archive.people.add("Tom Holm", note="x" * 100_000)
    assert names(archive) == ["Ada Marsh"]
    again = Archive.open(tmp_path / "family")
    again.people.add("Tom Holm", note="x" * 100_000)
    assert names(again) == ["Ada Marsh", "Tom Holm"]


SMALL = """
import resource, sys
from pathlib import Path
from kinphoto.archive import Archive
from kinphoto.errors import ArchiveError

resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[3]),) * 2)
try:
    getattr(Archive, sys.argv[1])(Path(sys.argv[2])).people.add("Tom Holm", note="x" * 1_000_000)
except ArchiveError as problem:
    print(problem)
"""


@pytest.mark.skipif(os.name == "nt", reason="no such limits")
@pytest.mark.parametrize(("call", "limit"), [("open", 700_000), ("create", 100_000), ("create", 0)])
def test_where_files_may_not_grow_there_is_no_room(tmp_path: Path, call: str, limit: int) -> None:
    """A quota, or a limit of the system; an archive that could not be made leaves nothing that is taken for one."""
    folder = tmp_path / "family"
    if call == "open":
        Archive.create(folder).close()
    done = subprocess.run(
        [sys.executable, "-c", SMALL, call, str(folder), str(limit)], capture_output=True, text=True, check=True
    )
    assert "disk is full" in done.stdout
    assert "damaged" not in done.stdout
    if call == "open":
        assert names(Archive.open(folder)) == []
    else:
        assert list(folder.iterdir()) == []
        Archive.create(folder)


@pytest.mark.parametrize(
    ("code", "words"),
    [  # SQLite's result codes, from https://www.sqlite.org/rescode.html
        (11, "damaged"), (26, "damaged"), (267, "damaged"),  # CORRUPT, NOTADB, CORRUPT_VTAB
        (5, "in use"), (6, "in use"), (261, "in use"), (15, "in use"),  # BUSY, LOCKED, BUSY_RECOVERY, PROTOCOL
        (8, "cannot be changed"), (1032, "made read-only"), (3, "cannot be changed"),  # READONLY, _DBMOVED, PERM
        (13, "disk is full"), (778, "disk is full"),  # FULL, IOERR_WRITE
        (10, "still connected"), (266, "still connected"), (1034, "still connected"),  # IOERR, _READ, _FSYNC
        (14, "cannot be opened"),  # CANTOPEN
        (1, "report this"),  # ERROR
    ],
)  # fmt: skip
def test_each_refusal_of_sqlite_has_its_words(tmp_path: Path, code: int, words: str) -> None:
    """One line each, with the place and what to do; only what is damaged is told to be restored."""
    archive = Archive.create(tmp_path / "family")
    cause = sqlite3.OperationalError("as SQLite says it")
    cause.sqlite_errorcode = code
    told = problems.explain(archive.engine, OperationalError("SELECT 1", None, cause))
    assert words in str(told)
    assert str(tmp_path) in str(told)
    assert "\n" not in str(told)
    assert ("backup" in str(told)) == (words == "damaged")


# --- really damaged ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [1, 50, 100, 4096, 20_000])
def test_a_database_that_was_cut_short_is_damaged(tmp_path: Path, size: int) -> None:
    """As much of it as may be there, and what is there stays as it is."""
    archive = Archive.create(tmp_path / "family")
    archive.people.add("Ada Marsh")
    archive.close()
    path = tmp_path / "family" / "kinphoto.db"
    path.write_bytes(path.read_bytes()[:size])
    with pytest.raises(ArchiveError, match=r"is not a kinphoto archive, or it is damaged.*Keep it.*backup"):
        Archive.open(tmp_path / "family").people.find()
    assert path.read_bytes()[:size] == path.read_bytes()


def test_an_empty_database_is_told_apart(tmp_path: Path) -> None:
    """What is left of an archive that was never made is not something to restore."""
    (tmp_path / "kinphoto.db").touch()
    with pytest.raises(ArchiveError, match=r"is empty.*kinphoto init"):
        Archive.open(tmp_path)


# --- one file that is whole -------------------------------------------------------------------------------------------


def test_after_closing_one_file_is_everything(tmp_path: Path) -> None:
    """Nothing stands beside `kinphoto.db` any more, and a copy of it alone has the newest change."""
    archive = Archive.create(tmp_path / "family")
    archive.people.add("Ada Marsh")
    with closing(sqlite3.connect(tmp_path / "family" / "kinphoto.db")) as kept_open:
        kept_open.execute("SELECT 1").close()
    assert [path.name for path in archive.folder.iterdir()] != ["kinphoto.db"]
    archive.close()
    assert [path.name for path in archive.folder.iterdir()] == ["kinphoto.db"]
    assert alone(archive.folder, tmp_path / "copy") == ["Ada Marsh"]
    archive.people.add("Tom Holm")  # it can be used again
    assert names(archive) == ["Ada Marsh", "Tom Holm"]


def test_a_checkpoint_waits_for_nobody_and_loses_nothing(tmp_path: Path) -> None:
    """While somebody reads an older state it brings in what it can and says that this was not all."""
    archive = Archive.create(tmp_path / "family")
    archive.people.add("Ada Marsh")
    assert archive.checkpoint()
    assert (archive.folder / "kinphoto.db-wal").stat().st_size == 0
    assert alone(archive.folder, tmp_path / "copy") == ["Ada Marsh"]
    with archive.reading() as connection:
        assert connection.scalars(select(t.person.c.name)).all() == ["Ada Marsh"]
        archive.people.add("Tom Holm")
        assert not archive.checkpoint()
        assert connection.scalars(select(t.person.c.name)).all() == ["Ada Marsh"]
    assert names(archive) == ["Ada Marsh", "Tom Holm"]
    with archive.working("Eve Pym") as work:
        work.insert_one(t.person, code="X9", name="Eve Pym")
        assert not archive.checkpoint()
    assert archive.checkpoint()
    assert alone(archive.folder, tmp_path / "copy") == ["Ada Marsh", "Tom Holm", "Eve Pym"]


@pytest.mark.parametrize("suffix", ["-wal", "-shm", "-journal"])
def test_what_is_left_of_an_archive_is_not_written_over(tmp_path: Path, suffix: str) -> None:
    """A `-wal` without its database may hold the newest changes; a new database of that name would destroy them."""
    archive = Archive.create(tmp_path / "family")
    archive.people.add("Ada Marsh")
    left = bytes_of(archive.folder)
    archive.close()
    for path in archive.folder.iterdir():
        path.unlink()
    (archive.folder / f"kinphoto.db{suffix}").write_bytes(left.get(f"kinphoto.db{suffix}", b"pages"))
    before = bytes_of(archive.folder)
    for use in (Archive.create, Archive.open):
        with pytest.raises(ArchiveError, match=rf"is missing, but kinphoto\.db{suffix}.*Put kinphoto\.db back"):
            use(archive.folder)
    assert bytes_of(archive.folder) == before
    assert opening.is_here(archive.folder)
    (archive.folder / "kinphoto.db").write_bytes(left["kinphoto.db"])  # which it had before the newest changes
    if suffix == "-wal":
        assert names(Archive.open(archive.folder)) == ["Ada Marsh"]


def test_two_who_make_the_same_archive(tmp_path: Path) -> None:
    """The second is told; the first one's file stays."""
    engines = [opening.connect(opening.database_url(tmp_path)) for _ in range(2)]
    opening.create(engines[0])
    with pytest.raises(ArchiveError, match="already an archive in this folder"):
        opening.create(engines[1])
    opening.check(engines[1])


def test_the_same_in_memory(engine: Engine) -> None:
    """Without a file there is nothing to bring in, and no permission to lack."""
    assert opening.checkpoint(engine)
    opening.refuse_to_change(engine)


@pytest.fixture
def engine() -> Engine:
    """A database in memory."""
    made = opening.connect("sqlite://")
    opening.create(made)
    return made
