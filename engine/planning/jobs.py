"""Hours, waits and cautions of each step, on the surface where it stands.

A step has its own figures in work.yaml. Where the route, the treatment or the coat is
chosen, theirs count instead (`takes`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from ..deciding.tree import dry_hours
from ..knowledge.base import Knowledge
from ..knowledge.entries import Step
from ..physics import temperature_factor
from ..piece.form import Room
from ..wood.moisture import flooded_hours, settling_hours
from ..words import Span, coats_told, listed, or_span
from .bars import not_in_this_room
from .facing import Facing
from .minding import carried, cautions_here, minding
from .order import Node
from .recoat import coating_c, cure_hours
from .rooms import Rooms, dry_told
from .schedule import HOURS_A_DAY
from .stains import Rung
from .treatments import enemies, named, strength

SLOW = "slow-remover"  # the condition: it is left to work while other faces are done


class Task(Struct, frozen=True, kw_only=True):
    """What one step asks for: a range of hours of work, hours of waiting after it, ids of cautions, a note."""

    hours: Span
    wait: float
    cautions: list[str]
    note: str = ""

    @property
    def likely(self) -> float:
        """The middle of the range of hours."""
        return (self.hours[0] + self.hours[1]) / 2


def task(node: Node, facings: Sequence[Facing], air: Rooms, knowledge: Knowledge) -> Task:
    """The task of one step. A step of the piece sees every surface, else only its own."""
    step = knowledge.work.steps[node.step]
    here = [f for f in facings if node.surface in ("", f.name)]
    plain = Task(hours=_hours(step, here), wait=step.wait_hours, cautions=step.cautions)
    taker = _TAKERS.get(step.takes or "")
    made = taker(node, plain, here, air, knowledge) if taker else plain
    if node.surface:
        made = replace(made, note=" ".join(filter(None, [made.note, *minding(step, here[0], knowledge)])))
        lasting = carried(node, here[0].conditions, knowledge) if any(made.hours) else []
        made = replace(made, cautions=_joined(made.cautions, lasting))
    return _as_it_is_here(made, frozenset().union(*(f.conditions for f in here)), knowledge)


def _as_it_is_here(made: Task, held: frozenset[str], knowledge: Knowledge) -> Task:
    """The task with the cautions that matter here, and with what the room forbids said in its note."""
    kept = cautions_here(made.cautions, held, knowledge)
    note = " ".join(filter(None, [made.note, *not_in_this_room(kept, held, knowledge)]))
    return replace(made, cautions=kept, note=note)


def _hours(step: Step, here: Sequence[Facing]) -> Span:
    needed = frozenset(step.needs)
    area = sum(f.area_m2 for f in here if needed <= f.conditions)
    return step.hours[0] + step.hours_m2[0] * area, step.hours[1] + step.hours_m2[1] * area


Taker = Callable[[Node, Task, Sequence[Facing], Rooms, Knowledge], Task]


def _patch(_: Node, plain: Task, here: Sequence[Facing], air: Rooms, knowledge: Knowledge) -> Task:
    """The trial of the best route's remover: as long as one coat of it stays on."""
    one = here[0]
    if one.route is None:
        return plain
    remover = knowledge.removers[one.route.remover]
    cautions = _joined(plain.cautions, remover.cautions)
    return replace(plain, wait=_contact(one, air), cautions=cautions, note=f"With {remover.name}.")


def _stain_patch(_: Node, plain: Task, here: Sequence[Facing], __: Rooms, knowledge: Knowledge) -> Task:
    """One patch for each treatment: the hours of all, the wait of the slowest, its drying too."""
    rungs = here[0].tried_first(knowledge)
    waits = [_middle(rung.dwell_hours) + rung.dry_hours[0] for rung in rungs]
    apart = " They must not meet: a hand apart, each rinsed and dry by itself." if _foes(rungs, knowledge) else ""
    return Task(
        hours=(plain.hours[0] * len(rungs), plain.hours[1] * len(rungs)),
        wait=max([plain.wait, *waits]),
        cautions=_joined(plain.cautions, *(rung.cautions for rung in rungs)),
        note=f"{listed([rung.name for rung in rungs])}.".capitalize() + apart,
    )


def _foes(rungs: Sequence[Rung], knowledge: Knowledge) -> bool:
    names = [rung.treatment for rung in rungs]
    return any(enemies(name, names, knowledge) for name in names)


