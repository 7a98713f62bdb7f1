"""The expected cost of removing a film with one remover, in minutes of the user's time.

    cost(f, r) = patch + hazard(r) + harm(r) damage A + money(r) + sum_e P(e | f, r) time(e)

where time(e) is the hours of work divided by how much of the work that effect saves,
and never more than working on and then falling back to cutting the film away. All
weights are in knowledge/decide.yaml and are the user's to overlay.
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
    """What the user minds, and how large the surface is."""

    taste: Taste
    area_m2: float


class CostTable(Struct, frozen=True):
    """cost[remover][finish index], the last finish being "none of these"; minutes."""

    removers: list[str]
    rows: list[list[float]]

    def best(self, weights: Sequence[float]) -> tuple[float, int]:
        """Least expected cost times the sum of `weights`, and which remover gives it."""
        totals = [sum(map(mul, weights, row)) for row in self.rows]
        index = min(range(len(totals)), key=totals.__getitem__)
        return totals[index], index


def cost_table(predictions: Sequence[Prediction], tables: Tables, weights: Weights) -> CostTable:
    """Costs of every remover that nothing forbids."""
    allowed = [p for p in predictions if p.allowed]
    return CostTable([p.remover for p in allowed], [_row(p, tables, weights) for p in allowed])


def fallback_minutes(knowledge: Knowledge, weights: Weights) -> float:
    """Minutes for cutting the film away when nothing else works, its harm to the wood included."""
    book = knowledge.decide
    return weights.area_m2 * (
        book.fallback_minutes_m2 * weights.taste.time + book.fallback_harm * book.damage_minutes * weights.taste.harm
    )


def fixed_minutes(prediction: Prediction, knowledge: Knowledge, weights: Weights) -> float:
    """What a remover costs whatever the film is: patch, hazard, harm, material, watching it dwell."""
    book, taste = knowledge.decide, weights.taste
    hazard = knowledge.removers[prediction.remover].hazard
    return (
        book.patch_minutes * taste.time
        + book.hazard_minutes[hazard] * taste.hazard
        + prediction.harm * book.damage_minutes * weights.area_m2 * taste.harm
        + sum(prediction.cost) / 2 * book.minutes_per_money * taste.money
        + min(book.watch_share * sum(prediction.dwell_minutes) / 2, book.watch_most_minutes) * taste.time
    )


def plain_minutes(prediction: Prediction, tables: Tables, area_m2: float) -> list[float]:
    """Minutes of work by finish, nothing weighed: the work it saves, or cutting the film away where it fails."""
    book = tables.knowledge.decide
    fallback = book.fallback_minutes_m2 * area_m2
    saves = [(e, book.works_by_effect[e]) for e in EFFECTS]
    rows = []
    for finish in tables.finishes:
        active, chances = prediction.minutes_on[finish], prediction.effects_by[finish]
        rows.append(sum([chances[e] * (min(active / s, active + fallback) if s > 0 else fallback) for e, s in saves]))
    return rows


def _row(prediction: Prediction, tables: Tables, weights: Weights) -> list[float]:
    knowledge = tables.knowledge
    fixed = fixed_minutes(prediction, knowledge, weights)
    fallback = fallback_minutes(knowledge, weights)
    saves = [(e, knowledge.decide.works_by_effect[e]) for e in EFFECTS]
    row = []
    for finish in tables.finishes:
        active = prediction.minutes_on[finish] * weights.taste.time
        chances, most = prediction.effects_by[finish], active + fallback
        row.append(fixed + sum(chances[e] * (min(active / s, most) if s > 0 else fallback) for e, s in saves))
    return [*row, sum(row) / len(row)]
