"""Sessions: never longer than one thing after the other, never shorter than the longest chain."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from oldcoat.engine.planning.graph import Graph, from_edges
from oldcoat.engine.planning.order import Node
from oldcoat.engine.planning.schedule import HOURS_A_DAY, Job, Schedule, schedule

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
            assert t.start % HOURS_A_DAY <= session + SLACK
            assert t.end % HOURS_A_DAY <= session + SLACK or session >= HOURS_A_DAY - SLACK


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


def _day(plan: Schedule) -> list[tuple[int, float, list[str], list[str]]]:
    return [(s.day, s.hours, s.steps, s.waiting) for s in plan.sessions]


def test_two_days_by_hand() -> None:
    """Six hours a day, invented: the legs are washed while the top dries into the second day, when it is coated.

    One after the other the legs wait for the top, and the coat of four hours no longer fits into the second day.
    """
    nodes = [Node("wash", "top"), Node("wash", "legs"), Node("coat", "top")]
    table = dict(zip(nodes, (Job(2, 24), Job(3, 0), Job(4, 12)), strict=True))
    graph = Graph({nodes[0]: {}, nodes[1]: {}, nodes[2]: {nodes[0]: "dry"}})
    plan = schedule(nodes, graph, table, 6)
    assert [(t.start, t.end, t.ready) for t in plan.turns] == [(0, 2, 26), (2, 5, 5), (26, 30, 42)]
    assert _day(plan) == [(1, 5, ["wash (top)", "wash (legs)"], ["wash (top)"]), (2, 4, ["coat (top)"], [])]
    assert (plan.work_hours, plan.elapsed_hours, plan.longest_chain_hours, plan.days) == (9, 42, 42, 2)
    assert (plan.sequence_hours, plan.sequence_days) == (48 + 3 + 12, 3)


def test_a_long_step_runs_on_from_day_to_day_by_hand() -> None:
    """Four hours, then fourteen, six a day: two left of the first day, all of the second and third; the next is for the fourth."""
    nodes = [Node("scrape", ""), Node("strip", ""), Node("look", "")]
    edges = [(nodes[0], nodes[1], "so it is"), (nodes[1], nodes[2], "so it is")]
    plan = schedule(nodes, from_edges(edges), dict(zip(nodes, (Job(4, 0), Job(14, 0), Job(1, 2)), strict=True)), 6)
    assert [(t.start, t.end) for t in plan.turns] == [(0, 4), (4, 54), (72, 73)]
    assert [(day, hours, steps) for day, hours, steps, _ in _day(plan)] == [
        (1, 6, ["scrape", "strip"]),
        (2, 6, ["strip"]),
        (3, 6, ["strip"]),
        (4, 1, ["look"]),
    ]
    assert [waiting for *_, waiting in _day(plan)] == [[], [], [], []]
    assert (plan.days, plan.elapsed_hours, plan.sequence_hours) == (4, 75, 75)


def test_a_wait_alone_takes_no_hour_of_the_day() -> None:
    """A step without work starts when what comes before it is over, by night too, and stands in no day."""
    nodes = [Node("glue", ""), Node("rest", ""), Node("plane", "")]
    edges = [(nodes[0], nodes[1], "so it is"), (nodes[1], nodes[2], "so it is")]
    plan = schedule(nodes, from_edges(edges), dict(zip(nodes, (Job(1, 9), Job(0, 20), Job(1, 0)), strict=True)), 6)
    assert [(t.start, t.end, t.ready) for t in plan.turns] == [(0, 1, 10), (10, 10, 30), (48, 49, 49)]
    assert _day(plan) == [(1, 1, ["glue"], ["rest"]), (3, 1, ["plane"], [])]
    assert schedule([], Graph({}), {}, 6).days == 0


def test_what_others_wait_for_longest_goes_first() -> None:
    """A day holds one of three steps; of the two that may start, the one with the long wait and a step after it."""
    nodes = [Node("a", ""), Node("b", ""), Node("c", "")]
    graph = Graph({nodes[0]: {}, nodes[1]: {}, nodes[2]: {nodes[1]: "dry"}})
    plan = schedule(nodes, graph, dict(zip(nodes, (Job(4, 0), Job(4, 44), Job(4, 0)), strict=True)), 4)
    assert [(t.step, t.start) for t in plan.turns] == [("b", 0), ("a", 24), ("c", 48)]
    assert (plan.elapsed_hours, plan.sequence_hours, plan.days) == (52, 76, 3)


def test_what_is_ready_by_midnight_waits_over_no_night() -> None:
    """Four hours and a wait of twenty end with the day; an hour more of it and the night is waited over."""
    node = Node("b", "")
    for wait, waiting, days in ((20, [], 2), (21, ["b"], 2), (19, [], 1)):
        plan = schedule([node], Graph({node: {}}), {node: Job(4, wait)}, 4)
        assert [s.waiting for s in plan.sessions] == [waiting]
        assert plan.days == plan.sequence_days == days
