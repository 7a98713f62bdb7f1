"""The order of work: which steps apply to which surface, and what must be finished before what.

Steps and precedence are knowledge (work.yaml). A step of the piece stands once, a step
of a surface once for each. A step that does not apply passes what came before it on to
what comes after it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple, TypeAlias

from ..knowledge.entries import Before, WorkOrder
from .graph import Graph, from_edges

TOGETHER = "nothing else on a face between a wet treatment, its rinse and its drying"
ANSWERED = "test:"  # with a test's id: a condition that holds where it was answered


class Node(NamedTuple):
    """A step on a surface; the surface is empty for a step of the whole piece."""

    step: str
    surface: str


Broken = frozenset[tuple[str, str, str]]  # first step, then step, surface: a row that is not kept there
Precedence: TypeAlias = Graph[Node]


class Circle(Exception):
    """The precedence runs in a circle; `edges` are the rows that make it."""

    def __init__(self, edges: Sequence[Before]) -> None:
        super().__init__("; ".join(f"{e.first} before {e.then} ({e.why})" for e in edges))
        self.edges = tuple(edges)


def check_circles(work: WorkOrder) -> None:
    """Raises Circle, with the rows of a shortest circle, if the steps cannot be put in an order."""
    circle = _steps(work).shortest_circle()
    if circle:
        rows = {(edge.first, edge.then): edge for edge in work.order}
        raise Circle([rows[pair] for pair in pairwise([*circle, circle[0]])])


def comes_before(work: WorkOrder, first: str, then: str) -> bool:
    """Whether the book puts step `first` before step `then`, directly or by way of others."""
    graph = _steps(work)
    return first in graph.before and first != then and then in graph.descendants(first)


def _steps(work: WorkOrder) -> Graph[str]:
    return from_edges((edge.first, edge.then, edge.why) for edge in work.order)


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


def precedence(
    work: WorkOrder, nodes: Sequence[Node], surfaces: Sequence[str], broken: Broken = frozenset()
) -> Precedence:
    """The graph over `nodes`, without the rows that are broken on purpose. Raises Circle."""
    check_circles(work)
    wanted = set(nodes)
    rows: dict[str, list[Before]] = {}
    for edge in work.order:
        rows.setdefault(edge.then, []).append(edge)
    known: dict[Node, dict[Node, str]] = {}
    return Graph({n: _before(n, work, rows, surfaces, wanted, broken, known) for n in nodes}).reduced()


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
    kept = [row for row in rows.get(node.step, ()) if (row.first, row.then, node.surface) not in broken]
    for edge, before in ((row, n) for row in kept for n in _placed(row.first, node, work, surfaces)):
        if before in wanted:
            found[before] = edge.why
            continue
        passed_on = _before(before, work, rows, surfaces, wanted, broken, known)
        for earlier in (n for n in passed_on if not node.surface or n.surface in ("", node.surface)):
            found.setdefault(earlier, passed_on[earlier])
    known[node] = found
    return found


def _placed(step: str, node: Node, work: WorkOrder, surfaces: Sequence[str]) -> list[Node]:
    """Where a step stands that comes before `node`: same surface, the piece, or every surface."""
    if work.steps[step].each == "piece":
        return [Node(step, "")]
    return [Node(step, node.surface)] if node.surface else [Node(step, name) for name in surfaces]


def in_order(graph: Precedence, work: WorkOrder, surfaces: Sequence[str]) -> list[Node]:
    """The steps in an order that keeps every precedence and is always the same: by the book, then by surface."""
    by_step = {name: index for index, name in enumerate(work.steps)}
    by_surface = {name: index for index, name in enumerate(("", *surfaces))}
    return graph.in_order(lambda node: (by_step[node.step], by_surface[node.surface]))


def held_after(graph: Precedence, gates: Iterable[Node], held: Iterable[Node]) -> set[Node]:
    """Steps that may not be done: of the `held` ones those after a gate, and all that follow from them."""
    after = set[Node]().union(*(graph.descendants(gate) for gate in gates))
    stopped = after & set(held)
    return stopped.union(*(graph.descendants(node) for node in stopped))


def uninterrupted(graph: Precedence, work: WorkOrder, run: set[Node]) -> Precedence:
    """The order with nothing else on the face of `run` between its steps.

    run: steps of one face that belong together, as a treatment, its rinse and its drying.
    What the book puts before any of them comes before all; of what it leaves open, that
    which stands earlier in the book comes before and the rest of that face after them.
    """
    place = {name: index for index, name in enumerate(work.steps)}
    face = {node.surface for node in run} | {""}
    early = set[Node]().union(*(graph.ancestors(node) for node in run))
    late = set[Node]().union(*(graph.descendants(node) for node in run))
    first = min((place[node.step] for node in run), default=0)
    loose = {node for node in graph.before if node.surface in face and node not in early | late | run}
    ahead = {node for node in loose if place[node.step] < first}
    early |= ahead.union(*(graph.ancestors(node) for node in ahead))
    after = {node for node in loose | late if node.surface in face} - early - run
    edges = [(node, then, TOGETHER) for node in early - late - run if node.surface in face for then in run]
    edges += [(node, then, TOGETHER) for then in after if then.surface for node in run]
    return graph.joined(edges).reduced() if edges else graph


class Early(NamedTuple):
    """Steps taken before a gate on purpose: the new graph, what was moved, the rows not kept."""

    graph: Precedence
    moved: set[Node]
    rows: list[Before]


def taken_early(
    work: WorkOrder, nodes: Sequence[Node], surfaces: Sequence[str], target: Node, gate: Node
) -> Early | None:
    """The order with `target`, and what it cannot do without, before `gate`.

    Only rows that say what breaking them costs (`early`) are broken, on the target's
    surface and for steps of the piece. What comes before the gate on that surface still
    comes before what was moved. None if other rows stand in the way. Raises Circle.
    """
    loose = [edge for edge in work.order if edge.early is not None]
    places = ("", target.surface)
    everything = frozenset((edge.first, edge.then, place) for edge in loose for place in places)
    freed = precedence(work, nodes, surfaces, everything)
    needed = freed.ancestors(target) | {target}
    if gate in needed:
        return None
    usual = precedence(work, nodes, surfaces)
    later = usual.descendants(gate)
    moved = needed & later
    here = set(nodes)
    broken = frozenset(row for row in everything if Node(row[1], row[2]) in moved or Node(row[1], row[2]) not in here)
    before = [(node, why) for node, why in usual.before[gate].items() if node.surface in places]
    graph = precedence(work, nodes, surfaces, broken).joined(
        [
            *((node, then, why) for then in sorted(moved) for node, why in before),
            (target, gate, "taken early on purpose: it shows whether the rest is worth doing"),
        ]
    )
    steps = {node.step for node in here}
    rows = [e for e in loose if e.first in steps and any(m.step == e.then for m in moved)]
    return Early(graph.reduced(), moved, rows)
