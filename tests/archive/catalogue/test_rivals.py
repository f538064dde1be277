"""Several people named on one face."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.archive.catalogue.rivals import read_with_rivals, with_rivals
from kinphoto.store import tables as t


def test_rivals_are_different_people_on_one_face() -> None:
    """Faces 1 to 3: two people; one of them twice; one and somebody unnamed. Names on no face are nobody's rivals."""
    names = [(1, 11), (1, 12), (2, 11), (2, 11), (3, 12), (3, None), (None, 11), (None, 12)]
    assert with_rivals(names) == {1}


def test_two_names_of_one_person_are_no_rivals(tmp_path: Path) -> None:
    """As rows may have it still: they are kept as they were said. A denial and what was withdrawn name nobody."""
    archive = Archive.create(tmp_path)
    with archive.working("names on three faces") as work:
        ada, wife, tom = (work.insert_one(t.person, code=code, name=code, outside=1) for code in ("X1", "X2", "X3"))
        photograph = work.insert_one(t.photograph, code="K00001", indexed=700_000)
        where = {"photograph_id": photograph, "left": 0.1, "top": 0.1, "width": 0.2, "height": 0.2}
        faces = [work.insert_one(t.region, **where) for _ in range(4)]
        for face, others in zip(faces, ({}, {"person_id": tom}, {"denied": 1}, {"withdrawn": 1}), strict=True):
            named = {"photograph_id": photograph, "region_id": face, "role": "present", "said_at": ""}
            work.insert_one(t.appearance, **named, person_id=ada)
            work.insert_one(t.appearance, **(named | {"person_id": wife} | others))
        work.update(t.person, [wife], same_as_id=ada)
    with archive.reading() as connection:
        everywhere = set(connection.scalars(select(t.region.c.id)))
        assert read_with_rivals(connection, everywhere, read_identity(connection)) == {faces[1]}
        assert read_with_rivals(connection, everywhere, Identity({})) == {faces[0], faces[1]}
        assert read_with_rivals(connection, {faces[0]}, read_identity(connection)) == set()
