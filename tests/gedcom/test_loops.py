"""Loops of ancestry, against a graph library."""

from __future__ import annotations

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from kinphoto.gedcom.loops import find_loops

links = st.lists(st.tuples(st.integers(0, 12), st.integers(0, 12)), max_size=30)


@given(links)
def test_loops_against_networkx(pairs: list[tuple[int, int]]) -> None:
    """There is a loop exactly when the graph has a cycle; each found is one; without them none is left."""
    graph = nx.DiGraph(pairs)
    found = find_loops(pairs)
    assert bool(found) == (not nx.is_directed_acyclic_graph(graph))
    for loop in found:
        assert all(graph.has_edge(child, parent) for child, parent in zip(loop, [*loop[1:], loop[0]], strict=True))
        graph.remove_nodes_from(loop)
    assert nx.is_directed_acyclic_graph(graph)


def test_a_person_who_is_their_own_grandparent() -> None:
    """From child to parent, and round."""
    assert find_loops([(1, 2), (2, 1), (3, 1), (1, 4)]) == [[1, 2]]
