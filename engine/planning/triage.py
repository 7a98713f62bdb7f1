"""Whether to go on at all: which surface decides, what is the cheapest work that shows it, and whether that is done early."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import prod
from typing import Literal

from msgspec import Struct

from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..piece.form import Piece
from ..words import Span
from .facing import Facing
from .handling import ends_bare
from .jobs import Task
from .money import EarlyStep, Verdict, decide, early_gain, figures, gain_after_trial
from .order import Circle, Early, Node, comes_before, taken_early
from .triage_told import told_triage

Doubt = Literal["film", "stain"]
SURE = 0.97  # nothing worth a trial is in doubt above this
Work = tuple[list[Facing], list[Node], Mapping[Node, Task]]


class Standing(Struct, frozen=True, kw_only=True):
    """How one surface stands: chance that the film comes off unharmed, that the stains go, of both (`p`); its hours."""

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
        """Whether the work ends with the decision: the figures say stop, or only the early trial can tell."""
        verdict = self.told.verdict
        return verdict is not None and (
            verdict.decision == "stop" or (verdict.decision != "go" and self.early is not None)
        )

    @property
    def only_usable(self) -> bool:
        """Whether the work is no more than what makes the piece usable."""
        return _only_usable(self.told.verdict, self.told.early)

    @property
    def hopeless(self) -> bool:
        """Whether not even a sure success would pay, so that no trial can change the answer."""
        return _hopeless(self.told.verdict)


def triage(piece: Piece, whole: Work, usable: Work | None, knowledge: Knowledge) -> Judged:
    """The worst surface, the decision by the user's figures, and an early trial if it is worth its cost.

    usable: the shorter job of making the piece usable; needed only where figures were given.
    """
    facings, nodes, tasks = whole
    standings = sorted((_standing(f, nodes, tasks, knowledge) for f in facings), key=lambda s: (s.p, -s.hours[1]))
    worst = standings[0]
    doubt = _doubt(worst)
    p = min(s.film for s in standings) * prod(s.stain for s in standings)
    verdict = _verdict(piece, p, whole, usable)
    names = [s.surface for s in standings]
    early, told = _early(piece, worst, doubt, verdict, nodes, tasks, names, knowledge)
    return Judged(
        told=Triage(
            worst=worst.surface,
            why=_why(
                worst, doubt, verdict, verdict is not None and verdict.decision == "go-to-usable" and early is None
            ),
            doubt=doubt,
            p=p,
            standings=standings,
            show=None if _hopeless(verdict) else _trial(piece, worst, doubt, facings, nodes, tasks, knowledge),
            verdict=verdict,
            told=told_triage(piece.money, verdict, p, told),
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


def _only_usable(verdict: Verdict | None, early: EarlyStep | None) -> bool:
    return verdict is not None and verdict.decision == "go-to-usable" and early is None


def _why(worst: Standing, doubt: Doubt | None, verdict: Verdict | None, short: bool) -> str:
    """Which surface decides, and why that one; `short`: the piece is only made usable."""
    if _hopeless(verdict):
        return "No trial can change that, so none is asked for. Look at the figures again before you look at the piece."
    if doubt is None:
        return f"No surface is in doubt; {worst.surface} has the most work."
    what = "the film comes off unharmed" if doubt == "film" else "the stain goes"
    least = f"there it is least sure that {what} ({_chance(worst, doubt):.0%})"
    if short:
        return f"Of the whole job {worst.surface} would decide: {least}."
    return f"What decides is {worst.surface}: {least}. No money into the rest before."


def _chance(worst: Standing, doubt: Doubt) -> float:
    return worst.film if doubt == "film" else worst.stain


def _verdict(piece: Piece, p: float, whole: Work, usable: Work | None) -> Verdict | None:
    if piece.money is None or usable is None:
        return None
    costs = [f.scaled(f.route.cost) for f in whole[0] if f.route is not None]
    low, high = sum(c[0] for c in costs), sum(c[1] for c in costs)
    return decide(figures(piece.money, p, _hours(whole), _hours(usable), (low, (low + high) / 2, high)))


def _hours(work: Work) -> Span:
    rows = [task.hours for task in work[2].values()]
    return sum(h[0] for h in rows), sum(h[1] for h in rows)


def _trial(
    piece: Piece,
    worst: Standing,
    doubt: Doubt | None,
    facings: Sequence[Facing],
    nodes: Sequence[Node],
    tasks: Mapping[Node, Task],
    knowledge: Knowledge,
) -> Trial | None:
    """The cheapest of: the next test on the worst surface, and the trial patches that show its doubt.

    Where none of them comes before the decision, the first look that the face gives once it is bare, or clean.
    """
    if doubt is None:
        return None
    rate = piece.money.rate_hour if piece.money else None
    here = next(f for f in facings if f.name == worst.surface)
    found = []
    if doubt == "film" and here.done.verdict == "test-more" and here.done.worths:
        found.append(_tested(here.done.worths[0].test, knowledge))
    shows = [n for n in nodes if n.surface == worst.surface and knowledge.work.steps[n.step].shows == doubt]
    before = [n for n in shows if _before_gate(n.step, knowledge)]
    later = (
        ""
        if before
        else f", once {'the wood is bare' if ends_bare(here.how, here.done.surface) else 'the face is clean'}"
    )
    for node in before or (shows[:1] if doubt == "stain" else []):
        step = knowledge.work.steps[node.step]
        found.append((node.step, f"{step.name}{later}", tasks[node].likely, step.how))
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
    chance = _chance(worst, doubt)
    lost = (hours + extra) * piece.money.rate_hour
    worth = early_gain(verdict, chance, hours, extra, piece.money.rate_hour)
    if worth <= 0:
        return None, None
    steps = [n.step for n in nodes if n in early.moved]
    costs = list(dict.fromkeys(row.early for row in early.rows if row.early))
    told = EarlyStep(
        surface=worst.surface,
        steps=steps,
        hours=hours,
        costs=costs,
        extra_hours=extra,
        worth=worth,
        chance=chance,
        then=gain_after_trial(verdict, chance),
        lost=lost,
    )
    return early, told
