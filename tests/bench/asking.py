"""How few tests settle the route, in one run: the tool's choice against entropy, ladder and chance.

    python tests/bench/asking.py [surfaces]

Simulated users on worlds that differ from the book. Everybody uses the same belief; only
the choice of the next test and when to stop differ. `testing` is what the asking cost,
marks counted; `detour` what the route taken costs, on the finish that was really there,
above the best route for it, all penalties counted; `regret` is their sum, what was lost
against somebody who knew the finish beforehand. `whole` adds what the book says a wrong
name costs beside the route, which is what the tool weighs. All in minutes. Each rival
also runs with no more tests than the tool asked of the same surface; `+` is its regret or
whole less the tool's, surface by surface. Invented data.

With 300 surfaces no rival has a smaller regret or whole by two errors. Entropy has the
smaller detour, by 2 to 5 minutes, and pays 42 to 47 more in testing; with one answer in
ten wrong so has chance, for 54 more. Entropy a minute has a detour within 2 minutes of the
tool's either way and a regret 3 to 5 above it; stopped where the tool stops it is level
(-1 to 2, +-1.7): beyond a sense of price, what the tool brings is when to stop. By the
whole entropy a minute is level with it, run to its own end.
"""

from __future__ import annotations

import random
import statistics
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import log
from pathlib import Path

from worlds import Subject, draw

from oldcoat.engine import Examiner, open_knowledge, parse_piece
from oldcoat.engine.belief.evidence import Evidence, answer_evidence
from oldcoat.engine.belief.posterior import Model
from oldcoat.engine.deciding.costs import CostTable
from oldcoat.engine.deciding.nexttest import patch_minutes, test_minutes, worths
from oldcoat.engine.knowledge.base import PATCH_PREFIX, Knowledge
from oldcoat.engine.storage import to_yaml

MOST = 10
TITLES = ("tests", "testing", "detour", "regret", "+", "whole", "+")
LADDER = ("mineral-spirits-rub", "alcohol-drop", "lacquer-thinner-drop", "xylene-drop", "acetone-rub", "scraper")
Choice = Callable[[Model, list[Evidence], CostTable, random.Random], str | None]


@dataclass
class Result:
    """One examination: tests asked, minutes of asking, of detour, and of a wrong name."""

    tests: int
    testing: float
    detour: float
    misnamed: float

    @property
    def regret(self) -> float:
        """Minutes lost against knowing the finish beforehand."""
        return self.testing + self.detour

    @property
    def whole(self) -> float:
        """Regret and what a wrong name costs beside the route."""
        return self.regret + self.misnamed


def by_saving(model: Model, evidence: list[Evidence], costs: CostTable, _: random.Random) -> str | None:
    """The tool: greatest expected saving; stops when nothing saves."""
    best = next(iter(worths(model, evidence, costs, None)), None)
    return best.test if best and best.saves > 0 else None


def by_entropy(model: Model, evidence: list[Evidence], costs: CostTable, _: random.Random) -> str | None:
    """Greatest expected drop in entropy over the names of finishes; stops at 85 per cent."""
    return least_entropy(model, evidence, lambda _test: 1.0)


def by_entropy_a_minute(model: Model, evidence: list[Evidence], costs: CostTable, _: random.Random) -> str | None:
    """Greatest expected drop in entropy for each minute of the test; stops at 85 per cent."""
    return least_entropy(model, evidence, lambda test: price(test, model.tables.knowledge))


def by_ladder(model: Model, evidence: list[Evidence], costs: CostTable, _: random.Random) -> str | None:
    """The published order; stops when it is through."""
    done = {e.test for e in evidence}
    return next((t for t in LADDER if t not in done), None)


def by_chance(model: Model, evidence: list[Evidence], costs: CostTable, rng: random.Random) -> str | None:
    """Any test; stops at 85 per cent."""
    now = model.prepared(evidence).weights()
    return None if max(now) / sum(now) >= 0.85 else rng.choice(list(candidates(model, evidence)))


def least_entropy(model: Model, evidence: list[Evidence], dear: Callable[[str], float]) -> str | None:
    """The test with the greatest expected drop in entropy for what it costs; none at 85 per cent."""
    prepared = model.prepared(evidence)
    now = prepared.weights()
    if max(now) / sum(now) >= 0.85:
        return None
    drop = {}
    for test in candidates(model, evidence):
        spread = [prepared.with_outcome(test, o) for o in model.tables.likelihood(test)]
        drop[test] = (entropy(now) - sum(sum(w) * entropy(w) for w in spread) / sum(now)) / dear(test)
    return max(drop, key=lambda t: (drop[t], t), default=None)


