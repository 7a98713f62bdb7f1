"""What an answer says of itself: which removers are told to spoil a face."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from oldcoat.engine import Examiner, assess, parse_piece
from oldcoat.engine.knowledge.base import Knowledge

FACE = "piece: x\nsurfaces: [{name: top, build: solid, tests: {alcohol-drop: dissolves-fast}}]"


@pytest.mark.parametrize(
    ("harm", "works", "spoils"),
    [(0.5, 0.9, True), (0.49, 0.9, False), (0.3, 0.2, True), (0.3, 0.3, False), (0.6, 0.1, True)],
)
def test_what_spoils_a_face(knowledge: Knowledge, examiner: Examiner, harm: float, works: float, spoils: bool) -> None:
    """Harm every other time, or more often than it works."""
    answer = assess(parse_piece(FACE, "x", knowledge), knowledge, examiner=examiner)
    row = replace(answer.surfaces[0].removers[0], harm=harm, works=works)
    assert row.spoils == spoils
