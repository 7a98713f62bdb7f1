"""Who names the finish best, in one run, on the same simulated surfaces.

    python tests/bench/compare.py [surfaces per world]

Worlds: the model's own; bands shifted a step and jittered; tests made more dependent;
one answer in ten wrong; a finish that is not in the book (there only confidence counts).
Simulated data throughout: it shows what the method does if the world is like the book
or off it by so much, not how often the book is right about furniture.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable
from math import log
from pathlib import Path

from rivals import Ladder, NaiveBayes, NearestNeighbour, Oldcoat, PriorOnly
from worlds import WORLDS, Subject, draw

from oldcoat.engine import open_knowledge
from oldcoat.engine.belief.tables import Tables

ASKED = (
    "mineral-spirits-rub",
    "film-build",
    "colour-cast",
    "alcohol-drop",
    "lacquer-thinner-drop",
    "acetone-rub",
    "fingernail",
    "scraper",
)
CONFIDENT = 0.8


def calibration_error(pairs: list[tuple[float, bool]], bins: int = 10) -> float:
    """Expected calibration error of (stated chance of the first, whether it was right)."""
    total = 0.0
    for index in range(bins):
        inside = [
            (p, ok) for p, ok in pairs if index / bins <= p < (index + 1) / bins or (index == bins - 1 and p == 1.0)
        ]
        if inside:
            total += abs(sum(p for p, _ in inside) - sum(ok for _, ok in inside))
    return total / max(len(pairs), 1)


def interval(pairs: list[tuple[float, bool]], rng: random.Random, rounds: int = 200) -> tuple[float, float]:
    """95 per cent bootstrap interval of the calibration error."""
    drawn = sorted(calibration_error([rng.choice(pairs) for _ in pairs]) for _ in range(rounds))
    return drawn[int(0.025 * rounds)], drawn[int(0.975 * rounds) - 1]


def score(rival: Callable[..., dict[str, float]], subjects: list[Subject], known: bool) -> dict[str, float | str]:
    """Accuracy, first two, log loss, Brier, calibration error, share confident and wrong."""
    right = second = confident_wrong = 0
    loss = brier = 0.0
    pairs = []
    for subject in subjects:
        chances = rival(subject, {t: subject.answer(t) for t in ASKED})
        order = sorted(chances, key=lambda f: -chances[f])
        ok = known and order[0] == subject.truth
        right += ok
        second += known and subject.truth in order[:2]
        loss -= log(max(chances[subject.truth], 1e-12))
        brier += sum((p - (f == subject.truth)) ** 2 for f, p in chances.items())
        pairs.append((chances[order[0]], ok))
        confident_wrong += chances[order[0]] > CONFIDENT and not ok
    n = len(subjects)
    low, high = interval(pairs, random.Random(0))
    return {
        "first": f"{right / n:6.1%}" if known else "     -",
        "first two": f"{second / n:6.1%}" if known else "     -",
        "log loss": f"{loss / n:6.3f}" if known else "     -",
        "Brier": f"{brier / n:6.3f}" if known else "     -",
        "calibration error": f"{calibration_error(pairs):.3f} [{low:.3f}, {high:.3f}]",
        "confident, wrong": f"{confident_wrong / n:6.1%}",
    }


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    knowledge = open_knowledge(cache=Path.home() / ".cache" / "oldcoat")
    tables = Tables(knowledge)
    casebook = [(s, {t: s.answer(t) for t in ASKED}) for s in draw("own", knowledge, 300, seed=99)]
    rivals = [
        Oldcoat(tables),
        NaiveBayes(tables),
        Ladder(tables),
        NearestNeighbour(tables, casebook),
        PriorOnly(tables),
    ]
    for world in WORLDS:
        subjects = draw(world, knowledge, count)
        print(f"\n{world}: {count} simulated surfaces, {len(ASKED)} answers each")
        for rival in rivals:
            row = score(rival, subjects, world != "stranger")
            print(f"  {rival.name:18} " + "  ".join(f"{k} {v}" for k, v in row.items()))


if __name__ == "__main__":
    main()
