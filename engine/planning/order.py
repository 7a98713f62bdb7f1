"""The order of work: which steps apply to which surface, and what must be finished before what.

Steps and precedence are knowledge (work.yaml). A step of the piece stands once, a step
of a surface once for each. A step that does not apply passes what came before it on to
what comes after it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from ..knowledge.entries import Before, WorkOrder

if TYPE_CHECKING:
    import networkx


ANSWERED = "test:"  # with a test's id: a condition that holds where it was answered


class Node(NamedTuple):
    """A step on a surface; the surface is empty for a step of the whole piece."""

    step: str
    surface: str


Broken = frozenset[tuple[str, str, str]]  # first step, then step, surface: a row that is not kept there
Graph: TypeAlias = "networkx.DiGraph[Node]"  # each edge carries `why`


class Circle(Exception):
    """The precedence runs in a circle; `edges` are the rows that make it."""

    def __init__(self, edges: Sequence[Before]) -> None:
        super().__init__("; ".join(f"{e.first} before {e.then} ({e.why})" for e in edges))
        self.edges = tuple(edges)


def check_circles(work: WorkOrder) -> None:
    """Raises Circle, with the rows of the shortest circle, if the steps cannot be put in an order."""
    import networkx

    graph = _steps(work)
    if networkx.is_directed_acyclic_graph(graph):
        return
    group = {step: n for n, steps in enumerate(networkx.strongly_connected_components(graph)) for step in steps}
    paths = [networkx.shortest_path(graph, e.then, e.first) for e in work.order if group[e.first] == group[e.then]]
    shortest = min(paths, key=len)
    rows = {(edge.first, edge.then): edge for edge in work.order}
    raise Circle([rows[pair] for pair in pairwise([shortest[-1], *shortest])])


def comes_before(work: WorkOrder, first: str, then: str) -> bool:
    """Whether the book puts step `first` before step `then`, directly or by way of others."""
    import networkx

    graph = _steps(work)
    return first in graph and then in graph and networkx.has_path(graph, first, then) and first != then


def _steps(work: WorkOrder) -> networkx.DiGraph[str]:
    import networkx

    return networkx.DiGraph((edge.first, edge.then) for edge in work.order)


def applies(work: WorkOrder, conditions: Mapping[str, frozenset[str]]) -> list[Node]:
    """The steps that apply, in the order of the book.

    conditions: surface -> conditions that hold there. A step of the piece applies if its
    condition holds on any surface; a step of a surface not where its test was answered.
    """
    anywhere = frozenset().union(*conditions.values()) if conditions else frozenset()
    nodes = []
    for name, step in work.steps.items():
        needs, barred = frozenset(step.needs), set(step.unless)
        if step.each == "piece":
            nodes += [Node(name, "")] if needs <= anywhere and not anywhere & barred else []
        else:
            barred.add(f"{ANSWERED}{step.done_by}")
            open_at = [s for s, held in conditions.items() if needs <= held and not held & barred]
            nodes += [Node(name, surface) for surface in open_at]
    return nodes


def precedence(work: WorkOrder, nodes: Sequence[Node], surfaces: Sequence[str], broken: Broken = frozenset()) -> Graph:
    """The graph over `nodes`, without the rows that are broken on purpose. Raises Circle."""
    import networkx

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
    return _reduced(graph)


def _reduced(graph: Graph) -> Graph:
    """The same precedence without the edges that follow from others (transitive reduction, by bit sets)."""
    import networkx

    bit: dict[Node, int] = {}
    earlier: dict[Node, int] = {}
    spare = []
    for index, node in enumerate(networkx.topological_sort(graph)):
        bit[node] = 1 << index
        by_way = 0
        for before in graph.predecessors(node):
            by_way |= earlier[before]
        spare += [(before, node) for before in graph.predecessors(node) if by_way & bit[before]]
        earlier[node] = by_way
        for before in graph.predecessors(node):
            earlier[node] |= bit[before]
    graph.remove_edges_from(spare)
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
    """Steps that apply and come straight before `node`, and why; those of skipped steps are passed on.

    A step of the piece is a gate for all surfaces; where it is skipped each surface goes
    on by itself.
    """
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
                    if not node.surface or earlier.surface in ("", node.surface):
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
    import networkx

    by_step = {name: index for index, name in enumerate(work.steps)}
    by_surface = {name: index for index, name in enumerate(("", *surfaces))}
    key = {node: (by_step[node.step], by_surface[node.surface]) for node in graph}
    return list(networkx.lexicographical_topological_sort(graph, key=key.__getitem__))


def held_after(graph: Graph, gates: Iterable[Node], held: Iterable[Node]) -> set[Node]:
    """Steps that may not be done: of the `held` ones those after a gate, and all that follow from them."""
    import networkx

    after = set[Node]().union(*(networkx.descendants(graph, gate) for gate in gates))
    stopped = after & set(held)
    return stopped.union(*(networkx.descendants(graph, node) for node in stopped))


class Early(NamedTuple):
    """Steps taken before a gate on purpose: the new graph, what was moved, the rows not kept."""

    graph: Graph
    moved: set[Node]
    rows: list[Before]


def taken_early(
    work: WorkOrder, nodes: Sequence[Node], surfaces: Sequence[str], target: Node, gate: Node
) -> Early | None:
    """The order with `target`, and what it cannot do without, before `gate`.

    Only rows that say what breaking them costs (`early`) are broken, on the target's
    surface and for steps of the piece. What comes before the gate on that surface still
    comes before what was moved. None if other rows stand in the way.
    """
    import networkx

    loose = [edge for edge in work.order if edge.early is not None]
    places = ("", target.surface)
    everything = frozenset((edge.first, edge.then, place) for edge in loose for place in places)
    freed = precedence(work, nodes, surfaces, everything)
    needed = networkx.ancestors(freed, target) | {target}
    if gate in needed:
        return None
    usual = precedence(work, nodes, surfaces)
    later: set[Node] = networkx.descendants(usual, gate)
    moved = needed & later
    here = set(nodes)
    broken = frozenset(row for row in everything if Node(row[1], row[2]) in moved or Node(row[1], row[2]) not in here)
    graph = precedence(work, nodes, surfaces, broken)
    before = [node for node in usual.predecessors(gate) if node.surface in places]
    for node in moved:
        graph.add_edges_from((b, node, {"why": usual.edges[b, gate]["why"]}) for b in before)
    graph.add_edge(target, gate, why="taken early on purpose: it shows whether the rest is worth doing")
    graph = _reduced(graph)
    steps = {node.step for node in here}
    rows = [e for e in loose if e.first in steps and any(m.step == e.then for m in moved)]
    return Early(graph, moved, rows)
