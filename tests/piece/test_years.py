"""When a piece was made, as people write it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine.piece.years import BadYears, parse_years


@pytest.mark.parametrize(
    ("made", "years"),
    [
        (1930, (1930, 1930)),
        ("1930-1945", (1930, 1945)),
        ("1930 to 1945", (1930, 1945)),
        ("1930s", (1930, 1939)),
        ("the 1930's", (1930, 1939)),
        ("late 1930s", (1937, 1939)),
        ("1950s-1960s", (1950, 1969)),
        ("19th century", (1800, 1899)),
        ("early 20th century", (1900, 1932)),
        ("c. 1890", (1885, 1895)),
        ("before 1900", (1840, 1900)),
        ("2020s", (2020, 2026)),
        ("21st century", (2000, 2026)),
        ("unknown", None),
    ],
)
def test_forms(made: int | str, years: tuple[int, int] | None) -> None:
    """Each way of writing a time that the README or common speech uses."""
    assert parse_years(made, 2026) == years


@pytest.mark.parametrize(
    "made", ["2031", 3000, "1945-1930", "12", 0, -5, "yesterday", "1930-", "1930-2050", "1200", "99th century"]
)
def test_impossible_times(made: int | str) -> None:
    """Future, reversed, too early or wordless times are refused with a reason."""
    with pytest.raises(BadYears):
        parse_years(made, 2026)


@given(st.integers(1400, 2026), st.integers(0, 200))
def test_range_keeps_its_ends(first: int, length: int) -> None:
    """Any range that is possible comes back as written."""
    last = min(first + length, 2026)
    assert parse_years(f"{first}-{last}", 2026) == (first, last)
