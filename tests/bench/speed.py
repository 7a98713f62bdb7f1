"""How fast the engine is, as ratios in one run.

    python tests/bench/speed.py

Start-up is set against a bare interpreter, the posterior against an exact
Bayesian-network library (pyAgrum, if installed) on the same model and evidence.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from oldcoat.engine import Examiner, open_knowledge, parse_piece
from oldcoat.engine.belief.evidence import answer_evidence
from oldcoat.engine.belief.posterior import Model
from oldcoat.engine.belief.prior import Setting, prior
from oldcoat.engine.examine import Settled
from oldcoat.engine.storage import to_yaml


def timed(action: Callable[[], object], rounds: int) -> float:
    """Median seconds of one call."""
    action()
    taken = []
    for _ in range(rounds):
        start = time.perf_counter()
        action()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def process(*arguments: str) -> Callable[[], object]:
    """A whole process of this interpreter, output thrown away."""
    return lambda: subprocess.run([sys.executable, *arguments], capture_output=True, check=True)


def start_up(home: Path, piece: Path) -> None:
    """Process start of the command line against a bare interpreter."""
    call = "import sys; from oldcoat.shell.main import main; sys.argv[0]='oldcoat'; main()"
    bare = timed(process("-c", "pass"), 7)
    print(f"bare interpreter            {bare * 1000:7.1f} ms    1.0 x")
    for name, limit, arguments in (
        ("--version", 0.1, ["--version"]),
        ("--help", None, ["--help"]),
        ("assess, six surfaces, warm", 0.6, ["--home", str(home), "assess", str(piece)]),
        ("assess --json", 0.6, ["--home", str(home), "assess", str(piece), "--json"]),
    ):
        taken = timed(process("-c", call, *arguments), 7)
        goal = "" if limit is None else f"   goal < {limit:.1f} s: {'met' if taken < limit else 'MISSED'}"
        print(f"{name:27} {taken * 1000:7.1f} ms  {taken / bare:5.1f} x{goal}")


def posterior() -> None:
    """One surface with 35 answers: pure functions against an exact library."""
    knowledge = open_knowledge(cache=Path(tempfile.gettempdir()) / "oldcoat-bench-cache")
    examiner = Examiner(knowledge)
    tests = [(t, e.outcomes[0].id) for t, e in knowledge.tests.items()][:35]
    tests += [(f"stripper-patch/{r}", "lifts") for r in sorted(knowledge.removers)][: 35 - len(tests)]
    evidence = [answer_evidence(t, o, knowledge) for t, o in tests]
    model = Model(examiner.tables, prior(Setting(years=(1930, 1950), region="north-america", now=2026), knowledge))
    ours = timed(lambda: model.posterior(evidence), 200)
    print(
        f"posterior, {len(evidence)} answers       {ours * 1000:7.3f} ms    1.0 x   goal < 1 ms: {'met' if ours < 0.001 else 'MISSED'}"
    )
    try:
        from agrum_model import library_posterior
    except ImportError:
        print("pyAgrum is not installed: no comparison")
        return
    theirs = timed(library_posterior(model, evidence), 10)
    print(f"exact library, same model   {theirs * 1000:7.3f} ms  {theirs / ours:5.1f} x")


def whole_piece() -> None:
    """Predictions and routes of a ten-surface piece in process."""
    knowledge = open_knowledge(cache=Path(tempfile.gettempdir()) / "oldcoat-bench-cache")
    examiner = Examiner(knowledge)
    piece = parse_piece(surfaces(10), "bench", knowledge)
    whole = timed(lambda: [examiner.examine(piece, s) for s in piece.surfaces], 5)
    print(
        f"ten surfaces, whole examination {whole * 1000:5.1f} ms   goal < 100 ms: {'met' if whole < 0.1 else 'MISSED'}"
    )


def way_off() -> None:
    """Predictions, costs and routes alone, of a ten-surface piece in process."""
    examiner = Examiner(open_knowledge(cache=Path(tempfile.gettempdir()) / "oldcoat-bench-cache"))
    piece = parse_piece(surfaces(10), "bench", examiner.knowledge)
    done = [examiner.examine(piece, surface) for surface in piece.surfaces]

    def again() -> None:
        for one in done:
            settled = Settled(piece, one.surface, one.prior, (1930, 1950), one.firings)
            examiner.way_off(settled, one.posterior, one.evidence)

    taken = timed(again, 15)
    print(
        f"ten surfaces, predictions and routes {taken * 1000:5.1f} ms   goal < 100 ms: {'met' if taken < 0.1 else 'MISSED'}"
    )


def surfaces(count: int) -> str:
    """An invented piece of `count` surfaces, each a little different."""
    alcohol = ["no-effect", "softens-slow", "dissolves-fast"]
    thinner = ["dissolves", "gels-wrinkles", "no-effect"]
    rows = [
        {
            "name": f"face {i}",
            "wood": ["walnut", "oak", "mahogany"][i % 3],
            "build": "veneer",
            "tests": {
                "alcohol-drop": alcohol[i % 3],
                "lacquer-thinner-drop": thinner[i // 3 % 3],
                "fingernail": "no-mark",
            },
        }
        for i in range(count)
    ]
    return to_yaml({"piece": "invented sideboard", "made": "1930-1950", "region": "north-america", "surfaces": rows})


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as folder:
        piece = Path(folder) / "piece.yaml"
        piece.write_text(surfaces(6), encoding="utf-8")
        start_up(Path(folder) / "home", piece)
    posterior()
    way_off()
    whole_piece()


if __name__ == "__main__":
    main()
