"""A session against a model: undo is identity, the log equals the live state, order does not matter."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import hypothesis.strategies as st
import msgspec
import pytest
from hypothesis import given, settings
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from oldcoat.engine.piece.form import Part, Piece, StainSeen, Surface, Tried
from oldcoat.engine.session.events import (
    Answered,
    AnyEvent,
    CaseKept,
    NotDone,
    Noted,
    PieceTold,
    StainTold,
    Started,
    SurfaceAdded,
    SurfaceChosen,
    SurfaceDropped,
    SurfaceRenamed,
    SurfacesNamed,
    SurfaceTold,
    TriedTold,
    Withdrawn,
)
from oldcoat.engine.session.fold import BadEvent, State, apply, fold
from oldcoat.engine.session.log import read_events
from oldcoat.engine.session.store import Session, open_session

NAMES = st.sampled_from(["top", "legs", "back", "drawer fronts", "Ö"])
TESTS = st.sampled_from(["alcohol-drop", "water-drop", "uv-a", "stripper-patch/acetone"])
TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
EVENTS: st.SearchStrategy[AnyEvent] = st.one_of(
    st.builds(Answered, surface=NAMES, test=TESTS, outcome=st.sampled_from(["a", "b"]), sure=st.booleans(), note=TEXT),
    st.builds(NotDone, surface=NAMES, test=TESTS, why=TEXT),
    st.builds(Withdrawn, surface=NAMES, test=TESTS),
    st.builds(Noted, text=TEXT, surface=st.none() | NAMES, test=st.none() | TESTS),
    st.builds(SurfaceAdded, surface=NAMES, like=st.none() | NAMES),
    st.builds(SurfaceRenamed, surface=NAMES, to=NAMES),
    st.builds(SurfaceDropped, surface=NAMES),
    st.builds(SurfaceChosen, surface=NAMES),
    st.builds(SurfacesNamed, names=st.lists(NAMES, max_size=3)),
    st.builds(SurfaceTold, surface=st.none() | NAMES, field=st.just("wood"), value=st.sampled_from(["oak", "pine", 3])),
    st.builds(PieceTold, field=st.just("made"), value=st.sampled_from(["1930s", 1930, ["x"]])),
    st.builds(
        TriedTold, surface=NAMES, tried=st.builds(Tried, remover=st.just("acetone"), result=st.sampled_from(["works"]))
    ),
    st.builds(StainTold, surface=NAMES, stain=st.builds(StainSeen, kind=st.sampled_from(["mould", "grease"]))),
)


class SessionMachine(RuleBasedStateMachine):
    """Any events in any order, each accepted or refused, with undo at any time.

    The model is the list of states that were passed through.
    """

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.path = self.folder / "s.jsonl"
        self.session: Session = open_session(self.path)
        self.past: list[State] = []

    @initialize()
    def start(self) -> None:
        """A piece comes on the bench."""
        self.session.do(Started(piece=Piece(piece="p", surfaces=[Surface(name="top")])))

    @rule(event=EVENTS)
    def tell(self, event: AnyEvent) -> None:
        """An event is taken, or refused without a trace on the disk."""
        before, size = self.session.state, self.path.stat().st_size
        try:
            after = self.session.do(event)
        except BadEvent:
            assert self.session.state == before
            assert self.path.stat().st_size == size
            return
        if not isinstance(event, SurfaceChosen):
            self.past.append(before)
        assert after == self.session.state

    @precondition(lambda self: self.past)
    @rule()
    def undo(self) -> None:
        """undo(do(x)) is the state before x, whatever x was; x is then the first of what was taken back."""
        last = self.session.undoable
        assert self.session.undo() == self.past.pop()
        assert self.session.taken_back[0] == last

    @precondition(lambda self: not self.past)
    @rule()
    def nothing_to_undo(self) -> None:
        """The start cannot be taken back."""
        assert self.session.undoable is None
        with pytest.raises(BadEvent):
            self.session.undo()

    @rule()
    def reopen(self) -> None:
        """Closing and opening changes nothing."""
        before = self.session.state
        self.session.close()
        self.session = open_session(self.path)
        assert self.session.state == before

    @invariant()
    def log_is_the_state(self) -> None:
        """A fold of what is on the disk is the live state."""
        if self.session.begun:
            assert fold(read_events(self.path)) == self.session.state

    def teardown(self) -> None:
        """Nothing is left behind."""
        self.session.close()
        shutil.rmtree(self.folder)


SessionMachine.TestCase.settings = settings(max_examples=40, stateful_step_count=25, deadline=None)
TestSession = SessionMachine.TestCase


@given(st.permutations(["alcohol-drop", "water-drop", "uv-a", "coin-edge"]))
def test_order_of_answers_does_not_change_what_is_known(order: list[str]) -> None:
    """The same answers in any order leave the same answers, and an answer given twice counts once."""
    state = apply(None, Started(piece=Piece(piece="p", surfaces=[Surface(name="top")])))
    for test in [*order, order[0]]:
        state = apply(state, Answered(surface="top", test=test, outcome="x"))
    assert sorted(state.here.tests) == sorted(order)
    assert list(state.here.tests)[-1] == order[0]


def test_copied_surface_shares_wood_but_no_answer() -> None:
    """A sister starts with the same wood and build, and with no evidence of its own."""
    top = Surface(name="top", wood="oak", build="veneer", veneer_mm=0.6, tests={"uv-a": "orange"})
    state = apply(None, Started(piece=Piece(piece="p", surfaces=[top])))
    state = apply(state, SurfaceAdded(surface="leaf", like="top"))
    assert state.here == Surface(name="leaf", wood="oak", build="veneer", veneer_mm=0.6)


def test_answers_of_an_abandoned_branch_do_not_count(tmp_path: Path) -> None:
    """An answer, taken back, then another: only the other one is left, in the log's fold too."""
    session = open_session(tmp_path / "s.jsonl")
    session.do(Started(piece=Piece(piece="p", surfaces=[Surface(name="top")])))
    session.do(Answered(surface="top", test="uv-a", outcome="orange"))
    session.undo()
    session.do(Answered(surface="top", test="water-drop", outcome="white-mark"))
    assert session.state.here.tests == {"water-drop": "white-mark"}
    folded = fold(read_events(session.path))
    assert folded is not None
    assert folded.here.tests == {"water-drop": "white-mark"}
    session.close()


