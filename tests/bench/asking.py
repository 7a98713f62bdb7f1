"""How few tests settle the route, in one run: the tool's choice against entropy, ladder and chance.

    python tests/bench/asking.py [surfaces]

Simulated users on worlds that differ from the book (bands shifted a step, one answer in
ten wrong). Everybody uses the same belief; only the choice of the next test and when to
stop differ. Regret is what the route taken costs, on the finish that was really there,
above the best route for it; minutes, all penalties counted. Who asks on has less of it
and pays in tests, so each rival also runs with no more tests than the tool asked of the
same surface, and the sum of testing and regret stands last. Invented data.
"""

from __future__ import annotations

import random
import statistics
import sys
from collections.abc import Callable, Iterator
from math import log
from pathlib import Path

from worlds import Subject, draw

from oldcoat.engine import Examiner, open_knowledge, parse_piece
from oldcoat.engine.belief.evidence import Evidence, answer_evidence
from oldcoat.engine.belief.posterior import Model
from oldcoat.engine.deciding.costs import CostTable
from oldcoat.engine.deciding.nexttest import test_minutes, worths
from oldcoat.engine.storage import to_yaml

MOST = 10
LADDER = ("mineral-spirits-rub", "alcohol-drop", "lacquer-thinner-drop", "xylene-drop", "acetone-rub", "scraper")
Result = tuple[int, float, float]
Choice = Callable[[Model, list[Evidence], CostTable, random.Random], str | None]


def by_saving(model: Model, evidence: list[Evidence], costs: CostTable, _: random.Random) -> str | None:
    """The tool: greatest expected saving; stops when nothing saves."""
    best = next(iter(worths(model, evidence, costs, None)), None)
    return best.test if best and best.saves > 0 else None


def by_entropy(model: Model, evidence: list[Evidence], costs: CostTable, _: random.Random) -> str | None:
    """Greatest expected drop in entropy over the names of finishes; stops at 85 per cent."""
    prepared = model.prepared(evidence)
    now = prepared.weights()
    if max(now) / sum(now) >= 0.85:
        return None
    left = {}
    for test in candidates(model, evidence):
        spread = [prepared.with_outcome(test, o) for o in model.tables.likelihood(test)]
        left[test] = sum(sum(w) * entropy(w) for w in spread) / sum(now)
    return min(left, key=lambda t: (left[t], t), default=None)


def by_ladder(model: Model, evidence: list[Evidence], costs: CostTable, _: random.Random) -> str | None:
    """The published order; stops when it is through."""
    done = {e.test for e in evidence}
    return next((t for t in LADDER if t not in done), None)


def by_chance(model: Model, evidence: list[Evidence], costs: CostTable, rng: random.Random) -> str | None:
    """Any test; stops at 85 per cent."""
    now = model.prepared(evidence).weights()
    return None if max(now) / sum(now) >= 0.85 else rng.choice(list(candidates(model, evidence)))


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


def examine(subject: Subject, choose: Choice, examiner: Examiner, costs: CostTable, most: int = MOST) -> Result:
    """One simulated examination of at most so many tests: tests, minutes of testing, regret in minutes."""
    knowledge = examiner.knowledge
    model = Model(examiner.tables, subject.prior)
    evidence: list[Evidence] = []
    minutes = 0.0
    while len(evidence) < most:
        test = choose(model, evidence, costs, subject.rng)
        if test is None:
            break
        minutes += test_minutes(knowledge.tests[test], knowledge) if test in knowledge.tests else 40.0
        evidence.append(answer_evidence(test, subject.answer(test), knowledge))
    _, taken = costs.best(model.prepared(evidence).weights())
    index = examiner.tables.finishes.index(subject.truth)
    return len(evidence), minutes, costs.rows[taken][index] - min(row[index] for row in costs.rows)


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

            def run(choose: Choice, most: list[int], world: str = world, costs: CostTable = costs) -> list[Result]:
                subjects = draw(world, examiner.knowledge, count, seed=3)
                return [examine(s, choose, examiner, costs, n) for s, n in zip(subjects, most, strict=True)]

            ours = run(by_saving, [MOST] * count)
            show("expected saving", ours)
            for name, choose in (("entropy", by_entropy), ("ladder", by_ladder), ("chance", by_chance)):
                show(name, run(choose, [MOST] * count))
                show(f"{name}, as many", run(choose, [row[0] for row in ours]))


def show(name: str, rows: list[Result]) -> None:
    """One line of the table."""
    tests, minutes, regret = zip(*rows, strict=True)
    error = statistics.stdev(regret) / len(rows) ** 0.5
    print(
        f"  {name:18} tests median {statistics.median(tests):4.1f} mean {statistics.mean(tests):4.1f}   testing "
        f"{statistics.mean(minutes):5.1f}   regret {statistics.mean(regret):5.1f} +-{error:4.1f}   both "
        f"{statistics.mean(regret) + statistics.mean(minutes):5.1f}"
    )


if __name__ == "__main__":
    main()
