"""Archives of older releases are brought up to this one, and none is lost on the way."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
import zlib
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, create_engine, inspect

from kinphoto.archive import Archive
from kinphoto.errors import ArchiveError
from kinphoto.store import opening, upgrading
from kinphoto.store import tables as t

NOW, NEXT = t.SCHEMA, f"{int(t.SCHEMA) + 1:04}"
pytestmark = pytest.mark.usefixtures("created_each_time")
SCRIPT = '''"""A change of the tables as a later release may bring it."""

import sqlalchemy as sa
from alembic import op

revision, down_revision, branch_labels, depends_on = "{next}", "{now}", None, None


def upgrade():
    op.add_column("photograph", sa.Column("mood", sa.Text(), nullable=False, server_default="calm"))
    with op.batch_alter_table("container", table_kwargs={{"sqlite_strict": True}}) as container:
        container.alter_column("note", new_column_name="remark")
    {more}
'''


@pytest.fixture
def older(tmp_path: Path) -> Path:
    """The folder of an archive with a photograph in a box, made before the next release."""
    archive = Archive.create(tmp_path / "family")
    with archive.working("a box") as work:
        box = work.insert_one(t.container, name="Blue box", note="from the attic")
        work.insert_one(t.photograph, code="K00001", container_id=box, indexed=739_000)
    archive.engine.dispose()
    return archive.folder


def release(monkeypatch: pytest.MonkeyPatch, folder: Path, more: str = "") -> None:
    """The next release, whose schema is NEXT."""
    folder.mkdir()
    script = SCRIPT.format(next=NEXT, now=NOW, more=more)
    (folder / f"{NEXT}_moods.py").write_text(script, encoding="utf-8")
    monkeypatch.setattr(upgrading, "VERSIONS", (*upgrading.VERSIONS, folder))
    monkeypatch.setattr(t, "SCHEMA", NEXT)


def rows(path: Path, query: str) -> list[Any]:
    """What SQLite itself finds in a file."""
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(query).fetchall()


def described(engine: Engine) -> dict[str, Any]:
    """Everything the database says of its tables, in an order of its own."""
    found = inspect(engine)
    with engine.connect() as connection:
        strict = {row.name: row.strict for row in connection.exec_driver_sql("PRAGMA table_list")}
    return {
        table: {
            "columns": sorted(
                (c["name"], str(c["type"]), c["nullable"], c["primary_key"]) for c in found.get_columns(table)
            ),
            "keys": sorted(map(repr, found.get_foreign_keys(table))),
            "indexes": sorted(map(repr, found.get_indexes(table))),
            "unique": sorted(map(repr, found.get_unique_constraints(table))),
            "strict": strict[table],
        }
        for table in found.get_table_names()
        if table != "alembic_version"
    }


def test_the_migrations_together_make_the_tables(tmp_path: Path) -> None:
    """From nothing, all scripts make what the program makes in a new archive, as SQLite's own catalogue tells it."""
    fresh, migrated = (create_engine(f"sqlite:///{tmp_path / name}") for name in ("fresh.db", "migrated.db"))
    t.metadata.create_all(fresh)
    upgrading.upgrade(migrated, "head")
    assert described(migrated) == described(fresh)
    assert rows(tmp_path / "migrated.db", "SELECT version_num FROM alembic_version") == [(t.SCHEMA,)]


