"""What a user hears when the answers speak of no finish of the book."""

from __future__ import annotations

from oldcoat.engine import Examiner, assess, parse_piece
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.report.assessment import SurfaceReport
from oldcoat.engine.storage import to_yaml

ODD = {
    "alcohol-drop": "dissolves-fast",
    "lacquer-thinner-drop": "no-effect",
    "acetone-rub": "no-effect-sheds",
    "water-drop": "absorbs-darkens",
    "oil-drop": "beads-wipes-clean",
    "xylene-drop": "softens-tacky",
}
GOOD = {"alcohol-drop": "dissolves-fast", "lacquer-thinner-drop": "dissolves", "acetone-rub": "dissolves-30s"}


def face(tests: dict[str, str], knowledge: Knowledge, examiner: Examiner) -> SurfaceReport:
    """The report on an invented oak face."""
    text = to_yaml({"piece": "invented", "made": "1900-1930", "surfaces": [{"name": "face", "tests": tests}]})
    return assess(parse_piece(text, "test", knowledge), knowledge, examiner=examiner).surfaces[0]


def test_answers_astray_are_told(knowledge: Knowledge, examiner: Examiner) -> None:
    """A flag with how likely it is; no layer of that name; and no word where the answers fit."""
    odd, good = face(ODD, knowledge, examiner), face(GOOD, knowledge, examiner)
    flag = next(text for text in odd.flags if text.startswith("astray:"))
    assert f"{odd.fit.astray:.0%}" in flag
    assert "another spot" in flag or "clean spot" in flag
    assert odd.ranking[0].p < 0.8
    assert not any(text.startswith("astray:") for text in good.flags)
    assert all(layer.finish != "astray" for layer in (*odd.layers, *good.layers))


def test_chances_of_the_ranking_still_sum_to_one(knowledge: Knowledge, examiner: Examiner) -> None:
    """A spot astray leaves the finish to age and place; it takes no chance away."""
    assert abs(sum(row.p for row in face(ODD, knowledge, examiner).ranking) - 1) < 1e-9
