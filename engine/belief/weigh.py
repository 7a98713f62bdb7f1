"""What each answer did: weight of evidence, range of the result, fit, clashes.

Weight of evidence of an answer for a finish, in decibans, given all other answers:
    10 log10 ( odds(f | all) / odds(f | all but this one) )
(I. J. Good, Probability and the Weighing of Evidence, 1950.)

The range of a probability runs over: every band one step flatter, one step more
pointed, the prior flattened, and each answer in turn taken as unsure.

Fit compares how well the most probable finish explains the answers with how well it
explains its own typical answers: surprise = sum of (-10 log10 P(o | f) - expectation).
The answers are astray if they speak of no finish of the book: it is none of them, or the
spot does not speak for the film. Two answers clash if the model thinks them much rarer
together than apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import log10, sqrt

from msgspec import Struct

from .evidence import Evidence
from .posterior import Model, Posterior
from .tables import Tables, scaled
from .vectors import Vector

CLASH = 0.25
SURPRISED = 3.0
STEP_FLATTER, STEP_SHARPER = 0.65, 1.35


class Weighed(Struct, frozen=True):
    """Unscaled weights of the finishes, "none of these" last; for each answer those without it, and its pull.

    decibans: for each answer finish -> weight of evidence, of the finishes of the book.
    """

    evidence: list[Evidence]
    full: Vector
    without: list[Vector]
    decibans: list[dict[str, float]]


class Fit(Struct, frozen=True):
    """Whether the evidence is explained at all; clashes are pairs of evidence names, worst first.

    surprise_db: decibans that the answers are less likely than the most probable finish lets one expect.
    doubtful: name of the answer that surprises most, where something does not fit.
    astray: probability that the answers speak of no finish of the book, by the finish or by the spot.
    """

    ok: bool
    surprise_db: float
    clashes: list[tuple[str, str]]
    doubtful: str | None
    astray: float = 0.0


def weigh(model: Model, evidence: Sequence[Evidence]) -> Weighed:
    """Leave each answer out in turn."""
    prepared = model.prepared(evidence)
    full, without = prepared.weights(), prepared.each_left_out()
    return Weighed(list(evidence), full, without, [_pulls(model.finishes, full, rest) for rest in without])


def span(
    model: Model, weighed: Weighed, flatter: Model, sharper: Model, prior_only: Model
) -> dict[str, tuple[float, float]]:
    """finish -> (low, high) over the shifts named above."""
    full = weighed.full
    variants = [full, *(m.prepared(weighed.evidence).weights() for m in (flatter, sharper, prior_only))]
    half = model.tables.belief.unsure_keeps
    for item, rest in zip(weighed.evidence, weighed.without, strict=True):
        flat = (1 - half) * sum(item.weights.values()) / len(model.tables.likelihood(item.test))
        variants.append([half * a + flat * b for a, b in zip(full, rest, strict=True)])
    shares = [_book_shares(v) for v in variants]
    return {name: (min(s[i] for s in shares), max(s[i] for s in shares)) for i, name in enumerate(model.finishes)}


def fit(model: Model, posterior: Posterior, weighed: Weighed) -> Fit:
    """How well the evidence is explained, and which answers clash."""
    excess, variance = 0.0, 0.0
    worst: tuple[float, str | None] = (0.0, None)
    for item in weighed.evidence:
        row = _row_given(model.tables, item.test, posterior)
        chance = sum(w * row[o] for o, w in item.weights.items()) / max(item.weights.values())
        chance = item.keeps * min(chance, 1.0) + (1 - item.keeps)
        mean = sum(-p * 10 * log10(p) for p in row.values())
        spread = sum(p * (-10 * log10(p) - mean) ** 2 for p in row.values())
        surprise = -10 * log10(chance) - mean
        excess, variance = excess + surprise, variance + spread
        worst = max(worst, (surprise, item.name), key=lambda pair: pair[0])
    clashes = _clashes(model, weighed)
    far_off = variance > 0 and excess / sqrt(variance) > SURPRISED
    lost = astray(model, posterior)
    ok = not far_off and lost < 0.5
    return Fit(ok, round(excess, 2), clashes, worst[1] if (clashes or not ok) else None, lost)


def astray(model: Model, posterior: Posterior) -> float:
    """P(the finish is none of these, or the spot drowns every test): the two counted once where they meet.

    A finish of no book gives all outcomes alike, so under it nothing is learnt of the spot.
    """
    spot = sum(posterior.contamination[name] for name in model.tables.drowning)
    both = posterior.other * sum(model.over[model.tables.contaminations.index(n)] for n in model.tables.drowning)
    return posterior.other + spot - both


def _pulls(finishes: Sequence[str], full: Vector, rest: Vector) -> dict[str, float]:
    total, before = sum(full), sum(rest)
    return {
        name: 10 * log10((full[i] / (total - full[i])) / (rest[i] / (before - rest[i])))
        for i, name in enumerate(finishes)
    }


def _book_shares(weights: Vector) -> Vector:
    book = sum(weights[:-1])
    return [w / book for w in weights[:-1]]


def _row_given(tables: Tables, test: str, posterior: Posterior) -> dict[str, float]:
    """P(outcome) for the top finish, over the contaminations as now believed and the states as given.

    A spot that drowns every test is left out: what it explains, the finish does not.
    """
    index = tables.finishes.index(posterior.top)
    origins = tables.origin_likelihood(test)
    if origins:
        width = len(posterior.origins)
        by_origin = list(posterior.origins.values())
        return scaled(
            {
                o: sum(p * v for p, v in zip(by_origin, row[index * width : (index + 1) * width], strict=True))
                for o, row in origins.items()
            }
        )
    group = tables.group_of(test)
    states = len(tables.states_of(group))
    shares = tables.state_shares(group)[index * states : (index + 1) * states] if group else [1.0]
    over = [0.0 if name in tables.drowning else posterior.contamination[name] for name in tables.contaminations]
    start = index * len(over) * states
    weights = [c * s for c in over for s in shares]
    return scaled(
        {
            o: sum(w * v for w, v in zip(weights, row[start : start + len(weights)], strict=True))
            for o, row in tables.likelihood(test).items()
        }
    )


def _clashes(model: Model, weighed: Weighed) -> list[tuple[str, str]]:
    """Pairs rarer together than apart, among the answers that the others did not expect."""
    nothing = model.prepared([])
    base, full = sum(nothing.weights()), sum(weighed.full)
    alone = {item.name: sum(nothing.with_item(item)) / base for item in weighed.evidence}
    odd = [
        item
        for item, rest in zip(weighed.evidence, weighed.without, strict=True)
        if full / sum(rest) < 0.5 * alone[item.name]
    ]
    found: list[tuple[float, str, str]] = []
    for index, first in enumerate(odd):
        for second in odd[index + 1 :]:
            together = sum(model.prepared([first, second]).weights()) / base
            ratio = together / (alone[first.name] * alone[second.name])
            if ratio < CLASH:
                found.append((ratio, min(first.name, second.name), max(first.name, second.name)))
    return [(a, b) for _, a, b in sorted(found)[:3]]
