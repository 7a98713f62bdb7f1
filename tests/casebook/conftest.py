"""A casebook in a temporary folder."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from oldcoat.engine.casebook.store import Casebook

sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture
def book(tmp_path: Path) -> Casebook:
    """An empty casebook."""
    return Casebook(tmp_path / "data" / "cases")