def test_beginning_anew_can_be_taken_back(tmp_path: Path) -> None:
    """A second start replaces the piece; back brings the first with its answers."""
    session = open_session(tmp_path / "s.jsonl")
    session.do(Started(piece=Piece(piece="p", surfaces=[Surface(name="top")])))
    session.do(Answered(surface="top", test="uv-a", outcome="orange"))
    session.do(Started(piece=Piece(piece="q", surfaces=[Surface(name="lid")])))
    assert session.state.piece.piece == "q"
    assert session.undo().here.tests == {"uv-a": "orange"}
    session.close()


def test_a_value_that_no_piece_file_may_hold_is_refused(tmp_path: Path) -> None:
    """A note beyond the limit of a piece file would make an export that assess refuses."""
    session = open_session(tmp_path / "s.jsonl")
    session.do(Started(piece=Piece(piece="p", surfaces=[Surface(name="top")])))
    session.do(Noted(text="x" * 15_000))
    with pytest.raises(BadEvent):
        session.do(Noted(text="x" * 15_000))
    with pytest.raises(BadEvent):
        session.do(SurfaceTold(surface="top", field="veneer_mm", value=-1.0))
    assert msgspec.json.decode(session.path.read_bytes().splitlines()[-1])["event"]["event"] == "noted"
    session.close()


def test_what_the_casebook_has_stays_through_back(tmp_path: Path) -> None:
    """Taking an answer back does not take the case out of the casebook: the session still knows its name."""
    session = open_session(tmp_path / "s.jsonl")
    session.do(Started(piece=Piece(piece="p", surfaces=[Surface(name="top")])))
    session.do(Answered(surface="top", test="uv-a", outcome="orange"))
    session.do(CaseKept(case="p-20260101-abcdef"))
    state = session.undo()
    assert (state.here.tests, state.case) == ({}, "p-20260101-abcdef")
    session.do(Started(piece=Piece(piece="q", surfaces=[Surface(name="lid")])))
    assert session.state.case == "p-20260101-abcdef"
    assert fold(read_events(session.path)) == session.state
    session.close()


def test_parts_follow_their_surfaces() -> None:
    """A part of a surface that is renamed goes with it; of one that is dropped it belongs to none."""
    parts = [Part(label="a", what="lid", surface="top"), Part(label="b", what="leg", surface="legs")]
    piece = Piece(piece="p", surfaces=[Surface(name="top"), Surface(name="legs")], parts=parts)
    state = apply(None, Started(piece=piece))
    state = apply(state, SurfaceRenamed(surface="top", to="lid"))
    state = apply(state, SurfaceDropped(surface="legs"))
    assert [part.surface for part in state.piece.parts] == ["lid", None]
