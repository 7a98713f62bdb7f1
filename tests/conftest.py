"""What many tests share: the shipped knowledge, built once, and an examiner of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from oldcoat.engine import Examiner, open_knowledge
from oldcoat.engine.knowledge.base import Knowledge

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
