"""Which test is worth doing next: expected saving on the removal against its own cost.

    loss(w)   = min_r E[cost(r)] + not_knowing (1 - max_f P(f))
    saving(t) = loss(now) - sum_o P(o) loss(after o) - cost(t)

one step ahead. The second term of the loss is what a wrong name costs beside the removal
(the wrong coat on top, a wrong word to the buyer); without it a remover that takes
anything off would end every examination before it began. cost(t) is the test's minutes,
eased by stage, plus what its mark costs. When no test has a saving above zero it is
time to stop.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from functools import partial

from msgspec import Struct, structs

from ..belief.evidence import Evidence
from ..belief.posterior import Model, Prepared
from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..knowledge.entries import Test
from ..reasoning.network import Firing
from .costs import CostTable

MOST_PATCHES = 2


class Worth(Struct, frozen=True):
    """One candidate test: what it is expected to save, net of its own cost, in minutes.

    `safety` says why it goes first, and `lacks` which of its tools are not at hand: what
    safety asks for is not dropped for want of them.
    """

    test: str
    saves: float
    costs: float
    splits: dict[str, float]
    safety: str = ""
    lacks: tuple[str, ...] = ()


def worths(
    model: Model,
    evidence: Sequence[Evidence],
    costs: CostTable,
    have: Sequence[str] | None,
    skip: frozenset[str] = frozenset(),
    asked: frozenset[str] = frozenset(),
) -> list[Worth]:
    """Every test that could be done now, and those `asked` for with tools or without, the most saving first."""
    if not costs.rows:
        return []
    knowledge = model.tables.knowledge
    prepared = model.prepared(evidence)
    now = prepared.weights()
    total = sum(now)
    before, best = _loss(now, costs, knowledge)
    done = {item.test for item in evidence} | skip
    stages = {stage_name(item.test, knowledge) for item in evidence}
    shown = {item.test: item.seen for item in evidence if item.sure >= 1.0}
    found = [
        _worth(test, partial(test_minutes, entry, knowledge), prepared, costs, total, before)
        for test, entry in knowledge.tests.items()
        if test not in done and (test in asked or _may_be_done(entry, have, stages, shown))
    ]
    found += [_patch(r, prepared, costs, total, before) for r in _patches(costs, best, done)]
    return sorted(found, key=lambda w: (-w.saves, w.test))


def asked_for(firings: Sequence[Firing]) -> dict[str, str]:
    """The tests that rules of safety ask for, and why."""
    return {f.rule.then.ask: f.rule.why for f in firings if f.rule.then.ask}


def safety_first(
    tests: Sequence[Worth], firings: Sequence[Firing], have: Sequence[str] | None, knowledge: Knowledge
) -> list[Worth]:
    """The tests that no rule bars; those that one asks for go first, worth what the gravest hazard costs besides."""
    asked = asked_for(firings)
    spared = knowledge.decide.hazard_minutes[-1]
    first = [
        structs.replace(w, saves=w.saves + spared, safety=asked[w.test], lacks=_lacks(w.test, have, knowledge))
        for w in tests
        if w.test in asked
    ]
    return [*first, *(w for w in tests if w.test not in asked and not barred(w.test, firings, knowledge))]


def barred(test: str, firings: Sequence[Firing], knowledge: Knowledge) -> str:
    """Why rules keep a test from being proposed here; empty if none does."""
    cautions = _cautions(test, knowledge)
    return next((f.rule.why for f in firings if cautions & set(f.rule.then.bars)), "")


def _cautions(test: str, knowledge: Knowledge) -> set[str]:
    entry = knowledge.tests.get(test)
    return set(entry.cautions) if entry else set()


def _loss(weights: Sequence[float], costs: CostTable, knowledge: Knowledge) -> tuple[float, int]:
    """The loss times the sum of `weights`, and the remover that gives it."""
    cost, best = costs.best(weights)
    return cost + knowledge.decide.not_knowing_minutes * (sum(weights) - max(weights)), best


def stage_name(test: str, knowledge: Knowledge) -> str:
    """How far a test goes, from looking to a trial patch."""
    return "patch" if test.startswith(PATCH_PREFIX) else knowledge.tests[test].stage


def test_minutes(test: Test, knowledge: Knowledge, splits: Mapping[str, float]) -> float:
    """What doing a test costs in minutes, eased by its stage, its mark included; of waiting a share counts.

    `splits`: the chance of each outcome; those that show before the last look end it then.
    """
    book = knowledge.decide
    early = [(o.id, test.wait_minutes - o.after_minutes) for o in test.outcomes if o.after_minutes is not None]
    waits = test.wait_minutes - sum(splits.get(outcome, 0.0) * spared for outcome, spared in early)
    minutes = test.minutes - test.wait_minutes + book.wait_share * waits
    return minutes * book.ease[test.stage] + book.mark_minutes[test.mark]


def patch_minutes(remover: str, knowledge: Knowledge) -> float:
    """What a trial patch costs: a fifth of its dwell is watched, and it leaves a mark."""
    dwell = knowledge.removers[remover].work.dwell_minutes[0]
    return knowledge.decide.patch_minutes + 0.2 * dwell + knowledge.decide.mark_minutes[2]


def _may_be_done(test: Test, have: Sequence[str] | None, stages: Collection[str], shown: Mapping[str, str]) -> bool:
    """Whether its tools are at hand and what it looks at is there to be seen."""
    if any(shown.get(other) in outcomes for other, outcomes in test.moot_after.items()):
        return False
    return (have is None or set(test.tools) <= set(have)) and (
        not test.only_after or not set(test.only_after).isdisjoint(stages)
    )


def _lacks(test: str, have: Sequence[str] | None, knowledge: Knowledge) -> tuple[str, ...]:
    return () if have is None else tuple(tool for tool in knowledge.tests[test].tools if tool not in have)


def _patches(costs: CostTable, best: int, done: set[str]) -> list[str]:
    """A patch of the best remover, and of the next: they are evidence and the start of the work."""
    order = [costs.removers[best], *(r for r in costs.removers if r != costs.removers[best])]
    return [r for r in order if f"{PATCH_PREFIX}{r}" not in done][:MOST_PATCHES]


def _worth(
    test: str,
    minutes: Callable[[Mapping[str, float]], float],
    prepared: Prepared,
    costs: CostTable,
    total: float,
    before: float,
) -> Worth:
    after, splits = 0.0, {}
    for outcome in prepared.model.tables.likelihood(test):
        weights = prepared.with_outcome(test, outcome)
        after += _loss(weights, costs, prepared.model.tables.knowledge)[0]
        splits[outcome] = sum(weights) / total
    own = minutes(splits)
    return Worth(test, (before - after) / total - own, own, splits)


def _patch(remover: str, prepared: Prepared, costs: CostTable, total: float, before: float) -> Worth:
    minutes = patch_minutes(remover, prepared.model.tables.knowledge)
    return _worth(f"{PATCH_PREFIX}{remover}", lambda _: minutes, prepared, costs, total, before)
