"""When the figures say stop, the work ends with the decision. All pieces and figures are invented."""

from __future__ import annotations

from collections.abc import Callable

from oldcoat.engine import Examiner, assess, parse_piece
from oldcoat.engine.planning.plan import Plan

Planner = Callable[[str], Plan]
PIECE = """
piece: invented
made: 1900-1920
kind: table
next_coat: shellac
money: {{sells: {sells}, rate_hour: 40, fallback: 30, as_it_stands: 100}}
surfaces:
  - {{name: top, wood: oak, build: solid, area_m2: 0.8, tests: {{alcohol-drop: dissolves-fast}}, stains: [{{kind: black-ring}}]}}
"""
GOOD, HOPELESS = 5000, 150


def _between(planned: Planner) -> Plan:
    """A price at which success pays and the chances do not."""
    for sells in range(150, 3000, 25):
        made = planned(PIECE.format(sells=sells))
        verdict = made.triage.verdict
        if verdict is not None and verdict.decision == "stop" and verdict.gain_if_it_works > 0:
            return made
    raise AssertionError("no price is between")


def test_stop_ends_with_the_decision(planned: Planner) -> None:
    """Trials come before it; the rest stands apart, nothing is lost, and the days are those up to the decision."""
    made, whole = _between(planned), planned(PIECE.format(sells=GOOD))
    steps = [node.step for node in made.order]
    assert steps[-1] == "salvage-decision"
    assert {"remover-patch", "stain-spot"} <= set(steps)
    assert "strip" not in steps
    assert sorted([*made.order, *made.if_anyway]) == sorted(whole.order)
    assert not whole.if_anyway
    assert made.schedule is not None
    assert {turn.step for turn in made.schedule.turns} == set(steps)


def test_stop_buys_only_what_the_trial_needs(planned: Planner) -> None:
    """Millilitres of the remover and of the acid, gloves for them; no coat, no paper, no litres."""
    made, whole = _between(planned), planned(PIECE.format(sells=GOOD))
    what = {item.what for item in made.shopping}
    assert what < {item.what for item in whole.shopping}
    assert not any("shellac" in name or "grit" in name for name in what)
    assert any("gloves" in name for name in what)
    remover = next(item for item in made.shopping if "trial" in item.why)
    assert remover.unit == "ml"
    assert remover.amount[1] < 10


def test_where_no_success_would_pay_nothing_is_tried(planned: Planner) -> None:
    """No face is touched, no trial is named: only the record of the piece and the decision."""
    made = planned(PIECE.format(sells=HOPELESS))
    assert made.triage.show is None
    assert all(not node.surface for node in made.order)
    assert made.order[-1].step == "salvage-decision"
    assert "test-worst-surface" not in {node.step for node in made.order}


def test_stop_and_an_unmatched_part(planned: Planner) -> None:
    """What may be done before the part is matched still stands, and the decision waits with the rest."""
    part = "parts: [{label: X, what: leaf, surface: top, matched: false}]\n"
    for made in (planned(PIECE.format(sells=HOPELESS) + part), planned(PIECE.format(sells=600) + part)):
        assert made.order
        assert made.order[0].step == "intake-photos"
        assert "salvage-decision" in {node.step for node in made.held}
        assert not set(made.order) & set(made.held)


def test_the_json_tells_both_parts(examiner: Examiner) -> None:
    """The key of the order keeps its meaning, what follows has its own, and no caution is lost."""
    rows = []
    for sells in (HOPELESS, GOOD):
        piece = parse_piece(PIECE.format(sells=sells), "invented", examiner.knowledge)
        rows.append(assess(piece, examiner.knowledge, examiner=examiner))
    stop, go = rows
    assert stop.order_of_work[-1].step == "salvage-decision"
    assert stop.if_anyway
    assert set(stop.cautions) == set(go.cautions)
