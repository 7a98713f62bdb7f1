"""Which surface decides, what is the cheapest work that shows it, and whether that is done early."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import prod
from typing import Literal

from msgspec import Struct

from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..piece.form import Piece
from .facing import Facing, Span
from .jobs import Task
from .order import Circle, Early, Node, applies, comes_before, taken_early
from .triage import Verdict, decide, early_gain, figures

Doubt = Literal["film", "stain"]
SURE = 0.97  # nothing worth a trial is in doubt above this
NOT_USABLE = frozenset(
    {
        "strip",
        "bare-wood",
        "stain-any",
        "wet-treatment",
        "water-used",
        "oily-wood",
        "colour",
        "bare-wet",
        "bare-unsanded",
    }
)


class Standing(Struct, frozen=True, kw_only=True):
    """How one surface stands: chance that the film comes off unharmed, that the stains go, and its hours."""

    surface: str
    p: float
    film: float
    stain: float
    hours: Span


class Trial(Struct, frozen=True, kw_only=True):
    """The cheapest work that shows whether the worst surface comes out; cost only with the user's rate."""

    step: str
    name: str
    surface: str
    hours: float
    cost: float | None
    why: str


class EarlyStep(Struct, frozen=True, kw_only=True):
    """Steps of the worst surface taken before the decision, against the usual order, and what that costs."""

    surface: str
    steps: list[str]
    hours: float
    costs: list[str]
    extra_hours: float
    worth: float


class Triage(Struct, frozen=True, kw_only=True):
    """Whether to go on, by the worst surface."""

    worst: str
    why: str
    doubt: Doubt | None
    p: float
    standings: list[Standing]
    show: Trial | None
    verdict: Verdict | None
    told: str
    early: EarlyStep | None


class Judged(Struct, frozen=True, kw_only=True):
    """The triage, the surfaces from worst to best, and the order with a trial taken early, if that pays."""

    told: Triage
    worst_first: list[str]
    early: Early | None

    @property
    def stops(self) -> bool:
        """Whether the figures say stop, by today's chances."""
        return self.told.verdict is not None and self.told.verdict.decision == "stop"

    @property
    def hopeless(self) -> bool:
        """Whether not even a sure success would pay, so that no trial can change the answer."""
        return _hopeless(self.told.verdict)


def triage(
    piece: Piece, facings: Sequence[Facing], nodes: Sequence[Node], tasks: Mapping[Node, Task], knowledge: Knowledge
) -> Judged:
    """The worst surface, the decision by the user's figures, and an early trial if it is worth its cost."""
    standings = sorted((_standing(f, nodes, tasks, knowledge) for f in facings), key=lambda s: (s.p, -s.hours[1]))
    worst = standings[0]
    doubt = _doubt(worst)
    p = min(s.film for s in standings) * prod(s.stain for s in standings)
    verdict = _verdict(piece, p, facings, tasks, knowledge)
    names = [s.surface for s in standings]
    early, told = _early(piece, worst, doubt, verdict, nodes, tasks, names, knowledge)
    return Judged(
        told=Triage(
            worst=worst.surface,
            why=_why(worst, doubt, verdict),
            doubt=doubt,
            p=p,
            standings=standings,
            show=None if _hopeless(verdict) else _trial(piece, worst, doubt, facings, nodes, tasks, knowledge),
            verdict=verdict,
            told=_told(verdict, told),
            early=told,
        ),
        worst_first=names,
        early=early,
    )


def _standing(one: Facing, nodes: Sequence[Node], tasks: Mapping[Node, Task], knowledge: Knowledge) -> Standing:
    film, stain = _film_chance(one, knowledge), prod(s.chance for s in one.stains)
    mine = [tasks[node].hours for node in nodes if node.surface == one.name]
    hours = sum(h[0] for h in mine), sum(h[1] for h in mine)
    return Standing(surface=one.name, p=film * stain, film=film, stain=stain, hours=hours)