def candidates(model: Model, evidence: list[Evidence]) -> Iterator[str]:
    """Tests not yet done."""
    done = {e.test for e in evidence}
    return (
        t for t, entry in model.tables.knowledge.tests.items() if t not in done and (entry.bands or entry.origin_bands)
    )


def entropy(weights: list[float]) -> float:
    """Entropy in nats of weights that need not sum to one."""
    total = sum(weights)
    return -sum(w / total * log(w / total) for w in weights if w > 0)


RIVALS: dict[str, Choice] = {
    "entropy": by_entropy,
    "entropy a minute": by_entropy_a_minute,
    "ladder": by_ladder,
    "chance": by_chance,
}


def price(test: str, knowledge: Knowledge) -> float:
    """Minutes that a test or a trial patch costs."""
    if test.startswith(PATCH_PREFIX):
        return patch_minutes(test.removeprefix(PATCH_PREFIX), knowledge)
    return test_minutes(knowledge.tests[test], knowledge, {})


def examine(subject: Subject, choose: Choice, examiner: Examiner, costs: CostTable, most: int = MOST) -> Result:
    """One simulated examination of at most so many tests."""
    model = Model(examiner.tables, subject.prior)
    evidence: list[Evidence] = []
    minutes = 0.0
    while len(evidence) < most:
        test = choose(model, evidence, costs, subject.rng)
        if test is None:
            break
        minutes += price(test, examiner.knowledge)
        evidence.append(answer_evidence(test, subject.answer(test), examiner.knowledge))
    weights = model.prepared(evidence).weights()
    _, taken = costs.best(weights)
    index = examiner.tables.finishes.index(subject.truth)
    detour = costs.rows[taken][index] - min(row[index] for row in costs.rows)
    wrong = weights[index] < max(weights[:-1])
    return Result(len(evidence), minutes, detour, wrong * examiner.knowledge.decide.not_knowing_minutes)


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    examiner = Examiner(open_knowledge(cache=Path.home() / ".cache" / "oldcoat"))
    for build in ("solid", "veneer"):
        surface = {"name": "face", "build": build, "wood": "walnut"}
        room = {"ventilation": "good", "flame": False, "respirator": True}
        piece = parse_piece(
            to_yaml({"piece": "invented", "made": "1930-1960", "room": room, "surfaces": [surface]}),
            "bench",
            examiner.knowledge,
        )
        costs = examiner.examine(piece, piece.surfaces[0]).costs
        for world in ("shifted", "noisy"):
            print(f"\n{build}, {world}: {count} simulated examinations; minutes, +- one standard error")
            print(f"  {'':25} median {' '.join(f'{title:>13}' for title in TITLES)}")

            def run(choose: Choice, most: list[int], world: str = world, costs: CostTable = costs) -> list[Result]:
                subjects = draw(world, examiner.knowledge, count, seed=3)
                return [examine(s, choose, examiner, costs, n) for s, n in zip(subjects, most, strict=True)]

            ours = run(by_saving, [MOST] * count)
            show("expected saving", ours, ours)
            for name, choose in RIVALS.items():
                show(name, run(choose, [MOST] * count), ours)
                show(f"{name}, as many", run(choose, [row.tests for row in ours]), ours)


def show(name: str, rows: Sequence[Result], ours: Sequence[Result]) -> None:
    """One line of the table."""
    columns: tuple[list[float], ...] = (
        [row.tests for row in rows],
        [row.testing for row in rows],
        [row.detour for row in rows],
        [row.regret for row in rows],
        [row.regret - our.regret for row, our in zip(rows, ours, strict=True)],
        [row.whole for row in rows],
        [row.whole - our.whole for row, our in zip(rows, ours, strict=True)],
    )
    told = [with_error(column) if any(column) else f"{'-':>13}" for column in columns]
    print(f"  {name:25} {statistics.median(columns[0]):6.1f} {' '.join(told)}", flush=True)


def with_error(column: Sequence[float]) -> str:
    """Mean and its standard error."""
    return f"{statistics.mean(column):6.1f} +-{statistics.stdev(column) / len(column) ** 0.5:4.1f}"


if __name__ == "__main__":
    main()
