"""The order of work: which steps apply to which surface, and what must be finished before what.

Steps and precedence are knowledge (work.yaml). A step of the piece stands once, a step
of a surface once for each. A step that does not apply passes what came before it on to
what comes after it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import networkx

from ..knowledge.entries import Before, WorkOrder


class Node(NamedTuple):
    """A step on a surface; the surface is empty for a step of the whole piece."""

    step: str
    surface: str


Broken = frozenset[tuple[str, str, str]]
Graph = networkx.DiGraph  # nodes are Node; each edge carries `why`, a list of reasons


class Circle(Exception):
    """The precedence runs in a circle; `edges` are the rows that make it."""

    def __init__(self, edges: Sequence[Before]) -> None:
        super().__init__("; ".join(f"{e.first} before {e.then} ({e.why})" for e in edges))
        self.edges = tuple(edges)


def check_circles(work: WorkOrder) -> None:
    """Raises Circle, with the rows that make it, if the steps cannot be put in an order."""
    graph: networkx.DiGraph[str] = networkx.DiGraph((edge.first, edge.then) for edge in work.order)
    try:
        found = networkx.find_cycle(graph)
    except networkx.NetworkXNoCycle:
        return
    rows = {(edge.first, edge.then): edge for edge in work.order}
    raise Circle([rows[first, then] for first, then in found])


def comes_before(work: WorkOrder, first: str, then: str) -> bool:
    """Whether the book puts step `first` before step `then`, directly or by way of others."""
    graph: networkx.DiGraph[str] = networkx.DiGraph((edge.first, edge.then) for edge in work.order)
    return first in graph and then in graph and networkx.has_path(graph, first, then) and first != then


def applies(work: WorkOrder, conditions: Mapping[str, frozenset[str]]) -> list[Node]:
    """The steps that apply, in the order of the book.

    conditions: surface -> conditions that hold there. A step of the piece applies if its
    condition holds on any surface.
    """
    anywhere = frozenset().union(*conditions.values()) if conditions else frozenset()
    nodes = []
    for name, step in work.steps.items():
        needs = frozenset(step.needs)
        if step.each == "piece":
            nodes += [Node(name, "")] if needs <= anywhere else []
        else:
            nodes += [Node(name, surface) for surface, held in conditions.items() if needs <= held]
    return nodes


def precedence(work: WorkOrder, nodes: Iterable[Node], surfaces: Sequence[str], broken: Broken = frozenset()) -> Graph:
    """The graph over `nodes`; raises Circle.

    broken: (first, then, surface) rows that are deliberately not kept on one surface.
    """
    check_circles(work)
    wanted = set(nodes)
    rows: dict[str, list[Before]] = {}
    for edge in work.order:
        rows.setdefault(edge.then, []).append(edge)
    known: dict[Node, dict[Node, str]] = {}
    graph: Graph = networkx.DiGraph()
    graph.add_nodes_from(nodes)
    for node in nodes:
        for before, why in _before(node, work, rows, surfaces, wanted, broken, known).items():
            graph.add_edge(before, node, why=why)
    return graph


def _before(
    node: Node,
    work: WorkOrder,
    rows: Mapping[str, Sequence[Before]],
    surfaces: Sequence[str],
    wanted: set[Node],
    broken: Broken,
    known: dict[Node, dict[Node, str]],
) -> dict[Node, str]:
    """Steps that apply and come straight before `node`, and why; those of skipped steps are passed on."""
    if node in known:
        return known[node]
    found: dict[Node, str] = {}
    for edge in rows.get(node.step, ()):
        if (edge.first, edge.then, node.surface) in broken:
            continue
        for before in _placed(edge.first, node, work, surfaces):
            if before in wanted:
                found[before] = edge.why
            else:
                for earlier, why in _before(before, work, rows, surfaces, wanted, broken, known).items():
                    found.setdefault(earlier, why)
    known[node] = found
    return found


def _placed(step: str, node: Node, work: WorkOrder, surfaces: Sequence[str]) -> list[Node]:
    """Where a step stands that comes before `node`: same surface, the piece, or every surface."""
    if work.steps[step].each == "piece":
        return [Node(step, "")]
    return [Node(step, node.surface)] if node.surface else [Node(step, name) for name in surfaces]


def in_order(graph: Graph, work: WorkOrder, surfaces: Sequence[str]) -> list[Node]:
    """The steps in an order that keeps every precedence and is always the same: by the book, then by surface."""
    by_step = {name: index for index, name in enumerate(work.steps)}
    by_surface = {name: index for index, name in enumerate(("", *surfaces))}
    key = {node: (by_step[node.step], by_surface[node.surface]) for node in graph}
    return list(networkx.lexicographical_topological_sort(graph, key=key.__getitem__))


def held_after(graph: Graph, gates: Iterable[Node], held: Iterable[Node]) -> set[Node]:
    """Steps that may not be done: of the `held` ones those after a gate, and all that follow from them."""
    after = set[Node]().union(*(networkx.descendants(graph, gate) for gate in gates))
    stopped = after & set(held)
    return stopped.union(*(networkx.descendants(graph, node) for node in stopped))
