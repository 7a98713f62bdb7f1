"""Moisture in wood: the shape of the equation, and that drying follows the square of the depth."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Room
from oldcoat.engine.wood.moisture import drying_hours, emc, movement, room_flags, told_movement

# Wood Handbook (FPL-GTR-190), table 4-2: (F, humidity, per cent)
TABLE = [(30, 30, 6.3), (30, 90, 21.0), (60, 50, 9.4), (70, 65, 12.0), (80, 80, 15.7), (100, 40, 7.2), (140, 70, 11.0)]


def test_equation_keeps_to_the_printed_table() -> None:
    """Cells of table 4-2 within rounding and the equation's own error."""
    for fahrenheit, humidity, percent in TABLE:
        assert abs(emc((fahrenheit - 32) / 1.8, humidity) - percent) <= 0.1


@given(st.floats(-1, 60), st.floats(1, 98))
def test_damper_air_means_wetter_wood(celsius: float, humidity: float) -> None:
    """At any temperature more humidity means more moisture."""
    assert emc(celsius, humidity + 1) > emc(celsius, humidity)


@given(st.floats(10, 3000), st.floats(0.0005, 0.005), st.floats(6, 14), st.floats(6, 14))
def test_movement_there_and_back_is_nothing(width: float, coefficient: float, a: float, b: float) -> None:
    """Swelling and shrinking undo each other, and wood that takes up water grows."""
    out = movement(width, coefficient, a, b)
    assert abs(out + movement(width, coefficient, b, a)) < 1e-9
    assert (out > 0) == (b > a) or out == 0


@given(st.floats(1, 20))
def test_twice_as_deep_dries_four_times_as_long(depth: float) -> None:
    """Fick's law: time with the square of the depth."""
    from oldcoat.engine.knowledge.entries import Drying

    book = Drying(
        soaked_percent=28,
        near_points=1.5,
        most_percent=12,
        depth_mm=5,
        diffusion_mm2_h=1,
        activation_j_mol=35_000,
        source=["memory"],
    )
    once, twice = (drying_hours(28, 9, d, book, 20) for d in (depth, 2 * depth))
    assert abs(twice / once - 4) < 1e-3
    assert drying_hours(10, 9, depth, book, 20) == 0
    assert drying_hours(28, 9, depth, book, 10) > once


def test_forecast_agrees_with_the_shops(knowledge: Knowledge) -> None:
    """Trade practice: a flooded face dries in about a day or two, a soaked 20 mm in one to three weeks."""
    book = knowledge.substrate.drying
    face = drying_hours(book.soaked_percent, emc(20, 50), book.depth_mm, book, 20)
    soaked = drying_hours(book.soaked_percent, emc(20, 50), 20, book, 20)
    assert 12 <= face <= 48
    assert 7 * 24 <= soaked <= 21 * 24


def test_damp_room_is_told(knowledge: Knowledge) -> None:
    """A room in which wood never comes below the limit is flagged, a dry one is not."""
    assert room_flags(Room(temperature_c=15, humidity=80), knowledge)
    assert not room_flags(Room(temperature_c=20, humidity=45), knowledge)


def test_movement_is_told_only_where_the_book_has_a_figure(knowledge: Knowledge) -> None:
    """No figure, no sentence."""
    assert "walnut" in (told_movement("walnut", 20, knowledge) or "")
    assert told_movement("unknown", 20, knowledge) is None
