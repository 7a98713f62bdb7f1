"""Coverage-guided fuzzing of the loaders, run by hand.

    python tests/fuzz/run.py TARGET [inputs] [more options of libFuzzer]

TARGET is one of piece-file, knowledge-file, event-log, case-file, archive, assessed.
Needs atheris (pip install atheris); without it nothing is run, and it says so. An input
that ends in anything but a value or a told problem is kept as crash-*, one that takes
more than ten seconds as timeout-*, one that takes more than 2 GB as oom-*.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from random import Random


def main() -> None:
    """Fuzz one target."""
    try:
        import atheris
    except ImportError:
        print("atheris is not installed: nothing was fuzzed")
        return
    with atheris.instrument_imports(include=["oldcoat"]):
        import mutate
        import targets
    name, inputs, *more = [*sys.argv[1:], "10000"] if len(sys.argv) == 2 else sys.argv[1:]
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
    atheris.Setup(
        [sys.argv[0], *options, *more, str(corpus)], lambda data: targets.harmless(target, data), custom_mutator=mutator
    )
    atheris.Fuzz()


if __name__ == "__main__":
    main()
