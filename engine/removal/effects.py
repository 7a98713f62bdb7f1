"""What a remover does to a finish: as the book and the cases have it, and as this very face lets one expect.

A film that resisted one solvent resists the next one better than its name says: how readily
it still takes up a solvent is the hidden state that the tests on it share. So a prediction
is a mean over the states as they are believed,

    P(effect | finish, evidence) = sum_s P(s | finish, evidence) P(effect | finish, s)
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from ..belief.evidence import Evidence, as_trial, said_by
from ..belief.posterior import Posterior
from ..belief.tables import Row, Tables, scaled
from ..belief.vectors import Vector, folded, times
from ..knowledge.base import PATCH_PREFIX
from ..knowledge.entries import EFFECTS, Decide, Effect
from ..words import Span

Effects = dict[Effect, float]


def likeliest(effects: Effects) -> Effect:
    """The effect of the highest chance."""
    return max(EFFECTS, key=lambda e: effects[e])


def takes_off(effects: Effects) -> float:
    """The chance that the film comes off: it dissolves or lifts."""
    return effects["dissolves"] + effects["lifts"]


def work_saved(effects: Effects, book: Decide) -> float:
    """The share of the work that is expected to be saved, 0 to 1."""
    return sum(effects[e] * book.works_by_effect[e] for e in EFFECTS)


class Response(Struct, frozen=True):
    """P(effect | finish, state) of one remover: a list over finish x state for each of EFFECTS."""

    finishes: list[str]
    states: int
    rows: list[Vector]

    def expected(self, shares: Vector) -> dict[str, Effects]:
        """finish -> chance of each effect, given P(state | finish) over finish x state."""
        means = [folded(times(row, shares), self.states) for row in self.rows]
        return {f: dict(zip(EFFECTS, row, strict=True)) for f, *row in zip(self.finishes, *means, strict=True)}

    def after(self, trials: Sequence[Evidence], dwell: Mapping[str, Span], slip: float) -> Response:
        """The same once it was tried on this very face; `dwell`: the minutes that it takes on each finish here."""
        by_finish = [[replace(t, keeps=t.sure * said_by(t, dwell[f])) for t in trials] for f in self.finishes]
        cells = [dict(zip(EFFECTS, cell, strict=True)) for cell in zip(*self.rows, strict=True)]
        tried = [after_trials(cell, by_finish[n // self.states], slip) for n, cell in enumerate(cells)]
        return Response(self.finishes, self.states, [[cell[e] for cell in tried] for e in EFFECTS])


def response(remover: str, tables: Tables) -> Response:
    """What the book and the cases say of one remover on every finish, by the hidden state of the film."""
    test = f"{PATCH_PREFIX}{remover}"
    even: Row = dict.fromkeys(EFFECTS, 1 / len(EFFECTS))
    states = len(tables.states_of(tables.group_of(test)))
    cells: list[Row] = []
    for finish in tables.finishes:
        row = tables.base_row(test, finish)
        cells += tables.by_state(test, row) if row else [even] * states
    return Response(tables.finishes, states, [[cell[e] for cell in cells] for e in EFFECTS])


def trials_of(evidence: Sequence[Evidence], posterior: Posterior, tables: Tables) -> dict[str, list[Evidence]]:
    """remover -> what was seen of it on this very face: in patches and tries, or else in a test that is done with it.

    Each speaks of the film as far as nothing that may lie over it hid the film from the liquid.
    """
    tried: dict[str, list[Evidence]] = {}
    tested: dict[str, list[Evidence]] = {}
    for item in evidence:
        patched = item.test.startswith(PATCH_PREFIX)
        trial = item if patched else as_trial(item, tables.knowledge)
        if trial is not None:
            hidden = sum(posterior.contamination[name] * mask[0] for name, mask in tables.masks(item.test).items())
            trial = replace(trial, sure=trial.sure * (1 - hidden))
            (tried if patched else tested).setdefault(trial.test.removeprefix(PATCH_PREFIX), []).append(trial)
    return tested | tried


def state_shares(remover: str, tables: Tables, posterior: Posterior) -> Vector:
    """P(state | finish) over finish x state for what a remover reads, as believed; untested as the book has it."""
    group = tables.group_of(f"{PATCH_PREFIX}{remover}")
    if group is None:
        return [1.0] * len(tables.finishes)
    shares = posterior.states.get(group) or tables.state_shares(group)
    return shares[: len(tables.finishes) * len(tables.states_of(group))]


def effects_on(finish: str, remover: str, tables: Tables) -> Effects:
    """P(effect | finish) of one remover, with what the casebook adds; nothing known of this face."""
    test = f"{PATCH_PREFIX}{remover}"
    row = tables.base_row(test, finish)
    mean = tables.over_states(test, finish, row) if row else dict.fromkeys(EFFECTS, 1 / len(EFFECTS))
    return {effect: mean[effect] for effect in EFFECTS}


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
