"""Fronts, backs and rescans of one object: joined without losing a link, and parted again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Table, select

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.store import tables as t
from kinphoto.store.session import now

JOURNALED = (t.photograph, t.removed_scan, t.scan, t.alias, t.region, t.appearance, t.statement)


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Four photographs of one scan each; on the second a named face with an age, words, and two relations."""
    archive = Archive.create(tmp_path)
    with archive.working("four scans") as work:
        for number in range(1, 5):
            photograph = work.insert_one(t.photograph, code=f"K0000{number}", indexed=100 + number)
            work.insert_one(t.scan, photograph_id=photograph, **scan(number))
        region = work.insert_one(t.region, photograph_id=2, left=0.1, top=0.1, width=0.2, height=0.2)
        appearance = work.insert_one(t.appearance, photograph_id=2, region_id=region, said_at=now())
        said = {"photograph_id": 2, "said_at": now()}
        work.insert_one(t.statement, kind="apparent-age", appearance_id=appearance, age_low=6, age_high=8, **said)
        work.insert_one(t.statement, kind="inscription", text="Ilse, Whitsun", **said)
        work.insert_one(t.statement, kind="copy-of", other_id=1, **said)
        work.insert_one(t.statement, kind="before", other_id=3, **said)
    return archive


def scan(number: int) -> dict[str, Any]:
    """The facts of one scan."""
    return {
        "path": f"/box/{number}.jpg",
        "sha256": str(number),
        "size": 1,
        "mtime_ns": 1,
        "file_type": "JPEG",
        "width": 1,
        "height": 1,
        "indexed_at": "2026-01-01T12:00:00+00:00",
        "first_sha256": str(number),
        "first_code": f"K0000{number}",
    }


def rows(archive: Archive, table: Table) -> list[dict[str, Any]]:
    """Every row of a table."""
    with archive.reading() as connection:
        return [dict(row) for row in connection.execute(select(table).order_by(table.c.id)).mappings()]


def everything(archive: Archive) -> list[list[dict[str, Any]]]:
    """Every row that joining could touch."""
    return [rows(archive, table) for table in JOURNALED]


def code_of(archive: Archive, text: str) -> str:
    """The code of the photograph that a person's words mean."""
    with archive.reading() as connection:
        return str(find_photograph(connection, text)["code"])


def undo(archive: Archive, change: int) -> None:
    """Take a change back."""
    with archive.working("undo") as work:
        work.undo(change)


def test_a_back_becomes_the_verso_of_its_front(archive: Archive) -> None:
    """Two scans, no word about sides."""
    joined = archive.scans.join(["K00001", "K00002"])
    assert joined.photograph == "K00001"
    assert joined.scans == (("/box/1.jpg", "recto"), ("/box/2.jpg", "verso"))
    assert joined.aliases == ("K00002",)
    assert code_of(archive, "k2") == code_of(archive, "2.jpg") == "K00001"


def test_sides_are_set_on_the_others(archive: Archive) -> None:
    """Whatever was said goes for all scans after the first; with three and nothing said all stay as they are."""
    assert archive.scans.join(["1.jpg", "2.jpg", "3.jpg"]).scans == (
        ("/box/1.jpg", "recto"),
        ("/box/2.jpg", "recto"),
        ("/box/3.jpg", "recto"),
    )
    assert archive.scans.join(["K1", "3.jpg"], side="detail").scans[2] == ("/box/3.jpg", "detail")
    assert archive.scans.join(["K1", "K4"], side="verso").scans[3] == ("/box/4.jpg", "verso")


def test_every_link_moves_along(archive: Archive) -> None:
    """Region, appearance, age, words and relation are the first photograph's; only a relation to itself goes."""
    archive.scans.join(["K1", "K2"])
    for table in (t.region, t.appearance, t.statement):
        assert {row["photograph_id"] for row in rows(archive, table)} == {1}
    assert [row["kind"] for row in rows(archive, t.statement)] == ["apparent-age", "inscription", "before"]
    assert [row["code"] for row in rows(archive, t.photograph)] == ["K00001", "K00003", "K00004"]


def test_relations_of_others_follow(archive: Archive) -> None:
    """What K00002 was before, K00001 is before now."""
    archive.scans.join(["K4", "K3"])
    assert [row["other_id"] for row in rows(archive, t.statement) if row["kind"] == "before"] == [4]


