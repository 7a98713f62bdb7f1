"""Where an examination stands: against the same examination without its last answer, and figures by hand."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from oldcoat.engine.deciding.costs import CostTable
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.report.standing import Move, between, moves, rose_and_fell

Examine = Callable[..., Examination]


def test_what_the_last_answer_moved(examine: Examine) -> None:
    """The chances now less those of the examination that never had that answer, most probable finish first."""
    answers = {"alcohol-drop": "dissolves-fast", "uv-a": "orange"}
    done, before = (
        examine({"made": 1890}, build="solid", tests=t) for t in (answers, {"alcohol-drop": "dissolves-fast"})
    )
    rows = moves(done, "uv-a")
    assert [row.p for row in rows] == sorted(done.posterior.finishes.values(), reverse=True)
    for row in rows:
        assert row.p == done.posterior.finishes[row.finish]
        assert row.change == pytest.approx(row.p - before.posterior.finishes[row.finish], abs=1e-9)
    assert any(abs(row.change) > 0.01 for row in rows)
    for nothing in (None, "oil-drop"):
        assert all(row.change == 0 for row in moves(done, nothing))


def test_the_most_that_rose_and_fell() -> None:
    """From a hundredth on, either way."""
    rows = [Move(finish=f, p=0.2, change=c) for f, c in (("a", 0.01), ("b", -0.01), ("c", 0.009), ("d", -0.002))]
    assert rose_and_fell(rows) == (rows[0], rows[1])
    assert rose_and_fell(rows[2:]) == (None, None)


def test_what_stands_between(examine: Examine, knowledge: Knowledge) -> None:
    """Each finish that is possible wants the cheapest of what takes it off; one way off for all is named as the route has it."""
    base = examine(build="solid", tests={"uv-a": "orange"})
    names = sorted(knowledge.finishes)
    believed = dict.fromkeys(names, 0.0) | {"shellac": 0.3, "epoxy": 0.5, "oil-paint": 0.2}
    moves, holds = ({"dissolves": p, "lifts": 0.0, "softens": 0.0, "no-effect": 1 - p} for p in (0.5, 0.49))
    willing = [replace(p, effects_by=dict.fromkeys(names, moves)) for p in base.predictions]
    done = replace(base, posterior=replace(base.posterior, finishes=believed), predictions=willing)

    def told(acetone: dict[str, float]) -> str:
        cheap = [[acetone.get(name, 50.0) for name in [*names, ""]], [40.0] * (len(names) + 1)]
        costs = CostTable(["acetone", "card-scraper"], cheap)
        return between(replace(done, costs=costs), knowledge)

    acetone, scraper = (knowledge.removers[r].name for r in ("acetone", "card-scraper"))
    epoxy, paint, shellac = (knowledge.finishes[f].name for f in ("epoxy", "oil-paint", "shellac"))
    assert told({"shellac": 10.0}) == f"{epoxy} or {paint} wants {scraper}; {shellac} wants {acetone}."
    assert told({"epoxy": 10.0}) == f"{epoxy} wants {acetone}; {shellac} or {paint} wants {scraper}."
    assert (
        told({"wax": 10.0})
        == f"One way off serves all that it may still be: {knowledge.removers[done.routes[0].remover].name}."
    )
    stubborn = [
        replace(p, effects_by={**p.effects_by, "epoxy": holds}) if p.remover == "acetone" else p for p in willing
    ]
    done = replace(done, predictions=stubborn)
    assert told({"epoxy": 10.0}) == told({"wax": 10.0})  # it is cheap to fail with it, and that is no way off
    nothing = between(replace(done, routes=[]), knowledge)
    assert nothing == between(replace(done, costs=CostTable([], [])), knowledge)
    assert nothing.startswith("Nothing in the book that would work")
