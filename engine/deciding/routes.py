"""Ways to take the film off, ranked by expected cost over the posterior, with the user's weights.

A route is a small tree (see tree.py): the first remover, and the one to turn to if it
fails, chosen for the finishes that would make the first one fail. A way without harm or
grave hazard goes before one with either that ends no better, whatever it costs. A way that may well take
the film that is to stay is no route: a trial patch has to show first that it spares it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from ..belief.posterior import Posterior
from ..belief.tables import Tables
from ..knowledge.base import Knowledge
from ..piece.form import Room
from ..removal.effects import effects_on, takes_off, work_saved
from ..removal.layers import loss_below, told_kept
from ..removal.predict import Prediction
from .costs import CostTable, Weights, fallback_minutes, fixed_minutes, plain_minutes
from .tree import Below, Branch, Setting, dry_hours, tree

MOST_ROUTES = 4
WORTH_A_TRY = 0.35
WORTH_A_PATCH = 0.15  # a patch alone costs little
COVERED = 0.5
Shares = Sequence[tuple[int, str, float]]


class Route(Struct, frozen=True, kw_only=True):
    """A ranked way to take the finish off one surface. `covers`: possible finishes that it takes, likeliest first.

    expected_minutes: its cost by the user's weights; expected_hours: of work. works, harm: chances
    of the first remover. hazard: 0 to 5. litres: for the surface, and litres_m2 by square metre.
    """

    remover: str
    then: str | None
    stages: list[Branch]
    covers: list[str]
    expected_minutes: float
    expected_hours: float
    works: float
    harm: float
    hazard: int
    litres: tuple[float, float]
    litres_m2: tuple[float, float]
    dry_hours: tuple[float, float]
    cautions: list[str]


class Plan(Struct, frozen=True):
    """A first remover and the next attempt, with the minutes that they are expected to cost by the user's weights.

    `result`: the share of the work that the first is expected to save, or the second where the first does nothing.
    """

    minutes: float
    first: Prediction
    second: Prediction | None
    result: float


class Ground(Struct, frozen=True, kw_only=True):
    """What the routes of one surface rest on.

    `flooded_hours` and `slow` as in tree.Setting. `below`: chances of a film under the top
    one that goes too; `kept`: of one that stays.
    """

    posterior: Posterior
    costs: CostTable
    tables: Tables
    weights: Weights
    room: Room
    flooded_hours: float
    slow: float
    below: Mapping[str, float]
    kept: Mapping[str, float]


def rank_routes(predictions: Sequence[Prediction], ground: Ground) -> list[Route]:
    """The best few routes, cheapest first; empty if everything is forbidden or nothing would work."""
    allowed = [p for p in predictions if p.allowed]
    most = ground.tables.knowledge.decide.most_harm
    spare = ground.tables.knowledge.decide.most_loss
    trying = [p for p in allowed if p.works >= WORTH_A_TRY and p.harm <= most and loss_below(p.harms) <= spare]
    finishes, p = ground.tables.finishes, ground.posterior.finishes
    shares = [(i, f, p[f]) for i, f in enumerate(finishes) if p[f] >= 1e-3]
    rows = dict(zip(ground.costs.removers, ground.costs.alone, strict=True))
    planned = [_plan(first, trying, shares, rows, ground) for first in trying]
    planned.sort(key=lambda plan: (plan.minutes, plan.first.remover))
    planned = safest_first(planned, ground.tables.knowledge)
    return [_route(plan, _hours(plan, shares, ground), allowed, ground) for plan in planned[:MOST_ROUTES]]


def to_be_tried(predictions: Sequence[Prediction]) -> Prediction | None:
    """Of what may take the top film, the one likeliest to spare the film that is to stay; or None."""
    worth = [p for p in predictions if p.allowed and p.works >= WORTH_A_PATCH]
    return min(worth, key=lambda p: (loss_below(p.harms), -p.works, p.remover), default=None)


def safest_first(planned: list[Plan], knowledge: Knowledge) -> list[Plan]:
    """The same plans; one with less harm or less grave hazard than the first goes before it if it ends as well."""
    if not planned:
        return planned
    book, first = knowledge.decide, planned[0]
    most = max(first.first.harm, book.harmless)
    equal = [p for p in planned if p.first.harm <= most and _ends_as_well(p, first, book.same_result)]
    best = min(equal, key=lambda plan: _dangers(plan, knowledge))
    return [best, *(plan for plan in planned if plan is not best)]


def _ends_as_well(plan: Plan, first: Plan, least: float) -> bool:
    """Whether it works as often as the first, or saves as much of the work with its next attempt."""
    return plan.result >= first.result - least or plan.first.works >= first.first.works - least


def _dangers(plan: Plan, knowledge: Knowledge) -> tuple[bool, bool]:
    """Harm to the piece, then grave hazard to the person."""
    book, first = knowledge.decide, plan.first
    return first.harm > book.harmless, knowledge.removers[first.remover].hazard >= book.grave_hazard


def _plan(
    first: Prediction, trying: Sequence[Prediction], shares: Shares, rows: Mapping[str, Sequence[float]], ground: Ground
) -> Plan:
    knowledge, row = ground.tables.knowledge, rows[first.remover]
    fixed = fixed_minutes(first, knowledge, ground.weights)
    fallback = fallback_minutes(knowledge, ground.weights)
    fails = [(i, p * first.effects_by[f]["no-effect"]) for i, f, p in shares]
    failing = sum(p for _, p in fails)
    others = [
        other
        for other in trying
        if other.remover != first.remover and not _enemies(first, other, knowledge) and _moves(other, shares, fails)
    ]
    second = min(others, key=lambda p: (_mean_cost(rows[p.remover], fails), p.remover), default=None)
    after = _mean_cost(rows[second.remover], fails) if second else fallback
    work = sum(p * (row[i] - fixed) for i, _, p in shares) - failing * fallback  # while it does anything
    result = sum(p * work_saved(first.effects_by[f], knowledge.decide) for _, f, p in shares)
    if second:
        again = ((p, second.effects_by[f]) for (_, f, _), (_, p) in zip(shares, fails, strict=True))
        result += sum(p * work_saved(effects, knowledge.decide) for p, effects in again)
    return Plan(fixed + work + failing * after, first, second, result)


def _hours(plan: Plan, shares: Shares, ground: Ground) -> float:
    """Expected hours of work, the next attempt included: what it takes, not what it is worth to the user."""
    book, area = ground.tables.knowledge.decide, ground.weights.area_m2
    fallback = book.fallback_minutes_m2 * area
    first = plain_minutes(plan.first, ground.tables, area)
    second = plain_minutes(plan.second, ground.tables, area) if plan.second else [fallback] * len(first)
    minutes = book.patch_minutes
    for i, finish, p in shares:
        failing = plan.first.effects_by[finish]["no-effect"]
        again = second[i] + (book.patch_minutes if plan.second else 0.0)
        minutes += p * (first[i] + failing * (again - fallback))
    return minutes / 60


def _moves(other: Prediction, shares: Shares, fails: Sequence[tuple[int, float]]) -> bool:
    """Whether a remover is worth a try on the finishes on which the first one fails."""
    total = sum(p for _, p in fails)
    moved = sum(p * takes_off(other.effects_by[f]) for (_, f, _), (_, p) in zip(shares, fails, strict=True))
    return moved >= WORTH_A_TRY * total


def _by_the_book(remover: str, finish: str, tables: Tables) -> float:
    """The chance that it takes this finish off by the book: a trial that worked here says that this film goes, not every."""
    return takes_off(effects_on(finish, remover, tables))


def _enemies(first: Prediction, second: Prediction, knowledge: Knowledge) -> bool:
    """Whether the two must not meet."""
    book = knowledge.removers
    return second.remover in book[first.remover].never_with or first.remover in book[second.remover].never_with


def _mean_cost(row: Sequence[float], weighted: Sequence[tuple[int, float]]) -> float:
    """Mean cost in minutes over finishes given by index and weight; plain mean if none of them weighs."""
    total = sum([p for _, p in weighted])
    if total <= 0:
        return sum(row) / len(row)
    return sum([p * row[i] for i, p in weighted]) / total


def _route(plan: Plan, hours: float, allowed: Sequence[Prediction], ground: Ground) -> Route:
    knowledge, first, second = ground.tables.knowledge, plan.first, plan.second
    possible = [f for f, p in ground.posterior.finishes.items() if p >= knowledge.decide.possible]
    setting = Setting(
        room=ground.room,
        flooded_hours=ground.flooded_hours,
        slow=ground.slow,
        finishes=possible,
        below=_below(first, allowed, ground),
        kept=told_kept(ground.kept, knowledge) if ground.kept else None,
    )
    stages = tree(first, second, setting, knowledge)
    covers = [f for f in possible if _by_the_book(first.remover, f, ground.tables) >= COVERED]
    return Route(
        remover=first.remover,
        then=second.remover if second else None,
        stages=stages,
        covers=sorted(covers, key=lambda f: (-ground.posterior.finishes[f], f)),
        expected_minutes=plan.minutes,
        expected_hours=hours,
        works=first.works,
        harm=first.harm,
        hazard=knowledge.removers[first.remover].hazard,
        litres=first.litres,
        litres_m2=(first.litres[0] / ground.weights.area_m2, first.litres[1] / ground.weights.area_m2),
        dry_hours=dry_hours(knowledge.removers[first.remover], ground.slow),
        cautions=list(dict.fromkeys(c for stage in stages for c in stage.cautions)),
    )


def _below(first: Prediction, allowed: Sequence[Prediction], ground: Ground) -> Below | None:
    """The film that probably lies below, and what takes it once it shows; None if there is hardly one."""
    if sum(ground.below.values()) < COVERED:
        return None
    finish = max(ground.below, key=lambda f: (ground.below[f], f))
    works = {p.remover: takes_off(p.effects_by[finish]) for p in allowed}
    if works[first.remover] >= COVERED:
        return Below(finish, first.remover)
    hazard = ground.tables.knowledge.removers
    best = min((r for r in works if works[r] >= COVERED), key=lambda r: (hazard[r].hazard, -works[r], r), default=None)
    return Below(finish, best)
