"""What the knowledge as a whole can and cannot tell: the deep part of the check.

Four questions, all asked of invented surfaces that are drawn from the book itself:

pairs   with every test of the book done, how often would one finish still be taken for
        the other? Both are held equally likely, and answers are weighed by the whole
        model, so tests that read one hidden property do not count twice.
tests   walking examinations from many contexts, does a test ever save more on the
        removal than it costs?
rows    which lines of the tables move the posterior most and have no better source than
        a forum, a weak page, common practice or memory?
rules   which rules fire in none of the shipped cases?

The seed is fixed: same knowledge, same findings.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import log
from random import Random
from typing import Literal

from msgspec import Struct

from ..belief.evidence import Evidence, answer_evidence
from ..belief.posterior import Model
from ..belief.prior import Prior
from ..belief.tables import ORIGINS, Tables
from ..belief.weigh import weigh
from ..deciding.costs import CostTable
from ..deciding.nexttest import worths
from ..examine import Examiner
from ..piece.form import Piece, Surface
from .base import PATCH_PREFIX, Knowledge
from .entries import Context
from .imagined import Imagined

CONFUSED = 0.15  # two finishes that are mixed up as often as this are not told apart
FIRM = ("standard", "museum", "trade")
Build = Literal["solid", "veneer"]
BUILDS: tuple[Build, ...] = ("solid", "veneer")
THIS_YEAR = 2025  # the contexts are of the past: a calendar would only change the findings


class Pair(Struct, frozen=True, kw_only=True):
    """Two finishes that all tests together do not tell apart.

    confused: how often one would be taken for the other, 0.5 being a toss of a coin.
    best: the tests that separate them most, the best first.
    loses_minutes: what the mistake costs in the mean: each taken off as one would take off the other.
    """

    finishes: tuple[str, str]
    confused: float
    best: list[str]
    loses_minutes: float


class Idle(Struct, frozen=True, kw_only=True):
    """A test that never paid: the most that it saved anywhere, gross, against what it costs; minutes."""

    test: str
    saves_at_most: float
    costs: float


class Footing(Struct, frozen=True, kw_only=True):
    """A line of a test's table that decides much on weak ground.

    moves: by how much of the whole belief it moved an examination in the mean, 0 to 1.
    """

    test: str
    finishes: list[str]
    moves: float
    source: list[str]


class Deep(Struct, frozen=True, kw_only=True):
    """The findings of the deep check."""

    pairs: list[Pair]
    idle_tests: list[Idle]
    weak_rows: list[Footing]
    unused_rules: dict[str, list[str]]
    examinations: int


def deep(knowledge: Knowledge, cases: Sequence[Piece], draws: int = 60, contexts: int = 36) -> Deep:
    """All findings; `draws` surfaces a finish for the pairs, `contexts` of the book for the walks."""
    examiner = Examiner(knowledge, this_year=THIS_YEAR)
    walks = _Walks(examiner)
    for context in _spread_out(knowledge.priors.makers, contexts):
        walks.walk(context)
    return Deep(
        pairs=_pairs(examiner, draws),
        idle_tests=walks.idle(),
        weak_rows=walks.weak_rows(),
        unused_rules=_unused_rules(examiner, cases),
        examinations=walks.count,
    )


# ---------------------------------------------------------------- pairs


def _pairs(examiner: Examiner, draws: int) -> list[Pair]:
    tables, rng = examiner.tables, Random("pairs")
    tests = [name for name, test in examiner.knowledge.tests.items() if test.bands]
    taken_for = {f: _taken_for(f, tests, tables, draws, rng) for f in tables.finishes}
    costs = _plain_costs(examiner)
    found = []
    for first, second in combinations(tables.finishes, 2):
        confused = (taken_for[first][second] + taken_for[second][first]) / 2
        if confused >= CONFUSED:
            best = sorted(tests, key=lambda t: (-separation(t, first, second, tables), t))[:3]
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
    """Jeffreys' divergence in nats of what two finishes show in a test, hidden states summed out."""
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


# ---------------------------------------------------------------- walks


