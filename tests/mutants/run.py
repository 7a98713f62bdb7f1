"""Mutation testing by hand: does a small wrong change of the engine make a test fail?

    python tests/mutants/run.py [engine/belief engine/removal/film.py ...] [--each 8] [--seed 1] [--tests ...]

Each module gives a random sample of mutants, one place of the code at most one; a seed gives
the same sample again. A mutant is run against the tests that mirror its module, in a copy of
the tree, so that the checkout is never touched. A survivor is printed as the line was and as
it reads, for somebody to look at: it is equivalent, or dead code, or a hole in the tests.
"""

from __future__ import annotations

import argparse
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from pathlib import Path
from random import Random

from kinds import Mutant, Place, mutants

HOME = Path(__file__).resolve().parents[2]
ROOMS = ("engine", "knowledge", "shell", "cases")
WHOLE_PIECE = ("tests/shell/tell", "tests/shell/test_why_test.py", "tests/published", "tests/planning/test_treating.py")
MIRRORS = {  # where the mirror has another name than the room, or more than one
    "": ("tests/removal", "tests/belief/test_astray.py", *WHOLE_PIECE),
    "knowledge": ("tests/reasoning", "tests/piece", "tests/knowledge"),
    "report": ("tests/report", "tests/planning/test_amounts.py", "tests/belief/test_astray.py", *WHOLE_PIECE),
    "wood": ("tests/wood", "tests/removal"),
}
LEAST_SECONDS = 20  # a time limit is three times what the tests take, and never less than this


def main() -> int:
    """Make mutants, run the tests of each, tell which survived."""
    said = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    said.add_argument("parts", nargs="*", default=["engine"], help="modules or folders of the engine")
    said.add_argument("--each", type=int, default=8, help="mutants of a module")
    said.add_argument("--seed", type=int, default=1)
    said.add_argument("--tests", nargs="+", help="these tests and not the mirror")
    asked = said.parse_args()
    if lost := [part for part in asked.parts if not (HOME / part).exists()]:
        said.error(f"not there, seen from the top of the checkout: {', '.join(lost)}")
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("ended"))  # so that the copy goes, whoever ends the run
    rows: list[tuple[str, int, int]] = []
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        copy = copied(Path(folder))
        seconds: dict[tuple[str, ...], float] = {}
        for module in modules(asked.parts):
            source = (copy / module).read_text("utf-8")
            chosen = sample(source, asked.each, f"{asked.seed}/{module}")
            tests = tuple(asked.tests or mirror(module))
            if chosen and tests not in seconds:
                seconds[tests] = unharmed(copy, tests)
            alive = [one for one in chosen if survives(copy, module, source, one, tests, seconds[tests])]
            rows.append((module, len(chosen), len(alive)))
            for one in alive:
                print(f"{module}:{one.place[0]}\n{one.told(source)}", flush=True)
    print(f"\n{'module':36} {'mutants':>8} {'killed':>8} {'survived':>9}")
    for name, made, alive_now in [*rows, ("all", sum(row[1] for row in rows), sum(row[2] for row in rows))]:
        print(f"{name:36} {made:8} {made - alive_now:8} {alive_now:9}")
    return 0


def modules(parts: list[str]) -> list[str]:
    """The modules meant, as paths from the top of the checkout."""
    found = [
        path for part in parts for path in ([HOME / part] if part.endswith(".py") else (HOME / part).rglob("*.py"))
    ]
    return sorted({str(path.relative_to(HOME)) for path in found})


def mirror(module: str) -> tuple[str, ...]:
    """The tests that mirror a module, those that bear its name first."""
    part = module.split("/")[1] if module.count("/") > 1 else ""
    named = f"tests/{part}/test_{Path(module).stem}.py"
    rest = MIRRORS.get(part, (f"tests/{part}",))
    return (named, *rest) if part and (HOME / named).is_file() else rest


def sample(source: str, most: int, seed: str) -> list[Mutant]:
    """Some mutants of a module, each at another place."""
    places: dict[Place, list[Mutant]] = defaultdict(list)
    for one in mutants(source):
        places[one.place].append(one)
    rng = Random(seed)
    return [rng.choice(places[place]) for place in rng.sample(sorted(places), min(most, len(places)))]


def copied(folder: Path) -> Path:
    """A copy of the tree, in which the four rooms are found as packages of oldcoat."""
    copy = folder / "tree"
    shutil.copytree(HOME, copy, ignore=shutil.ignore_patterns(".git", ".venv", "__pycache__", "build", "dist"))
    (folder / "packages" / "oldcoat").mkdir(parents=True)
    for room in ROOMS:
        (folder / "packages" / "oldcoat" / room).symlink_to(copy / room)
    return copy


def run(copy: Path, tests: tuple[str, ...], limit: float | None) -> bool:
    """Whether the tests pass in the copy, within the time."""
    found = os.pathsep.join([str(copy.parent / "packages"), str(Path(__file__).parent)])
    settings = {"PYTHONPATH": found, "HOME": str(copy.parent)}
    if limit is not None:
        settings["PYTHONDONTWRITEBYTECODE"] = "1"  # a mutant kept compiled might be taken for the next
    environment = {name: value for name, value in os.environ.items() if not name.startswith("XDG_")} | settings
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "-p", "unshrunk"]
    command += ["--hypothesis-seed=1", *tests]
    process = subprocess.Popen(
        command, cwd=copy, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
    )
    try:
        return process.wait(limit) == 0
    except subprocess.TimeoutExpired:
        return False
    finally:
        if process.poll() is None:
            os.killpg(process.pid, 9)
            process.wait()


def unharmed(copy: Path, tests: tuple[str, ...]) -> float:
    """How long the tests take where nothing is changed; they must pass."""
    start = time.perf_counter()
    if not run(copy, tests, None):
        sys.exit(f"{' '.join(tests)}: fails without any mutant")
    return time.perf_counter() - start


def survives(copy: Path, module: str, source: str, mutant: Mutant, tests: tuple[str, ...], seconds: float) -> bool:
    """Whether no test of the module minds the change; the copy is whole again after it."""
    path = copy / module
    path.write_text(mutant.code, "utf-8")
    try:
        return run(copy, tests, max(LEAST_SECONDS, 3 * seconds))
    finally:
        path.write_text(source, "utf-8")


if __name__ == "__main__":
    sys.exit(main())
