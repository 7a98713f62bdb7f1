"""A route: a trial patch, the coats, what to look for, when to stop, and what then.

A route is a small tree: the first remover, and the one to turn to if it fails, chosen
for the finishes that would make the first one fail. Routes are ranked by expected cost
over the posterior, with the user's weights.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from ..belief.posterior import Posterior
from ..belief.tables import Tables
from ..knowledge.base import Knowledge
from ..knowledge.entries import EFFECTS
from ..removal.predict import Prediction, effects_on
from .costs import CostTable, Weights, fallback_minutes, fixed_minutes, work_minutes

MOST_ROUTES = 4
WORTH_A_TRY = 0.15


class Stage(Struct, frozen=True, kw_only=True):
    """One step of a route: what to do, with what, for how long, what to look for."""

    kind: str
    text: str
    remover: str | None = None
    minutes: tuple[float, float] = (0.0, 0.0)
    cautions: list[str] = []


class Route(Struct, frozen=True, kw_only=True):
    """A ranked way to take the finish off one surface."""

    remover: str
    then: str | None
    stages: list[Stage]
    expected_minutes: float
    expected_hours: float
    works: float
    harm: float
    hazard: int
    litres: tuple[float, float]
    dry_hours: tuple[float, float]
    cautions: list[str]


def rank_routes(
    predictions: Sequence[Prediction], posterior: Posterior, costs: CostTable, tables: Tables, weights: Weights
) -> list[Route]:
    """The best few routes, cheapest first; empty if everything is forbidden or nothing would work."""
    rows = dict(zip(costs.removers, costs.rows, strict=True))
    allowed = [p for p in predictions if p.allowed and p.works + 0.5 * p.effects["softens"] >= WORTH_A_TRY]
    shares = [(i, f, posterior.finishes[f]) for i, f in enumerate(tables.finishes) if posterior.finishes[f] >= 1e-3]
    planned = []
    for first in allowed:
        fails = [(i, p * effects_on(f, first.remover, tables)["no-effect"]) for i, f, p in shares]
        failing = sum(p for _, p in fails)
        others = [p for p in allowed if p.remover != first.remover]
        second = min(others, key=lambda p: (_mean_cost(rows[p.remover], fails), p.remover), default=None)
        after = _mean_cost(rows[second.remover], fails) if second else fallback_minutes(tables.knowledge, weights)
        work = _work(first, shares, tables, weights)
        hours = (work / weights.taste.time + failing * after + tables.knowledge.decide.patch_minutes) / 60
        minutes = fixed_minutes(first, tables.knowledge, weights) + work + failing * after
        planned.append((minutes, hours, first, second))
    planned.sort(key=lambda plan: (plan[0], plan[2].remover))
    return [_route(*plan, knowledge=tables.knowledge) for plan in planned[:MOST_ROUTES]]


def _mean_cost(row: Sequence[float], weighted: Sequence[tuple[int, float]]) -> float:
    """Mean cost in minutes over finishes given by index and weight."""
    total = sum(p for _, p in weighted)
    return sum(p * row[i] for i, p in weighted) / total


def _work(first: Prediction, shares: Sequence[tuple[int, str, float]], tables: Tables, weights: Weights) -> float:
    """Expected minutes of work while the first remover does anything."""
    work = 0.0
    for _, finish, p in shares:
        minutes = work_minutes(first, finish, tables.knowledge, weights)
        chances = effects_on(finish, first.remover, tables)
        work += p * sum(chances[e] * minutes[e] for e in EFFECTS if e != "no-effect")
    return work


def _route(
    minutes: float, hours: float, first: Prediction, second: Prediction | None, *, knowledge: Knowledge
) -> Route:
    remover = knowledge.removers[first.remover]
    stages = [*_stages(first, knowledge)]
    if second is not None:
        stages.append(_turn(first, second, knowledge))
    stages.append(_last())
    cautions = list(dict.fromkeys(c for stage in stages for c in stage.cautions))
    return Route(
        remover=first.remover,
        then=second.remover if second else None,
        stages=stages,
        expected_minutes=minutes,
        expected_hours=hours,
        works=first.works,
        harm=first.harm,
        hazard=remover.hazard,
        litres=first.litres,
        dry_hours=remover.work.dry_hours,
        cautions=cautions,
    )


def _stages(first: Prediction, knowledge: Knowledge) -> list[Stage]:
    remover = knowledge.removers[first.remover]
    name, look = remover.name, _look(first)
    dwell = _minutes(first.dwell_minutes)
    patch = f"Trial patch of {name}, 5 x 5 cm, on a hidden spot: {dwell}. Go on only if {look}."
    work = f"{remover.how} Look after {_minutes(first.dwell_minutes)}; expect {_count(first.coats)}."
    return [
        Stage(kind="patch", text=patch, remover=first.remover, minutes=first.dwell_minutes, cautions=remover.cautions),
        Stage(kind="coats", text=work, remover=first.remover, minutes=first.dwell_minutes, cautions=remover.cautions),
        Stage(kind="after", text=f"{remover.after} {remover.residue}", remover=first.remover),
    ]


def _turn(first: Prediction, second: Prediction, knowledge: Knowledge) -> Stage:
    one, two = knowledge.removers[first.remover], knowledge.removers[second.remover]
    limit = max(2, round(first.coats[1]))
    text = f"If nothing moves after {limit} coats of {one.name}, stop: write it down as tried, then patch {two.name} ({_minutes(second.dwell_minutes)})."
    return Stage(kind="if-not", text=text, remover=second.remover, minutes=second.dwell_minutes, cautions=two.cautions)


def _last() -> Stage:
    return Stage(
        kind="stop",
        text="If that fails too, stop and test again: the film is not what it seemed, or there is another under it.",
    )


def _look(prediction: Prediction) -> str:
    if prediction.effects["dissolves"] >= prediction.effects["lifts"]:
        return "the film turns liquid and wipes off"
    return "the film wrinkles and lifts under a scraper"


def _minutes(span: tuple[float, float]) -> str:
    low, high = span
    if high < 90:
        return f"{max(1, round(low))}-{max(2, round(high))} min"
    return f"{low / 60:.1f}-{high / 60:.1f} h"


def _count(span: tuple[float, float]) -> str:
    low, high = round(span[0]), round(span[1])
    return f"{low} coat{'s' if low != 1 else ''}" if low == high else f"{low} to {high} coats"
