"""The plan of the whole piece: triage, order of work, sessions, shopping, parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from ..examine import Examination
from ..knowledge.base import Knowledge
from ..piece.form import Piece
from ..words import listed
from .facing import Facing, facing
from .jobs import Task, task
from .ledger import held_surfaces, ledger_flags
from .order import Circle, Graph, Node, applies, held_after, in_order, precedence
from .schedule import Job, Schedule, schedule
from .shopping import Item, shopping, tools
from .wood import room_flags
from .worst import Triage, triage


class Plan(Struct, frozen=True, kw_only=True):
    """Everything that was planned. `order` may be done; `held` may not, and `held_why` says why."""

    facings: list[Facing]
    triage: Triage
    graph: Graph | None
    order: list[Node]
    held: list[Node]
    tasks: Mapping[Node, Task]
    schedule: Schedule | None
    shopping: list[Item]
    tools: list[str]
    flags: list[str]


def plan(piece: Piece, done: Sequence[Examination], knowledge: Knowledge) -> Plan:
    """The plan of a piece from the examinations of its surfaces; a pure function of its arguments."""
    facings = [facing(piece, one, knowledge) for one in done]
    nodes = applies(knowledge.work, {f.name: f.conditions for f in facings})
    tasks = {node: task(node, facings, piece.room, knowledge) for node in nodes}
    judged = triage(piece, facings, nodes, tasks, knowledge)
    flags = [*ledger_flags(piece), *room_flags(piece.room, knowledge), *_coat_flags(facings), *_area_flags(facings)]
    try:
        graph = judged.early.graph if judged.early else precedence(knowledge.work, nodes, judged.worst_first)
    except Circle as circle:
        graph = None
        flags.insert(0, _contradiction(circle, knowledge))
    order = in_order(graph, knowledge.work, judged.worst_first) if graph is not None else []
    held = _held(piece, graph, nodes, knowledge) if graph is not None else set()
    going = [node for node in order if node not in held]
    jobs = {node: Job(tasks[node].likely, tasks[node].wait) for node in going}
    days = schedule(going, graph.subgraph(going), jobs, knowledge.work.session_hours) if graph is not None else None
    return Plan(
        facings=facings,
        triage=judged.told,
        graph=graph,
        order=going,
        held=[node for node in order if node in held],
        tasks=tasks,
        schedule=days,
        shopping=shopping(facings, nodes, knowledge),
        tools=tools(facings, knowledge),
        flags=flags,
    )


def _held(piece: Piece, graph: Graph, nodes: Sequence[Node], knowledge: Knowledge) -> set[Node]:
    """Steps that wait for parts to be matched."""
    gates = [node for node in nodes if knowledge.work.steps[node.step].gate == "parts"]
    surfaces = held_surfaces(piece)
    return held_after(graph, gates, [node for node in nodes if node.surface in surfaces])


def _contradiction(circle: Circle, knowledge: Knowledge) -> str:
    layer = knowledge.origins["work/all"].layer if "work/all" in knowledge.origins else "the book"
    rows = "; ".join(f"{e.first} before {e.then}, because {e.why} [{', '.join(e.source)}]" for e in circle.edges)
    return f"contradiction: the order of work in {layer} runs in a circle, so there is none: {rows}"


def _coat_flags(facings: Sequence[Facing]) -> list[str]:
    """What stands against the coats that were chosen, and what was not chosen."""
    flags = []
    for one in facings:
        chosen = one.coat
        if chosen is not None and chosen.means in ("no", "remove", "test"):
            flags.append(f"coat-{chosen.word}: {chosen.name} on {one.name}: {chosen.told}")
    cold = dict.fromkeys(one.coat.name for one in facings if one.coat is not None and one.coat.too_cold)
    flags += [f"too-cold: the room is too cold for {name}." for name in cold]
    without = [one.name for one in facings if "coated" in one.conditions and one.coat is None]
    if without:
        flags.append(
            f"coat-not-chosen: no next coat is named for {listed(without)}; waits and hours of coating are the usual middle."
        )
    return flags


def _area_flags(facings: Sequence[Facing]) -> list[str]:
    guessed = [f"{f.name} {f.area_m2:.1f} m2" for f in facings if f.done.surface.area_m2 is None]
    if not guessed:
        return []
    return [f"area-guessed: areas in the plan are shares of what is usual for such a piece: {', '.join(guessed)}."]
