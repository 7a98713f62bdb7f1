"""Pieces for the tests of planning. All of them are invented."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from oldcoat.engine import Examiner, parse_piece
from oldcoat.engine.piece.form import Piece
from oldcoat.engine.planning.plan import Plan, plan

Planner = Callable[[str], Plan]

HALL_TABLE = """
piece: invented hall table
made: 1930-1945
region: north-america
kind: table
next_coat: oil-polyurethane
surfaces:
  - {name: top, wood: walnut, build: veneer, veneer_mm: 0.7, area_m2: 0.8,
     tests: {alcohol-drop: no-effect, lacquer-thinner-drop: dissolves},
     stains: [{kind: black-ring, tried: {oxalic-acid: 1}}]}
  - {name: legs, wood: oak, build: solid, area_m2: 0.6, tests: {alcohol-drop: dissolves-fast}}
"""


@pytest.fixture
def hall_table() -> str:
    """A veneered top with a black ring that was treated once, and oak legs."""
    return HALL_TABLE


@pytest.fixture
def read(examiner: Examiner) -> Callable[[str], Piece]:
    """A piece from YAML text."""
    return lambda text: parse_piece(text, "invented.yaml", examiner.knowledge)


@pytest.fixture
def planned(examiner: Examiner, read: Callable[[str], Piece]) -> Planner:
    """A whole plan from YAML text."""

    def make(text: str) -> Plan:
        piece = read(text)
        return plan(piece, [examiner.examine(piece, one) for one in piece.surfaces], examiner.knowledge)

    return make
