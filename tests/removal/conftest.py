"""Shipped knowledge and invented surfaces for the tests of removal."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from oldcoat.engine import Examiner, parse_piece
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.storage import to_yaml

Examine = Callable[..., Examination]


@pytest.fixture(scope="session")
def examine(knowledge: Knowledge) -> Examine:
    """An invented surface by its fields, examined; `piece` holds fields of the whole piece."""
    examiner = Examiner(knowledge, this_year=2026)

    def examined(piece: dict[str, Any] | None = None, **surface: Any) -> Examination:
        fields = {"piece": "invented", "place": "us", **(piece or {})}
        whole = parse_piece(to_yaml({**fields, "surfaces": [{"name": "face", **surface}]}), "test", knowledge)
        return examiner.examine(whole, whole.surfaces[0])

    return examined
