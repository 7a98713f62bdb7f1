"""Faulty files end in a told problem, never in a traceback, a hang or a great heap of memory.

A short run of what `run.py` does for long. Invented data: shipped files bent out of shape.
"""

from __future__ import annotations

import time
import tracemalloc
from contextlib import suppress
from pathlib import Path
from random import Random

import mutate
import pytest
import run
import targets
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st

from oldcoat.engine import BadInput, Examiner, open_knowledge
from oldcoat.engine.checking.lint import lint
from oldcoat.engine.knowledge.layout import FOLDERS
from oldcoat.engine.knowledge.loader import layers_for
from oldcoat.engine.problems import Problem

SLOW_SECONDS = 5.0
GREAT_BYTES = 200_000_000
EXAMPLES = {"piece-file": 60, "knowledge-file": 60, "event-log": 200, "case-file": 60, "archive": 100, "assessed": 12}
calm = settings(deadline=None, suppress_health_check=list(HealthCheck))


@pytest.mark.parametrize("name", EXAMPLES)
def test_bent_files(name: str) -> None:
    """Each target takes bent inputs, each soon and in little memory."""
    seeds = list(targets.seeds(name))
    targets.ready()

    @settings(calm, max_examples=EXAMPLES[name])
    @given(st.integers(0, 2**32))
    def check(seed: int) -> None:
        rng = Random(seed)
        data = mutate.bent(name, rng.choice(seeds), rng)
        start = time.process_time()
        targets.harmless(targets.TARGETS[name], data)
        assert time.process_time() - start < SLOW_SECONDS

    check()


@pytest.mark.parametrize("name", ["piece-file", "knowledge-file", "event-log", "case-file"])
def test_any_bytes(name: str) -> None:
    """Bytes and text of no form at all are refused, not choked on."""
    target = targets.TARGETS[name]

    @settings(calm, max_examples=60)
    @given(st.one_of(st.binary(max_size=400), st.text(max_size=400).map(lambda t: t.encode("utf-8", "surrogatepass"))))
    @example(b"")
    @example(b"\xef\xbb\xbf")
    @example(b"[" * 10_000)
    @example(b"a: " * 10_000)
    @example(b"? " * 10_000)
    @example(b"- " * 10_000)
    @example(b"&a [*a]")
    @example(b"'" + b"x" * 50_000)
    def check(data: bytes) -> None:
        targets.harmless(target, data)

    check()


@pytest.mark.parametrize("name", ["piece-file", "event-log", "case-file", "knowledge-file"])
def test_every_seed_is_valid(name: str) -> None:
    """The files that are bent are sound to begin with, so that it is the bending that is tested."""
    for data in targets.seeds(name):
        targets.TARGETS[name](data)


def test_memory_does_not_grow() -> None:
    """Twenty-five bent pieces more leave hardly anything behind, and none needs a great heap."""
    seeds = list(targets.seeds("piece-file"))
    rng = Random(5)

    def some(count: int) -> int:
        for _ in range(count):
            targets.harmless(targets.piece_file, mutate.bent("piece-file", rng.choice(seeds), rng))
        return tracemalloc.get_traced_memory()[0]

    some(3)
    tracemalloc.start()
    try:
        after_few = some(5)
        after_many = some(25)
        assert after_many - after_few < 3_000_000
        assert tracemalloc.get_traced_memory()[1] < GREAT_BYTES
    finally:
        tracemalloc.stop()


@settings(calm, max_examples=2, phases=(Phase.explicit, Phase.generate))
@given(seed=st.integers(0, 2**32))
def test_bent_overlay(tmp_path_factory: pytest.TempPathFactory, seed: int) -> None:
    """A user's folder of bent entries is told of or used; the shipped book goes on working either way."""
    rng = Random(seed)
    folder: Path = tmp_path_factory.mktemp("overlay")
    for kind in rng.sample(sorted(FOLDERS), 2):
        path = rng.choice(sorted((targets.SHIPPED / kind).glob("*.yaml")))
        (folder / kind).mkdir()
        (folder / kind / path.name).write_bytes(mutate.bent_yaml(path.read_bytes(), rng, 1))
    found = lint(layers_for([folder]))
    assert all(isinstance(problem, Problem) for problem in found.faults)
    knowledge = open_knowledge([folder])
    piece = targets.parse_piece("piece: x\nsurfaces: [{name: top}]", "x", knowledge)
    assert abs(sum(Examiner(knowledge).examine(piece, piece.surfaces[0]).posterior.finishes.values()) - 1) < 1e-9


def test_a_hang_is_broken_off_and_growth_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """The long run would notice: a loop without end that catches whatever it can, and memory that is kept."""

    def endless() -> None:
        while True:
            with suppress(Exception):
                sum(range(1000))

    with pytest.raises(run.Hang), run.broken_off(0.2):
        endless()
    tracemalloc.start()  # the peak of this process may be higher already
    monkeypatch.setattr(run, "peak_kb", lambda: 1 + tracemalloc.get_traced_memory()[1] // 1024)
    memory, kept = run.Memory(10), []
    for number in range(10):
        kept.append(bytearray(b"x" * 10_000_000) if number > 2 else b"")
        memory.passed()
    grown = memory.grown_kb()
    tracemalloc.stop()
    assert grown > run.GROWN_KB


def test_unknown_names_are_found_by_the_target() -> None:
    """The target for knowledge goes as far as the names that an entry uses of others: none of the shipped is unknown."""
    data = next(data for data in targets.seeds("knowledge-file") if data.startswith(b"# finishes"))
    assert targets.knowledge_file(data) == []
    assert targets.knowledge_file(data.replace(b"family: ", b"family: no-"))


def problems_of(data: bytes) -> tuple[Problem, ...]:
    """What is wrong with a piece file."""
    try:
        targets.piece_file(data)
    except BadInput as error:
        return error.problems
    return ()


def test_a_refusal_names_the_place() -> None:
    """Every problem of a bent piece file names the file, a line from 1 on, and says something."""
    seeds, told = list(targets.seeds("piece-file")), []
    for seed in range(30):
        rng = Random(seed)
        told += problems_of(mutate.bent_yaml(rng.choice(seeds), rng))
    assert len(told) > 10
    assert all(p.path == "fuzz.yaml" and p.line >= 1 and len(p.message) > 5 for p in told)
