"""What a remover does to a finish: as the book and the cases have it, and as it showed on this very face."""

from __future__ import annotations

from collections.abc import Sequence

from ..belief.evidence import Evidence
from ..belief.tables import Tables, scaled
from ..knowledge.base import PATCH_PREFIX
from ..knowledge.entries import EFFECTS, Effect

Effects = dict[Effect, float]


def effects_on(finish: str, remover: str, tables: Tables) -> Effects:
    """P(effect | finish) of one remover, with what the casebook adds."""
    row = tables.base_row(f"{PATCH_PREFIX}{remover}", finish)
    return {effect: row[effect] if row else 1 / len(EFFECTS) for effect in EFFECTS}


def after_trials(effects: Effects, trials: Sequence[Evidence], slip: float) -> Effects:
    """P(effect | finish, what it did here): the same again, as far as the trial was sure and long enough.

    Bayes on each effect, P(e) w(e) / sum, mixed with P(e) by how much the trial counts;
    `slip` is the chance that what was told is simply wrong.
    """
    for trial in trials:
        seen = scaled({e: effects[e] * trial.weights.get(e, 0.0) for e in EFFECTS})
        keeps = trial.keeps * (1 - slip)
        effects = {e: keeps * seen[e] + (1 - keeps) * effects[e] for e in EFFECTS}
    return effects
