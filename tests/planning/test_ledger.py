"""The parts ledger: strangers stop the work, like parts are told apart, marks are masked."""

from __future__ import annotations

from collections.abc import Callable

from oldcoat.engine.piece.form import Part, Piece, Screws, Surface
from oldcoat.engine.planning.ledger import held_surfaces, ledger, ledger_flags, marks_on
from oldcoat.engine.planning.plan import Plan

Planner = Callable[[str], Plan]
SURFACES = [Surface(name="case"), Surface(name="drawer")]


def _piece(*parts: Part) -> Piece:
    return Piece(piece="invented", surfaces=SURFACES, parts=list(parts))


def test_only_matched_parts_let_work_go_on() -> None:
    """A stranger and an unchecked part hold their surface; one without a surface holds all."""
    assert held_surfaces(_piece(Part(label="A", what="drawer", surface="drawer", matched=True))) == {}
    assert held_surfaces(_piece(Part(label="A", what="drawer", surface="drawer", matched=False))) == {"drawer": ["A"]}
    assert held_surfaces(_piece(Part(label="A", what="drawer", surface="drawer"))) == {"drawer": ["A"]}
    assert set(held_surfaces(_piece(Part(label="A", what="foot")))) == {"case", "drawer"}


def test_like_parts_and_unlike_screws_are_warned_of() -> None:
    """Same label, same place, screws of two lengths, holes not named."""
    one = Part(
        label="P1", what="Drawer", where="top", matched=True, screws=[Screws(count=2, mm=16), Screws(count=1, mm=25)]
    )
    two = Part(label="p1", what="drawer", where="Top", matched=True)
    first, second = ledger(_piece(one, two))
    assert len(first.warnings) == 4
    assert len(second.warnings) == 2
    assert first.screws == ["2 of 16 mm", "1 of 25 mm"]


def test_marks_are_listed_by_surface() -> None:
    """Only those of parts that belong to the surface."""
    parts = [
        Part(label="A", what="back", surface="case", marks=["paper label"]),
        Part(label="B", what="x y", marks=["brand"]),
    ]
    assert marks_on(parts, "case") == ["paper label"]
    assert marks_on(parts, "drawer") == []


def test_no_ledger_is_a_flag() -> None:
    """An empty ledger is said, a full and matched one is silent."""
    assert ledger_flags(_piece())[0].startswith("no-ledger")
    assert ledger_flags(_piece(Part(label="A", what="top", matched=True))) == []


def test_the_order_stops_at_an_unmatched_part(planned: Planner, hall_table: str) -> None:
    """The stranger's surface stops after matching; what joins all surfaces stops too; the rest goes on."""
    part = "parts: [{label: X, what: leg, surface: legs, matched: false}]"
    plan = planned(hall_table + part)
    whole = planned(hall_table + part.replace("false", "true"))
    going = {(n.step, n.surface) for n in plan.order}
    assert ("match-parts", "") in going
    assert ("test-surfaces", "top") in going
    assert not any(step == "strip" for step, _ in going)
    assert {n.step for n in plan.held} >= {"strip", "first-coat", "salvage-decision"}
    assert len(plan.order) + len(plan.held) == len(whole.order)
    assert not whole.held