def _route(_: Node, plain: Task, here: Sequence[Facing], air: Rooms, knowledge: Knowledge) -> Task:
    """The whole of the removal; of a slow remover the laying on, and then its hours on the face as a wait."""
    one = here[0]
    hours = one.strip_hours()
    if hours is None or one.route is None:
        return plain
    remover = knowledge.removers[one.route.remover]
    cautions = _joined(plain.cautions, one.done.routes[0].cautions)
    if SLOW not in one.conditions:
        return Task(hours=hours, wait=0.0, cautions=cautions, note=f"With {remover.name}.")
    faster = ", less now that it is warm" if air.warm != air.now else ""
    cover = ", cover it" if "under-cover" in one.conditions else ""
    note = (
        f"With {remover.name}: lay it on{cover}, {coats_told(one.route.coats)}, hours as in the route of this face{faster}. "
        f"It dries on after {remover.work.open_minutes / 60:.2g} h; go on elsewhere meanwhile."
    )
    return Task(
        hours=_laid(hours, knowledge), wait=_contact(one, air) * _middle(one.route.coats), cautions=cautions, note=note
    )


def _contact(one: Facing, air: Rooms) -> float:
    """Hours of one coat's contact: worked out for the room as it is, brought to the one that is worked in."""
    slower = temperature_factor(air.now.temperature_c) / temperature_factor(air.warm.temperature_c)
    return one.contact_hours() * slower


def _lift(_: Node, plain: Task, here: Sequence[Facing], __: Rooms, knowledge: Knowledge) -> Task:
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


def _masks(_: Node, plain: Task, here: Sequence[Facing], __: Rooms, knowledge: Knowledge) -> Task:
    """What is masked on this face and how, each by name."""
    rows = [row for feature, row in knowledge.work.masks.items() if feature in here[0].done.surface.features]
    return replace(plain, note=" ".join(f"{row.name.capitalize()}: {row.how}" for row in rows))


def _warm(_: Node, plain: Task, here: Sequence[Facing], air: Rooms, knowledge: Knowledge) -> Task:
    """Until the wood is as warm as the air, and its face as dry as it gets in that air."""
    names = dict.fromkeys(f.coat.name for f in here if f.coat and f.coat.least_c > air.now.temperature_c)
    wanting = listed([*names, "all that is glued, washed or stripped"])
    note = f"From {air.now.temperature_c:g} C to {air.warm.temperature_c:g} C or more, for {wanting}."
    return replace(plain, wait=max(plain.wait, settling_hours(air.now, air.warm, knowledge)), note=note)


def _air(_: Node, plain: Task, __: Sequence[Facing], air: Rooms, knowledge: Knowledge) -> Task:
    note = (
        f"From {air.warm.humidity:.0f} % humidity at {air.warm.temperature_c:g} C to {air.work.humidity:.0f} % or less: "
        f"wood then settles within {knowledge.substrate.drying.most_percent:g} %."
    )
    return replace(plain, wait=max(plain.wait, settling_hours(air.warm, air.work, knowledge)), note=note)


def _coat_patch(_: Node, plain: Task, here: Sequence[Facing], __: Rooms, ___: Knowledge) -> Task:
    plan = here[0].coat
    if plan is None:
        return plain
    cautions = _joined(plain.cautions, plan.cautions)
    return replace(plain, wait=plan.use_hours, cautions=cautions, note=f"{plan.name.capitalize()}. {plan.told}")


def _residue(_: Node, plain: Task, here: Sequence[Facing], air: Rooms, knowledge: Knowledge) -> Task:
    """The drying of the route's remover, in the room as it is worked in."""
    wait = plain.wait
    for route in here[0].done.routes[:1]:
        slow = max(1.0, flooded_hours(air.work, knowledge) / flooded_hours(Room(), knowledge))
        wait = _middle(dry_hours(knowledge.removers[route.remover], slow))
    return replace(plain, wait=wait, note=dry_told(air.work, knowledge))


def _treatment(node: Node, plain: Task, here: Sequence[Facing], air: Rooms, knowledge: Knowledge) -> Task:
    """One round: on, and its dwell; what it must not meet on this face is said with it."""
    step, rung = knowledge.work.steps[node.step], _rung_of(node, here[0], knowledge)
    if rung is None:
        return plain
    treatment = knowledge.treatments[rung.treatment]
    _, mix = strength(treatment, rung.tried + step.round - 1, air.work, knowledge)
    told = rung.warnings if step.round == 1 else ["As in the first round."]
    return Task(
        hours=rung.hours,
        wait=_middle(rung.dwell_hours),
        cautions=_joined(plain.cautions, rung.cautions),
        note=" ".join(filter(None, [_round_told(step.round, rung), mix, *told]))
        + (here[0].after(rung) if step.round == rung.planned else ""),
    )


