"""Bars are as long as their numbers."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from oldcoat.shell.sheet.bars import bar, percent

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
