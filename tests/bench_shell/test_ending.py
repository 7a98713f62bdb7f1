"""The end of a piece at the bench: what was tried is proposed, what contradicts itself is asked again."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from bench_helpers import Bench

from oldcoat.engine.piece.form import Confirmed, Removed, Surface
from oldcoat.engine.session.fold import fold
from oldcoat.engine.session.log import read_events

REMOVAL = ("alcohol-drop", "1", "done", "shellac", "removal")


def test_removal_that_did_not_happen_is_asked_again(working: Bench) -> None:
    """Known by its removal, and not stripped: one of the two is corrected before it goes on."""
    working.say(*REMOVAL, "none")
    assert "nothing took it off" in working.asked
    working.say("2")
    assert "its removal showed it" not in working.asked
    working.say("opinion")
    assert working.state.piece.surfaces[0].confirmed == Confirmed(finish="shellac", how="opinion")
    assert "LEGS" in working.asked


def test_it_was_taken_off_after_all(working: Bench) -> None:
    """What took it off is then asked; a remover that did nothing does not settle it either."""
    working.say(*REMOVAL, "another", "acetone", "no-effect", "", "none")
    assert "nothing took it off" in working.asked
    working.say("1", "denatured-alcohol", "works", "")
    working.say("none")
    assert "LEGS" in working.asked


def test_what_is_over_is_closed(working: Bench) -> None:
    """Once it is in the casebook no test is proposed for it: it says so, and what can still be done, also when resumed."""
    working.say("alcohol-drop", "1")
    while working.dialogue.question.test:
        working.say("skip")
    assert "go to the next surface: legs" in working.asked
    assert "the work is over" in working.asked
    working.say("done", "shellac", "opinion", "denatured-alcohol", "works", "", "none", "none", "none", "keep")
    assert working.state.case
    for face, end in (
        ("top", "top: shellac; denatured alcohol: it took the film off."),
        ("legs", "legs: not found out"),
    ):
        working.say(f"surface {face}")
        assert working.dialogue.question.test is None
        assert "CLOSED. Kept in the casebook as" in working.asked
        assert end in working.asked
    working.say("rename legs feet")
    assert "CLOSED" in working.asked
    working.say("alcohol-drop")
    assert working.dialogue.question.test == "alcohol-drop"
    working.say("1")
    assert "CLOSED" in working.asked
    working.say("surface add shelf")
    assert working.dialogue.question.test is not None
    working.say("surface top")
    assert "go to the next surface: shelf" in working.asked
    working.say("done")
    assert "what was really on it?" in working.asked


def test_back_in_done_is_one_question_back(working: Bench) -> None:
    """From surface to surface back to the first; what was told since is taken back, and the question is as it was."""
    working.say("alcohol-drop", "1")
    start, asked = working.state, []
    for line in ("done", "shellac", "opinion", "denatured-alcohol", "works", "2 3", "none", "none"):
        working.say(line)
        asked.append(working.asked)
    assert "LEGS: what was used" in working.asked
    for before in asked[-2::-1]:
        assert "does not count" in working.say("back")
        assert working.asked == before
    assert working.state == start
    working.say("wax", "opinion", "back", "back")
    assert "TOP: what was really on it?" in working.asked
    working.say("back")
    assert not working.dialogue.in_menu


@pytest.mark.parametrize(
    ("lines", "question"),
    [
        (("about", "1"), "About top"),
        (("about", "wood", "pine"), "Which wood, top?"),
        (("piece", "name", "desk"), "What is it called?"),
        (("tried", "acetone", "softens"), "What did acetone do?"),
        (("stain", "iron-ink", "1"), "Was anything tried on it already?"),
        (("about", "stains"), "About top"),
    ],
)
def test_back_in_a_list_is_one_question_back(working: Bench, lines: tuple[str, ...], question: str) -> None:
    """The question before, with its answer taken back; leaving the list only from its first question."""
    start = working.state
    working.say(*lines[:-1])
    before = (working.state, working.asked)
    working.say(lines[-1], "back")
    assert question in working.asked
    assert (working.state, working.asked) == before
    working.say(*["back"] * len(lines[:-1]))
    assert (working.state, working.dialogue.in_menu) == (start, False)


def test_not_known_after_all(working: Bench) -> None:
    """The third way out: nothing is confirmed."""
    working.say(*REMOVAL, "none", "3")
    assert working.state.piece.surfaces[0].confirmed is None


def test_a_try_that_was_told_is_the_default(working: Bench) -> None:
    """Remover and result of the best try, then Enter ends the list; a try that did nothing is not proposed."""
    working.say("tried", "acetone", "no-effect", "", "tried", "denatured-alcohol", "works", "")
    working.say("done", "shellac", "removal")
    assert "Enter: denatured alcohol, as tried" in working.asked
    working.say("")
    assert "Enter: it took the film off, as tried" in working.asked
    working.say("", "2 3.5", "")
    assert working.state.piece.surfaces[0].removed == [
        Removed(remover="denatured-alcohol", result="works", coats=2, hours=3.5)
    ]


def test_a_patch_counts_as_a_try(working: Bench) -> None:
    """A patch that dissolved the film is proposed as a remover that took it off."""
    working.say("stripper-patch/acetone", "1", "done", "", "", "")
    assert [(r.remover, r.result) for r in working.state.piece.surfaces[0].removed] == [("acetone", "works")]


def test_told_anew_keeps_coats_and_hours(working: Bench) -> None:
    """Enter at what was told already leaves it."""
    working.say("tried", "denatured-alcohol", "works", "", "done", "shellac", "removal", "", "", "2 3.5", "", "", "")
    working.say("again")
    assert "as told, shellac" in working.asked
    working.say("", "denatured-alcohol", "softens", "")
    assert working.state.piece.surfaces[0].removed == [
        Removed(remover="denatured-alcohol", result="softens", coats=2, hours=3.5)
    ]


def on_disk(bench: Bench) -> Surface:
    """The first surface as the log of the session on disk has it."""
    assert bench.desk.session is not None
    state = fold(read_events(bench.desk.session.path))
    assert state is not None
    return state.piece.surfaces[0]


def test_what_is_named_is_on_the_disk_before_the_next_question(working: Bench) -> None:
    """The finish before it is asked how it is known, the remover before it is asked how it did."""
    working.say("done", "shellac")
    assert "how do you know" in working.asked
    assert on_disk(working).confirmed == Confirmed(finish="shellac", how="opinion")
    working.say("laboratory", "another", "acetone")
    assert "how did acetone do?" in working.asked
    assert on_disk(working).confirmed == Confirmed(finish="shellac", how="laboratory")
    assert on_disk(working).removed == [Removed(remover="acetone")]


@pytest.mark.parametrize(
    ("told", "asked"),
    [
        (("shellac",), "TOP: how do you know that it was shellac?"),
        (("shellac", "opinion"), "TOP: what was used"),
        (("shellac", "removal", "another", "acetone"), "TOP: how did acetone do?"),
        (("shellac", "removal", "another", "acetone", "no-effect"), "its removal showed what it was"),
    ],
)
def test_done_is_taken_up_at_the_question_it_was_left_at(
    working: Bench, make: Callable[[], Bench], told: tuple[str, ...], asked: str
) -> None:
    """Also by another shell, that knows only what is on the disk, and under another name of the surface."""
    working.say("done", *told)
    working.dialogue.cancel()
    assert working.desk.session is not None
    working.desk.session.close()
    other = make()
    other.say("1", "done")
    assert asked in other.asked
    other.dialogue.cancel()
    other.say("rename top lid", "done")
    assert asked.replace("TOP", "LID") in other.asked


def test_enter_goes_on_in_done(working: Bench) -> None:
    """At each question of a surface it is said what Enter takes, and Enter takes that; done is never left by it."""
    working.say("done", "shellac")
    assert "Enter: somebody who knows thinks so" in working.asked
    assert "somebody who knows thinks so" in working.say("")
    working.say("another", "acetone")
    assert "Enter: not told how it did" in working.asked
    working.say("", "2 3.5", "")
    assert "LEGS" in working.asked
    top = working.state.piece.surfaces[0]
    assert top.confirmed == Confirmed(finish="shellac", how="opinion")
    assert top.removed == [Removed(remover="acetone", coats=2, hours=3.5)]
    working.say("", "")
    assert "top: shellac; acetone: not told how it did." in working.asked
    assert "Kept in the casebook" in working.say("")
    book = working.desk.casebook()
    assert book.get(book.ids()[0]).piece.surfaces[0] == top


def test_not_found_out_takes_back_what_was_thought(working: Bench) -> None:
    """Enter keeps what was told; the choice says that it is not so."""
    working.say("done", "shellac", "opinion", "none", "none", "none", "again")
    assert "Enter: as told, shellac" in working.asked
    working.say("", "back", "not found out")
    assert working.state.piece.surfaces[0].confirmed is None


READING = ("list", "list notes", "why", "how", "result", "help", "cautions", "find shellac", "whynot shellac", "tests")
READING += ("tried", "piece", "about", "stain", "surface", "have", "note", "surface legs", "note a scratch")


@pytest.mark.parametrize("word", READING)
def test_what_is_looked_up_in_done_comes_back_to_its_question(working: Bench, word: str) -> None:
    """The same question of the same surface, however far done is; one is not in a test, where the next key would answer."""
    asked: list[str] = []
    for line in ("done", "none", "none", "shellac", "laboratory", "another", "acetone", "works", ""):
        working.say(line)
        asked.append(working.asked)
        working.say(word)
        if working.dialogue.reading or working.asked != asked[-1]:
            working.say("")
        assert working.asked == asked[-1], line
    assert asked[-1].startswith("LEGS: what else was used")
    for before in asked[-2::-1]:
        working.say("back")
        assert working.asked == before


def test_what_is_corrected_in_done_comes_back_to_its_question(working: Bench) -> None:
    """An answer that is asked again, a test that is named, a try that is told: then done goes on with what is new."""
    working.say("alcohol-drop", "1", "done", "shellac", "laboratory")
    for lines in (
        ("list", "1", "2"),
        ("water-drop", "1"),
        ("list", "withdraw 1"),
        ("water-drop", "back"),
        ("list", "back"),
    ):
        working.say(*lines)
        assert working.asked.startswith("TOP: what was used"), lines
    working.say("tried", "acetone", "works", "")
    assert "Enter: acetone, as tried" in working.asked
    working.say("drop top")
    assert working.asked.startswith("LEGS: what was really on it?")


def test_a_menu_that_is_left_says_what_is_so(working: Bench) -> None:
    """The word that leads back to it, also after another was asked, and whether anything was kept."""
    start = working.state
    working.say("tried", "acetone", "why", "")
    assert "tried was left; nothing was told. To come back: tried" in working.say("")
    assert working.state == start
    working.say(*REMOVAL, "none", "why", "")
    assert "done was left; what was told stays. To come back: done" in working.say("")
    assert working.state.piece.surfaces[0].confirmed == Confirmed(finish="shellac", how="removal")
    working.say("done")
    assert "TOP: what was used" in working.asked
