"""Every published check, as a test of its own; the source stands in the row."""

from __future__ import annotations

from collections import Counter
from typing import Any

import checks
import pytest
from footing import footing

ROWS = list(checks.rows())


@pytest.mark.parametrize("row", [row for _, row in ROWS], ids=[row["id"] for _, row in ROWS])
def test_row(row: dict[str, Any]) -> None:
    """The row holds."""
    ok, got = checks.run(row)
    assert ok, f"{row['claim']} Found {got}, expected {row['expect']}; {row['cite']}"


def test_every_row_says_where_it_is_from() -> None:
    """No row without citation and what was verified, and no two of one name."""
    ids = [row["id"] for _, row in ROWS]
    assert len(ids) == len(set(ids))
    assert all(row["cite"] and row["verified"] and row["source"] for _, row in ROWS)
    assert len(ROWS) >= 60


def test_most_rows_are_no_copies() -> None:
    """Three in four at least are worked out by the tool, on finishes, removers, wood, coats and harm alike."""
    worked = Counter(row["check"] for _, row in ROWS if footing(row) == "worked out")
    assert worked.total() >= 0.75 * len(ROWS)
    assert worked.keys() >= {"ladder", "removal", "veto", "order", "fick", "emc", "sanding", "bands", "law", "recoat"}
