"""When a piece was made, as people write it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine import Examiner, assess, parse_piece
from oldcoat.engine.knowledge.base import Knowledge
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
        ("1905-10", (1905, 1910)),
        ("1905/10", (1905, 1910)),
        ("c. 1905-10", (1900, 1915)),
        ("between 1905 and 1910", (1905, 1910)),
        ("around 1900", (1895, 1905)),
        ("c. 2024", (2019, 2026)),
        ("circa 1890s", (1885, 1904)),
        ("1890s-1900s", (1890, 1909)),
        ("1800s", (1800, 1899)),
        ("1900s", (1900, 1999)),
        ("1700s-1800s", (1700, 1899)),
        ("mid-1930s", (1933, 1936)),
        ("unknown", None),
    ],
)
def test_forms(made: int | str, years: tuple[int, int] | None) -> None:
    """Each way of writing a time that the README or common speech uses."""
    assert parse_years(made, 2026) == years


@pytest.mark.parametrize(
    ("made", "years"),
    [
        ("Edwardian", (1901, 1910)),
        ("the Edwardian era", (1901, 1910)),
        ("Georgian", (1714, 1837)),
        ("Georgian period", (1714, 1837)),
        ("late Georgian", (1797, 1837)),
        ("early  Victorian", (1837, 1858)),
        ("Regency", (1811, 1830)),
        ("turn of the century", (1890, 1910)),
        ("postwar", (1945, 1960)),
        ("Interwar", (1918, 1939)),
        ("between the wars", (1918, 1939)),
    ],
)
def test_periods_are_read_from_the_book(made: str, years: tuple[int, int], knowledge: Knowledge) -> None:
    """Reigns by their dates in any history of Britain: George I 1714, Victoria 1837 to 1901, Edward VII 1901 to 1910."""
    assert parse_years(made, 2026, knowledge.vocabulary.periods) == years


@pytest.mark.parametrize("made", ["Georgian style", "Edwardian revival", "pre-war", "mid-century", "early", "late the"])
def test_what_is_understood_in_part_is_refused(made: str, knowledge: Knowledge) -> None:
    """A style of that name may be later work; nothing is read into words that are not in the book."""
    with pytest.raises(BadYears):
        parse_years(made, 2026, knowledge.vocabulary.periods)


def test_a_piece_of_a_period_is_as_old_as_its_years(examiner: Examiner) -> None:
    """A file that says Edwardian is examined as one that says 1901-1910, and lead is feared alike."""
    text = "piece: hall chair\nmade: {}\nsurfaces: [{{name: seat, wood: oak, tests: {{colour-cast: opaque}}}}]\n"
    named, dated = (
        assess(parse_piece(text.format(made), "t", examiner.knowledge), examiner.knowledge, examiner=examiner)
        for made in ("Edwardian", "1901-1910")
    )
    assert named == dated


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
