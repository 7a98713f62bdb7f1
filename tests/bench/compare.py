"""Who names the finish best, and at what price, in one run on the same surfaces.

    python tests/bench/compare.py [surfaces per world]

Worlds: see worlds.py. Simulated data throughout: it shows what the method does if the
world is like the book or off it by so much, not how often the book is right about
furniture. The reference cases are from the literature; they are few.

All rivals hear the same answers; the last one chooses its own tests and stops by itself.
Nearest neighbour has a casebook of 300 from the same world, of which the tool learns nothing.
Minutes are those of the tests that a rival needs. Regret is what the route costs that is
best by a rival's chances, on the finish that was really there, above the best route for
it; hours on a plain solid face of one square metre, the asking not counted. The
calibration error is that of the chance stated for the first name, in ten bins of equal
width. So few pairs show an error even of who speaks true: `true` is what the same stated
chances would show then. Its interval is a bootstrap less the bootstrap's own bias.

At the end stands where the tool loses, on all eight answers and by its own choice of
tests: every column in which a rival is better by two standard errors of the difference
surface by surface. Of so many comparisons one in forty would stand there by chance.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from math import log
from pathlib import Path
from statistics import fmean, median, stdev

from rivals import Asking, Ladder, NaiveBayes, NearestNeighbour, Oldcoat, PriorOnly, Rival
from worlds import WORLDS, Subject, draw, reference

from oldcoat.engine import Examiner, open_knowledge, parse_piece
from oldcoat.engine.deciding.costs import CostTable
from oldcoat.engine.deciding.nexttest import test_minutes
from oldcoat.engine.knowledge.base import Knowledge

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
ROUNDS = 400
CASEBOOK = 300
SURE = 1.96  # standard errors
HEAD = " right first two log loss  Brier  calibration error    true  sure, wrong regret h tests minutes"
MEASURES = {"right": 1, "first two": 1, "log loss": -1, "Brier": -1, "confident, wrong": -1, "regret h": -1}
SPENT = {"tests": -1, "minutes": -1}
NEEDS_A_NAME = {*MEASURES} - {"confident, wrong", "regret h"}
Loss = tuple[str, str, str]  # how the tests were chosen, column, rival
Said = tuple[float, bool]


@dataclass
class Judged:
    """One surface by one rival: the measures by name, and the stated chance of its first with whether it was right."""

    marks: dict[str, float]
    said: Said


def calibration_error(pairs: Sequence[Said], bins: int = 10) -> float:
    """Expected calibration error of (stated chance of the first, whether it was right), in bins of equal width."""
    gaps = [0.0] * bins
    for p, ok in pairs:
        gaps[min(int(p * bins), bins - 1)] += p - ok
    return sum(map(abs, gaps)) / len(pairs)


def interval(pairs: Sequence[Said], rng: random.Random) -> tuple[float, float]:
    """95 per cent bootstrap interval of the calibration error, moved back by what drawing again adds to it."""
    drawn = sorted(calibration_error(rng.choices(pairs, k=len(pairs))) for _ in range(ROUNDS))
    added = fmean(drawn) - calibration_error(pairs)
    return max(drawn[int(0.025 * ROUNDS)] - added, 0.0), drawn[int(0.975 * ROUNDS) - 1] - added


def error_of_truth(pairs: Sequence[Said], rng: random.Random) -> float:
    """The calibration error that the same stated chances show on average if each comes true as often as it says."""
    return fmean(calibration_error([(p, rng.random() < p) for p, _ in pairs]) for _ in range(ROUNDS // 4))


def judge(rival: Rival, subject: Subject, known: bool, costs: CostTable, knowledge: Knowledge) -> Judged:
    """What a rival makes of one surface."""
    chances, used = rival.name_it(subject, ASKED)
    order = sorted(chances, key=lambda f: -chances[f])
    ok = known and order[0] == subject.truth
    weights = [chances[f] for f in sorted(knowledge.finishes)]
    _, taken = costs.best([*weights, 0.0])
    truth = sorted(knowledge.finishes).index(subject.truth)
    marks = {
        "right": float(ok),
        "first two": float(known and subject.truth in order[:2]),
        "log loss": -log(max(chances[subject.truth], 1e-12)),
        "Brier": sum((p - (f == subject.truth)) ** 2 for f, p in chances.items()),
        "confident, wrong": float(chances[order[0]] > CONFIDENT and not ok),
        "regret h": (costs.rows[taken][truth] - min(row[truth] for row in costs.rows)) / 60,
    }
    marks["tests"] = float(len(used))
    marks["minutes"] = sum(test_minutes(knowledge.tests[t], knowledge, {}) for t in used if t in knowledge.tests)
    return Judged(marks, (chances[order[0]], ok))


def told(rows: Sequence[Judged], known: bool) -> str:
    """One line of the table."""
    mean = {name: fmean(row.marks[name] for row in rows) for name in (*MEASURES, *SPENT)}
    pairs = [row.said for row in rows]
    low, high = interval(pairs, random.Random(0))
    shares = f"{mean['right']:6.1%} {mean['first two']:9.1%} {mean['log loss']:8.3f} {mean['Brier']:6.3f}"
    return (
        (shares if known else f"{'-':>6} {'-':>9} {'-':>8} {'-':>6}")
        + f"  {calibration_error(pairs):.3f} [{low:.3f}, {high:.3f}] {error_of_truth(pairs, random.Random(1)):.3f}"
        + f"  {mean['confident, wrong']:6.1%}  {mean['regret h']:6.2f}"
        + f"  {median(row.marks['tests'] for row in rows):5.1f}  {mean['minutes']:6.1f}"
    )


def gaps(ours: Sequence[Judged], theirs: Sequence[Judged], known: bool) -> dict[str, tuple[float, float]]:
    """By how much they are better, with the standard error of the difference: column -> (gap, error)."""
    found = {}
    for name, sign in (MEASURES | SPENT).items():
        if known or name not in NEEDS_A_NAME:
            rows = [sign * (b.marks[name] - a.marks[name]) for a, b in zip(ours, theirs, strict=True)]
            found[name] = fmean(rows), stdev(rows) / len(rows) ** 0.5
    rng, both = random.Random("calibration"), list(zip(ours, theirs, strict=True))
    drawn = [_calibration_gap(rng.choices(both, k=len(both))) for _ in range(ROUNDS)]
    return found | {"calibration error": (_calibration_gap(both), stdev(drawn))}


def _calibration_gap(both: Sequence[tuple[Judged, Judged]]) -> float:
    return calibration_error([a.said for a, _ in both]) - calibration_error([b.said for _, b in both])


def plain_costs(examiner: Examiner) -> CostTable:
    """What removal costs on an invented plain solid face of one square metre in an airy room."""
    text = "piece: x\nroom: {ventilation: good, flame: false, respirator: true}\nsurfaces: [{name: face, build: solid, area_m2: 1}]"
    piece = parse_piece(text, "bench", examiner.knowledge)
    return examiner.examine(piece, piece.surfaces[0]).costs


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    examiner = Examiner(open_knowledge(cache=Path.home() / ".cache" / "oldcoat"))
    knowledge, tables, costs = examiner.knowledge, examiner.tables, plain_costs(examiner)
    lost: dict[Loss, list[str]] = {}
    compared = 0
    for world in (*WORLDS, "reference cases"):
        real, known = world == "reference cases", world != "stranger"
        drawn = draw("own" if real else world, knowledge, count + CASEBOOK)
        book = [(s, {t: s.answer(t) for t in ASKED}) for s in drawn[count:]]
        subjects = reference(knowledge) if real else drawn[:count]
        rivals: list[Rival] = [
            Oldcoat(tables),
            NaiveBayes(tables),
            Ladder(tables),
            NearestNeighbour(tables, book),
            PriorOnly(tables),
            *([] if real else [Asking(tables, costs)]),
        ]
        print(f"\n{world}: {len(subjects)} {'confirmed' if real else 'simulated'} surfaces")
        print(f"  {'':20} {HEAD}")
        judged = {r.name: [judge(r, s, known, costs, knowledge) for s in subjects] for r in rivals}
        for name, rows in judged.items():
            print(f"  {name:20} {told(rows, known)}", flush=True)
        for ours in (name for name in judged if name.startswith("oldcoat")):
            for name in (name for name in judged if not name.startswith("oldcoat")):
                for column, (gap, error) in gaps(judged[ours], judged[name], known).items():
                    compared += 1
                    if gap > SURE * error:
                        lost.setdefault((ours, column, name), []).append(f"{world} {gap:.3g} +-{error:.2g}")
    print(f"\nWhere the tool loses by two standard errors ({sum(map(len, lost.values()))} of {compared} comparisons):")
    for (ours, column, name), where in sorted(lost.items()):
        print(f"  {ours}: {column}, to {name}: {'; '.join(where)}")


if __name__ == "__main__":
    main()
