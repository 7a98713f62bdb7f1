"""Solutions: between and beyond the rows of the table, and crystals that bring water along."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.knowledge.entries import Solute
from oldcoat.engine.piece.form import Room
from oldcoat.engine.planning.solubility import clear_above, crystal_grams, dry_grams, stays_clear
from oldcoat.engine.planning.treatments import strength

INVENTED = Solute(
    name="invented salt", g_per_kg=[(0, 10), (20, 50), (40, 150)], molar_dry=90, molar_crystals=126, source=["memory"]
)


@given(st.floats(0, 39))
def test_warmer_water_takes_more(celsius: float) -> None:
    """Both as dry substance and as crystals, and of crystals more."""
    assert dry_grams(INVENTED, celsius + 1) > dry_grams(INVENTED, celsius)
    assert crystal_grams(INVENTED, celsius + 1) > crystal_grams(INVENTED, celsius) > dry_grams(INVENTED, celsius)


def test_beyond_the_table_the_nearest_row_holds() -> None:
    """No figure is made up outside the table."""
    assert dry_grams(INVENTED, -10) == 10
    assert dry_grams(INVENTED, 90) == 150


@given(st.floats(0, 40))
def test_mass_of_the_substance_is_kept(celsius: float) -> None:
    """The saturated solution made of crystals holds the dry grams of the table to the gram of water."""
    crystals = crystal_grams(INVENTED, celsius)
    dry, water = crystals * 90 / 126, 1000 + crystals * 36 / 126
    assert abs(dry / water * 1000 - dry_grams(INVENTED, celsius)) < 1e-6


def test_clear_above_is_the_first_half_degree() -> None:
    """Half a degree colder it is no longer clear; too much is never clear."""
    warm = clear_above(INVENTED, 60)
    assert warm is not None
    assert stays_clear(INVENTED, 60, warm)
    assert not stays_clear(INVENTED, 60, warm - 0.5)
    assert clear_above(INVENTED, 5000) is None


def test_oxalic_acid_is_in_the_book(knowledge: Knowledge) -> None:
    """A supplier's sheet: 1 g of crystals in 7 mL of water at room heat (jmssyzy.com)."""
    assert abs(crystal_grams(knowledge.solutes["oxalic-acid"], 20) - 1000 / 7) < 6


def test_a_cold_shed_and_a_strong_solution(knowledge: Knowledge) -> None:
    """Clear as long as the water takes it; else the least warmth at which it does; more than any water takes: less.

    Anhydrous 10 g to the kilogram at 0 C and 50 at 20 C, so of the same crystals without water 30 dissolve at 10 C.
    """
    salt = Solute(name="invented", g_per_kg=[(0, 10), (20, 50)], molar_dry=90, molar_crystals=90, source=["memory"])
    acid = knowledge.treatments["oxalic-acid"]
    assert acid.solution is not None
    mixed = replace(acid, solution=replace(acid.solution, solute="invented", g_l=[30.0, 40.0, 60.0]))
    book = replace(knowledge, solutes={**knowledge.solutes, "invented": salt})
    told = [strength(mixed, attempt, Room(temperature_c=10.0), book) for attempt in (0, 1, 2, 9)]
    assert [grams for grams, _ in told] == [30, 40, 60, 60]
    words = [str(text) for _, text in told]
    assert all("at 10 C up to 30 g dissolve" in text for text in words)
    assert words[0].endswith("so it stays clear.")
    assert words[1].endswith("so it throws crystals: use it at 15 C or above.")
    assert words[2].endswith(": use less.")
