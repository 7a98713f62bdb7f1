"""What a session remembers and the knowledge does not know: set aside, and back with its entry."""

from __future__ import annotations

from collections.abc import Callable

import msgspec
import pytest

from oldcoat.engine import Examiner
from oldcoat.engine.piece.form import Answer, Confirmed, Known, Piece, Removed, StainSeen, Surface, Tried
from oldcoat.engine.session.aside import usable
from oldcoat.engine.session.fold import State

SOUND = Surface(name="top", wood="oak", tests={"alcohol-drop": "dissolves-fast"})
OWN: dict[str, Callable[[Surface], Surface]] = {
    "own-test": lambda s: msgspec.structs.replace(s, tests={**s.tests, "own-test": Answer(outcome="yes", sure=False)}),
    "own-outcome": lambda s: msgspec.structs.replace(s, tests={**s.tests, "uv-a": "no-such-glow"}),
    "own-patch": lambda s: msgspec.structs.replace(s, tests={**s.tests, "stripper-patch/own-gel": "lifts"}),
    "own-try": lambda s: msgspec.structs.replace(s, tried=[Tried(remover="own-gel", result="works")]),
    "own-removal": lambda s: msgspec.structs.replace(s, removed=[Removed(remover="own-gel", result="works")]),
    "own-stain": lambda s: msgspec.structs.replace(s, stains=[StainSeen(kind="own-stain")]),
    "own-known": lambda s: msgspec.structs.replace(s, known=Known(finish="own-finish", how="opinion")),
    "own-truth": lambda s: msgspec.structs.replace(s, confirmed=Confirmed(finish="own-finish", how="opinion")),
    "own-under": lambda s: msgspec.structs.replace(s, under="own-finish"),
}


@pytest.mark.parametrize("own", OWN)
def test_what_the_book_lacks_is_set_aside_and_the_rest_counts_as_if_it_had_never_been_told(
    own: str, examiner: Examiner
) -> None:
    """An invented entry named in a state: left out by name, the rest is examined as without it."""
    piece = Piece(piece="chair", surfaces=[OWN[own](SOUND)])
    last = {"top": {"own-try": "tried/own-gel"}.get(own, "own-test")}
    found = usable(State(piece=piece, surface="top", last=last), examiner.knowledge)
    assert found.aside
    assert found.state.piece.surfaces == [SOUND]
    assert found.state.last == {}
    examiner.examine(found.state.piece, found.state.here)


def test_a_treatment_and_a_wood_that_are_gone_take_nothing_else_along(examiner: Examiner) -> None:
    """An own treatment tried on a stain of the book, an own wood: the stain stays, the wood is not known."""
    stain = StainSeen(kind="black-ring", tried={"oxalic-acid": 1, "own-wash": 2})
    piece = Piece(piece="chair", surfaces=[Surface(name="top", wood="own-wood", stains=[stain])])
    found = usable(State(piece=piece, surface="top"), examiner.knowledge)
    assert set(found.aside) == {"own-wash", "own-wood"}
    assert found.state.here == Surface(name="top", stains=[StainSeen(kind="black-ring", tried={"oxalic-acid": 1})])


def test_what_the_book_knows_is_left_as_it_is(examiner: Examiner) -> None:
    """A state without own entries is given back itself, so that nothing is examined anew for it."""
    state = State(piece=Piece(piece="chair", surfaces=[SOUND]), surface="top", last={"top": "alcohol-drop"})
    assert usable(state, examiner.knowledge).state is state
