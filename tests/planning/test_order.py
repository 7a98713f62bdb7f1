"""The order of work: precedence holds, skipped steps pass on, circles are told, early steps stay lawful."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.entries import Before, Step, WorkOrder
from oldcoat.engine.planning.order import (
    Circle,
    Node,
    applies,
    check_circles,
    comes_before,
    held_after,
    in_order,
    precedence,
    taken_early,
    uninterrupted,
)
from oldcoat.engine.planning.plan import Plan

Planner = Callable[[str], Plan]
NEEDS = ("strip", "colour", "coated", "dents")
SURFACES = ("a", "b", "c")


@st.composite
def books(draw: st.DrawFn) -> WorkOrder:
    """Invented books without circles: every row leads from a lower to a higher step."""
    count = draw(st.integers(2, 9))
    names = [f"s{n}" for n in range(count)]
    steps = {
        name: Step(
            name=name * 2,
            each=draw(st.sampled_from(("piece", "surface"))),
            needs=draw(st.lists(st.sampled_from(NEEDS), max_size=1)),
            how="do it",
            source=["memory"],
        )
        for name in names
    }
    pairs = draw(st.lists(st.tuples(st.integers(0, count - 1), st.integers(0, count - 1)), max_size=14))
    order = [
        Before(first=names[a], then=names[b], why="so it is", early="a little", source=["memory"])
        for a, b in dict.fromkeys(pairs)
        if a < b
    ]
    return WorkOrder(steps=steps, order=order, session_hours=6, areas_source=["memory"])


HELD = st.fixed_dictionaries({name: st.frozensets(st.sampled_from(NEEDS)) for name in SURFACES})


def _same(one: Node, other: Node) -> bool:
    return not one.surface or not other.surface or one.surface == other.surface


@given(books(), HELD)
def test_no_order_breaks_a_precedence(book: WorkOrder, held: dict[str, frozenset[str]]) -> None:
    """Also when steps between are skipped: whatever the book puts before stands before, on the same surface."""
    nodes = applies(book, held)
    order = in_order(precedence(book, nodes, SURFACES), book, SURFACES)
    assert sorted(order) == sorted(nodes)
    place = {node: index for index, node in enumerate(order)}
    for one in nodes:
        for other in nodes:
            if comes_before(book, one.step, other.step) and _same(one, other):
                assert place[one] < place[other]


@given(books(), HELD)
def test_the_order_is_always_the_same(book: WorkOrder, held: dict[str, frozenset[str]]) -> None:
    """It does not hang on the order in which the steps were found."""
    nodes = applies(book, held)
    one = in_order(precedence(book, nodes, SURFACES), book, SURFACES)
    assert one == in_order(precedence(book, nodes[::-1], SURFACES), book, SURFACES)


@given(books(), HELD, st.data())
def test_early_steps_keep_a_lawful_order(book: WorkOrder, held: dict[str, frozenset[str]], data: st.DataObject) -> None:
    """A target taken before a gate gives an order without a circle, target first, other surfaces as before."""
    nodes = applies(book, held)
    faces = [node for node in nodes if node.surface]
    gates = [node for node in nodes if not node.surface]
    if not faces or not gates:
        return
    target, gate = data.draw(st.sampled_from(faces)), data.draw(st.sampled_from(gates))
    early = taken_early(book, nodes, SURFACES, target, gate)
    if early is None:
        return
    order = in_order(early.graph, book, SURFACES)
    place = {node: index for index, node in enumerate(order)}
    assert place[target] < place[gate]
    for node in nodes:
        for first in nodes:
            lawful = comes_before(book, first.step, node.step) and _same(first, node)
            if lawful and node.surface not in ("", target.surface) and first.surface == node.surface:
                assert place[first] < place[node]


def _book(*pairs: tuple[str, str]) -> WorkOrder:
    steps = {n: Step(name=n * 3, each="surface", how="do it", source=["memory"]) for p in pairs for n in p}
    rows = [Before(first=a, then=b, why=f"{a} spoils {b}", source=["memory"]) for a, b in pairs]
    return WorkOrder(steps=steps, order=rows, session_hours=6, areas_source=["memory"])


@given(books(), HELD, st.data())
def test_nothing_on_the_face_comes_between_what_belongs_together(
    book: WorkOrder, held: dict[str, frozenset[str]], data: st.DataObject
) -> None:
    """But what the book itself puts there; all that the book wants is kept, and other faces go on by themselves."""
    nodes = applies(book, held)
    here = [node for node in nodes if node.surface == "a"]
    run = set(data.draw(st.lists(st.sampled_from(here), min_size=2, max_size=4))) if here else set[Node]()
    usual = precedence(book, nodes, SURFACES)
    graph = uninterrupted(usual, book, run)
    order = in_order(graph, book, SURFACES)
    place = {node: index for index, node in enumerate(order)}
    assert set(order) == set(nodes)
    assert all(place[first] < place[then] for then, row in usual.before.items() for first in row)
    if run:
        first, last = min(place[n] for n in run), max(place[n] for n in run)
        between = {n for n in order[first : last + 1] if n.surface == "a"} - run
        assert all(usual.ancestors(n) & run and usual.descendants(n) & run for n in between)


def test_what_the_book_leaves_open_stands_about_what_belongs_together() -> None:
    """Steps that no row binds: what stands earlier in the book than the first of the run before it, the rest after it."""
    steps = {name: Step(name=name * 3, each="surface", how="do it", source=["memory"]) for name in "pqrst"}
    rows = [Before(first="q", then="s", why="so it is", source=["memory"])]
    book = WorkOrder(steps=steps, order=rows, session_hours=6, areas_source=["memory"])
    nodes = applies(book, {"a": frozenset(), "b": frozenset()})
    usual = precedence(book, nodes, ("a", "b"))
    together = in_order(uninterrupted(usual, book, {Node("q", "a"), Node("s", "a")}), book, ("a", "b"))
    assert [node.step for node in together if node.surface == "a"] == ["p", "q", "s", "r", "t"]
    assert [node.step for node in together if node.surface == "b"] == ["p", "q", "r", "s", "t"]


def test_a_circle_is_told_with_the_rows_that_make_it() -> None:
    """Only the rows of the shortest circle, with their reasons."""
    book = _book(("a", "x"), ("x", "y"), ("y", "z"), ("z", "a"), ("a", "b"), ("b", "c"), ("c", "a"), ("a", "d"))
    with pytest.raises(Circle) as caught:
        check_circles(book)
    assert {(e.first, e.then) for e in caught.value.edges} == {("a", "b"), ("b", "c"), ("c", "a")}
    assert "a spoils b" in str(caught.value)


def test_a_contradiction_in_the_book_reaches_the_user(
    examiner: object, planned: Planner, hall_table: str, knowledge: Knowledge
) -> None:
    """A row against the book leaves no order, no schedule, and a flag with the rows and reasons."""
    from msgspec.structs import replace

    from oldcoat.engine import Examiner, assess, parse_piece

    bad = Before(first="wax", then="strip", why="a user thought so", source=["memory"])
    work = replace(knowledge.work, order=[*knowledge.work.order, bad])
    book = replace(knowledge, work=work)
    answer = assess(parse_piece(hall_table, "invented", book), book, examiner=Examiner(book, this_year=2026))
    assert answer.order_of_work == []
    assert answer.schedule is None
    assert any(f.startswith("contradiction") and "a user thought so" in f for f in answer.flags)


def test_held_steps_are_those_behind_the_gate() -> None:
    """Held is what lies behind the gate on the held surface, and all that needs it."""
    book = _book(("look", "match"), ("match", "strip"), ("strip", "coat"))
    nodes = applies(book, {"a": frozenset(), "b": frozenset()})
    graph = precedence(book, nodes, ("a", "b"))
    held = held_after(graph, [Node("match", "a"), Node("match", "b")], [n for n in nodes if n.surface == "a"])
    assert held == {Node("strip", "a"), Node("coat", "a")}


def test_the_shipped_book_has_no_circle_and_one_end(knowledge: Knowledge) -> None:
    """A drawing of all steps without conditions is acyclic and ends in one step."""
    check_circles(knowledge.work)
    starts = {e.first for e in knowledge.work.order}
    ends = {e.then for e in knowledge.work.order} - starts
    assert len(ends) == 1
    assert set(knowledge.work.steps) == starts | ends


def test_published_precedence(knowledge: Knowledge) -> None:
    """Glue before stripping (trade, 1998 and 2002), rinse before sanding (oxalate dust), chlorine before acid, wax last."""
    for first, then in (
        ("reglue-joints", "strip"),
        ("rinse-after-oxalic", "sand"),
        ("rinse-after-chlorine", "oxalic-acid"),
        ("pull-iron", "oxalic-acid"),
        ("salvage-decision", "strip"),
        ("full-cure", "wax"),
        ("clear-shop", "first-coat"),
    ):
        assert comes_before(knowledge.work, first, then)
        assert not comes_before(knowledge.work, then, first)
