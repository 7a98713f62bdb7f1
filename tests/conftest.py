"""What many tests share: the shipped knowledge, built once, and an examiner of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from oldcoat.engine import Examiner, open_knowledge, parse_piece
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.storage import to_yaml

THIS_YEAR = 2026


@pytest.fixture(scope="session")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cache folder for the whole run, so that the removal table is derived once."""
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(scope="session")
def knowledge(cache: Path) -> Knowledge:
    """The shipped knowledge."""
    return open_knowledge(cache=cache)


@pytest.fixture(scope="session")
def examiner(knowledge: Knowledge) -> Examiner:
    """The shipped knowledge made ready, with the calendar held still."""
    return Examiner(knowledge, this_year=THIS_YEAR)


@pytest.fixture(scope="session")
def examine(examiner: Examiner) -> Callable[..., Examination]:
    """An invented surface by its fields, examined; `piece` holds fields of the whole piece."""

    def examined(piece: dict[str, Any] | None = None, **surface: Any) -> Examination:
        fields = {"piece": "invented", "place": "us", **(piece or {})}
        whole = parse_piece(to_yaml({**fields, "surfaces": [{"name": "face", **surface}]}), "test", examiner.knowledge)
        return examiner.examine(whole, whole.surfaces[0])

    return examined
