"""Of tests that pay about the same, the gentlest first: look, touch, mild solvent, then stronger.

The saving says how much a test is worth; when two are near, nothing is lost by doing
the one that leaves less behind, and what it shows may make the harsher one needless.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..knowledge.base import Knowledge
from .nexttest import Worth, stage_name

STAGES = ("looking", "touching", "mild-solvent", "strong-solvent", "cutting", "patch")
NEAR = 0.75  # share of the best saving from which on a test counts as near it


def gentlest_first(tests: Sequence[Worth], knowledge: Knowledge) -> list[Worth]:
    """The tests that pay, gentlest of the near ones in front, then those that do not pay."""
    paying = [w for w in tests if w.saves > 0]
    near = [w for w in paying if w.saves >= NEAR * paying[0].saves]
    near.sort(key=lambda w: (stage_of(w.test, knowledge), -w.saves, w.test))
    return [*near, *(w for w in tests if w not in near)]


def stage_of(test: str, knowledge: Knowledge) -> int:
    """How far a test goes, 0 looking to 5 a trial patch."""
    return STAGES.index(stage_name(test, knowledge))