def test_what_is_known_about_the_object_is_kept_from_both(archive: Archive) -> None:
    """The first's words stay; where the other's differ they go into the note."""
    with archive.working("described") as work:
        work.update(t.photograph, [1], title="Whitsun", note="torn")
        work.update(t.photograph, [2], title="Whitsun 1924", maker="Lindqvist", note="pencil on the back", page=1)
    archive.scans.join(["K1", "K2"])
    first = rows(archive, t.photograph)[0]
    assert (first["title"], first["maker"], first["page"], first["indexed"]) == ("Whitsun", "Lindqvist", 1, 101)
    assert first["note"].split("\n") == ["torn", "pencil on the back", "title of K00002: Whitsun 1924"]


def test_joining_is_undone_to_the_last_value(archive: Archive) -> None:
    """And an undo is undone."""
    before = everything(archive)
    archive.scans.join(["K1", "K2", "K3"], side="detail")
    after = everything(archive)
    undo(archive, 2)
    assert everything(archive) == before
    undo(archive, 3)
    assert everything(archive) == after


def test_parting_gives_the_old_code_and_its_links_back(archive: Archive) -> None:
    """As they were before joining, the dropped relation included; what was said since about a face goes with it."""
    before = everything(archive)
    archive.scans.join(["K1", "K2"])
    with archive.working("said later") as work:
        work.insert_one(t.appearance, photograph_id=1, region_id=1, said_at=now())
        work.insert_one(t.statement, photograph_id=1, appearance_id=1, kind="stated-age", age_low=7, said_at=now())
        work.insert_one(t.statement, photograph_id=1, kind="recollection", text="Easter", said_at=now())
    parted = archive.scans.separate("2.jpg")
    assert (parted.photograph, parted.taken_out_of) == ("K00002", "K00001")
    new = rows(archive, t.photograph)[-1]
    assert {**new, "id": 2} == before[0][1]
    assert {row["photograph_id"] for table in (t.region, t.appearance) for row in rows(archive, table)} == {new["id"]}
    said = {row["kind"]: (row["photograph_id"], row["other_id"]) for row in rows(archive, t.statement)}
    assert said == {
        "apparent-age": (new["id"], None),
        "inscription": (new["id"], None),
        "copy-of": (new["id"], 1),
        "before": (new["id"], 3),
        "stated-age": (new["id"], None),
        "recollection": (1, None),
    }
    assert rows(archive, t.alias) == []
    assert code_of(archive, "K2") == "K00002"


def test_parting_after_an_undone_and_repeated_join(archive: Archive) -> None:
    """What was recorded where is found in the log however the join came to stand."""
    archive.scans.join(["K1", "K2"])
    undo(archive, 2)
    undo(archive, 3)
    assert archive.scans.separate("2.jpg").photograph == "K00002"
    assert len([row for row in rows(archive, t.statement) if row["photograph_id"] == 5]) == 4


def test_parting_is_undone(archive: Archive) -> None:
    """All is back as it was while they were joined."""
    archive.scans.join(["K1", "K2"])
    joined = everything(archive)
    archive.scans.separate("2.jpg")
    undo(archive, 3)
    assert everything(archive) == joined


def test_a_scan_joined_twice_over_is_parted_under_its_own_code(archive: Archive) -> None:
    """K00003 into K00002, that into K00001: each scan still finds its code."""
    archive.scans.join(["K2", "K3"])
    archive.scans.join(["K1", "K2"])
    assert {code_of(archive, code) for code in ("K1", "K2", "K3")} == {"K00001"}
    assert archive.scans.separate("3.jpg").photograph == "K00003"
    assert archive.scans.separate("2.jpg").photograph == "K00002"
    assert [row["code"] for row in rows(archive, t.photograph)] == ["K00001", "K00004", "K00003", "K00002"]


def test_the_first_scan_is_parted_under_a_new_code(archive: Archive) -> None:
    """Its code stays with the photograph and the links."""
    with archive.working("codes so far") as work:
        work.take("photograph.code", 4)
    archive.scans.join(["K1", "K2"])
    assert archive.scans.separate("1.jpg").photograph == "K00005"
    assert code_of(archive, "2.jpg") == "K00001"


def test_one_scan_can_be_neither_joined_nor_parted(archive: Archive) -> None:
    """The same scan by two names is one scan."""
    with pytest.raises(InvalidValueError, match="one scan alone cannot be joined"):
        archive.scans.join(["K1", "/box/1.jpg"])
    with pytest.raises(InvalidValueError, match="it is the only scan of K00001"):
        archive.scans.separate("K1")
    with pytest.raises(InvalidValueError, match="unknown side 'inside'"):
        archive.scans.join(["K1", "K2"], side="inside")
    with pytest.raises(NotFoundError):
        archive.scans.join(["K1", "K9"])
