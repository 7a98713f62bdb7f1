"""Invented examinations walked to their end: which tests pay, and which lines of the tables decide."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from random import Random
from typing import Literal

from msgspec import Struct

from ..belief.evidence import Evidence, answer_evidence
from ..belief.posterior import Model
from ..belief.tables import ORIGINS
from ..belief.weigh import weigh
from ..deciding.costs import CostTable
from ..deciding.nexttest import worths
from ..examine import Examiner
from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..knowledge.entries import Context
from ..piece.form import Piece, Surface
from .imagined import Imagined

FIRM = ("standard", "museum", "trade")
Build = Literal["solid", "veneer"]
BUILDS: tuple[Build, ...] = ("solid", "veneer")
THIS_YEAR = 2025  # the contexts are of the past: a calendar would only change the findings


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


class Walks:
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


def spread_out(contexts: Sequence[Context], most: int) -> Iterator[Context]:
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
