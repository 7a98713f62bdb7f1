"""Insides, backs and undersides: what a look at them says of the show face, and of themselves. Invented surfaces."""

from __future__ import annotations

from typing import Any

import pytest

from oldcoat.engine import Examiner, parse_piece
from oldcoat.engine.belief.evidence import evidence_of
from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.storage import to_yaml

FILMS = {"thin-open-pore", "medium", "thick-filled"}


def examined(knowledge: Knowledge, made: int, **fields: Any) -> Examination:
    """One invented walnut face of a chest, examined."""
    face = {"name": "face", "wood": "walnut", "build": "solid", **fields}
    whole = parse_piece(to_yaml({"piece": "x", "made": made, "kind": "chest", "surfaces": [face]}), "x", knowledge)
    return Examiner(knowledge, this_year=2026).examine(whole, whole.surfaces[0])


@pytest.mark.parametrize("made", [1880, 1935, 1965])
def test_a_bare_inside_says_nothing_of_the_show_face(knowledge: Knowledge, made: int) -> None:
    """Bare insides were the maker's choice: neither origin nor finish of the face that shows is moved by them."""
    without, bare = examined(knowledge, made), examined(knowledge, made, tests={"hidden-face": "unfinished"})
    for origin, p in without.posterior.origins.items():
        assert bare.posterior.origins[origin] == pytest.approx(p, abs=0.01)
    assert bare.posterior.top == without.posterior.top


@pytest.mark.parametrize("made", [1880, 1935, 1965])
def test_another_film_inside_speaks_for_a_later_hand(knowledge: Knowledge, made: int) -> None:
    """The same film on both speaks for the maker, two films that differ for an owner."""
    plain, same, other = (
        examined(knowledge, made, tests=tests).posterior.origins["original"]
        for tests in ({}, {"hidden-face": "same-as-show"}, {"hidden-face": "different-film"})
    )
    assert same > plain > other


@pytest.mark.parametrize("made", [1880, 1935, 1965])
def test_an_inside_that_was_seen_bare_is_bare(knowledge: Knowledge, made: int) -> None:
    """Where the surface is the hidden face itself the answer is about it: bare wood, settled, nothing to strip."""
    done = examined(knowledge, made, hidden=True, tests={"hidden-face": "unfinished"})
    assert done.posterior.top == "bare-wood"
    assert done.posterior.finishes["bare-wood"] > 0.85
    assert done.routes == []
    coated = examined(knowledge, made, hidden=True, tests={"hidden-face": "different-film"})
    assert coated.posterior.finishes["bare-wood"] < 0.3


@pytest.mark.parametrize("made", [1880, 1935, 1965])
def test_a_hidden_face_is_mostly_bare_and_seldom_redone(knowledge: Knowledge, made: int) -> None:
    """Before any test: bare likelier than not on a hidden face, hardly on one that shows."""
    inside, shown = examined(knowledge, made, hidden=True), examined(knowledge, made)
    assert inside.posterior.finishes["bare-wood"] > 0.5 > 10 * shown.posterior.finishes["bare-wood"]
    assert inside.posterior.origins["original"] > shown.posterior.origins["original"]


def test_one_look_does_not_count_twice(knowledge: Knowledge) -> None:
    """The answer is read as one on the film itself, unless that was answered too; an unsure one keeps its part."""

    def items(**fields: Any) -> list[tuple[str, str, set[str], float]]:
        piece = {"piece": "x", "surfaces": [{"name": "face", **fields}]}
        surface = parse_piece(to_yaml(piece), "x", knowledge).surfaces[0]
        return [(i.name, i.test, set(i.weights), i.keeps) for i in evidence_of(surface, knowledge)]

    unsure = {"outcome": "same-as-show", "sure": False}
    assert items(hidden=True, tests={"hidden-face": unsure}) == [
        ("hidden-face", "film-build", FILMS, knowledge.belief.unsure_keeps)
    ]
    assert items(tests={"hidden-face": "unfinished"})[0][1] == "hidden-face"
    both = items(hidden=True, tests={"hidden-face": "unfinished", "film-build": "none-in-wood"})
    assert [test for _, test, _, _ in both] == ["hidden-face", "film-build"]