class _Walks:
    """Examinations walked to their end, on veneer and on solid wood, and what each test and row did in them."""

    most_tests = 6

    def __init__(self, examiner: Examiner) -> None:
        self.examiner = examiner
        self.count = 0
        self._rng = Random("walks")
        self._gross: dict[str, float] = {}
        self._net: dict[str, float] = {}
        self._cost: dict[str, float] = {}
        self._moved: dict[tuple[str, int], float] = {}

    def walk(self, context: Context) -> None:
        """One examination each on solid wood and veneer of a piece of this context."""
        for build in BUILDS:
            piece = _piece(context, build)
            done = self.examiner.examine(piece, piece.surfaces[0])
            cells = {
                (f, origin): p for f, row in done.prior.joint.items() for origin, p in zip(ORIGINS, row, strict=True)
            }
            finish, origin = self._rng.choices(list(cells), list(cells.values()))[0]
            surface = Imagined(finish, self.examiner.tables, self._rng, origin)
            self._examine(Model(self.examiner.tables, done.prior), done.costs, surface)

    def _examine(self, model: Model, costs: CostTable, surface: Imagined) -> None:
        evidence: list[Evidence] = []
        while len(evidence) < self.most_tests:
            found = [w for w in worths(model, evidence, costs, None) if not w.test.startswith(PATCH_PREFIX)]
            for worth in found:
                self._gross[worth.test] = max(self._gross.get(worth.test, 0.0), worth.saves + worth.costs)
                self._net[worth.test] = max(self._net.get(worth.test, worth.saves), worth.saves)
                self._cost[worth.test] = worth.costs
            if not found or found[0].saves <= 0:
                break
            evidence.append(answer_evidence(found[0].test, surface.show(found[0].test), model.tables.knowledge))
        self._credit(model, evidence)
        self.count += 1

    def _credit(self, model: Model, evidence: Sequence[Evidence]) -> None:
        """Each finish's part of what an answer moved goes to the line of the table that spoke of it."""
        full = _shares(model.prepared(evidence).weights())
        weighed = weigh(model, evidence)
        for item, rest in zip(weighed.evidence, weighed.without, strict=True):
            for finish, now, before in zip(model.finishes, full, _shares(rest), strict=True):
                index = row_of(item.test, finish, model.tables.knowledge)
                if index is not None:
                    key = (item.test, index)
                    self._moved[key] = self._moved.get(key, 0.0) + abs(now - before) / 2

    def idle(self) -> list[Idle]:
        """Tests that never paid, the nearest to paying first; not those that a rule asks for, for safety's sake."""
        rules = [rule for file in self.examiner.knowledge.rules.values() for rule in file.rules]
        asked = {rule.then.ask for rule in rules}
        rows = [
            Idle(test=test, saves_at_most=round(self._gross[test], 1), costs=round(self._cost[test], 1))
            for test, net in self._net.items()
            if net <= 0 and test not in asked
        ]
        return sorted(rows, key=lambda row: (-(row.saves_at_most - row.costs), row.test))

    def weak_rows(self) -> list[Footing]:
        """Lines with no firm source, those that move most first."""
        book = self.examiner.knowledge
        found = []
        for (test, index), moved in self._moved.items():
            row = book.tests[test].bands[index]
            if not any(_grade(source, book) in FIRM for source in row.source):
                share = round(moved / self.count, 4)
                found.append(Footing(test=test, finishes=row.finishes, moves=share, source=row.source))
        return sorted(found, key=lambda row: (-row.moves, row.test, row.finishes))


def row_of(test: str, finish: str, knowledge: Knowledge) -> int | None:
    """Which line of a test's table speaks of a finish: the last by its name, else the last by its family."""
    bands, family = knowledge.tests[test].bands, knowledge.finishes[finish].family
    by_name = [index for index, row in enumerate(bands) if finish in row.finishes]
    by_family = [index for index, row in enumerate(bands) if family in row.finishes]
    return next(reversed(by_name or by_family), None)


def _grade(source: str, knowledge: Knowledge) -> str:
    entry = knowledge.sources.get(source)
    return entry.grade if entry else "weak"


def _shares(weights: Sequence[float]) -> list[float]:
    book = sum(weights[:-1])
    return [w / book for w in weights[:-1]]


def _spread_out(contexts: Sequence[Context], most: int) -> Iterator[Context]:
    """At most so many contexts, evenly over the book."""
    step = max(len(contexts) / most, 1.0)
    return (contexts[int(i * step)] for i in range(min(most, len(contexts))))


def _piece(context: Context, build: Build) -> Piece:
    """An invented piece that fits a context."""
    first, last = context.years[0], min(context.years[1], THIS_YEAR)
    surface = Surface(name="face", wood=context.woods[0] if context.woods else "unknown", build=build)
    return Piece(
        piece="invented",
        made=f"{first}-{last}",
        region=context.regions[0] if context.regions else "unknown",
        style=context.styles[0] if context.styles else None,
        kind=context.kinds[0] if context.kinds else "unknown",
        surfaces=[surface],
    )


# ---------------------------------------------------------------- rules


def _unused_rules(examiner: Examiner, cases: Sequence[Piece]) -> dict[str, list[str]]:
    """file of rules -> ids of rules that fire in no case, in the order of the file."""
    fired: set[str] = set()
    for piece in cases:
        for surface in piece.surfaces:
            done = examiner.examine(piece, surface)
            fired |= {firing.rule.id for firing in done.firings}
            fired |= {rule for row in done.predictions for rule in row.rules}
    unused = {
        name: [rule.id for rule in file.rules if rule.id not in fired]
        for name, file in sorted(examiner.knowledge.rules.items())
    }
    return {name: rules for name, rules in unused.items() if rules}
