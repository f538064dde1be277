"""What everybody is called, in memory: the words of all names, and read again only when they change."""

from __future__ import annotations

from pathlib import Path

from kinphoto.archive import Archive
from kinphoto.archive.catalogue import names
from kinphoto.archive.statements.appearances import Link
from kinphoto.store import tables as t


def test_names_are_read_again_when_they_change_and_not_when_a_photograph_is_named(tmp_path: Path) -> None:
    """A second person is found immediately and, undone, no more; naming a face leaves what was read as it is."""
    archive = Archive.create(tmp_path / "family")
    archive.people.add("Ada Marsh")
    with archive.working("filled") as work:
        work.insert_one(t.photograph, code="K00001", indexed=738000)

    def now() -> names.NameIndex:
        with archive.reading() as connection:
            return names.kept_names(connection)

    first = now()
    archive.statements.link(Link(photograph="K1", person="X1"))
    assert now() is first
    archive.people.add("Beth Marsh")
    second = now()
    assert [first.having("marsh").sum(), second.having("marsh").sum(), second.having("eth").sum()] == [1, 2, 1]
    archive.statements.undo()
    assert now().having("marsh").sum() == 1


def test_somebody_who_turned_out_to_be_another_is_found_as_that_one(tmp_path: Path) -> None:
    """Both names are those of one person, who is listed once."""
    archive = Archive.create(tmp_path / "family")
    archive.people.add("Ada Marsh")
    archive.people.add("Auntie Dot")
    archive.people.identify("X2", "X1")
    with archive.reading() as connection:
        everybody = names.kept_names(connection)
    assert len(everybody.ids) == 1
    assert everybody.having("marsh").all()
    assert everybody.having("dot").all()
    assert everybody.identity.of(2) == everybody.identity.of(1) == 1
