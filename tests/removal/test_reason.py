"""The reason in the trade's words."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from oldcoat.engine.examine import Examination
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.words import span_told

Examine = Callable[..., Examination]


def reason(done: Examination, remover: str, knowledge: Knowledge) -> str:
    """What is told of one remover."""
    return next(p for p in done.predictions if p.remover == remover).reason(knowledge)


def test_a_cured_film_can_only_be_swollen(examine: Examine, knowledge: Knowledge) -> None:
    """It joins film, distance, contact under cover and coats."""
    done = examine(build="solid", known={"finish": "oil-modified-polyurethane", "how": "laboratory"})
    told = reason(done, "benzyl-alcohol-gel", knowledge)
    for words in ("can only swell this film", "Benzyl alcohol is within reach", "under cover", "Expect 1 to 2 coats"):
        assert words in told
    assert "too far from its resin" in reason(done, "denatured-alcohol", knowledge)


def test_an_exception_is_said_to_be_one(examine: Examine, knowledge: Knowledge) -> None:
    """The reader sees that the book overrides the derivation."""
    exceptional = [
        (f, r) for f, row in knowledge.pairs.items() for r, p in row.items() if p.exception and f != "bare-wood"
    ]
    assert exceptional
    for finish, remover in exceptional:
        done = examine(build="solid", known={"finish": finish, "how": "laboratory"})
        assert done.posterior.top == finish
        assert "An exception of the book." in reason(done, remover, knowledge), (finish, remover)
        others = [r for r in knowledge.pairs[finish] if (finish, r) not in exceptional]
        assert not [r for r in others if "An exception" in reason(done, r, knowledge)]


def test_what_works_on_the_likeliest_film_alone_is_told_so(examine: Examine, knowledge: Knowledge) -> None:
    """Where all the others that it may be leave it doubtful, and only there."""
    done = examine({"made": 1935}, build="solid", tests={"alcohol-drop": "softens-slow"})
    seen = set()
    for row in done.predictions:
        on_top = row.effects_by[row.top]
        best = max(on_top, key=lambda e: on_top[e])
        only = row.works < 0.5 and best in ("dissolves", "lifts")
        seen.add(only)
        name = knowledge.finishes[row.top].name
        assert row.reason(knowledge).startswith(f"It works only if this is {name}.") == only, row.remover
    assert seen == {True, False}


def test_every_remover_has_a_reason_without_gaps(examine: Examine, knowledge: Knowledge) -> None:
    """Whole sentences for all pairs, none of them with an empty number or a None in it."""
    for finish in knowledge.finishes:
        done = examine({"made": 1950}, known={"finish": finish, "how": "laboratory"})
        for prediction in done.predictions:
            told = prediction.reason(knowledge)
            assert told.endswith(".")
            assert "None" not in told
            assert "nan" not in told
            assert "  " not in told


@pytest.mark.parametrize(
    ("minutes", "words"),
    [((0.2, 0.6), "12-35 s"), ((3, 15), "3-15 min"), ((60, 720), "1-12 h"), ((30, 4000), "up to 2.8 days")],
)
def test_times_are_told_as_one_would_say_them(minutes: tuple[float, float], words: str) -> None:
    """Two figures at most, in the unit of the long end."""
    assert span_told(*minutes) == words
