"""Why a test is, or is not, asked: told from the same figures as the next test."""

from __future__ import annotations

import pytest

from oldcoat.engine import Examiner, parse_piece
from oldcoat.engine.report.explain import why_test

INVENTED = """
piece: invented
have: [denatured-alcohol, white-cloth, pipette, cotton-swab]
surfaces:
  - name: top
    tests: {alcohol-drop: no-effect, water-drop: could-not-do}
"""


@pytest.mark.parametrize(
    ("test", "told"),
    [
        ("alcohol-drop", "was done on top"),
        ("water-drop", "could not be done"),
        ("uv-a", "not at hand: "),
        ("stripper-patch/caustic-soda", "is "),
    ],
)
def test_every_standing_is_told(test: str, told: str, examiner: Examiner) -> None:
    """Done, not to be done, no tool for it, a patch: each in its own words, with what it misleads by."""
    piece = parse_piece(INVENTED, "invented.yaml", examiner.knowledge)
    done = examiner.examine(piece, piece.surfaces[0])
    reason = why_test(done, test, piece.have, examiner.knowledge)
    assert told in reason.text
    if test in examiner.knowledge.tests:
        misleads = [row.text for row in reason.rests_on if row.text.startswith("this entry misleads")]
        assert len(misleads) == len(examiner.knowledge.tests[test].wrong_if)


def test_the_next_test_is_called_so_and_its_forecast_sums_to_one(examiner: Examiner) -> None:
    """The first in the order is the next test; its outcomes are shares of one whole."""
    piece = parse_piece(
        "piece: invented\nmade: 1990-2000\nsurfaces: [{name: top}]\n", "invented.yaml", examiner.knowledge
    )
    done = examiner.examine(piece, piece.surfaces[0])
    reason = why_test(done, done.worths[0].test, None, examiner.knowledge)
    assert done.verdict == "test-more"
    assert "is the next test" in reason.text
    shares = [float(r.text.partition("%")[0]) for r in reason.rests_on if "% expected" in r.text]
    assert sum(shares) == pytest.approx(100, abs=len(shares) / 2 + 0.01)  # each is rounded to a whole per cent
    later = why_test(done, done.worths[1].test, None, examiner.knowledge)
    assert "number 2 in the order" in later.text or "not asked" in later.text
