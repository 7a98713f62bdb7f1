"""What comes before what: a small directed graph whose edges carry a reason.

Orders are made by graphlib's TopologicalSorter. Its `get_ready` gives the nodes in no
order that may be relied on, so they go through a heap: of all that may come next the
one with the least key does, and the order is always the same.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping
from graphlib import CycleError, TopologicalSorter
from heapq import heapify, heappop, heappush
from itertools import chain
from typing import Generic, TypeVar

N = TypeVar("N", bound=Hashable)


class Graph(Generic[N]):
    """Nodes and, for each, those that come straight before it, with why. Not changed once it is made."""

    def __init__(self, before: Mapping[N, Mapping[N, str]]) -> None:
        """`before`: node -> {what comes straight before it: why}; every node has a row of its own."""
        self.before = before
        self.after: dict[N, list[N]] = {node: [] for node in before}
        for node, earlier in before.items():
            for first in earlier:
                self.after[first].append(node)

    def ancestors(self, node: N) -> set[N]:
        """All that comes before `node`, directly or by way of others; `node` itself only if it is on a circle."""
        return _reached(node, self.before)

    def descendants(self, node: N) -> set[N]:
        """All that comes after `node`, directly or by way of others."""
        return _reached(node, self.after)

    def only(self, nodes: Iterable[N]) -> Graph[N]:
        """The same edges between `nodes` alone."""
        kept = set(nodes)
        return Graph({n: {f: why for f, why in self.before[n].items() if f in kept} for n in self.before if n in kept})

    def joined(self, edges: Iterable[tuple[N, N, str]]) -> Graph[N]:
        """The same graph with more edges (first, then, why); both ends are nodes already."""
        rows = {node: dict(earlier) for node, earlier in self.before.items()}
        for first, then, why in edges:
            rows[then].setdefault(first, why)
        return Graph(rows)

    def in_order(self, key: Callable[[N], tuple[int, ...]]) -> list[N]:
        """Every node after all that comes before it, ties by least key. Raises graphlib.CycleError."""
        sorter = TopologicalSorter(self.before)
        sorter.prepare()
        ready = [(key(node), node) for node in sorter.get_ready()]
        heapify(ready)
        order = []
        while ready:
            _, node = heappop(ready)
            order.append(node)
            sorter.done(node)
            for free in sorter.get_ready():
                heappush(ready, (key(free), free))
        return order

    def reduced(self) -> Graph[N]:
        """The same precedence without the edges that follow from others. Raises graphlib.CycleError."""
        bit: dict[N, int] = {}
        earlier: dict[N, int] = {}
        rows: dict[N, dict[N, str]] = {}
        for index, node in enumerate(TopologicalSorter(self.before).static_order()):
            bit[node] = 1 << index
            by_way = 0
            for first in self.before[node]:
                by_way |= earlier[first]
            rows[node] = {f: why for f, why in self.before[node].items() if not by_way & bit[f]}
            earlier[node] = by_way
            for first in self.before[node]:
                earlier[node] |= bit[first]
        return Graph({node: rows[node] for node in self.before})

    def shortest_circle(self) -> list[N]:
        """Nodes of a shortest circle, each before the next and the last before the first; empty if there is none."""
        try:
            TopologicalSorter(self.before).prepare()
        except CycleError:
            return self._shortest()
        return []

    def _shortest(self) -> list[N]:
        circles = (_way(self, then, first) for then, earlier in self.before.items() for first in earlier)
        return min((circle for circle in circles if circle), key=len, default=[])


def from_edges(edges: Iterable[tuple[N, N, str]]) -> Graph[N]:
    """A graph of (first, then, why) rows, its nodes in the order in which they are named."""
    rows: dict[N, dict[N, str]] = {}
    for first, then, why in edges:
        rows.setdefault(first, {})
        rows.setdefault(then, {})[first] = why
    return Graph(rows)


def _reached(start: N, ways: Mapping[N, Iterable[N]]) -> set[N]:
    found: set[N] = set()
    ahead = list(ways[start])
    while ahead:
        node = ahead.pop()
        if node not in found:
            found.add(node)
            ahead += ways[node]
    return found


def _way(graph: Graph[N], start: N, end: N) -> list[N]:
    """The shortest way from `start` to `end` by what comes after; empty if there is none."""
    came: dict[N, N | None] = {start: None}
    front = [start]
    while front and end not in came:
        steps = list(chain.from_iterable(((then, node) for then in graph.after[node]) for node in front))
        front = []
        for then, node in steps:
            if then not in came:
                came[then] = node
                front.append(then)
    way: list[N] = []
    node_or_none: N | None = end if end in came else None
    while node_or_none is not None:
        way.append(node_or_none)
        node_or_none = came[node_or_none]
    return way[::-1]
