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
from ..knowledge.entries import EFFECTS, Effect
from ..removal.predict import Prediction, effects_on
from .costs import Weights, fallback_minutes, fixed_minutes, work_minutes

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
    predictions: Sequence[Prediction], posterior: Posterior, tables: Tables, weights: Weights
) -> list[Route]:
    """The best few routes, cheapest first; empty if everything is forbidden or nothing would work."""
    allowed = [p for p in predictions if p.allowed and p.works + 0.5 * p.effects["softens"] >= WORTH_A_TRY]
    shares = [(f, p) for f, p in posterior.finishes.items() if p >= 1e-3]
    rows = {p.remover: {f: effects_on(f, p.remover, tables) for f, _ in shares} for p in allowed}
    planned = []
    for first in allowed:
        second = _then(first, allowed, rows, shares, tables.knowledge, weights)
        minutes, hours = _expected(first, second, rows, shares, tables.knowledge, weights)
        planned.append((minutes, hours, first, second))
    planned.sort(key=lambda plan: (plan[0], plan[2].remover))
    return [_route(*plan, knowledge=tables.knowledge) for plan in planned[:MOST_ROUTES]]


Rows = dict[str, dict[str, dict[Effect, float]]]
Shares = Sequence[tuple[str, float]]


def _then(
    first: Prediction, allowed: Sequence[Prediction], rows: Rows, shares: Shares, knowledge: Knowledge, weights: Weights
) -> Prediction | None:
    """The best second remover for the finishes on which the first one fails."""
    failing = [(f, p * rows[first.remover][f]["no-effect"]) for f, p in shares]
    others = [p for p in allowed if p.remover != first.remover]
    return min(others, key=lambda p: (_single(p, rows, failing, knowledge, weights), p.remover), default=None)


def _single(prediction: Prediction, rows: Rows, shares: Shares, knowledge: Knowledge, weights: Weights) -> float:
    total = sum(p for _, p in shares)
    chances = rows[prediction.remover]
    work = 0.0
    for finish, p in shares:
        minutes = work_minutes(prediction, finish, knowledge, weights)
        work += p * sum(chances[finish][e] * minutes[e] for e in EFFECTS)
    return fixed_minutes(prediction, knowledge, weights) + work / total


def _expected(
    first: Prediction, second: Prediction | None, rows: Rows, shares: Shares, knowledge: Knowledge, weights: Weights
) -> tuple[float, float]:
    """Expected cost in minutes with all penalties, and expected hours of work alone."""
    chances = rows[first.remover]
    fails = [(f, p * chances[f]["no-effect"]) for f, p in shares]
    failing = sum(p for _, p in fails)
    work = 0.0
    for finish, p in shares:
        minutes = work_minutes(first, finish, knowledge, weights)
        work += p * sum(chances[finish][e] * minutes[e] for e in EFFECTS if e != "no-effect")
    after = fallback_minutes(knowledge, weights) if second is None else _single(second, rows, fails, knowledge, weights)
    hours = (work / weights.taste.time + failing * after) / 60 + knowledge.decide.patch_minutes / 60
    return fixed_minutes(first, knowledge, weights) + work + failing * after, hours


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
