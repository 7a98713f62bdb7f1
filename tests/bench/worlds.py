"""Simulated surfaces: truth drawn from the model itself or from a world that differs from it.

A world is a set of tables to draw from. The tool under test never sees them; it keeps
the tables of the book. Everything here is invented data and called so.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import msgspec

from oldcoat import cases
from oldcoat.engine import read_piece
from oldcoat.engine.belief.prior import Prior, Setting, prior
from oldcoat.engine.belief.tables import ORIGINS, Row, Tables, scaled, stepped
from oldcoat.engine.casebook.learn import setting_of
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import NOT_DONE, told_outcome

WORLDS = ("own", "shifted", "dependent", "noisy", "stranger")
NOISE = 0.10
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


class ShiftedTables(Tables):
    """The book with every row one band step flatter or more pointed, at random, and jittered."""

    def __init__(self, knowledge: Knowledge, seed: int) -> None:
        super().__init__(knowledge)
        self.seed = seed

    def base_row(self, test: str, finish: str) -> Row | None:
        """The line of the book, moved."""
        row = super().base_row(test, finish)
        if row is None:
            return None
        rng = random.Random(f"{self.seed}/{test}/{finish}")
        moved = stepped(row, rng.choice([0.65, 1.0, 1.35]))
        return scaled({o: p * rng.lognormvariate(0, 0.35) for o, p in moved.items()})


def tables_of(world: str, knowledge: Knowledge, seed: int) -> Tables:
    """The tables that a world draws its answers from."""
    if world == "shifted":
        return ShiftedTables(knowledge, seed)
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
        outcomes = self.tables.knowledge.outcomes_of(test)
        if self.world == "stranger" or (self.world == "noisy" and self.rng.random() < NOISE):
            return random.Random(f"{self.rng.random()}").choice(outcomes)
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
    tables = tables_of(world, knowledge, seed)
    priors = {i: prior(s, knowledge) for i, s in enumerate(SETTINGS)}
    shares = [knowledge.belief.contamination[c].share for c in tables.contaminations]
    return [_one(world, tables, priors, shares, rng) for _ in range(count)]


def _one(world: str, tables: Tables, priors: dict[int, Prior], shares: list[float], rng: random.Random) -> Subject:
    which = rng.randrange(len(SETTINGS))
    cells = [(f, r, priors[which].joint[f][r]) for f in tables.finishes for r in range(len(ORIGINS))]
    truth, origin, _ = rng.choices(cells, [c[2] for c in cells])[0]
    states = {}
    for group in tables.groups:
        names = tables.states_of(group)
        start = tables.finishes.index(truth) * len(names)
        states[group] = rng.choices(range(len(names)), tables.state_shares(group)[start : start + len(names)])[0]
    return Subject(
        setting=SETTINGS[which],
        prior=priors[which],
        truth=truth,
        rng=random.Random(rng.random()),
        tables=tables,
        world=world,
        contamination=rng.choices(range(len(shares)), shares)[0],
        origin=origin,
        states=states,
    )
