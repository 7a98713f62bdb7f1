"""Bars are as long as their numbers."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.shell.sheet.bars import bar, percent
from oldcoat.shell.tell.figures import amount, coats_of

from .markup import Page

shares = st.floats(0, 1)


@given(shares, shares, shares)
def test_a_bar_is_as_long_as_its_chance_and_the_whisker_as_its_range(p: float, a: float, b: float) -> None:
    """Within a tenth of a per cent of the width, which is 100."""
    low, high = min(a, b, p), max(a, b, p)
    page = Page(str(bar("shellac", p, low, high)))
    assert abs(float(page.all("rect", "share")[0].attributes["width"]) - 100 * p) <= 0.051
    drawn = re.match(r"M([\d.]+) .*H([\d.]+)", page.all("path", "whisker")[0].attributes["d"])
    assert drawn is not None
    assert abs(float(drawn[1]) - 100 * low) <= 0.051
    assert abs(float(drawn[2]) - 100 * high) <= 0.051


@given(shares)
def test_a_chance_that_is_open_never_reads_as_none_or_all(p: float) -> None:
    """0% and 100% are kept for what is so."""
    assert (percent(p) == "0%") == (p == 0)
    assert (percent(p) == "100%") == (p == 1)


def test_the_words_of_a_bar_carry_its_numbers() -> None:
    """For who cannot see it; and a hostile name stays a name."""
    page = Page(str(bar('<b onclick="x">', 0.6, 0.42, 0.71)))
    assert page.all("title")[0].text == '<b onclick="x">: 60%, range 42% to 71%'
    assert not page.all("b")


@pytest.mark.parametrize(
    ("coats", "minutes", "told"),
    [
        ((1, 2), (80, 480), "1 to 2 coats of 1.3-8 h"),
        ((1, 3), (2, 10), "1 to 3 coats of 2-10 min"),
        ((1, 1), (600, 600), "1 coat of 10 h"),
        ((1, 1), (0, 0.5), ""),
    ],
)
def test_contact_is_told_by_the_coat(coats: tuple[float, float], minutes: tuple[float, float], told: str) -> None:
    """In the unit that a person would use; nothing where none counts."""
    assert coats_of(coats, minutes) == told


@pytest.mark.parametrize(
    ("how_much", "unit", "told"),
    [
        ((0.43, 1.32), "L", "0.43-1.3 L"),
        ((0.4, 0.6), "sheets", "1"),
        ((2.1, 2.2), "discs", "2-3"),
        ((120, 121), "g", "120-121 g"),
        ((0.5, 0.5), "m2", "0.5 m2"),
    ],
)
def test_an_amount_can_be_bought(how_much: tuple[float, float], unit: str, told: str) -> None:
    """Whole pieces, two figures for what is measured, one number where both ends are the same."""
    assert amount(how_much, unit) == told
