"""How long a person waits at the bench: for the first question, and from a key to the next question.

    python tests/bench/start_and_latency.py

Start-up is a whole process on a pseudo-terminal, set against a bare prompt_toolkit prompt
in the same run, turn by turn. Latency is from the key to the next question drawn, ten
surfaces with thirty answers each, every answer forced to disk: in the process without the
terminal, and through a pseudo-terminal as a person would have it.
"""

from __future__ import annotations

import io
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pexpect

sys.path.insert(0, str(Path(__file__).parents[1] / "bench_shell"))

from bench_helpers import INTAKE, Bench

from oldcoat.engine import Examiner, open_knowledge
from oldcoat.shell.bench.view import draw
from oldcoat.shell.tell.screen import Screen

BARE = (
    "from prompt_toolkit import PromptSession; from prompt_toolkit.completion import WordCompleter; "
    "PromptSession(completer=WordCompleter(['why', 'how'])).prompt('bare> ')"
)
OURS = "import sys; sys.argv[0] = 'oldcoat'; from oldcoat.shell.main import main; main()"
ROUNDS = 15
SURFACES, ANSWERS = 10, 30
THEN = ["kind 1-", "made>", "region 1-", "surfaces>", "wood 1-", "build 1-", "place 1-", "have>", "room 1-", "top 1-"]


def goal(met: bool) -> str:
    """Whether a goal was met, in one word."""
    return "met" if met else "MISSED"


def spawned(code: str, *arguments: str) -> pexpect.spawn[str]:
    """A Python process on a pseudo-terminal of 80 x 24."""
    env = {**os.environ, "TERM": "xterm-256color", "PROMPT_TOOLKIT_NO_CPR": "1"}
    child = pexpect.spawn(sys.executable, ["-c", code, *arguments], dimensions=(24, 80), env=env, encoding="utf-8")
    child.delaybeforesend = None
    return child


def until(prompt: str, code: str, *arguments: str) -> float:
    """Seconds from the start of a process to a text on its terminal."""
    start = time.perf_counter()
    child = spawned(code, *arguments)
    child.expect_exact(prompt, timeout=20)
    taken = time.perf_counter() - start
    child.close(force=True)
    return taken


def start_up(home: Path) -> None:
    """Process start to the first question, against a bare prompt."""
    empty, full = home / "empty", home / "full"
    examiner = Examiner(open_knowledge(cache=home / "cache"))
    for _ in range(9):
        bench = Bench(full / "sessions", examiner)
        bench.say("new", *INTAKE)
        bench.say("leave")
    until("piece>", OURS, "--home", str(empty))
    rows: dict[str, list[float]] = {
        "bare prompt": [],
        "oldcoat: prompt": [],
        "oldcoat: question": [],
        "with 9 kept": [],
    }
    for _ in range(ROUNDS):
        rows["bare prompt"].append(until("bare>", BARE))
        rows["oldcoat: prompt"].append(until("piece>", OURS, "--home", str(empty)))
        rows["oldcoat: question"].append(until("What is on the bench?", OURS, "--home", str(empty)))
        rows["with 9 kept"].append(until("piece 1-", OURS, "--home", str(full)))
    bare = statistics.median(rows["bare prompt"])
    for name, taken in rows.items():
        middle = statistics.median(taken)
        ratio = middle / bare
        told = "" if name == "bare prompt" else f"   goal <= 1.5 x and < 500 ms: {goal(ratio <= 1.5 and middle < 0.5)}"
        print(f"{name:20} {middle * 1000:7.1f} ms  {ratio:5.2f} x{told}")


def percentile(values: list[float], share: float) -> float:
    """The value below which `share` of the values lie."""
    return sorted(values)[min(len(values) - 1, int(share * len(values)))]


def timed_answers(bench: Bench, drawn: Callable[[], None], clock: Callable[[], float]) -> list[float]:
    """Seconds by a clock for each answer of ANSWERS on each of SURFACES: reply, next question, drawing."""
    tests = list(bench.desk.knowledge.tests)[:ANSWERS]
    taken = []
    for test in tests:
        for surface in range(SURFACES):
            bench.say(f"surface {surface + 1}", "tests", test)
            start = clock()
            bench.say(str(1 + (surface + len(test)) % 2))
            drawn()
            taken.append(clock() - start)
    return taken


def latency(home: Path) -> None:
    """Without a terminal: the answer on disk, the next question worked out and drawn to a buffer."""
    examiner = Examiner(open_knowledge(cache=home / "cache"))
    screen = Screen()
    screen.console.file = io.StringIO()
    names = ", ".join(f"surface {n}" for n in range(SURFACES))
    clocks = (("by the clock", time.perf_counter), ("of this process alone", time.process_time))
    for name, clock in clocks:
        bench = Bench(home / name.replace(" ", "-"), examiner)
        bench.say(*INTAKE[:4], names, *INTAKE[5:])
        taken = timed_answers(bench, partial(_drawn, bench, screen), clock)
        told(f"key to next question drawn, {name}", taken)


def _drawn(bench: Bench, screen: Screen) -> None:
    draw(bench.dialogue.question.page, screen, bench.desk.knowledge, 24)


def told(name: str, taken: list[float]) -> None:
    """Median, p99 and worst of some waits."""
    p99 = percentile(taken, 0.99)
    print(
        f"{name}: {len(taken)} answers, median {statistics.median(taken) * 1000:.1f} ms, p99 {p99 * 1000:.1f} ms,"
        f" worst {max(taken) * 1000:.1f} ms   goal p99 < 50 ms: {goal(p99 < 0.05)}"
    )


def on_a_terminal(home: Path) -> None:
    """The same through a pseudo-terminal: from the key sent to the prompt that follows the next question."""
    child = spawned(OURS, "--home", str(home / "terminal"))
    child.expect_exact("piece>", timeout=20)
    for line, then in zip(INTAKE, THEN, strict=True):
        child.sendline(line) if line not in "123" or not line else child.send(line)
        child.expect_exact(then, timeout=20)
    taken = []
    for number in range(ANSWERS):
        child.sendline("tests")
        child.expect(r"test 1-\d+[^>]*>", timeout=5)
        child.sendline("1")
        child.expect_exact("watch:", timeout=5)
        child.expect(r"top 1-\d+[^>]*>", timeout=5)
        time.sleep(0.2)
        start = time.perf_counter()
        child.send("2")
        child.expect_exact(f"{number + 1} answer", timeout=5)
        child.expect(r"top 1-\d+[^>]*>", timeout=5)
        taken.append(time.perf_counter() - start)
    child.close(force=True)
    told("on a terminal", taken)


def main() -> None:
    """Print all of it."""
    with tempfile.TemporaryDirectory() as folder:
        start_up(Path(folder))
        latency(Path(folder))
        on_a_terminal(Path(folder))


if __name__ == "__main__":
    main()
