"""Containers arranged by hand: named, nested, filled and ordered."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import AmbiguousError, InvalidValueError, NotFoundError
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """A folder with five photographs in it, and an empty one of the same name elsewhere."""
    made = Archive.create(tmp_path / "archive")
    with made.working("two folders") as work:
        boxes = work.insert(t.container, [{"name": "box", "folder": f"/scans/{where}/box"} for where in "ab"])
        work.insert(
            t.photograph,
            [{"code": f"K0000{n}", "indexed": 738000, "container_id": boxes[0], "position": n} for n in range(1, 6)],
        )
    return made


def lying(archive: Archive) -> dict[str, list[str]]:
    """The codes in each container, in physical order; "" for those that lie nowhere."""
    c, p = t.container.c, t.photograph.c
    query = select(c.name, c.folder, p.code).select_from(t.photograph).outerjoin(t.container, c.id == p.container_id)
    found: dict[str, list[str]] = {}
    with archive.reading() as connection:
        for name, folder, code in connection.execute(query.order_by(p.position, p.id)):
            found.setdefault(folder or name or "", []).append(code[-1])
    return found


def nested(archive: Archive) -> dict[str, str | None]:
    """Each container and what it lies in, by name."""
    with archive.reading() as connection:
        rows = connection.execute(select(t.container)).mappings().all()
    names = {row["id"]: row["folder"] or row["name"] for row in rows}
    return {names[row["id"]]: names.get(row["parent_id"]) for row in rows}


def test_several_photographs_are_put_into_one_container(archive: Archive) -> None:
    """In the order given, behind those that lie there already, in one change; a container is made if need be."""
    done = archive.photographs.move(["K3", "K1"], "Blue album")
    assert (done.name, done.photographs, done.changed, done.made) == ("Blue album", ("K00003", "K00001"), True, True)
    assert archive.statements.history(1)[0].what == "put K00003 and K00001 in Blue album"
    again = archive.photographs.move(["K5", "K3"], " Blue  album ")
    assert (again.changed, again.made) == (True, False)
    assert lying(archive) == {"Blue album": ["3", "1", "5"], "/scans/a/box": ["2", "4"]}
    assert not archive.photographs.move(["K1"], done.id or 0).changed
    archive.statements.undo()
    archive.statements.undo()
    assert lying(archive) == {"/scans/a/box": ["1", "2", "3", "4", "5"]}


def test_photographs_that_lie_nowhere(archive: Archive) -> None:
    """Taken out of their container, they have no place in an order."""
    archive.photographs.move(["K1", "K2", "K3", "K4", "K5"], "")
    assert archive.statements.history(1)[0].what == "took K00001, K00002, K00003 and 2 more out of their boxes"
    assert lying(archive) == {"": ["1", "2", "3", "4", "5"]}


def test_the_physical_order(archive: Archive) -> None:
    """Those named come first, the others follow as they were; the same order again changes nothing."""
    assert archive.photographs.reorder("/scans/a/box", ["K4", "K2"]).changed
    assert lying(archive) == {"/scans/a/box": ["4", "2", "1", "3", "5"]}
    assert not archive.photographs.reorder("/scans/a/box/", ["K4"]).changed
    archive.statements.undo()
    assert lying(archive) == {"/scans/a/box": ["1", "2", "3", "4", "5"]}


def test_an_order_names_what_is_there_and_once(archive: Archive) -> None:
    """Otherwise nothing is changed."""
    archive.photographs.move(["K5"], "Blue album")
    with pytest.raises(InvalidValueError, match="K00005 is not in 'box'") as caught:
        archive.photographs.reorder("/scans/a/box", ["K1", "K5"])
    assert 'kinphoto container place "box" K00005' in caught.value.remedy
    with pytest.raises(InvalidValueError, match="K00001 is named twice"):
        archive.photographs.reorder("/scans/a/box", ["K1", "k00001"])
    with pytest.raises(InvalidValueError, match="no photograph was named"):
        archive.photographs.move([], "Blue album")


def test_containers_nest(archive: Archive) -> None:
    """Into one that is made if need be, and out again."""
    done = archive.photographs.nest_container("/scans/a/box", "Tin trunk")
    assert (done.name, done.inside, done.changed, done.made) == ("box", "Tin trunk", True, True)
    assert archive.statements.history(1)[0].what == "moved the box box into Tin trunk"
    assert not archive.photographs.nest_container("/scans/a/box", "Tin trunk").changed
    assert nested(archive) == {"/scans/a/box": "Tin trunk", "/scans/b/box": None, "Tin trunk": None}
    archive.photographs.nest_container("/scans/a/box", None)
    assert archive.statements.history(1)[0].what == "moved the box box out of Tin trunk"
    assert set(nested(archive).values()) == {None}


def test_nothing_lies_in_itself(archive: Archive) -> None:
    """Neither at once nor through others; the remedy says what to take out."""
    archive.photographs.nest_container("/scans/a/box", "Tin trunk")
    archive.photographs.nest_container("Tin trunk", "Attic")
    before = nested(archive)
    with pytest.raises(InvalidValueError, match="'Attic' cannot go into 'box', which is inside it") as caught:
        archive.photographs.nest_container("Attic", "/scans/a/box")
    assert 'kinphoto container nest "box"' in caught.value.remedy
    with pytest.raises(InvalidValueError, match="cannot go into itself"):
        archive.photographs.nest_container("Attic", "Attic")
    assert nested(archive) == before


def test_another_name_for_a_folder(archive: Archive) -> None:
    """It stands for the folder as before, and is found by either."""
    done = archive.photographs.rename_container("/scans/a/box", " Tin  trunk ")
    assert (done.name, done.changed) == ("Tin trunk", True)
    assert archive.statements.history(1)[0].what == "renamed the box box to Tin trunk"
    assert not archive.photographs.rename_container("/scans/a/box", "Tin trunk").changed
    archive.photographs.describe("K1", Description(container="Tin trunk"))
    assert lying(archive) == {"/scans/a/box": ["1", "2", "3", "4", "5"]}


def test_names_are_not_taken_twice(archive: Archive) -> None:
    """A container could not be told from another by its name then."""
    archive.photographs.move(["K1"], "Blue album")
    with pytest.raises(InvalidValueError, match="there is already another box called 'box'"):
        archive.photographs.rename_container("Blue album", "box")
    with pytest.raises(InvalidValueError, match="needs a name"):
        archive.photographs.rename_container("Blue album", " ")


def test_which_container_is_meant(archive: Archive) -> None:
    """Two folders of one name are told apart by their paths; the nearest name is offered."""
    with pytest.raises(AmbiguousError, match="/scans/a/box; /scans/b/box"):
        archive.photographs.rename_container("box", "Tin trunk")
    archive.photographs.move(["K1"], "Blue album")
    with pytest.raises(NotFoundError, match="Did you mean Blue album"):
        archive.photographs.rename_container("Blue albun", "Red album")
    with pytest.raises(NotFoundError, match="no box '99'"):
        archive.photographs.move(["K1"], 99)


def test_what_is_said_of_the_order_in_a_container(archive: Archive) -> None:
    """It is kept with the container, stands in the log and is taken back with `undo`; what says nothing is refused."""
    archive.photographs.move(["K00001", "K00003"], "Blue album")
    done = archive.photographs.say_order("Blue album", "in-order")
    assert (done.arrangement, done.changed) == ("in-order", True)
    said = "noted about Blue album: its photographs are in order, the earliest first"
    assert archive.statements.history(1)[0].what == said
    assert not archive.photographs.say_order("Blue album", "in-order").changed
    assert archive.photographs.container(done.id).arrangement == "in-order"
    with pytest.raises(InvalidValueError, match="in-order, backwards, not-in-order"):
        archive.photographs.say_order("Blue album", "sorted")
    archive.statements.undo()
    assert archive.photographs.container(done.id).arrangement is None
