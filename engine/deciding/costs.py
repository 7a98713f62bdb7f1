"""The expected cost of removing a film with one remover, in minutes of the user's time.

    cost(f, r) = patch + hazard(r) + harm(r) damage A + money(r) + sum_e P(e | f, r) time(e)

where time(e) is the hours of work divided by how much of the work that effect saves,
and never more than working on and then doing the rest another way. Alone, the other way
is to cut the film away. In truth a patch that fails sends one to the next remover and not
to the sander, so what a test can save is reckoned with the best next attempt,

    rest(f, r) = min(cutting it away, min_{q != r} cost_alone(f, q))

which takes for granted that a failure, and what was seen, tell which next one to try: a
lower bound of what a wrong choice costs. All weights are in knowledge/decide.yaml and
are the user's to overlay.
"""

from __future__ import annotations

from collections.abc import Sequence
from operator import mul

from msgspec import Struct

from ..belief.tables import Tables
from ..knowledge.base import Knowledge
from ..knowledge.entries import EFFECTS, Taste
from ..removal.predict import Prediction


class Weights(Struct, frozen=True, kw_only=True):
    """What the user minds, and how large the surface is, in square metres."""

    taste: Taste
    area_m2: float


class CostTable(Struct, frozen=True):
    """cost[remover][finish index], the last finish being "none of these"; minutes.

    `rows`: with the best next attempt where a remover fails; `alone`: with cutting the film away there.
    """

    removers: list[str]
    rows: list[list[float]]
    alone: list[list[float]] = []

    def best(self, weights: Sequence[float]) -> tuple[float, int]:
        """Least expected cost times the sum of `weights`, and which remover gives it."""
        totals = [sum(map(mul, weights, row)) for row in self.rows]
        index = min(range(len(totals)), key=totals.__getitem__)
        return totals[index], index


def cost_table(predictions: Sequence[Prediction], tables: Tables, weights: Weights) -> CostTable:
    """Costs in minutes of every remover that nothing forbids, by the formulas at the head of this module."""
    allowed = [p for p in predictions if p.allowed]
    cutting = fallback_minutes(tables.knowledge, weights)
    alone = [_row(p, tables, weights, [cutting] * len(tables.finishes)) for p in allowed]
    rows = [_row(p, tables, weights, _next_attempt(alone, n, cutting)) for n, p in enumerate(allowed)]
    return CostTable([p.remover for p in allowed], rows, alone)


def _next_attempt(alone: Sequence[Sequence[float]], failed: int, cutting: float) -> list[float]:
    """Minutes by finish of what one turns to when one remover has failed."""
    others = [row for n, row in enumerate(alone) if n != failed]
    return [min(costs) for costs in zip([cutting] * len(alone[failed]), *others, strict=True)]


def fallback_minutes(knowledge: Knowledge, weights: Weights) -> float:
    """Minutes for cutting the film away when nothing else works, its harm to the wood included."""
    book = knowledge.decide
    return weights.area_m2 * (
        book.fallback_minutes_m2 * weights.taste.time + book.fallback_harm * book.damage_minutes * weights.taste.harm
    )


def fixed_minutes(prediction: Prediction, knowledge: Knowledge, weights: Weights) -> float:
    """Minutes that a remover costs whatever the film is: patch, hazard, harm, material, watching it dwell, waiting."""
    book, taste, remover = knowledge.decide, weights.taste, knowledge.removers[prediction.remover]
    waits = sum(prediction.dwell_minutes) / 2 / 60 + sum(remover.work.dry_hours) / 2
    return (
        book.patch_minutes * taste.time
        + book.hazard_minutes[remover.hazard] * taste.hazard
        + prediction.harm * book.damage_minutes * weights.area_m2 * taste.harm
        + sum(prediction.cost) / 2 * book.minutes_per_money * taste.money
        + min(book.watch_share * sum(prediction.dwell_minutes) / 2, book.watch_most_minutes) * taste.time
        + waits * book.wait_minutes_an_hour * taste.time
    )


def plain_minutes(prediction: Prediction, tables: Tables, area_m2: float) -> list[float]:
    """Minutes of work by finish, nothing weighed: the work it saves, or cutting the film away where it fails."""
    fallback = tables.knowledge.decide.fallback_minutes_m2 * area_m2
    return _work(prediction, tables, [fallback] * len(tables.finishes))


def _row(prediction: Prediction, tables: Tables, weights: Weights, rest: Sequence[float]) -> list[float]:
    """Cost by finish; `rest`: minutes by finish of doing what the remover leaves undone."""
    fixed = fixed_minutes(prediction, tables.knowledge, weights)
    row = [fixed + work for work in _work(prediction, tables, rest, weights.taste.time)]
    return [*row, sum(row) / len(row)]


def _work(prediction: Prediction, tables: Tables, rest: Sequence[float], minded: float = 1.0) -> list[float]:
    """Expected work by finish, each minute with it counted `minded` times: never more than working on and then `rest`."""
    saves = [(e, tables.knowledge.decide.works_by_effect[e]) for e in EFFECTS]
    found = []
    for finish, left in zip(tables.finishes, rest, strict=False):  # `rest` may end in "none of these"
        active, chances = prediction.minutes_on[finish] * minded, prediction.effects_by[finish]
        most = active + left
        found.append(sum([chances[e] * (min(active / s, most) if s > 0 else left) for e, s in saves]))
    return found
