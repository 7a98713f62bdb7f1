"""Sessions: never longer than one thing after the other, never shorter than the longest chain."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from oldcoat.engine.planning.graph import Graph, from_edges
from oldcoat.engine.planning.order import Node
from oldcoat.engine.planning.schedule import DAY, Job, Schedule, schedule

SLACK = 1e-6


@st.composite
def jobs(draw: st.DrawFn) -> tuple[list[Node], Graph[Node], dict[Node, Job], float]:
    """Invented steps in a lawful order, their graph, hours and waits, and a working day."""
    count = draw(st.integers(1, 12))
    nodes = [Node(f"s{n}", draw(st.sampled_from(("", "a", "b")))) for n in range(count)]
    before: dict[Node, dict[Node, str]] = {node: {} for node in nodes}
    for a, b in draw(st.lists(st.tuples(st.integers(0, count - 1), st.integers(0, count - 1)), max_size=20)):
        if a < b:
            before[nodes[b]][nodes[a]] = "so it is"
    hours = st.one_of(st.just(0.0), st.floats(0.01, 20))
    waits = st.one_of(st.just(0.0), st.floats(0.1, 200))
    table = {node: Job(draw(hours), draw(waits)) for node in nodes}
    return nodes, Graph(before), table, draw(st.floats(1, 24))


def _made(made: tuple[list[Node], Graph[Node], dict[Node, Job], float]) -> Schedule:
    return schedule(*made)


@given(jobs())
@settings(max_examples=200)
def test_between_the_longest_chain_and_the_sequence(made) -> None:  # type: ignore[no-untyped-def]
    """The bounds of any sensible plan."""
    plan = _made(made)
    assert plan.longest_chain_hours - SLACK <= plan.elapsed_hours <= plan.sequence_hours + SLACK
    assert plan.work_hours - SLACK <= plan.elapsed_hours or not plan.turns


@given(jobs())
@settings(max_examples=200)
def test_every_turn_is_lawful(made) -> None:  # type: ignore[no-untyped-def]
    """One thing at a time, in open hours, after what must come before; waits never negative; nothing left out."""
    nodes, graph, table, session = made
    plan = _made(made)
    turn = {Node(t.step, t.surface): t for t in plan.turns}
    assert set(turn) == set(nodes)
    for then, earlier in graph.before.items():
        for first in earlier:
            assert turn[then].start >= turn[first].ready - SLACK
    working = sorted((t for t in plan.turns if table[Node(t.step, t.surface)].hours), key=lambda t: t.start)
    for one, after in pairwise(working):
        assert after.start >= one.end - SLACK
    for t in plan.turns:
        assert t.ready >= t.end >= t.start >= 0
        if table[Node(t.step, t.surface)].hours:
            assert t.start % DAY <= session + SLACK
            assert t.end % DAY <= session + SLACK or session >= DAY - SLACK


@given(jobs())
def test_the_days_hold_all_the_work_and_no_day_too_much(made) -> None:  # type: ignore[no-untyped-def]
    """Hours of the days add up to the work, and no day is longer than the working day."""
    *_, session = made
    plan = _made(made)
    assert abs(sum(s.hours for s in plan.sessions) - plan.work_hours) < 0.02 * max(1, len(plan.sessions))
    assert all(s.hours <= session + 0.01 for s in plan.sessions)


def test_waits_overlap() -> None:
    """Two faces that each dry for a day do so together (invented hours)."""
    nodes = [Node("wash", "top"), Node("wash", "legs"), Node("coat", "top"), Node("coat", "legs")]
    graph = from_edges([(nodes[0], nodes[2], "dry"), (nodes[1], nodes[3], "dry")])
    table = {nodes[0]: Job(1, 24), nodes[1]: Job(1, 24), nodes[2]: Job(1, 0), nodes[3]: Job(1, 0)}
    plan = schedule(nodes, graph, table, 6)
    assert plan.elapsed_hours < 30
    assert plan.sequence_hours > 48
