"""Simulated surfaces: truth drawn from the model itself or from a world that differs from it.

A world is a book to draw answers from. The tool under test never sees it; it keeps the
book that ships. Everything here is invented data and called so.

own         the book that ships
shifted     every word of every line of a test a step up or down the scale of words, by a coin; 20 such
            books in turn, since one alone may favour anybody
dependent   the hidden states pull twice as hard, and are alike in all groups of tests
noisy       one answer in ten is another than what the film shows
stranger    a finish that nobody holds possible: its answers are the book's, its chance is none
"""

from __future__ import annotations

import random
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import accumulate
from pathlib import Path
from typing import Any

import msgspec

from oldcoat import cases
from oldcoat.engine import read_piece
from oldcoat.engine.belief.prior import Prior, Setting, prior
from oldcoat.engine.belief.tables import ORIGINS, Tables
from oldcoat.engine.casebook.learn import setting_of
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import NOT_DONE, told_outcome

WORLDS = ("own", "shifted", "dependent", "noisy", "stranger")
NOISE = 0.10
BOOKS = 20
SETTINGS = [
    Setting(years=(1925, 1945), region="north-america", now=2026),
    Setting(years=(1946, 1969), region="north-america", kind="table", now=2026),
    Setting(years=(1950, 1979), region="scandinavia", wood="teak", now=2026),
    Setting(years=(1950, 1979), region="britain", now=2026),
    Setting(years=(1880, 1915), region="north-america", wood="oak", now=2026),
    Setting(years=(1830, 1900), region="britain", wood="mahogany", now=2026),
    Setting(years=(1970, 1995), region="north-america", now=2026),
    Setting(years=(1990, 2015), now=2026),
    Setting(years=(1900, 1977), kind="chair", now=2026),
    Setting(now=2026),
]


def stepped_book(knowledge: Knowledge, seed: int) -> Knowledge:
    """The book with each word of a test, told or not, moved to a neighbour on its scale; an end may stay."""
    rng, bands = random.Random(seed), knowledge.belief.bands
    scale = sorted(bands, key=lambda word: bands[word])

    def moved(row: Any, outcomes: Sequence[str]) -> Any:
        steps = {o: scale.index(row.gives.get(o, knowledge.belief.unlisted)) + rng.choice((-1, 1)) for o in outcomes}
        return msgspec.structs.replace(row, gives={o: scale[min(max(n, 0), len(scale) - 1)] for o, n in steps.items()})

    tests = {}
    for name, test in knowledge.tests.items():
        outcomes = knowledge.outcomes_of(name)
        tests[name] = msgspec.structs.replace(
            test,
            bands=[moved(row, outcomes) for row in test.bands],
            origin_bands=[moved(row, outcomes) for row in test.origin_bands],
        )
    return msgspec.structs.replace(knowledge, tests=tests)


def tables_of(world: str, knowledge: Knowledge, seed: int) -> Tables:
    """The tables that a world draws its answers from."""
    if world == "shifted":
        return Tables(stepped_book(knowledge, seed))
    if world == "dependent":
        groups = {
            name: msgspec.structs.replace(
                group, states={s: msgspec.structs.replace(row, tilt=2 * row.tilt) for s, row in group.states.items()}
            )
            for name, group in knowledge.belief.groups.items()
        }
        belief = msgspec.structs.replace(knowledge.belief, groups=groups)
        return Tables(msgspec.structs.replace(knowledge, belief=belief))
    return Tables(knowledge)


@dataclass
class Subject:
    """One simulated surface: its setting, its truth, and the answers it gives when asked."""

    setting: Setting
    prior: Prior
    truth: str
    rng: random.Random
    tables: Tables
    world: str
    contamination: int
    origin: int
    states: dict[str, int]
    given: dict[str, str] = field(default_factory=dict)

    def answer(self, test: str) -> str:
        """What the test shows here; the same test asked again shows the same."""
        if test not in self.given:
            self.given[test] = self._draw(test)
        return self.given[test]

    def told(self, tests: Sequence[str]) -> dict[str, str]:
        """The answers to these tests, as far as this surface has them."""
        return {test: self.answer(test) for test in tests}

    def _draw(self, test: str) -> str:
        shown = self._shown(test)
        if self.world == "noisy" and self.rng.random() < NOISE:
            return self.rng.choice([o for o in self.tables.knowledge.outcomes_of(test) if o != shown])
        return shown

    def _shown(self, test: str) -> str:
        outcomes = self.tables.knowledge.outcomes_of(test)
        origin = self.tables.origin_likelihood(test)
        if origin:
            return self.rng.choices(
                outcomes,
                [origin[o][self.tables.finishes.index(self.truth) * len(ORIGINS) + self.origin] for o in outcomes],
            )[0]
        group = self.tables.group_of(test)
        index = self.tables.finishes.index(self.truth) * len(self.tables.contaminations) + self.contamination
        cell = index * len(self.tables.states_of(group)) + (self.states[group] if group else 0)
        table = self.tables.likelihood(test)
        return self.rng.choices(outcomes, [table[o][cell] for o in outcomes])[0]


