"""Metric figures in US units, against the definitions and what a tape measure shows."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.shell.tell.units import in_us


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("0.3-1.9 l of it", "0.32-2 US qt of it"),  # 1 l is 1.0567 US quarts (NIST Handbook 44, appendix C)
        ("1.9 l", "2 US qt"),
        ("38 l", "10 US gal"),
        ("0.9290304 m2", "10 ft2"),  # exact: the foot is 0.3048 m
        ("25.4 um", "1 mil"),
        ("0.6 mm", "24 thou"),
        ("25.4 mm", "1 in"),
        ("38.1 mm", "1 1/2 in"),
        ("2 to 3 mm", "1/16 to 1/8 in"),
        ("5 x 5 cm", "2 x 2 in"),
        ("50 by 50 mm under film", "2 by 2 in under film"),
        ("25.4 by 50.8 mm", "1 by 2 in"),
        ("5x5 cm", "2x2 in"),
        ("-40 C", "-40 F"),  # where the two scales meet
        ("15-25 C", "59-77 F"),
        ("5 kg", "11 lb"),
        ("a 6 cmm, C 4 and 150-180-220", "a 6 cmm, C 4 and 150-180-220"),
        ("1930-1945, 85%, step 2.", "1930-1945, 85%, step 2."),
        ("oak moves 25.4 mm (quarter-sawn) to 50.8 mm", "oak moves 1 in (quarter-sawn) to 2 in"),
        ("28.349523 g of borax", "1 oz of borax"),  # exact: a sixteenth of a pound
        # Shellac of a one and of a two pound cut: so many pounds of flakes to the US gallon, a quarter of it to the quart.
        ("119.8264 to 239.6529 g of flakes to the litre", "4 to 8 oz of flakes to a US quart"),
        ("48 g of lye in a litre of water; 96 g next", "1.6 oz of lye in a US quart of water; 3.2 oz next"),
        ("each litre of it, 2 g/l", "each litre of it, 2 g/l"),
        ("stage 2 l. Then", "stage 2.1 US qt. Then"),
    ],
)
def test_figures_turn_and_all_else_stays(metric: str, us: str) -> None:
    """Each by its definition; what is no figure before a unit is left alone."""
    assert in_us(metric) == us


@given(st.floats(0.001, 900), st.sampled_from(["mm", "cm", "um", "l", "m2", "C", "kg", "g"]))
def test_nothing_metric_is_left_and_order_is_kept(value: float, unit: str) -> None:
    """A figure never keeps its metric unit, and a second turn changes nothing."""
    told = in_us(f"{value:.3f} {unit}")
    assert not re.search(rf" {unit}\b", told)
    assert in_us(told) == told


@given(st.text(max_size=60))
def test_any_text_is_survived(text: str) -> None:
    """Whatever a user wrote comes out as text; without a figure it is the same."""
    told = in_us(text)
    assert told == text or any(c.isdigit() for c in text)
