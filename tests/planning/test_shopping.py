"""The shopping list: quantities from areas, coats and coverage."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.planning.plan import Plan
from oldcoat.engine.planning.shopping import coat_litres, dry_um, spread, wet_um

Planner = Callable[[str], Plan]


@given(st.floats(1, 100), st.floats(5, 300))
def test_spread_and_wet_film_agree(solids: float, dry: float) -> None:
    """A litre spread to give this dry film dries to it."""
    assert abs(dry_um(wet_um(spread(solids, dry)), solids) - dry) < 1e-6 * dry


@given(st.floats(0.1, 10), st.integers(1, 5))
def test_litres_grow_with_area_and_coats(area: float, coats: int) -> None:
    """Twice the area, twice the litres; one more coat, more."""
    low, high = coat_litres(area, coats, (5, 10))
    assert low <= high
    assert abs(coat_litres(2 * area, coats, (5, 10))[1] - 2 * high) < 1e-9
    assert coat_litres(area, coats + 1, (5, 10))[0] > low


def test_the_list_of_the_hall_table(planned: Planner, hall_table: str, knowledge: Knowledge) -> None:
    """Coat over both faces, crystals for the rounds that are left, nothing for steps that do not apply."""
    items = {i.what: i for i in planned(hall_table).shopping}
    coat = knowledge.recoat.coats["oil-polyurethane"]
    assert items[coat.name].amount[1] >= 1.4 * coat.coats / coat.coverage_m2_l[0] - 1e-3
    assert items[coat.name].surfaces == ["top", "legs"]
    crystals = items[knowledge.solutes["oxalic-acid"].name]
    assert crystals.unit == "g"
    assert 0 < crystals.amount[0] < crystals.amount[1] < 200
    assert all(0 <= i.amount[0] <= i.amount[1] for i in items.values())
    assert "pore filler" not in items


def test_more_area_never_asks_for_less(planned: Planner, hall_table: str) -> None:
    """A larger top needs at least as much of everything."""
    small = {i.what: i.amount for i in planned(hall_table).shopping}
    large = {i.what: i.amount for i in planned(hall_table.replace("area_m2: 0.8", "area_m2: 1.6")).shopping}
    for what in small.keys() & large.keys():
        assert large[what][1] >= small[what][1] - 1e-9, what
