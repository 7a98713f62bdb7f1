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
from ..removal.moisture import driest_needed, flooded_hours, settling_hours, warmed
from ..words import coats_told, listed, or_span, times
from .facing import Facing, Span
from .order import Node
from .recoat import coating_c, cure_hours

HOURS_A_DAY = 24.0
SLOW = "slow-remover"  # the condition: it is left to work while other faces are done


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


def _patch(_: Node, plain: Task, here: Sequence[Facing], __: Room, knowledge: Knowledge) -> Task:
    """The trial of the best route's remover: as long as one coat of it stays on."""
    one = here[0]
    if one.route is None:
        return plain
    remover = knowledge.removers[one.route.remover]
    cautions = _joined(plain.cautions, remover.cautions)
    return replace(plain, wait=one.contact_hours(), cautions=cautions, note=f"With {remover.name}.")


def _stain_patch(_: Node, plain: Task, here: Sequence[Facing], __: Room, knowledge: Knowledge) -> Task:
    """The trial of each stain's next treatment: as long as the slowest of them stays on."""
    rungs = [r for r in here[0].rungs if knowledge.treatments[r.treatment].work is None]
    waits = [sum(rung.dwell_hours) / 2 for rung in rungs]
    cautions = _joined(plain.cautions, *(rung.cautions for rung in rungs))
    return replace(plain, wait=max([plain.wait, *waits]), cautions=cautions)


def _route(_: Node, plain: Task, here: Sequence[Facing], __: Room, knowledge: Knowledge) -> Task:
    """The whole of the removal; of a slow remover the laying on, and then its hours on the face as a wait."""
    one = here[0]
    hours = one.strip_hours()
    if hours is None or one.route is None:
        return plain
    remover = knowledge.removers[one.route.remover]
    cautions = _joined(plain.cautions, one.done.routes[0].cautions)
    if SLOW not in one.conditions:
        return Task(hours=hours, wait=0.0, cautions=cautions, note=f"With {remover.name}.")
    cover = ", cover it" if "under-cover" in one.conditions else ""
    note = (
        f"With {remover.name}: lay it on{cover}, {coats_told(one.route.coats)}, hours as in the route of this face. "
        f"It dries on after {remover.work.open_minutes / 60:.2g} h; go on elsewhere meanwhile."
    )
    return Task(
        hours=_laid(hours, knowledge), wait=one.contact_hours() * sum(one.route.coats) / 2, cautions=cautions, note=note
    )


def _lift(_: Node, plain: Task, here: Sequence[Facing], __: Room, knowledge: Knowledge) -> Task:
    """What is left of the hours of a slow removal once it is laid on."""
    hours = here[0].strip_hours()
    if hours is None:
        return plain
    laid = _laid(hours, knowledge)
    return replace(plain, hours=(hours[0] - laid[0], hours[1] - laid[1]))


def _laid(whole: Span, knowledge: Knowledge) -> Span:
    """Hours of laying a slow remover on: the book's share of the whole."""
    share = knowledge.work.laying_share
    return whole[0] * share, whole[1] * share


def _warm(_: Node, plain: Task, here: Sequence[Facing], room: Room, knowledge: Knowledge) -> Task:
    """Until the wood is as warm as the air, and its face as dry as it gets in that air."""
    least = max((f.coat.least_c for f in here if f.coat and f.coat.too_cold), default=room.temperature_c)
    names = dict.fromkeys(f.coat.name for f in here if f.coat and f.coat.too_cold)
    note = f"From {room.temperature_c:g} C to {least:g} C or more, for {listed(list(names))}."
    return replace(plain, wait=max(plain.wait, settling_hours(room, warmed(room, least), knowledge)), note=note)


def _air(_: Node, plain: Task, here: Sequence[Facing], room: Room, knowledge: Knowledge) -> Task:
    warm = warmed(room, max((f.coat.least_c for f in here if f.coat), default=room.temperature_c))
    needed, percent = driest_needed(warm.temperature_c, knowledge), knowledge.substrate.drying.most_percent
    note = (
        f"From {warm.humidity:.0f} % humidity at {warm.temperature_c:g} C to {needed} % or less: "
        f"wood then settles within {percent:g} %."
    )
    dry = replace(warm, humidity=float(needed))
    return replace(plain, wait=max(plain.wait, settling_hours(warm, dry, knowledge)), note=note)


def _coat_patch(_: Node, plain: Task, here: Sequence[Facing], __: Room, ___: Knowledge) -> Task:
    plan = here[0].coat
    if plan is None:
        return plain
    cautions = _joined(plain.cautions, plan.cautions)
    return replace(plain, wait=plan.use_hours, cautions=cautions, note=f"{plan.name.capitalize()}. {plan.told}")


def _residue(_: Node, plain: Task, here: Sequence[Facing], __: Room, ___: Knowledge) -> Task:
    routes = here[0].done.routes[:1]
    return replace(plain, wait=sum(routes[0].dry_hours) / 2 if routes else plain.wait)


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
        wait=cure_hours(sum(first.recoat_hours) / 2, coating_c(room.temperature_c, first)),
        cautions=_joined(plain.cautions, first.cautions, chosen.cautions),
        note=f"{first.name.capitalize()}. {first.how}",
    )


def _more_coats(_: Node, plain: Task, here: Sequence[Facing], __: Room, knowledge: Knowledge) -> Task:
    chosen = here[0].coat
    if chosen is None:
        return plain
    coat = knowledge.recoat.coats[chosen.over]
    first = 0 if chosen.between not in (None, chosen.over) else 1
    low, high = (count - first for count in chosen.coats)
    one = coat.active_hours_m2_coat * here[0].area_m2
    over = f" {chosen.over_toner}" if chosen.over_toner else ""
    how_many = or_span((low, high)) if low else f"at most {high}"
    return Task(
        hours=(one * low, one * high),
        wait=sum(chosen.recoat_hours) / 2 * max(0, high - 1),
        cautions=_joined(plain.cautions, chosen.cautions),
        note=f"{how_many.capitalize()} {'more ' if first else ''}coat{'s' if high != 1 else ''} of {coat.name}. {coat.how}{over}",
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
    "patch": _patch,
    "stain-patch": _stain_patch,
    "route": _route,
    "lift": _lift,
    "residue": _residue,
    "treatment": _treatment,
    "drying": _drying,
    "warm": _warm,
    "air": _air,
    "coat-patch": _coat_patch,
    "first-coat": _first_coat,
    "more-coats": _more_coats,
    "use": _use,
    "cure": _cure,
}
