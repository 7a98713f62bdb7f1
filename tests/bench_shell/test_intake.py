"""Intake at the bench: asked in under a minute, kept as told, corrected at any time."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from bench_helpers import INTAKE, Bench

from oldcoat.shell.bench.fields import FACE, PIECE

Make = Callable[[], Bench]


def test_enter_all_the_way_reaches_a_test(bench: Bench) -> None:
    """Intake has a sensible answer for Enter everywhere; unknown is fine."""
    bench.say(*[""] * 10)
    piece = bench.state.piece
    assert (piece.made, piece.region, piece.kind, piece.surfaces[0].wood) == ("unknown",) * 4
    assert bench.dialogue.question.test is not None


def test_intake_is_kept_as_told(working: Bench) -> None:
    """Kind is guessed from the name, years and ids land where a piece file has them."""
    piece = working.state.piece
    assert (piece.kind, piece.made, piece.region, piece.have) == ("table", "1930s", "britain", None)
    assert [(s.name, s.wood, s.build) for s in piece.surfaces] == [("top", "oak", "solid"), ("legs", "oak", "solid")]


def test_what_is_at_hand_is_asked_once(make: Make) -> None:
    """The list and the place are remembered for the next piece, and only tests that it allows are proposed."""
    first = make()
    first.say(*INTAKE[:-2], "2 8 10 11 15", "")
    tools = {"mineral-spirits", "white-cloth", "loupe", "torch", "coin"}
    assert set(first.settings[-1].have or []) == tools
    proposed = [w.test for w in first.desk.tests() if "/" not in w.test]
    assert proposed
    assert all(set(first.desk.knowledge.tests[t].tools) <= tools for t in proposed)
    second = Bench(first.desk.folder, first.desk.book.get(), first.settings[-1])
    second.say("new", "chair", "", "", "", "", "", "", "")
    assert second.dialogue.question.test is not None
    assert set(second.state.piece.have or []) == tools
    if second.desk.session is not None:
        second.desk.session.close()


def test_intake_is_corrected_at_any_time(working: Bench) -> None:
    """piece, then a line: the wood of one surface, a thickness in inches."""
    working.say("about", "wood", "walnut")
    assert [s.wood for s in working.state.piece.surfaces] == ["walnut", "oak"]
    working.say("about", "build", "veneer", "veneer_mm", "1/32 in")
    assert working.state.here.veneer_mm == pytest.approx(0.79375)
    working.say("piece", "made", "1950")
    assert working.state.piece.made == "1950"


def test_room_is_kept_with_the_piece_and_corrected(working: Bench) -> None:
    """Air and flame from one answer; the mask follows what is at hand; `all` in so many words has the mask in it."""
    room = working.state.piece.room
    assert (room.ventilation, room.flame, room.respirator) == ("unknown", None, True)
    working.say("piece", "room", "closed")
    assert (working.state.piece.room.ventilation, working.state.piece.room.flame) == ("poor", False)
    working.say("have", "not vapour-respirator")
    room = working.state.piece.room
    assert (room.ventilation, room.respirator) == ("poor", False)


def test_a_mask_is_never_taken_for_granted(bench: Bench) -> None:
    """Enter at what is at hand is all but the mask, and both the list and the room then say so."""
    bench.say(*INTAKE[:-2])
    assert bench.asked.count("(no)") == 2  # the mask, and the line that says what the mark means
    bench.say("", "window")
    assert "vapour-respirator" not in (bench.state.piece.have or [])
    assert not bench.state.piece.room.respirator
    bench.say("piece")
    assert "at hand: all but organic vapour respirator" in bench.asked
    assert "no vapour mask" in bench.asked


def test_enter_after_back_keeps_what_was_told(bench: Bench, make: Make) -> None:
    """All the way back and forth with Enter alone: the piece is as it was, and each default stood on the screen."""
    bench.say(*INTAKE)
    before = bench.state.piece
    bench.say(*["back"] * len(INTAKE[1:]))
    shown = []
    while bench.dialogue.question.test is None:
        shown.append(bench.asked)
        bench.say("")
    assert bench.state.piece == before
    for told in ("Enter: Table", "1930s, as told", "Britain", "Enter: top, legs", "Enter: oak", "Enter: solid wood"):
        assert any(told in text for text in shown), told
    bench.say(*["back"] * 9, "unknown")
    assert bench.state.piece.made == "unknown"


def test_what_was_taken_back_is_kept_through_a_kill(bench: Bench, make: Make) -> None:
    """The default of a question that was gone back to comes from the log."""
    bench.say("hall table", "", "1930s", "back")
    assert bench.desk.session is not None
    bench.desk.session.close()
    again = make()
    again.say("1", "")
    assert again.state.piece.made == "1930s"


def test_a_correction_shows_what_stands_and_enter_keeps_it(working: Bench) -> None:
    """Sizes, lists, yes or no, one of many: Enter at each line of piece and about changes nothing that was told."""
    said = (("veneer", "0.7 mm"), ("hidden face", "yes"), ("coats counted", "4"), ("film below", "shellac"))
    working.say("about", "build", "veneer")
    for line, value in (*said, ("what to do", "keep"), ("wood", "walnut")):
        working.say("about", line, value, "")
    working.say("piece", "money", "400 25 60", "warmth", "12", "made", "1925", "style", "art-deco", "")
    before = working.state.piece
    for word, lines in (("about", FACE), ("piece", PIECE)):
        for line in lines:
            if line not in ("stain", "tried"):
                working.say(word, line, "", "")
    assert working.state.piece == before
    working.say("about", "veneer")
    assert "Enter: as told, 0.7" in working.asked
    working.say("unknown")
    assert working.state.here.veneer_mm is None


@pytest.mark.parametrize("made", ["Edwardian", "1905-10", "1890s-1900s", "c. 1900", "turn of the century", "post-war"])
def test_years_as_people_say_them(bench: Bench, made: str) -> None:
    """Names of periods and short ranges are understood; what is not is told with examples, and nothing is kept."""
    bench.say("chair", "")
    assert "write 1930, 1905-10, c. 1890" in bench.say("the old days")
    assert bench.state.piece.made == "unknown"
    bench.say(made)
    assert bench.state.piece.made == made
