"""The graph of what comes before what: orders, circles, reduction, by brute force on small invented graphs."""

from __future__ import annotations

from graphlib import CycleError
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine.planning.graph import Graph, from_edges

PAIRS = st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), max_size=9)


def _graph(pairs: list[tuple[int, int]]) -> Graph[int]:
    rows: dict[int, dict[int, str]] = {n: {} for n in range(5)}
    for first, then in pairs:
        if first != then:
            rows[then][first] = "so it is"
    return Graph(rows)


def _lawful(order: tuple[int, ...], graph: Graph[int]) -> bool:
    return all(order.index(f) < order.index(n) for n, earlier in graph.before.items() for f in earlier)


@given(PAIRS, st.permutations(range(5)))
def test_the_order_is_the_least_of_all_lawful_ones(pairs: list[tuple[int, int]], ranks: list[int]) -> None:
    """Against trying every order: the least by key, read from the front; none if there is a circle."""
    graph = _graph(pairs)
    lawful = [order for order in permutations(range(5)) if _lawful(order, graph)]
    if not lawful:
        with pytest.raises(CycleError):
            graph.in_order(lambda node: (ranks[node],))
        return
    assert tuple(graph.in_order(lambda node: (ranks[node],))) == min(lawful, key=lambda o: [ranks[n] for n in o])


@given(PAIRS)
def test_reduction_keeps_the_precedence_and_no_edge_to_spare(pairs: list[tuple[int, int]]) -> None:
    """What comes before what is the same; without any one of its edges it would not be."""
    graph = _graph(pairs)
    if graph.shortest_circle():
        return
    reduced = graph.reduced()
    assert [reduced.ancestors(n) for n in range(5)] == [graph.ancestors(n) for n in range(5)]
    edges = [(f, n) for n, earlier in reduced.before.items() for f in earlier]
    for spare in edges:
        fewer = _graph([edge for edge in edges if edge != spare])
        assert spare[0] not in fewer.ancestors(spare[1])


@given(PAIRS)
def test_the_circle_is_one_and_none_is_shorter(pairs: list[tuple[int, int]]) -> None:
    """Each node of it comes straight before the next; against trying all runs of nodes."""
    graph = _graph(pairs)
    circle = graph.shortest_circle()
    runs = [
        run
        for size in range(2, 6)
        for run in permutations(range(5), size)
        if all(a in graph.before[b] for a, b in zip(run, (*run[1:], run[0]), strict=True))
    ]
    assert len(circle) == min(map(len, runs), default=0)
    assert not circle or tuple(circle) in runs


def test_parts_of_a_graph() -> None:
    """Edges between the nodes that are kept, and edges that are added with their reason."""
    graph = from_edges([("a", "b", "one"), ("b", "c", "two"), ("a", "c", "three")])
    assert graph.only(["a", "c"]).before == {"a": {}, "c": {"a": "three"}}
    more = graph.only(["a", "b"]).joined([("b", "a", "back")])
    assert set(more.shortest_circle()) == {"a", "b"}
    assert more.before["a"] == {"b": "back"}
