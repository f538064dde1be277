"""Everybody in memory: the same names as a search in the tables, and kinship counted in steps."""

from __future__ import annotations

from pathlib import Path

import networkx
import pytest
from building import copied

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.name_search import search
from kinphoto.archive.people import people_index
from kinphoto.archive.statements.appearances import Link
from kinphoto.store import tables as t


@pytest.fixture(scope="module")
def archive(sample: Path, tmp_path_factory: pytest.TempPathFactory) -> Archive:
    """The sample, with somebody outside the tree who turned out to be in it."""
    made = copied(sample, tmp_path_factory.mktemp("names") / "sample")
    made.people.add("Nolly from the Ferry")
    made.people.identify("X2", "I27")
    return made


@pytest.fixture
def everybody(archive: Archive) -> people_index.PeopleIndex:
    """The people of the sample."""
    with archive.reading() as connection:
        return people_index.kept_people(connection)


@pytest.mark.parametrize("word", ["a", "an", "qu", "quil", "nolly", "corr", "brask", "zz", "a b", "\\", ".", "é"])
def test_a_word_is_in_the_same_names_as_for_a_search(
    archive: Archive, everybody: people_index.PeopleIndex, word: str
) -> None:
    """Names, nicknames, married surnames, and what somebody was called before it was known who they are: whoever a
    search in the tables finds has the word here, and nobody else."""
    with archive.reading() as connection:
        found = search(connection, word)
    expected = set() if found.similar else {match.person_id for match in found.people}
    words = word.split() if word.isascii() and word[0].isalpha() else []
    for each in words:
        assert {int(id_) for id_ in everybody.ids[everybody.called.having(each)]} >= expected
    if len(words) == 1:
        assert {int(id_) for id_ in everybody.ids[everybody.called.having(word)]} == expected
    if not words:
        assert not everybody.called.having(word).any()


def test_steps_are_the_shortest_ways_in_the_family_against_networkx(
    archive: Archive, everybody: people_index.PeopleIndex
) -> None:
    """Parent, child, brother or sister, partner are one step each; networkx counts the same from every person."""
    graph = networkx.Graph()
    with archive.reading() as connection:
        graph.add_nodes_from(int(id_) for id_ in everybody.ids)
        links = connection.execute(t.parent_link.select()).all()
        graph.add_edges_from((link.child_id, link.parent_id) for link in links)
        graph.add_edges_from(
            (a.child_id, b.child_id) for a in links for b in links if a.parent_id == b.parent_id and a != b
        )
        partners = connection.execute(t.partner.select()).all()
        graph.add_edges_from(
            (a.person_id, b.person_id) for a in partners for b in partners if a.family_id == b.family_id and a != b
        )
    for start in graph:
        near = networkx.single_source_shortest_path_length(graph, start, cutoff=people_index.NEAREST)
        expected = [near.get(int(id_), people_index.NEAREST + 1) for id_ in everybody.ids]
        assert everybody.steps_from([start]).tolist() == expected


def test_steps_from_several_are_those_from_the_nearest(everybody: people_index.PeopleIndex) -> None:
    """And from nobody, everybody is far."""
    one, other = (int(id_) for id_ in everybody.ids[[3, 40]])
    both = everybody.steps_from([one, other])
    assert (both <= everybody.steps_from([one])).all()
    assert (both <= everybody.steps_from([other])).all()
    assert set(everybody.steps_from([])) == {people_index.NEAREST + 1}


def test_it_is_read_again_when_people_change_and_not_when_photographs_do(tmp_path: Path) -> None:
    """A name, a new person and its undoing are seen immediately; a face that is named costs nothing."""
    archive = Archive.create(tmp_path / "family")
    archive.people.add("Ada Marsh")
    with archive.working("filled") as work:
        work.insert_one(t.photograph, code="K00001", indexed=738000)

    def now() -> people_index.PeopleIndex:
        with archive.reading() as connection:
            return people_index.kept_people(connection)

    first = now()
    archive.statements.link(Link(photograph="K1", person="X1"))
    assert now() is first
    archive.people.add("Beth Marsh")
    second = now()
    assert len(second.ids) == 2
    archive.statements.undo()
    assert len(now().ids) == 1