def _film_chance(one: Facing, knowledge: Knowledge) -> float:
    """Chance that the best route, and the one it turns to, takes the film off without harm; 1 if the film stays."""
    if one.how != "strip":
        return 1.0
    first = one.route
    if first is None:
        return 0.0
    route = one.done.routes[0]
    then = next((p.works for p in one.done.predictions if p.remover == route.then), 0.0)
    half = knowledge.decide.works_by_effect["softens"]
    comes = first.works + half * first.effects["softens"] + then * first.effects["no-effect"]
    return min(1.0, comes) * (1 - route.harm)


def _doubt(worst: Standing) -> Doubt | None:
    if worst.p >= SURE:
        return None
    return "film" if worst.film <= worst.stain else "stain"


def _hopeless(verdict: Verdict | None) -> bool:
    gains = (verdict.gain_if_it_works, verdict.gain_if_not, verdict.usable_gain) if verdict is not None else (1.0,)
    return max(gains) <= 0


def _why(worst: Standing, doubt: Doubt | None, verdict: Verdict | None) -> str:
    if _hopeless(verdict):
        return "No trial can change that, so none is asked for. Look at the figures again before you look at the piece."
    if doubt is None:
        return f"No surface is in doubt; {worst.surface} has the most work."
    what = "the film comes off unharmed" if doubt == "film" else "the stain goes"
    chance = worst.film if doubt == "film" else worst.stain
    return f"On {worst.surface} it is least sure that {what} ({chance:.0%}). It decides: do it before money goes into the rest."


def _verdict(
    piece: Piece, p: float, facings: Sequence[Facing], tasks: Mapping[Node, Task], knowledge: Knowledge
) -> Verdict | None:
    if piece.money is None:
        return None
    rows = [t.hours for t in tasks.values()]
    whole = sum(h[0] for h in rows), sum(h[1] for h in rows)
    costs = [f.scaled(f.route.cost) for f in facings if f.route is not None]
    low, high = sum(c[0] for c in costs), sum(c[1] for c in costs)
    return decide(figures(piece.money, p, whole, _usable_hours(facings, knowledge), (low, (low + high) / 2, high)))


def _usable_hours(facings: Sequence[Facing], knowledge: Knowledge) -> Span:
    """Hours if every film is kept, cleaned and coated over, and no stain is treated."""
    keeping = {f.name: _keeping(f.conditions) for f in facings}
    areas = {f.name: f.area_m2 for f in facings}
    low = high = 0.0
    for node in applies(knowledge.work, keeping):
        step = knowledge.work.steps[node.step]
        area = areas.get(node.surface, 0.0)
        low, high = low + step.hours[0] + step.hours_m2[0] * area, high + step.hours[1] + step.hours_m2[1] * area
    return low, high


def _keeping(conditions: frozenset[str]) -> frozenset[str]:
    kept = frozenset(c for c in conditions if c not in NOT_USABLE and not c.startswith("stain:"))
    return kept | {"keep-film"} if "coated" in kept else kept


def _trial(
    piece: Piece,
    worst: Standing,
    doubt: Doubt | None,
    facings: Sequence[Facing],
    nodes: Sequence[Node],
    tasks: Mapping[Node, Task],
    knowledge: Knowledge,
) -> Trial | None:
    """The cheapest of: the next test on the worst surface, and the trial patches that show its doubt."""
    if doubt is None:
        return None
    rate = piece.money.rate_hour if piece.money else None
    here = next(f for f in facings if f.name == worst.surface)
    found = []
    if doubt == "film" and here.done.verdict == "test-more" and here.done.worths:
        found.append(_tested(here.done.worths[0].test, knowledge))
    for node in nodes:
        step = knowledge.work.steps[node.step]
        if node.surface == worst.surface and step.shows == doubt and _before_gate(node.step, knowledge):
            found.append((node.step, step.name, tasks[node].likely, step.how))
    if not found:
        return None
    name, told, hours, why = min(found, key=lambda row: row[2])
    cost = None if rate is None else hours * rate
    return Trial(step=name, name=told, surface=worst.surface, hours=hours, cost=cost, why=why)


