"""Fuzzing by hand: 10,000 inputs for every target in one command.

    python tests/fuzz/run.py [TARGET] [inputs] [more options of libFuzzer]

Without a TARGET all of them are run one after the other, each in a process of its own, and
a table is printed at the end. Loaders are guided by coverage where atheris is installed
(pip install atheris) and fed blindly bent inputs where it is not; keystrokes are always
blind, since what is reached stands on the state and not on the bytes. A finding is an
input that ends in anything but a value or a told problem, that takes more than ten
seconds (it is broken off), or that takes the process above 2 GB; growth is a finding of
the run: more than 60 MB between the first fifth of the inputs and the last. libFuzzer
keeps an input as crash-*, timeout-* or oom-*, the blind run as found-*.
"""

from __future__ import annotations

import importlib.util
import resource
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random

INPUTS = 10_000
BLIND = ("keystrokes",)
SLOW_SECONDS = 10.0
GREAT_KB = 2_000_000
GROWN_KB = 60_000  # more than this between the first fifth of the inputs and the last: something is kept


def main() -> int:
    """Fuzz one target or all; 0 if nothing was found."""
    names = ("piece-file", "knowledge-file", "event-log", "case-file", "archive", "assessed", "keystrokes")
    if len(sys.argv) > 1 and not sys.argv[1].isdigit():
        inputs, *more = sys.argv[2:] or [str(INPUTS)]
        return guided(sys.argv[1], inputs, more) if guidable(sys.argv[1]) else blind(sys.argv[1], int(inputs))
    inputs, told = (sys.argv[1:] or [str(INPUTS)])[0], []
    for name in names:
        start = time.perf_counter()
        done = subprocess.run([sys.executable, __file__, name, inputs], check=False)
        how = "by coverage" if guidable(name) else "blind"
        told.append((name, how, time.perf_counter() - start, done.returncode))
    print(f"\n{'target':16} {'inputs':>8} {'how':12} {'seconds':>8}  findings")
    for name, how, seconds, code in told:
        print(f"{name:16} {inputs:>8} {how:12} {seconds:8.0f}  {'none' if code == 0 else f'see above (exit {code})'}")
    return int(any(code for *_, code in told))


def guidable(name: str) -> bool:
    """Whether a target is fuzzed by coverage here."""
    return name not in BLIND and importlib.util.find_spec("atheris") is not None


def blind(name: str, inputs: int) -> int:
    """Bent inputs, one after the other; the number of findings."""
    import mutate
    import targets

    seeds, found, memory = list(targets.seeds(name)), 0, Memory(inputs)
    here = Path.cwd()
    for number in range(inputs):
        rng = Random(f"{name}/{number}")
        data, wrong = mutate.bent(name, rng.choice(seeds), rng), ""
        try:
            with broken_off(SLOW_SECONDS):
                targets.harmless(targets.TARGETS[name], data)
        except Hang:
            wrong = "slow"
        except Exception as error:
            wrong = repr(error)
        if wrong:
            found += 1
            (here / f"found-{name}-{number}").write_bytes(data)
            print(f"{name} {number}: {wrong}", flush=True)
        memory.passed()
    print(
        f"{name}: {inputs} inputs, {found} findings, peak {peak_kb() // 1024} MB, grew {memory.grown_kb() // 1024} MB"
    )
    return found + int(peak_kb() > GREAT_KB) + int(memory.grown_kb() > GROWN_KB)


class Hang(BaseException):
    """An input took too long. No Exception, so that no code under test catches it."""


@contextmanager
def broken_off(seconds: float) -> Iterator[None]:
    """Raise Hang in the block after so many seconds of the processor's time; not within one call of C."""

    def late(*_: object) -> None:
        raise Hang

    signal.signal(signal.SIGPROF, late)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)


class Memory:
    """How the peak of memory grew after the first fifth of the inputs."""

    def __init__(self, inputs: int) -> None:
        self.inputs, self.seen, self.early = inputs, 0, 0

    def passed(self) -> None:
        """One more input is through."""
        self.seen += 1
        if self.seen == self.inputs // 5:
            self.early = peak_kb()

    def grown_kb(self) -> int:
        """KiB since the first fifth; nothing before that."""
        return peak_kb() - self.early if self.early else 0


def peak_kb() -> int:
    """The most memory that this process had, in KiB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


def guided(name: str, inputs: str, more: list[str]) -> int:
    """Fuzz one target by coverage; ends the process."""
    import atheris

    with atheris.instrument_imports(include=["oldcoat"]):
        import mutate
        import targets
    target, seeds = targets.TARGETS[name], list(targets.seeds(name))
    corpus = Path(tempfile.mkdtemp(prefix=f"fuzz-{name}-"))
    for number, data in enumerate(seeds):
        (corpus / str(number)).write_bytes(data)

    def mutator(data: bytes, most: int, seed: int) -> bytes:
        rng = Random(seed)
        if rng.random() < 0.3:
            return bytes(atheris.Mutate(data, most))
        return mutate.bent(name, data if rng.random() < 0.7 else rng.choice(seeds), rng)[:most]

    options = [f"-runs={inputs}", "-timeout=10", "-rss_limit_mb=2000", "-max_len=60000", "-print_final_stats=1"]
    memory = Memory(int(inputs))

    def one(data: bytes) -> None:
        targets.harmless(target, data)
        memory.passed()
        if memory.grown_kb() > GROWN_KB:
            raise MemoryError(f"grew {memory.grown_kb() // 1024} MB in {memory.seen} inputs")

    atheris.Setup([sys.argv[0], *options, *more, str(corpus)], one, custom_mutator=mutator)
    atheris.Fuzz()
    return 0


if __name__ == "__main__":
    sys.exit(main())
