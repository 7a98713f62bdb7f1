"""Stains: tries are counted down, what must not meet is said, veneer is not sanded."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.entries import StainStep
from oldcoat.engine.planning.plan import Plan
from oldcoat.engine.planning.stains import StainPlan, chance_left, tries_left

Planner = Callable[[str], Plan]
MOST = {"wash": 2, "acid": 3, "bleach": 1}
LADDERS = st.lists(st.tuples(st.sampled_from(sorted(MOST)), st.integers(1, 4)), min_size=1, max_size=5)
TRIED = st.dictionaries(st.sampled_from(sorted(MOST)), st.integers(0, 8))


def _ladder(rows: list[tuple[str, int]]) -> list[StainStep]:
    return [StainStep(treatment=name, tries=tries) for name, tries in rows]


@given(LADDERS, TRIED, st.sampled_from(sorted(MOST)))
def test_more_tries_never_leave_more(rows: list[tuple[str, int]], tried: dict[str, int], again: str) -> None:
    """One more try of any treatment leaves no rung with more tries than before."""
    before = tries_left(_ladder(rows), MOST, tried)
    after = tries_left(_ladder(rows), MOST, {**tried, again: tried.get(again, 0) + 1})
    assert all(late[1] <= early[1] for early, late in zip(before, after, strict=True))


@given(LADDERS, TRIED)
def test_no_treatment_goes_beyond_its_own_limit(rows: list[tuple[str, int]], tried: dict[str, int]) -> None:
    """Over the whole ladder a treatment is planned no more often than it bears, tries done included."""
    counts = tries_left(_ladder(rows), MOST, tried)
    for name, most in MOST.items():
        assert sum(tries for (n, _), (tries, _) in zip(rows, counts, strict=True) if n == name) <= most
    assert all(0 <= left <= tries for tries, left in counts)


@given(st.floats(0.01, 0.99), st.integers(1, 6))
def test_failed_tries_lower_the_chance(chance: float, tries: int) -> None:
    """From the full chance down to none, never up."""
    chances = [chance_left(chance, tries, left) for left in range(tries, -1, -1)]
    assert abs(chances[0] - chance) < 1e-12
    assert chances == sorted(chances, reverse=True)
    assert chances[-1] == 0


def _stain(planned: Planner, stain: str, wood: str = "oak", build: str = "solid", more: str = "") -> StainPlan:
    text = f"""
piece: invented
made: 1930-1945
surfaces:
  - {{name: top, wood: {wood}, build: {build}, tests: {{alcohol-drop: dissolves-fast}}, stains: [{stain}]{more}}}
