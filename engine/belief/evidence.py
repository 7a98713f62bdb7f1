"""Answers, tried removers and outside knowledge as likelihoods, all in one form."""

from __future__ import annotations

from collections.abc import Iterator
from math import log
from statistics import NormalDist

from msgspec import Struct
from msgspec.structs import replace

from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..knowledge.entries import Reads
from ..piece.form import NOT_DONE, Surface, Tried, as_answer

# What a result told in plain words says of the four effects that a patch may have.
RESULT_EFFECTS: dict[str, dict[str, float]] = {
    "works": {"dissolves": 1.0, "lifts": 0.8, "softens": 0.05, "no-effect": 0.02},
    "lifts": {"dissolves": 0.3, "lifts": 1.0, "softens": 0.15, "no-effect": 0.02},
    "softens": {"dissolves": 0.1, "lifts": 0.3, "softens": 1.0, "no-effect": 0.1},
    "no-effect": {"dissolves": 0.02, "lifts": 0.04, "softens": 0.2, "no-effect": 1.0},
}
LEAST_SAID = 0.1  # of a try that was cut off at once
# Soft before the usual contact is over: on its way, and as likely to lift yet.
SOFT_SO_FAR: dict[str, float] = {"dissolves": 0.5, "lifts": 1.0, "softens": 1.0, "no-effect": 0.1}


class Evidence(Struct, frozen=True):
    """One piece of evidence: a test and how well each of its outcomes agrees with what was seen.

    `weights` maps outcome -> chance of the report given that outcome (1 for the one
    seen); `keeps` below 1 mixes in "it says nothing" for unsure answers and short tries.
    `name` is what the user would call it: the test id, or tried/REMOVER. Of a try, `minutes`
    is the contact that was told, and `sure` is `keeps` without what that contact makes of it.
    """

    name: str
    test: str
    seen: str
    weights: dict[str, float]
    keeps: float = 1.0
    sure: float = 1.0
    minutes: float | None = None

    @property
    def outcome(self) -> str:
        """The outcome that agrees best with what was seen."""
        return max(self.weights, key=lambda outcome: self.weights[outcome])


def evidence_of(surface: Surface, knowledge: Knowledge) -> list[Evidence]:
    """All that was seen on a surface, in the order given; tests that could not be done say nothing."""
    return [*_answers(surface, knowledge), *_tries(surface, knowledge)]


def answer_evidence(test: str, outcome: str, knowledge: Knowledge, sure: bool = True) -> Evidence:
    """One answer to one test."""
    keeps = 1.0 if sure else knowledge.belief.unsure_keeps
    return Evidence(test, test, outcome, {outcome: 1.0}, keeps, keeps)


def _answers(surface: Surface, knowledge: Knowledge) -> Iterator[Evidence]:
    for test, given in surface.tests.items():
        answer = as_answer(given)
        reads = _read_on_itself(test, answer.outcome, surface, knowledge)
        if reads is not None:
            keeps = 1.0 if answer.sure else knowledge.belief.unsure_keeps
            yield Evidence(test, reads.test, answer.outcome, dict.fromkeys(reads.outcomes, 1.0), keeps, keeps)
        elif answer.outcome != NOT_DONE:
            yield answer_evidence(test, answer.outcome, knowledge, answer.sure)


def _read_on_itself(test: str, outcome: str, surface: Surface, knowledge: Knowledge) -> Reads | None:
    """What an answer about the hidden face says where the surface is that face; None if nothing special.

    Nothing either where the other test was done itself, so that one look does not count twice.
    """
    entry = knowledge.tests.get(test)
    reads = entry.on_hidden.get(outcome) if entry and surface.hidden else None
    return None if reads is None or reads.test in surface.tests else reads


def as_trial(item: Evidence, knowledge: Knowledge) -> Evidence | None:
    """An answer as what it says of the remover that its test is done with; None if it says nothing of one."""
    entry = knowledge.tests.get(item.test)
    if entry is None or entry.trial is None:
        return None
    result = entry.trial.shows.get(item.outcome)
    if result is None:
        return None
    told = _told(Tried(remover=entry.trial.remover, result=result, minutes=entry.trial.minutes), knowledge)
    return replace(told, name=item.name, sure=item.keeps) if told else None


def _tries(surface: Surface, knowledge: Knowledge) -> Iterator[Evidence]:
    """One piece of evidence a remover: the longest try, and none where a patch test says it already."""
    longest: dict[str, Tried] = {}
    for tried in surface.tried:
        before = longest.get(tried.remover)
        if before is None or (tried.minutes or 0) >= (before.minutes or 0):
            longest[tried.remover] = tried
    told = (_told(tried, knowledge) for tried in longest.values())
    yield from (item for item in told if item and item.test not in surface.tests)


def _told(tried: Tried, knowledge: Knowledge) -> Evidence | None:
    """What a try says of the effects of its remover; None if nothing."""
    dwell = knowledge.removers[tried.remover].work.dwell_minutes
    soft = softening(tried.result, tried.minutes, dwell)
    weights = SOFT_SO_FAR if soft else RESULT_EFFECTS.get(tried.result)
    if weights is None:
        return None
    name, test = f"tried/{tried.remover}", f"{PATCH_PREFIX}{tried.remover}"
    told = Evidence(name, test, tried.result, weights, minutes=tried.minutes)
    return replace(told, keeps=said_by(told, dwell))


def softening(result: str, minutes: float | None, dwell: tuple[float, float]) -> bool:
    """Whether the film was soft when the usual contact was not yet over."""
    return result == "softens" and minutes is not None and minutes < dwell[1]


def said_by(tried: Evidence, dwell: tuple[float, float]) -> float:
    """What a try says for its time of contact: nothing moved says as much as the share that would have moved by then."""
    if tried.minutes is None or tried.seen != "no-effect":
        return 1.0
    return max(LEAST_SAID, _moved_by(tried.minutes, *dwell))


def _moved_by(minutes: float, low: float, high: float) -> float:
    """Share of times of contact that are over by then, lognormal with one in ten below `low` and one in ten above `high`."""
    if not 0 < low < high:
        return float(minutes >= high)
    spread = log(high / low) / (2 * NormalDist().inv_cdf(0.9))
    return NormalDist(log(low * high) / 2, spread).cdf(log(minutes)) if minutes > 0 else 0.0
