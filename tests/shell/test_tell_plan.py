"""The plan on a terminal: short first, within 80 columns, cautions at the step, hostile text harmless."""

from __future__ import annotations

import pytest

from oldcoat.engine import Examiner, assess, parse_piece
from oldcoat.shell.tell.assessment import tell
from oldcoat.shell.tell.screen import Screen

INVENTED = """
piece: "invented \\e[31mtable"
made: 1930-1945
kind: table
next_coat: oil-polyurethane
money: {sells: {likely: 900, low: 700, high: 1100}, rate_hour: 30, fallback: 250}
surfaces:
  - name: top
    wood: walnut
    build: veneer
    veneer_mm: 0.7
    tests: {alcohol-drop: no-effect, lacquer-thinner-drop: dissolves}
    stains: [{kind: black-ring, tried: {oxalic-acid: 1}, where: "[bold]corner[/]"}]
  - {name: legs, wood: teak, build: solid}
parts: [{label: P1, what: leg, surface: legs, matched: MATCHED, marks: [paper label], screws: [{count: 4, mm: 25}]}]
"""


def _told(matched: str, examiner: Examiner, capsys: pytest.CaptureFixture[str]) -> str:
    piece = parse_piece(INVENTED.replace("MATCHED", matched), "invented.yaml", examiner.knowledge)
    tell(assess(piece, examiner.knowledge, examiner=examiner), Screen(), full=True)
    return capsys.readouterr().out


def test_everything_is_told_within_80_columns(examiner: Examiner, capsys: pytest.CaptureFixture[str]) -> None:
    """Decision before details, then order, days, shopping, parts; no line too long."""
    told = _told("true", examiner, capsys)
    assert max(map(len, told.splitlines())) <= 80
    heads = [
        "Worth going on?",
        "\nTOP\n",
        "Stain: ",
        "Next coat",
        "ORDER OF WORK",
        "WORKING DAYS",
        "SHOPPING LIST",
        "PARTS",
    ]
    places = [told.index(head) for head in heads]
    assert places == sorted(places)
    assert "Never sand it out" in told
    assert "photograph and mask: paper label" in told


def test_cautions_stand_at_the_step(examiner: Examiner, capsys: pytest.CaptureFixture[str]) -> None:
    """Rags that heat themselves are warned of between the coats and the next step."""
    told = _told("true", examiner, capsys)
    coats = told[told.index("Top coats") :]
    assert "alight" in coats[: coats.index("Cure for handling")]


def test_an_unmatched_part_stops_the_order(examiner: Examiner, capsys: pytest.CaptureFixture[str]) -> None:
    """It is said at the top, at the order and at the part."""
    told = _told("false", examiner, capsys)
    assert "P1 may be from another piece" in told[: told.index("\nTOP\n")]
    assert "Stopped until the parts are matched" in told
    assert "HOLD" in told


def test_text_of_the_user_does_nothing(examiner: Examiner, capsys: pytest.CaptureFixture[str]) -> None:
    """Escape codes are made visible, markup stays text."""
    told = _told("true", examiner, capsys)
    assert "\x1b[31m" not in told
    assert "[bold]corner[/]" in told