"""
    return planned(text).facings[0].stains[0]


def test_black_ring_starts_with_oxalic_acid_on_the_whole_face(planned: Planner, knowledge: Knowledge) -> None:
    """FPL FinishLine 2013 and furniture practice: oxalic acid for iron, the whole face, two or three times."""
    fresh = _stain(planned, "{kind: black-ring}")
    assert fresh.next == "oxalic-acid"
    assert fresh.repeats_left == knowledge.treatments["oxalic-acid"].max_cycles
    rung = next(r for r in fresh.ladder if r.state == "next")
    assert rung.whole_face
    assert rung.needs_bare
    assert rung.rinse
    assert max(rung.dry_hours) >= 24


def test_tries_count_down_to_the_next_rung(planned: Planner, knowledge: Knowledge) -> None:
    """Each try leaves one less; after the last, oxalic acid is not proposed again."""
    most = knowledge.treatments["oxalic-acid"].max_cycles
    left = [_stain(planned, f"{{kind: black-ring, tried: {{oxalic-acid: {n}}}}}") for n in range(most + 2)]
    assert [s.repeats_left for s in left[:most]] == list(range(most, 0, -1))
    assert all(s.next != "oxalic-acid" for s in left[most:])


def test_chlorine_bleach_and_oxalic_acid_are_kept_apart(planned: Planner) -> None:
    """Wood that met chlorine bleach gets a warning before oxalic acid: two rinses and drying."""
    plan = _stain(planned, "{kind: black-ring, tried: {chlorine-bleach: 1}}")
    acid = next(r for r in plan.ladder if r.treatment == "oxalic-acid")
    assert any("chlorine" in w and "two rinses" in w for w in acid.warnings)


def test_veneer_is_never_sanded_and_the_figures_are_given(planned: Planner) -> None:
    """The reason names the thickness and what may go."""
    plan = _stain(planned, "{kind: black-ring}", wood="walnut", build="veneer", more=", veneer_mm: 0.6")
    assert plan.sanding.startswith("Never sand")
    assert "0.6 mm" in plan.sanding
    assert "0.2 mm" in plan.sanding  # 0.6 - 0.3 kept - 0.1 for not knowing


def test_woods_and_budgets_bar_a_treatment(planned: Planner) -> None:
    """Cherry is not bleached with peroxide, nor is veneer with nothing to spare."""
    for wood, more in (("cherry", ""), ("walnut", ", veneer_mm: 0.4")):
        build = "veneer" if more else "solid"
        plan = _stain(planned, "{kind: black-ring, tried: {oxalic-acid: 9}}", wood, build, more)
        states = {r.treatment: r.state for r in plan.ladder}
        assert states.get("two-part-bleach", "not-here") == "not-here"


def test_a_bloom_goes_with_the_film(planned: Planner) -> None:
    """What sits in the film is not treated on a surface that is stripped, but is where the film stays."""
    assert _stain(planned, "{kind: white-bloom}").next is None
    assert _stain(planned, "{kind: white-bloom}", more=", plan: keep").next is not None


def test_old_writing_ink_meets_the_acid_before_the_bleach(planned: Planner, knowledge: Knowledge) -> None:
    """Old two-bottle ink removers: acid for the iron first, chlorine for the dye after; bleach alone leaves rust."""
    fresh = _stain(planned, "{kind: iron-ink}", wood="mahogany")
    assert fresh.next == "oxalic-acid"
    most = knowledge.treatments["oxalic-acid"].max_cycles
    spent = _stain(planned, f"{{kind: iron-ink, tried: {{oxalic-acid: {most}}}}}", wood="mahogany")
    bleach = next(r for r in spent.ladder if r.treatment == "chlorine-bleach")
    assert spent.next == "chlorine-bleach"
    assert any("oxalic" in w and "two rinses" in w for w in bleach.warnings)


def test_hours_and_litres_grow_with_the_face(planned: Planner, knowledge: Knowledge) -> None:
    """By the square metre: those of the book on one, three times as much on three; the acid by its litres."""
    book = knowledge.treatments["oxalic-acid"]
    one, three = (
        next(r for r in _stain(planned, "{kind: black-ring}", more=f", area_m2: {area}").ladder if r.state == "next")
        for area in (1, 3)
    )
    assert (one.treatment, one.litres, one.hours) == ("oxalic-acid", tuple(book.litres_m2), tuple(book.active_hours_m2))
    for end in (0, 1):
        assert three.litres[end] == pytest.approx(3 * one.litres[end])
        assert three.hours[end] == pytest.approx(3 * one.hours[end])
    assert one.grams is not None
    assert three.grams == pytest.approx(3 * one.grams)


def test_the_plan_of_a_stain_starts_with_what_comes_next(planned: Planner, knowledge: Knowledge) -> None:
    """Its name, where it goes and how often yet; once all tries are used up, to stop."""
    name, most = knowledge.treatments["oxalic-acid"].name.capitalize(), knowledge.treatments["oxalic-acid"].max_cycles
    told = _stain(planned, "{kind: black-ring, tried: {oxalic-acid: 1}}").told
    assert told.startswith(f"{name} on the whole face, edge to edge, {most - 1} more time")
    assert "(1 done on this face)" in told
    spent = _stain(planned, f"{{kind: black-ring, tried: {{oxalic-acid: {most}}}}}")
    assert spent.next is None
    assert spent.told.startswith("Stop treating it.")


def test_a_mark_in_the_film_is_not_said_to_go_deeper(planned: Planner) -> None:
    """On veneer a ring in the wood goes deeper than may be sanded; a bloom in the film that stays does not."""
    more = ", veneer_mm: 0.6, plan: keep"
    ring, bloom = (
        _stain(planned, f"{{kind: {kind}}}", wood="walnut", build="veneer", more=more).sanding
        for kind in ("black-ring", "white-bloom")
    )
    assert ring.startswith("Never sand")
    assert bloom.startswith("Never sand")
    assert "goes deeper" in ring
    assert "goes deeper" not in bloom