def _active(node: Node, plain: Task, here: Sequence[Facing], _: Rooms, knowledge: Knowledge) -> Task:
    rung = _rung_of(node, here[0], knowledge)
    return replace(plain, hours=rung.hours, cautions=_joined(plain.cautions, rung.cautions)) if rung else plain


def _dwell(node: Node, plain: Task, here: Sequence[Facing], air: Rooms, knowledge: Knowledge) -> Task:
    rung = _rung_of(node, here[0], knowledge)
    return replace(plain, wait=_middle(rung.dwell_hours), note=dry_told(air.work, knowledge)) if rung else plain


def _rinse(node: Node, plain: Task, here: Sequence[Facing], air: Rooms, knowledge: Knowledge) -> Task:
    """Out with it; dry right through if another round or another wet treatment of this face follows."""
    step, rung = knowledge.work.steps[node.step], _rung_of(node, here[0], knowledge)
    then = "" if rung is None else _then(step.round, rung, here[0], knowledge)
    if rung is None or not then:
        return plain
    wait = max(plain.wait, _middle(rung.dry_hours), flooded_hours(air.work, knowledge))
    return replace(plain, wait=wait, note=f"Dry right through before {then}. {dry_told(air.work, knowledge)}")


def _then(number: int, rung: Rung, one: Facing, knowledge: Knowledge) -> str:
    """What comes on this face after a round of a treatment: the next round, another treatment; empty if nothing does."""
    if number < rung.planned:
        return f"round {number + 1}"
    book = list(dict.fromkeys(step.treatment for step in knowledge.work.steps.values() if step.treatment))
    mine = [name for name in book if name in {r.treatment for r in one.rungs}]
    later = mine[mine.index(rung.treatment) + 1 :]
    if not later:
        return ""
    foes = enemies(rung.treatment, later[:1], knowledge)
    return f"{named(later[0], knowledge)}{': the two must never meet' if foes else ''}"


def _rung_of(node: Node, one: Facing, knowledge: Knowledge) -> Rung | None:
    """The treatment that a step is of, as it is planned here; None in a book of one's own that does not say."""
    treatment = knowledge.work.steps[node.step].treatment
    return next((rung for rung in one.rungs if rung.treatment == treatment), None)


def _round_told(number: int, rung: Rung) -> str:
    once = "Once." if rung.left == 1 else f"Round {number} of {_rounds_told(rung)}"
    return once + (f" With those before it, it is number {rung.tried + number} on this face." if rung.tried else "")


def _rounds_told(rung: Rung) -> str:
    return "1." if rung.left == 1 else f"1 to {rung.left}, planned for {rung.planned}: no change in a round means stop."


def _dry_marks(_: Node, plain: Task, here: Sequence[Facing], __: Rooms, knowledge: Knowledge) -> Task:
    """All treatments that have no step of their own, side by side: the hours of all, the wait of the slowest."""
    one = here[0]
    rungs = one.dry_marks(knowledge)
    waits = [r.planned * (_middle(r.dwell_hours) + _middle(r.dry_hours)) for r in rungs]
    told = [
        f"{r.name.capitalize()}, rounds: {_rounds_told(r)} Leave it {r.dwell_hours[0]:g} to {r.dwell_hours[1]:g} h, "
        f"let it dry {r.dry_hours[0]:g} to {r.dry_hours[1]:g} h. {' '.join([r.how, *r.warnings])}{one.after(r)}"
        for r in rungs
    ]
    return Task(
        hours=(sum(r.hours[0] for r in rungs), sum(r.hours[1] * r.planned for r in rungs)),
        wait=max([plain.wait, *waits]),
        cautions=_joined(plain.cautions, *(r.cautions for r in rungs)),
        note=" ".join(told),
    )


