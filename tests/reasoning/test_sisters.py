"""A surface that departs from its sisters, on invented pieces."""

from __future__ import annotations

import pytest

from oldcoat.engine import Examiner, parse_piece
from oldcoat.engine.report.sisters import odd_ones
from oldcoat.engine.storage import to_yaml


@pytest.mark.parametrize(
    ("test", "gave", "held"),
    [("alcohol-drop", "dissolves-fast", "no-effect"), ("lacquer-thinner-drop", "dissolves", "no-effect")],
)
def test_opposite_answers_to_one_liquid_are_told_at_once(examiner: Examiner, test: str, gave: str, held: str) -> None:
    """Legs that dissolve where the top resisted, however little is sure yet of any of their finishes."""

    def told(legs: object) -> list[str]:
        rows = [{"name": n, "wood": "birch", "tests": {test: held}} for n in ("top", "side", "flap")]
        whole = {"piece": "invented", "made": "1920-1930", "region": "continental-europe", "kind": "desk"}
        piece = parse_piece(
            to_yaml({**whole, "surfaces": [*rows, {"name": "legs", "wood": "birch", "tests": {test: legs}}]}),
            "t",
            examiner.knowledge,
        )
        return odd_ones([examiner.examine(piece, s) for s in piece.surfaces], examiner.knowledge)

    assert [flag.partition(": ")[2].split()[0] for flag in told(gave)] == ["legs"]
    assert told(held) == []
    assert told({"outcome": gave, "sure": False}) == []
