"""A face that departs from its sisters, on invented beliefs: who is flagged, and who is left alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from oldcoat.engine.belief.posterior import Posterior
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Known
from oldcoat.engine.report.sisters import odd_ones

Face = Callable[..., Examination]
PAINTED = {"oil-paint": 0.9, "alkyd-enamel": 0.1}
SHELLACKED = {"shellac": 0.8, "oil-resin-varnish": 0.2}


@pytest.fixture
def face(examine: Callable[..., Examination], knowledge: Knowledge) -> Face:
    """A face of a name that was tested and is believed to carry these finishes."""
    tested = examine(build="solid", tests={"uv-a": "orange"})

    def made(name: str, believed: dict[str, float], **more: object) -> Examination:
        finishes = dict.fromkeys(sorted(knowledge.finishes), 0.0) | believed
        surface = replace(tested.surface, name=name, **more)
        return replace(tested, surface=surface, posterior=Posterior(finishes, 0.0, {}, {}, 0.0))

    return made


def test_one_of_three_departs(face: Face, knowledge: Knowledge) -> None:
    """It is named with what it reads as and with its sisters; they are not flagged, since each has one of its kind."""
    (flag,) = odd_ones([face("top", PAINTED), face("left", SHELLACKED), face("right", SHELLACKED)], knowledge)
    paint, shellac = knowledge.finishes["oil-paint"].name, knowledge.finishes["shellac"].name
    assert flag.startswith(f"departs-from-sisters: top reads as {paint}, left and right as {shellac}.")


def test_of_two_at_odds_one_flag_tells_both(face: Face, knowledge: Knowledge) -> None:
    """Nobody knows which of the two departs, so it is said once."""
    (flag,) = odd_ones([face("top", PAINTED), face("left", SHELLACKED)], knowledge)
    assert "top" in flag
    assert "left" in flag


def test_whoever_most_of_the_others_speak_against(face: Face, knowledge: Knowledge) -> None:
    """Of four, two and two: each has two of three against it, so all are flagged; one and three: the one."""
    painted, plain = [face(n, PAINTED) for n in "ab"], [face(n, SHELLACKED) for n in "cde"]
    assert len(odd_ones([*painted, *plain[:2]], knowledge)) == 4
    assert len(odd_ones([painted[0], *plain], knowledge)) == 1
    assert len(odd_ones([*painted, *plain], knowledge)) == 2  # the painted; the others have two of four against them


@pytest.mark.parametrize(
    "other",
    [SHELLACKED, {"shellac": 0.4, "oil-paint": 0.3, "wax": 0.3}],
    ids=["like", "leaning the same way"],
)
def test_like_faces_are_left_alone(face: Face, knowledge: Knowledge, other: dict[str, float]) -> None:
    """Equal beliefs agree wholly, however spread; 0.32 / (0.825 x 0.583) = 0.67 is agreement enough."""
    assert odd_ones([face("top", SHELLACKED), face("left", other)], knowledge) == []


def test_a_spread_belief_agrees_with_itself(face: Face, knowledge: Knowledge) -> None:
    """Ten finishes at a tenth each on both faces: unsure, and not at odds."""
    spread = dict.fromkeys(sorted(knowledge.finishes)[:10], 0.1)
    assert odd_ones([face("top", spread), face("left", spread)], knowledge) == []


def test_who_is_no_sister(face: Face, knowledge: Knowledge) -> None:
    """A face that does not show, and one of which nothing was told; a finish that is known counts as told."""
    top, left = face("top", PAINTED), face("left", SHELLACKED)
    untold = replace(left, evidence=[])
    known = replace(untold, surface=replace(left.surface, known=Known(finish="shellac", how="removal")))
    assert odd_ones([top, face("inside", SHELLACKED, hidden=True)], knowledge) == []
    assert odd_ones([top, untold], knowledge) == []
    assert len(odd_ones([top, known], knowledge)) == 1


def test_opposite_answers_part_faces_that_read_alike(
    face: Face, examine: Callable[..., Examination], knowledge: Knowledge
) -> None:
    """One let go at once under alcohol that did nothing to the other: said as such, where both answers are sure."""
    evidence = {
        outcome: examine(build="solid", tests={"alcohol-drop": outcome}).evidence
        for outcome in ("dissolves-fast", "no-effect")
    }
    let_go, held = evidence["dissolves-fast"], evidence["no-effect"]
    top, left = (replace(face(n, SHELLACKED), evidence=e) for n, e in (("top", let_go), ("left", held)))
    (flag,) = odd_ones([top, left], knowledge)
    drop = knowledge.test_name("alcohol-drop")
    assert flag.startswith(f"departs-from-sisters: left answered the {drop} in the opposite way to top.")
    assert odd_ones([top, replace(left, evidence=let_go)], knowledge) == []
    unsure = [replace(item, keeps=0.5) for item in held]
    assert odd_ones([top, replace(left, evidence=unsure)], knowledge) == []
    mostly = [replace(item, weights={"dissolves-fast": 0.2, "no-effect": 1.0}) for item in held]
    assert len(odd_ones([top, replace(left, evidence=mostly)], knowledge)) == 1  # what fits it best counts
    painted = replace(face("left", PAINTED), evidence=held)
    assert "left reads as" in odd_ones([top, painted], knowledge)[0]
