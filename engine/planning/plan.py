"""The plan of the whole piece: triage, order of work, sessions, shopping, parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from ..examine import Examination
from ..knowledge.base import Knowledge
from ..piece.form import Piece
from ..wood.moisture import room_flags
from ..words import listed
from .facing import Facing, facing
from .handling import films_kept
from .jobs import Task, task
from .ledger import held_surfaces, ledger_flags
from .order import Circle, Node, Precedence, applies, held_after, in_order, precedence, uninterrupted
from .recoat import CoatPlan
from .rooms import rooms
from .schedule import Job, Schedule, schedule
from .shopping import Item, shopping, tools
from .triage import Judged, Triage, Work, triage


class Plan(Struct, frozen=True, kw_only=True):
    """Everything that was planned.

    `order` is to be done, and what is bought and scheduled is for it. `held` waits for
    parts to be matched. `if_anyway`: what would follow if the user goes on although the
    triage says stop; empty otherwise. Where it says to make the piece usable and no more,
    all of this is that shorter job: every film that was to come off stays.
    """

    facings: list[Facing]
    triage: Triage
    graph: Precedence | None
    order: list[Node]
    held: list[Node]
    if_anyway: list[Node]
    tasks: Mapping[Node, Task]
    schedule: Schedule | None
    shopping: list[Item]
    tools: list[str]
    flags: list[str]


def plan(piece: Piece, done: Sequence[Examination], knowledge: Knowledge) -> Plan:
    """The plan of a piece from the examinations of its surfaces; a pure function of its arguments."""
    whole, usable = _work(piece, done, knowledge), None
    if piece.money is not None:
        usable = _work(piece, [films_kept(one, knowledge) for one in done], knowledge)
    judged = triage(piece, whole, usable, knowledge)
    facings, nodes, tasks = usable if usable is not None and judged.only_usable else whole
    tasks = {**tasks, **_named_worst(tasks, judged, knowledge)}
    flags = [
        *ledger_flags(piece),
        *room_flags(piece.room, knowledge),
        *_coat_flags(facings, knowledge),
        *_area_flags(facings),
    ]
    try:
        graph = judged.early.graph if judged.early else precedence(knowledge.work, nodes, judged.worst_first)
        graph = _wet_together(graph, knowledge)
    except Circle as circle:
        graph = None
        flags.insert(0, _contradiction(circle, knowledge))
    order = in_order(graph, knowledge.work, judged.worst_first) if graph is not None else []
    held = _held(piece, graph, nodes, knowledge) if graph is not None else set()
    free = [node for node in order if node not in held]
    going = _until_stop(free, graph, judged, knowledge) if graph is not None else []
    jobs = {node: Job(tasks[node].likely, tasks[node].wait) for node in going}
    days = schedule(going, graph.only(going), jobs, knowledge.work.session_hours) if graph is not None else None
    bought = going if graph is not None else nodes
    return Plan(
        facings=facings,
        triage=judged.told,
        graph=graph,
        order=going,
        held=[node for node in order if node in held],
        if_anyway=[node for node in free if node not in set(going)],
        tasks=tasks,
        schedule=days,
        shopping=shopping(facings, bought, tasks, knowledge),
        tools=tools(facings, bought, tasks, knowledge),
        flags=flags,
    )


def _wet_together(graph: Precedence, knowledge: Knowledge) -> Precedence:
    """The order in which no other work on a face falls between its wet treatments, their rinses and their drying."""
    runs: dict[str, set[Node]] = {}
    for node in graph.before:
        step = knowledge.work.steps[node.step]
        wet = step.treatment is not None and knowledge.treatments[step.treatment].water
        if node.surface and (wet or step.takes == "drying"):
            runs.setdefault(node.surface, set()).add(node)
    for run in runs.values():
        graph = uninterrupted(graph, knowledge.work, run)
    return graph


def _work(piece: Piece, done: Sequence[Examination], knowledge: Knowledge) -> Work:
    """The surfaces, the steps that apply to them, and what each step asks for."""
    air = rooms(piece, done, knowledge)
    facings = [facing(piece, one, air, knowledge) for one in done]
    nodes = applies(knowledge.work, {f.name: f.conditions for f in facings})
    return facings, nodes, {node: task(node, facings, air, knowledge) for node in nodes}


def _named_worst(tasks: Mapping[Node, Task], judged: Judged, knowledge: Knowledge) -> dict[Node, Task]:
    """The steps that are about the worst surface, with its name: which one it is shows only once all are planned."""
    rows = [node for node in tasks if knowledge.work.steps[node.step].takes == "worst"]
    return {n: replace(tasks[n], note=f"{tasks[n].note} It is {judged.told.worst}.".strip()) for n in rows}


def _until_stop(free: list[Node], graph: Precedence, judged: Judged, knowledge: Knowledge) -> list[Node]:
    """All that is free; where the triage says stop, what leads up to the decision and the decision itself.

    If not even a sure success would pay, no face is touched either: no trial can change the answer.
    """
    if not judged.stops:
        return free
    steps = knowledge.work.steps
    gates = {node for node in graph.before if steps[node.step].gate == "worth"}
    until = gates.union(*(graph.ancestors(gate) for gate in gates))
    if judged.hopeless:
        until = {n for n in until if not n.surface and (n in gates or not any(a.surface for a in graph.ancestors(n)))}
        until = {n for n in until if not steps[n.step].prepares}
    return [node for node in free if node in until]


def _held(piece: Piece, graph: Precedence, nodes: Sequence[Node], knowledge: Knowledge) -> set[Node]:
    """Steps that wait for parts to be matched."""
    gates = [node for node in nodes if knowledge.work.steps[node.step].gate == "parts"]
    surfaces = held_surfaces(piece)
    return held_after(graph, gates, [node for node in nodes if node.surface in surfaces])


def _contradiction(circle: Circle, knowledge: Knowledge) -> str:
    layer = knowledge.origins["work/all"].layer if "work/all" in knowledge.origins else "the book"
    rows = "; ".join(f"{e.first} before {e.then}, because {e.why} [{', '.join(e.source)}]" for e in circle.edges)
    return f"contradiction: the order of work in {layer} runs in a circle, so there is none: {rows}"


def _coat_flags(facings: Sequence[Facing], knowledge: Knowledge) -> list[str]:
    """What stands against the coats that were chosen, and what was not chosen."""
    flags, against = [], dict[tuple[str, str, str], list[str]]()
    for one in facings:
        chosen = one.chosen
        if chosen is not None and chosen.means in ("no", "remove", "test"):
            then = _gone_on_with(one, chosen, knowledge)
            against.setdefault((chosen.word, chosen.name, f"{chosen.told}{then}"), []).append(one.name)
        if chosen is not None and chosen.toner == "no":
            flags.append(
                f"toner-left-out: a toner does not hold with {chosen.name} on {one.name}, under it or over it. "
                "Colour the bare wood instead, or choose a coat that takes one."
            )
    flags += [f"coat-{word}: {name} on {listed(on)}: {told}" for (word, name, told), on in against.items()]
    cold = {one.coat.name: one.coat.least_c for one in facings if one.coat is not None and one.coat.too_cold}
    flags += [
        f"too-cold: the room is too cold for {name}: {least:g} C or more first. Its times are told for that."
        for name, least in cold.items()
    ]
    flags += [
        f"seal-left-out: {one.coat.name} does not go over dewaxed shellac, and {one.name} wants that seal: "
        f"{' '.join(dict.fromkeys(one.seal_why))} Choose a coat that goes over it, or try a patch and wait."
        for one in facings
        if one.coat is not None and one.sealing(knowledge) == "refused"
    ]
    without = [one.name for one in facings if "coated" in one.conditions and one.coat is None]
    if without:
        flags.append(
            f"coat-not-chosen: no next coat is named for {listed(without)}; waits and hours of coating are the usual middle."
        )
    return flags


def _gone_on_with(one: Facing, chosen: CoatPlan, knowledge: Knowledge) -> str:
    """What the order of work makes of a coat that does not simply go on."""
    if chosen.means == "no":
        return " It is left out of the plan: choose another."
    washed = " The plan washes it off." if chosen.means == "remove" else ""
    sealed = " The seal of dewaxed shellac goes on first." if one.sealing(knowledge) == "step" else ""
    return washed + sealed


def _area_flags(facings: Sequence[Facing]) -> list[str]:
    guessed = [f"{f.name} {f.area_m2:.1f} m2" for f in facings if f.done.surface.area_m2 is None]
    if not guessed:
        return []
    return [f"area-guessed: areas in the plan are shares of what is usual for such a piece: {', '.join(guessed)}."]