@dataclass
class Reference(Subject):
    """A surface of the literature: it has the answers that the source tells, and no others."""

    def told(self, tests: Sequence[str]) -> dict[str, str]:
        """What the source tells of these tests, and of all others too."""
        return dict(self.given)


def reference(knowledge: Knowledge) -> list[Subject]:
    """Every confirmed surface of the shipped reference cases, without its tries and what was known of it."""
    tables = Tables(knowledge)
    found: list[Subject] = []
    for path in sorted((Path(cases.__file__).parent / "reference").glob("*.yaml")):
        piece = read_piece(path, knowledge)
        for surface in piece.surfaces:
            if surface.confirmed is None:
                continue
            setting = setting_of(piece, surface)
            answers = {t: told_outcome(a) for t, a in surface.tests.items() if told_outcome(a) != NOT_DONE}
            found.append(
                Reference(
                    setting=setting,
                    prior=prior(setting, knowledge),
                    truth=surface.confirmed.finish,
                    rng=random.Random(0),
                    tables=tables,
                    world="reference",
                    contamination=0,
                    origin=0,
                    states={},
                    given={t: o for t, o in answers.items() if t in knowledge.tests},
                )
            )
    return found


def draw(world: str, knowledge: Knowledge, count: int, seed: int = 1) -> list[Subject]:
    """`count` simulated surfaces of a world."""
    rng = random.Random(f"{world}/{seed}")
    books = [tables_of(world, knowledge, 100 * seed + n) for n in range(BOOKS if world == "shifted" else 1)]
    priors = {i: prior(s, knowledge) for i, s in enumerate(SETTINGS)}
    shares = [knowledge.belief.contamination[c].share for c in books[0].contaminations]
    return [_one(world, books[n % len(books)], priors, shares, rng) for n in range(count)]


def _one(world: str, tables: Tables, priors: dict[int, Prior], shares: list[float], rng: random.Random) -> Subject:
    which = rng.randrange(len(SETTINGS))
    cells = [(f, r, priors[which].joint[f][r]) for f in tables.finishes for r in range(len(ORIGINS))]
    truth, origin, _ = rng.choices(cells, [c[2] for c in cells])[0]
    states, likeness = {}, rng.random()
    for group in tables.groups:
        names = tables.states_of(group)
        start = tables.finishes.index(truth) * len(names)
        shares_here = tables.state_shares(group)[start : start + len(names)]
        states[group] = _state(tables, group, shares_here, likeness if world == "dependent" else rng.random())
    return Subject(
        setting=SETTINGS[which],
        prior=without(truth, priors[which]) if world == "stranger" else priors[which],
        truth=truth,
        rng=random.Random(rng.random()),
        tables=tables,
        world=world,
        contamination=rng.choices(range(len(shares)), shares)[0],
        origin=origin,
        states=states,
    )


def _state(tables: Tables, group: str, shares: Sequence[float], at: float) -> int:
    """The state of a group at this point (0 to 1) of its states in rising order of tilt."""
    tilts = [tables.belief.groups[group].states[name].tilt for name in tables.states_of(group)]
    order = sorted(range(len(tilts)), key=lambda n: tilts[n])
    ends = list(accumulate(shares[n] for n in order))
    return order[min(bisect_right(ends, at * ends[-1]), len(order) - 1)]


def without(finish: str, start: Prior) -> Prior:
    """What remains if one finish is held impossible."""
    rest = 1 - sum(start.joint[finish])
    joint = {f: (a / rest, b / rest, c / rest) for f, (a, b, c) in start.joint.items()}
    return Prior(joint | {finish: (0.0, 0.0, 0.0)}, start.maker, start.contexts)
