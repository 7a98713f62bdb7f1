"""Spans of years and whether they meet."""

from __future__ import annotations

from collections.abc import Sequence


def mid_overlap(row: Sequence[int], years: tuple[int, int]) -> bool:
    """Whether the middle of `years` lies in `row`, or `years` reach well into it."""
    first, last = max(row[0], years[0]), min(row[1], years[1])
    middle = (years[0] + years[1]) / 2
    return row[0] <= middle <= row[1] or (last - first) >= 0.3 * max(years[1] - years[0], 1)
