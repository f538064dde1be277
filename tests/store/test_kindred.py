"""Ancestors and descendants, also where the data goes in circles."""

from __future__ import annotations

from pathlib import Path

import networkx as nx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kinphoto.archive import Archive
from kinphoto.store import kindred
from kinphoto.store import tables as t

PEOPLE = 12
links = st.lists(st.tuples(st.integers(0, PEOPLE - 1), st.integers(0, PEOPLE - 1)), max_size=20)


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    """An archive with twelve people and no links yet."""
    made = Archive.create(tmp_path_factory.mktemp("kin"))
    with made.working("people") as work:
        work.insert(t.person, [{"code": f"I{n}", "name": f"N{n}"} for n in range(PEOPLE)])
    return made


@given(links)
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_ancestors_and_descendants_against_networkx(archive: Archive, pairs: list[tuple[int, int]]) -> None:
    """The same sets and generations as networkx's reachability and shortest paths, loops and all."""
    graph = nx.DiGraph(pairs)
    graph.add_nodes_from(range(PEOPLE))
    with archive.working("links") as work:
        rows = [{"child_id": child + 1, "parent_id": parent + 1} for child, parent in pairs]
        ids = work.insert(t.parent_link, rows)
        for person in range(PEOPLE):
            up = dict(nx.single_source_shortest_path_length(graph, person))
            down = dict(nx.single_source_shortest_path_length(graph.reverse(), person))
            assert kindred.ancestors(work.connection, person + 1) == {p + 1: n for p, n in up.items() if p != person}
            assert kindred.descendants(work.connection, person + 1) == {
                p + 1: n for p, n in down.items() if p != person
            }
        work.delete(t.parent_link, list(ids))


def test_somebody_of_their_own_parents(archive: Archive, tmp_path: Path) -> None:
    """A person recorded as their own parent has nobody before them, and the search ends."""
    with archive.working("loop") as work:
        ids = work.insert(t.parent_link, [{"child_id": 1, "parent_id": 1}])
        assert kindred.ancestors(work.connection, 1) == {}
        work.delete(t.parent_link, list(ids))