def _drying(_: Node, plain: Task, here: Sequence[Facing], air: Rooms, knowledge: Knowledge) -> Task:
    """The longest drying that a wet treatment or the room asks for, less what passed after its rinse."""
    wet = [r for r in here[0].rungs if knowledge.treatments[r.treatment].water]
    if not wet:
        return plain
    needed = max(*(_middle(r.dry_hours) for r in wet), flooded_hours(air.work, knowledge))
    passed = min(_rinse_wait(r.treatment, knowledge) for r in wet)
    return replace(plain, wait=max(0.0, needed - passed), note=dry_told(air.work, knowledge))


def _rinse_wait(treatment: str, knowledge: Knowledge) -> float:
    """Hours that the rinse of a treatment waits already, by the book."""
    rows = [s for s in knowledge.work.steps.values() if s.treatment == treatment and s.takes == "rinse"]
    return max((step.wait_hours for step in rows), default=0.0)


def _seal(_: Node, plain: Task, here: Sequence[Facing], __: Rooms, ___: Knowledge) -> Task:
    return replace(plain, note=" ".join(dict.fromkeys(here[0].seal_why)))


def _first_coat(_: Node, plain: Task, here: Sequence[Facing], air: Rooms, knowledge: Knowledge) -> Task:
    chosen = here[0].coat
    if chosen is None:
        return plain
    first = knowledge.recoat.coats[chosen.between or chosen.over]
    hours = first.active_hours_m2_coat * here[0].area_m2
    sealed = here[0].sealing(knowledge) == "first-coat"
    seals = (
        f" It seals the wood as well, inside corners too: {' '.join(dict.fromkeys(here[0].seal_why))}" if sealed else ""
    )
    return Task(
        hours=(hours, hours),
        wait=cure_hours(sum(first.recoat_hours) / 2, coating_c(air.now.temperature_c, first)),
        cautions=_joined(plain.cautions, first.cautions, chosen.cautions),
        note=f"{first.name.capitalize()}. {first.how}{seals}{_shade_told(here[0], knowledge)}",
    )


def _shade_told(one: Facing, knowledge: Knowledge) -> str:
    """That this face will not match, said where it is last time to tell the owner."""
    return f" Before it goes on: {knowledge.recoat.shaded.text}" if one.done.surface.shaded else ""


def _more_coats(_: Node, plain: Task, here: Sequence[Facing], __: Rooms, knowledge: Knowledge) -> Task:
    chosen = here[0].coat
    if chosen is None:
        return plain
    coat = knowledge.recoat.coats[chosen.over]
    first = 0 if chosen.between not in (None, chosen.over) else 1
    low, high = (count - first for count in chosen.coats)
    one = coat.active_hours_m2_coat * here[0].area_m2
    over = f" {chosen.over_toner}" if chosen.over_toner else ""
    how_many, more = or_span((low, high)) if low else f"at most {high}", "more " if first else ""
    return Task(
        hours=(one * low, one * high),
        wait=sum(chosen.recoat_hours) / 2 * max(0, high - 1),
        cautions=_joined(plain.cautions, chosen.cautions),
        note=f"{how_many.capitalize()} {more}coat{'s' if high != 1 else ''} of {coat.name}. {coat.how}{over}",
    )


def _use(_: Node, plain: Task, here: Sequence[Facing], __: Rooms, ___: Knowledge) -> Task:
    waits = [f.coat.use_hours for f in here if f.coat]
    return Task(hours=plain.hours, wait=max(waits, default=plain.wait), cautions=plain.cautions)


def _cure(_: Node, plain: Task, here: Sequence[Facing], __: Rooms, ___: Knowledge) -> Task:
    waits = [max(0.0, f.coat.cure_days * HOURS_A_DAY - f.coat.use_hours) for f in here if f.coat]
    return Task(hours=plain.hours, wait=max(waits, default=plain.wait), cautions=plain.cautions)


def _middle(span: Span) -> float:
    return sum(span) / 2


def _joined(*names: Sequence[str]) -> list[str]:
    return list(dict.fromkeys(name for row in names for name in row))


_TAKERS: dict[str, Taker] = {
    "patch": _patch,
    "stain-patch": _stain_patch,
    "route": _route,
    "lift": _lift,
    "masks": _masks,
    "residue": _residue,
    "treatment": _treatment,
    "active": _active,
    "dwell": _dwell,
    "rinse": _rinse,
    "dry-marks": _dry_marks,
    "seal": _seal,
    "drying": _drying,
    "warm": _warm,
    "air": _air,
    "coat-patch": _coat_patch,
    "first-coat": _first_coat,
    "more-coats": _more_coats,
    "use": _use,
    "cure": _cure,
}