def test_an_older_archive_is_brought_up_after_a_copy(
    older: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The rows are all there afterwards, in the new form; the copy holds them in the old one."""
    release(monkeypatch, tmp_path / "next")
    with Archive.open(older).reading() as connection:
        assert connection.exec_driver_sql("SELECT code, mood FROM photograph").all() == [("K00001", "calm")]
        assert connection.exec_driver_sql("SELECT name, remark FROM container").all() == [
            ("Blue box", "from the attic")
        ]
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
    assert rows(older / "kinphoto.db", "SELECT version_num FROM alembic_version") == [(NEXT,)]
    before = older / f"kinphoto.db.before-{NEXT}"
    assert rows(before, "SELECT version_num FROM alembic_version") == [(NOW,)]
    assert rows(before, "SELECT name, note FROM container") == [("Blue box", "from the attic")]
    assert sorted(path.name for path in older.iterdir() if "before" in path.name) == [before.name]


@pytest.mark.parametrize(
    ("more", "problem"),
    [
        ('op.execute("INSERT INTO nowhere VALUES (1)")', "no such table"),
        ('op.execute("DELETE FROM container")', "some rows would refer to rows that do not exist"),
    ],
)
def test_a_migration_that_fails_changes_nothing(
    older: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, more: str, problem: str
) -> None:
    """One transaction: either all of it or nothing, and the message says where the copy lies."""
    release(monkeypatch, tmp_path / "next", more)
    with pytest.raises(ArchiveError, match=rf"{problem}.*Nothing was changed.*before-{NEXT}"):
        Archive.open(older)
    assert rows(older / "kinphoto.db", "SELECT version_num FROM alembic_version") == [(NOW,)]
    assert rows(older / "kinphoto.db", "SELECT note FROM container") == [("from the attic",)]


def test_a_migration_of_an_archive_without_roots_is_one_transaction_too(
    older: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An archive of a release that kept absolute paths has no table of what paths are relative to."""
    with closing(sqlite3.connect(older / "kinphoto.db")) as connection:
        connection.execute("DROP TABLE scan_root")
    release(monkeypatch, tmp_path / "next", 'op.execute("INSERT INTO nowhere VALUES (1)")')
    with pytest.raises(ArchiveError, match=r"no such table.*Nothing was changed"):
        Archive.open(older)
    assert rows(older / "kinphoto.db", "SELECT version_num FROM alembic_version") == [(NOW,)]
    assert rows(older / "kinphoto.db", "SELECT note FROM container") == [("from the attic",)]


def test_without_a_copy_nothing_is_changed(older: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the copy cannot be written the archive stays as old as it was."""
    release(monkeypatch, tmp_path / "next")
    (older / f"kinphoto.db.before-{NEXT}").mkdir()
    with pytest.raises(ArchiveError, match=r"it cannot be copied before the upgrade.*nothing was changed"):
        Archive.open(older)
    assert rows(older / "kinphoto.db", "SELECT version_num FROM alembic_version") == [(NOW,)]
    assert not (older / f"kinphoto.db.before-{NEXT}.part").exists()


@pytest.mark.parametrize(
    ("command", "problem"),
    [
        ("UPDATE alembic_version SET version_num = '9999'", "Install the newest kinphoto"),
        ("DELETE FROM alembic_version", "not a kinphoto archive, or it is damaged"),
        ("DROP TABLE alembic_version", "not a kinphoto archive, or it is damaged"),
    ],
)
def test_what_is_newer_or_no_archive_is_refused(older: Path, command: str, problem: str) -> None:
    """An archive of a newer release is left alone, with what to do about it; so is a database of something else."""
    with closing(sqlite3.connect(older / "kinphoto.db")) as connection, connection:
        connection.execute(command)
    with pytest.raises(ArchiveError, match=problem):
        Archive.open(older)


def test_opening_an_archive_of_this_release_does_not_load_alembic(older: Path) -> None:
    """Only an older archive pays for the machinery of migrations."""
    code = """
import sys
from pathlib import Path
from kinphoto.archive import Archive
Archive.open(Path(sys.argv[1]))
print("alembic" in sys.modules, "sqlalchemy" in sys.modules)
"""
    done = subprocess.run(
        [sys.executable, "-c", code, str(older)], capture_output=True, text=True, check=True, env=os.environ
    )
    assert done.stdout.split() == ["False", "True"]


def test_a_new_archive_needs_no_upgrade(tmp_path: Path) -> None:
    """What `create` marks an archive with is the newest script there is."""
    newest = max(path.name[:4] for folder in upgrading.VERSIONS for path in folder.glob("[0-9]*.py"))
    assert newest == t.SCHEMA
    engine = opening.connect(opening.database_url(tmp_path))
    opening.create(engine)
    opening.check(engine)
    assert not list(tmp_path.glob("*before*"))


def test_absolute_paths_of_an_older_archive_become_relative(tmp_path: Path) -> None:
    """Of scans, of the folders of containers, and of the rows that an undo puts back: all below the outermost folders,
    and a scan that was added by itself below its own folder."""
    family, scans = tmp_path / "family", "/mnt/disk/scans"
    family.mkdir()
    engine = create_engine(f"sqlite:///{family / 'kinphoto.db'}")
    upgrading.upgrade(engine, "0007")
    noted = [{"id": 1, "path": f"{scans}/box/a.jpg"}]
    with engine.begin() as connection:
        for line in (
            f"INSERT INTO container (id, name, folder, note) VALUES (1, 'scans', '{scans}', ''), "
            f"(2, 'box', '{scans}/box', ''), (3, 'a cousin', NULL, '')",
            "INSERT INTO photograph (id, code, position, page, title, place, note, rights, maker, former_number, "
            "indexed) VALUES (1, 'K00001', 0, 0, '', '', '', '', '', '', 738000)",
            *(
                "INSERT INTO scan (id, photograph_id, path, sha256, size, mtime_ns, side, position, file_type, width, "
                "height, mode, pages, orientation, indexed_at, first_sha256, first_code, missing) VALUES "
                f"({number}, 1, '{path}', '', 1, 1, 'recto', 0, 'JPEG', 1, 1, '', 1, 1, '', '', '', 0)"
                for number, path in enumerate((f"{scans}/box/a.jpg", f"{scans}/b.pdf#page=2", "/home/ada/c.jpg"), 1)
            ),
            "INSERT INTO change (id, at, what) VALUES (1, '2026-01-01T00:00:00+00:00', 'a change')",
        ):
            connection.exec_driver_sql(line)
        connection.exec_driver_sql(
            "INSERT INTO change_row (id, change_id, table_name, first_id, last_id, before) "
            "VALUES (1, 1, 'scan', 1, 1, ?)",
            (zlib.compress(json.dumps(noted).encode()),),
        )
    engine.dispose()
    with closing(Archive.open(family)) as archive, archive.reading() as connection:
        paths = connection.scalars(t.scan.select().with_only_columns(t.scan.c.path).order_by(t.scan.c.id)).all()
    assert paths == [f"{scans}/box/a.jpg", f"{scans}/b.pdf#page=2", "/home/ada/c.jpg"]
    file = family / "kinphoto.db"
    assert rows(file, "SELECT id, path FROM scan_root") == [(1, "/home/ada"), (2, scans)]
    assert rows(file, "SELECT path FROM scan ORDER BY id") == [("2:box/a.jpg",), ("2:b.pdf#page=2",), ("1:c.jpg",)]
    assert rows(file, "SELECT folder FROM container ORDER BY id") == [("2:",), ("2:box",), (None,)]
    ((before,),) = rows(file, "SELECT before FROM change_row")
    assert json.loads(zlib.decompress(before)) == [{"id": 1, "path": "2:box/a.jpg"}]


def test_chinese_names_of_an_older_archive_are_found_by_their_characters(tmp_path: Path) -> None:
    """Those of today and those that an undo puts back; the others stay as they were."""
    family = tmp_path / "family"
    family.mkdir()
    engine = create_engine(f"sqlite:///{family / 'kinphoto.db'}")
    upgrading.upgrade(engine, "0021")
    before = [{"id": 1, "folded": "陳大"}, {"id": 2, "folded": "ada marsh"}]
    with engine.begin() as connection:
        for line in (
            "INSERT INTO person (id, code, outside, gone, sex, name, living, uid, note) VALUES "
            "(1, 'I1', 0, 0, 'M', '陳大文', 0, '', '')",
            "INSERT INTO name (id, person_id, position, kind, text, given, surname, nickname, folded) VALUES "
            "(1, 1, 0, '', '陳大文', '', '', '', '陳大文'), (2, 1, 1, '', 'David Chan', '', '', '', 'david chan')",
            "INSERT INTO change (id, at, what) VALUES (1, '2026-01-01T00:00:00+00:00', 'a change')",
        ):
            connection.exec_driver_sql(line)
        connection.exec_driver_sql(
            "INSERT INTO change_row (id, change_id, table_name, first_id, last_id, before) "
            "VALUES (1, 1, 'name', 1, 2, ?)",
            (zlib.compress(json.dumps(before).encode()),),
        )
    engine.dispose()
    with closing(Archive.open(family)) as archive:
        assert [one.id for one in archive.people.find("大文 陳").people] == ["I1"]
    file = family / "kinphoto.db"
    assert [folded for (folded,) in rows(file, "SELECT folded FROM name ORDER BY id")] == ["陳 大 文", "david chan"]
    ((packed,),) = rows(file, "SELECT before FROM change_row")
    assert [row["folded"] for row in json.loads(zlib.decompress(packed))] == ["陳 大", "ada marsh"]