def _before_gate(step: str, knowledge: Knowledge) -> bool:
    gates = [name for name, row in knowledge.work.steps.items() if row.gate == "worth"]
    return any(comes_before(knowledge.work, step, gate) for gate in gates)


def _tested(test: str, knowledge: Knowledge) -> tuple[str, str, float, str]:
    if test.startswith(PATCH_PREFIX):
        hours = knowledge.decide.patch_minutes / 60
        return test, knowledge.test_name(test), hours, "A trial patch on a hidden spot."
    entry = knowledge.tests[test]
    return test, entry.name, entry.minutes / 60, entry.how


def _early(
    piece: Piece,
    worst: Standing,
    doubt: Doubt | None,
    verdict: Verdict | None,
    nodes: Sequence[Node],
    tasks: Mapping[Node, Task],
    worst_first: Sequence[str],
    knowledge: Knowledge,
) -> tuple[Early | None, EarlyStep | None]:
    """The worst surface before the decision, if knowing how it comes out is worth more than the unusual order costs."""
    work = knowledge.work
    gate = next((n for n in nodes if work.steps[n.step].gate == "worth"), None)
    shows = [n for n in nodes if n.surface == worst.surface and work.steps[n.step].shows == doubt]
    if piece.money is None or verdict is None or doubt is None or gate is None or not shows or len(worst_first) < 2:
        return None, None
    try:
        early = taken_early(work, nodes, worst_first, shows[-1], gate)
    except Circle:
        return None, None
    if early is None or not early.moved:
        return None, None
    hours = sum(tasks[node].likely for node in nodes if node in early.moved)
    extra = sum(row.early_hours for row in early.rows)
    chance = worst.film if doubt == "film" else worst.stain
    worth = early_gain(verdict, chance, hours, extra, piece.money.rate_hour)
    if worth <= 0:
        return None, None
    steps = [n.step for n in nodes if n in early.moved]
    costs = list(dict.fromkeys(row.early for row in early.rows if row.early))
    told = EarlyStep(surface=worst.surface, steps=steps, hours=hours, costs=costs, extra_hours=extra, worth=worth)
    return early, told


def _told(verdict: Verdict | None, early: EarlyStep | None) -> str:
    """The decision in one sentence, and the figures behind it."""
    if verdict is None:
        return "No figures were given (`money:`), so whether it pays is not reckoned. Try the worst surface first all the same."
    words = {
        "go": "Go on with the whole job.",
        "go-to-usable": "Do only what makes it usable: clean, repair, coat over. "
        "The order of work is that of the whole job; for this one write `plan: keep` on its faces.",
        "stop": "Stop: it is worth more as it stands.",
    }
    told = words[verdict.decision]
    if early is not None:
        told = (
            f"Do {early.surface} first and decide then: if it comes out, the whole job gains "
            f"{verdict.gain_if_it_works:+.0f}; if not, {verdict.gain_if_not:+.0f}. By today's chances: {told}"
        )
    told += f" Expected gain {verdict.gain:+.0f} for the whole job, {verdict.usable_gain:+.0f} for usable only"
    return f"{told}; chance that the whole job pays {verdict.chance_of_gain:.0%}.{_edge(verdict)}"


def _edge(verdict: Verdict) -> str:
    """Where the decision turns, and whether it is near."""
    even = ""
    if verdict.break_even is not None and 0 < verdict.break_even < 1:
        even = f" It pays if the planned result is likelier than {verdict.break_even:.0%}."
    elif verdict.break_even is not None and verdict.break_even >= 1:
        even = " Even a sure success would not pay."
    return even + (" It is close: a small surprise turns it." if 0.4 <= verdict.chance_of_gain <= 0.6 else "")
