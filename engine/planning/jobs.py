"""Hours, waits and cautions of each step, on the surface where it stands.

A step has its own figures in work.yaml. Where the route, the treatment or the coat is
chosen, theirs count instead (`takes`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from ..knowledge.base import Knowledge
from ..knowledge.entries import Step
from ..piece.form import Room
from ..words import times
from .facing import Facing, Span
from .order import Node
from .recoat import cure_hours
from .wood import flooded_hours

HOURS_A_DAY = 24.0


class Task(Struct, frozen=True, kw_only=True):
    """What one step asks for: a range of hours of work, hours of waiting after it, cautions, a note."""

    hours: Span
    wait: float
    cautions: list[str]
    note: str = ""

    @property
    def likely(self) -> float:
        """The middle of the range of hours."""
        return (self.hours[0] + self.hours[1]) / 2


def task(node: Node, facings: Sequence[Facing], room: Room, knowledge: Knowledge) -> Task:
    """The task of one step. A step of the piece sees every surface, else only its own."""
    step = knowledge.work.steps[node.step]
    here = [f for f in facings if node.surface in ("", f.name)]
    plain = Task(hours=_hours(step, here), wait=step.wait_hours, cautions=step.cautions)
    taker = _TAKERS.get(step.takes or "")
    made = taker(node, plain, here, room, knowledge) if taker else plain
    return _as_it_is_here(made, frozenset().union(*(f.conditions for f in here)), knowledge)


def _as_it_is_here(made: Task, held: frozenset[str], knowledge: Knowledge) -> Task:
    """The task with the cautions that matter here, and with what the room forbids said in its note."""
    kept = cautions_here(made.cautions, held, knowledge)
    bars = [bar.text for name in kept if (bar := knowledge.cautions[name].barred) and held & set(bar.where)]
    return replace(made, cautions=kept, note=" ".join(filter(None, [made.note, *dict.fromkeys(bars)])))


def cautions_here(names: Iterable[str], held: frozenset[str], knowledge: Knowledge) -> list[str]:
    """The cautions that say nothing of where they matter, and those whose condition holds."""
    book = knowledge.cautions
    return [name for name in names if not book[name].only_if or held & set(book[name].only_if)]


def _hours(step: Step, here: Sequence[Facing]) -> Span:
    needed = frozenset(step.needs)
    area = sum(f.area_m2 for f in here if needed <= f.conditions)
    return step.hours[0] + step.hours_m2[0] * area, step.hours[1] + step.hours_m2[1] * area


Taker = Callable[[Node, Task, Sequence[Facing], Room, Knowledge], Task]


def _route(_: Node, plain: Task, here: Sequence[Facing], __: Room, knowledge: Knowledge) -> Task:
    hours = here[0].strip_hours()
    if hours is None:
        return plain
    route = here[0].done.routes[0]
    note = f"With {knowledge.removers[route.remover].name}."
    return Task(hours=hours, wait=0.0, cautions=_joined(plain.cautions, route.cautions), note=note)


def _residue(_: Node, plain: Task, here: Sequence[Facing], __: Room, ___: Knowledge) -> Task:
    routes = here[0].done.routes[:1]
    dry = [sum(route.dry_hours) / 2 for route in routes if route.dry_hours[1] > 0]
    return Task(hours=plain.hours, wait=dry[0] if dry else plain.wait, cautions=plain.cautions)


def _treatment(node: Node, plain: Task, here: Sequence[Facing], _: Room, __: Knowledge) -> Task:
    rung = next(r for r in here[0].rungs if r.treatment == node.step)
    note = (
        "Once."
        if rung.left == 1
        else f"{times(rung.left).capitalize()}, each with its rinse and drying. Waits are for one."
    )
    mix = f" {rung.mix}" if rung.mix else ""
    return Task(
        hours=(rung.hours[0], rung.hours[1] * rung.left),
        wait=sum(rung.dwell_hours) / 2,
        cautions=_joined(plain.cautions, rung.cautions),
        note=note + mix,
    )


def _drying(_: Node, plain: Task, here: Sequence[Facing], room: Room, knowledge: Knowledge) -> Task:
    """The longest drying that a wet treatment or the room asks for, less what passed after its rinse."""
    wet = [r for r in here[0].rungs if knowledge.treatments[r.treatment].water]
    if not wet:
        return plain
    needed = max(*(sum(r.dry_hours) / 2 for r in wet), flooded_hours(room, knowledge))
    passed = min(_rinse_wait(r.treatment, knowledge) for r in wet)
    return Task(hours=plain.hours, wait=max(0.0, needed - passed), cautions=plain.cautions)


def _rinse_wait(treatment: str, knowledge: Knowledge) -> float:
    """Hours that the steps after a treatment wait already, by the book."""
    rows = [s for s in knowledge.work.steps.values() if f"stain:{treatment}" in s.needs and s.takes is None]
    return max((step.wait_hours for step in rows), default=0.0)


def _first_coat(_: Node, plain: Task, here: Sequence[Facing], room: Room, knowledge: Knowledge) -> Task:
    chosen = here[0].coat
    if chosen is None:
        return plain
    first = knowledge.recoat.coats[chosen.between or chosen.over]
    hours = first.active_hours_m2_coat * here[0].area_m2
    return Task(
        hours=(hours, hours),
        wait=cure_hours(sum(first.recoat_hours) / 2, room.temperature_c),
        cautions=_joined(plain.cautions, first.cautions, chosen.cautions),
        note=f"{first.name.capitalize()}.",
    )


def _more_coats(_: Node, plain: Task, here: Sequence[Facing], __: Room, knowledge: Knowledge) -> Task:
    chosen = here[0].coat
    if chosen is None:
        return plain
    coat = knowledge.recoat.coats[chosen.over]
    more = coat.coats if chosen.between not in (None, chosen.over) else coat.coats - 1
    hours = coat.active_hours_m2_coat * here[0].area_m2 * more
    return Task(
        hours=(hours, hours),
        wait=sum(chosen.recoat_hours) / 2 * max(0, more - 1),
        cautions=_joined(plain.cautions, chosen.cautions),
        note=f"{more} more coat{'s' if more != 1 else ''} of {coat.name}.",
    )


def _use(_: Node, plain: Task, here: Sequence[Facing], __: Room, ___: Knowledge) -> Task:
    waits = [f.coat.use_hours for f in here if f.coat]
    return Task(hours=plain.hours, wait=max(waits, default=plain.wait), cautions=plain.cautions)


def _cure(_: Node, plain: Task, here: Sequence[Facing], __: Room, ___: Knowledge) -> Task:
    waits = [max(0.0, f.coat.cure_days * HOURS_A_DAY - f.coat.use_hours) for f in here if f.coat]
    return Task(hours=plain.hours, wait=max(waits, default=plain.wait), cautions=plain.cautions)


def _joined(*names: Sequence[str]) -> list[str]:
    return list(dict.fromkeys(name for row in names for name in row))


_TAKERS: dict[str, Taker] = {
    "route": _route,
    "residue": _residue,
    "treatment": _treatment,
    "drying": _drying,
    "first-coat": _first_coat,
    "more-coats": _more_coats,
    "use": _use,
    "cure": _cure,
}
