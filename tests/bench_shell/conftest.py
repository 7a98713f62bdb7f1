"""Benches without a terminal, closed at the end of each test."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from bench_helpers import INTAKE, Bench

from oldcoat.engine import Examiner


@pytest.fixture
def make(tmp_path: Path, examiner: Examiner) -> Iterator[Callable[[], Bench]]:
    """Benches over one folder of sessions."""
    made: list[Bench] = []

    def one() -> Bench:
        made.append(Bench(tmp_path / "sessions", examiner))
        return made[-1]

    yield one
    for bench in made:
        if bench.desk.session is not None:
            bench.desk.session.close()


@pytest.fixture
def bench(make: Callable[[], Bench]) -> Bench:
    """A bench on which nothing was said yet."""
    return make()


@pytest.fixture
def working(bench: Bench) -> Bench:
    """A bench after intake: an oak hall table of the 1930s with top and legs."""
    bench.say(*INTAKE)
    return bench
