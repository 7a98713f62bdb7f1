"""Pairs of finishes that all tests together do not tell apart.

Both are held equally likely, and answers are weighed by the whole model, so tests that
read one hidden property do not count twice.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import log
from random import Random

from msgspec import Struct

from ..belief.evidence import answer_evidence
from ..belief.posterior import Model
from ..belief.prior import Prior
from ..belief.tables import ORIGINS, Tables
from ..deciding.costs import CostTable
from ..examine import Examiner
from ..knowledge.base import PATCH_PREFIX
from ..piece.form import Piece, Surface
from .imagined import Imagined

CONFUSED = 0.15  # two finishes that are mixed up as often as this are not told apart


class Pair(Struct, frozen=True, kw_only=True):
    """Two finishes that all tests together do not tell apart.

    confused: how often one would be taken for the other by all tests of the book, 0.5
        being a toss of a coin; trial patches of removers are not counted among them.
    best: the tests and trial patches that separate them most, the best first.
    loses_minutes: what the mistake costs in the mean: each taken off as one would take off the other.
    """

    finishes: tuple[str, str]
    confused: float
    best: list[str]
    loses_minutes: float


def pairs(examiner: Examiner, draws: int) -> list[Pair]:
    """The pairs that are mixed up most, from `draws` invented surfaces of each finish; the worst first."""
    tables, rng = examiner.tables, Random("pairs")
    tests = [name for name, test in examiner.knowledge.tests.items() if test.bands]
    tried = [*tests, *(f"{PATCH_PREFIX}{name}" for name in examiner.knowledge.removers)]
    taken_for = {f: _taken_for(f, tests, tables, draws, rng) for f in tables.finishes}
    costs = _plain_costs(examiner)
    found = []
    for first, second in combinations(tables.finishes, 2):
        confused = (taken_for[first][second] + taken_for[second][first]) / 2
        if confused >= CONFUSED:
            best = sorted(tried, key=lambda t: (-separation(t, first, second, tables), t))[:3]
            lost = _loss(costs, tables.finishes.index(first), tables.finishes.index(second))
            found.append(Pair(finishes=(first, second), confused=round(confused, 3), best=best, loses_minutes=lost))
    return sorted(found, key=lambda pair: (-pair.confused, pair.finishes))


def _taken_for(finish: str, tests: Sequence[str], tables: Tables, draws: int, rng: Random) -> dict[str, float]:
    """other finish -> how often it would outweigh the true one, with every test done."""
    model = Model(tables, _level(tables))
    lost = dict.fromkeys(tables.finishes, 0.0)
    for _ in range(draws):
        surface = Imagined(finish, tables, rng)
        chances = model.posterior([answer_evidence(t, surface.show(t), tables.knowledge) for t in tests]).finishes
        for other, chance in chances.items():
            ratio = chance / chances[finish]
            lost[other] += 1.0 if ratio > 1.0001 else 0.5 if ratio > 0.9999 else 0.0
    return {f: count / draws for f, count in lost.items()}


def separation(test: str, first: str, second: str, tables: Tables) -> float:
    """Jeffreys' divergence in nats of what two finishes show in a test, hidden states summed out.

    (H. Jeffreys, Proc. R. Soc. A 186, 1946.) Raises ValueError for a finish that is not in the tables.
    """
    one, two = _shown(test, first, tables), _shown(test, second, tables)
    return sum((one[o] - two[o]) * log(one[o] / two[o]) for o in one)


def _shown(test: str, finish: str, tables: Tables) -> dict[str, float]:
    """P(outcome | finish, the maker's), over contaminations and states as the book has them."""
    origins = tables.origin_likelihood(test)
    if origins:
        return {o: row[tables.finishes.index(finish) * len(ORIGINS)] for o, row in origins.items()}
    group = tables.group_of(test)
    index, width = tables.finishes.index(finish), len(tables.states_of(group))
    states = tables.state_shares(group)[index * width : (index + 1) * width] if group else [1.0]
    weights = [tables.belief.contamination[c].share * s for c in tables.contaminations for s in states]
    start = index * len(weights)
    return {
        o: sum(w * p for w, p in zip(weights, row[start : start + len(weights)], strict=True))
        for o, row in tables.likelihood(test).items()
    }


def _level(tables: Tables) -> Prior:
    """Every finish as likely as any other, as the maker left it."""
    share = 1 / len(tables.finishes)
    return Prior(dict.fromkeys(tables.finishes, (share, 0.0, 0.0)), dict.fromkeys(tables.finishes, share), [])


def _plain_costs(examiner: Examiner) -> CostTable:
    """What removal costs on a plain solid face of one square metre."""
    face = Surface(name="face", build="solid")
    return examiner.examine(Piece(piece="invented", surfaces=[face]), face).costs


def _loss(costs: CostTable, first: int, second: int) -> float:
    """Mean minutes lost by taking each of two finishes, given by index, for the other; 0 if nothing may be used."""
    if not costs.rows:
        return 0.0
    best_first, best_second = (min(costs.rows, key=lambda row: row[i]) for i in (first, second))
    lost = best_second[first] - best_first[first] + best_first[second] - best_second[second]
    return round(lost / 2, 1)
