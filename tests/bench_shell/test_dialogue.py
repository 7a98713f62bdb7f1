"""The dialogue, line by line: what is asked, what an answer does, what every word does at every prompt."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from bench_helpers import INTAKE, Bench, text_of
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from oldcoat.engine import Examiner, assess, read_piece
from oldcoat.engine.piece.form import NOT_DONE, Answer
from oldcoat.engine.session.fold import fold
from oldcoat.engine.session.log import read_events
from oldcoat.shell.bench.page import Caution, Choices, Ranked
from oldcoat.shell.bench.view import fitted, lines_of
from oldcoat.shell.bench.words import WORDS

Make = Callable[[], Bench]


MOVES = (
    *("leave", "back", "skip", "cannot", "have", "tests", "list", "surface", "piece", "tried", "stain"),
    *("about", "done", "more"),
)


def pick(bench: Bench, test: str) -> None:
    """Have a test asked, whatever would be proposed."""
    bench.say("tests", test)
    assert bench.dialogue.question.test == test


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


def test_outcomes_are_told_as_seen_and_answered_by_number(working: Bench) -> None:
    """Choices are the book's descriptions, never ids; a number answers."""
    pick(working, "alcohol-drop")
    outcomes = working.desk.knowledge.tests["alcohol-drop"].outcomes
    assert [c.text for c in working.dialogue.question.choices] == [o.sees for o in outcomes]
    working.say("1")
    assert working.state.piece.surfaces[0].tests == {"alcohol-drop": outcomes[0].id}


def test_how_to_do_it_and_cautions_are_on_the_screen_of_every_test(working: Bench) -> None:
    """Amount, time, place and what to watch for; a harmful test shows each of its cautions, on the smallest screen too."""
    book = working.desk.knowledge
    for name, test in book.tests.items():
        pick(working, name)
        page = working.dialogue.question.page
        assert test.how in working.asked
        assert test.watch in working.asked
        assert {book.cautions[c].text for c in test.cautions} <= {i.text for i in page if isinstance(i, Caution)}
        small = [i.text for i in fitted(page, 60, 20) if isinstance(i, Caution)]
        for caution in test.cautions:
            assert any(book.cautions[caution].text.startswith(text[:25]) for text in small), (name, caution)


@pytest.mark.parametrize(("width", "height"), [(80, 24), (60, 20), (100, 40)])
def test_every_test_fits_the_screen(working: Bench, width: int, height: int) -> None:
    """Nothing scrolls away: not the ranking at 80 x 24, nowhere the question."""
    pick(working, "fingernail")
    working.say("3")
    for name in working.desk.knowledge.tests:
        pick(working, name)
        page = fitted(working.dialogue.question.page, width, height)
        assert lines_of(page, width) <= height - 2, name
        assert any(isinstance(item, Choices) for item in page)
        assert width == 60 or any(isinstance(item, Ranked) for item in page), name


def test_back_takes_back_and_does_not_count(working: Bench) -> None:
    """back at a test and on into intake; the abandoned answer is nowhere in the state."""
    before = working.asked
    pick(working, "alcohol-drop")
    working.say("1")
    assert working.asked != before
    assert "does not count" in working.say("back")
    assert working.state.here.tests == {}
    assert working.dialogue.question.test == "alcohol-drop"
    working.say("back", "back", "back")
    assert working.dialogue.question.label == "place"
    working.say(*["back"] * 7)
    assert "nothing to take back" in working.say("back")


def test_back_first_leaves_a_menu(working: Bench) -> None:
    """back in a menu, or at a picked test, undoes that step and no answer."""
    pick(working, "alcohol-drop")
    working.say("3", "tests", "back")
    assert "alcohol-drop" in working.state.here.tests
    pick(working, "uv-a")
    working.say("back")
    assert "alcohol-drop" in working.state.here.tests


def test_ranking_moves_in_sight_with_the_answer_named(working: Bench) -> None:
    """What rose, what fell, by how much, by which answer; how sure; what is still open."""
    pick(working, "alcohol-drop")
    working.say("1")
    rows = [item for item in working.dialogue.question.page if isinstance(item, Ranked)]
    done = working.desk.examined()
    assert rows[0].name == working.desk.knowledge.finishes[done.posterior.top].name == "shellac"
    assert rows[0].change > 0.05
    assert "alcohol drop: up shellac" in working.asked


def test_unsure_skip_and_cannot(working: Bench) -> None:
    """Not sure softens; skipped and not done say nothing and are not proposed again."""
    pick(working, "alcohol-drop")
    working.say("unsure 1")
    assert working.state.here.tests["alcohol-drop"] == Answer(outcome="dissolves-fast", sure=False)
    pick(working, "uv-a")
    working.say("unsure")
    working.say("2")
    assert working.state.here.tests["uv-a"] == Answer(outcome="yellow-green", sure=False)
    pick(working, "fingernail")
    working.say("1?")
    pick(working, "water-drop")
    working.say("skip")
    pick(working, "oil-drop")
    working.say("cannot no oil here")
    tests = working.state.here.tests
    assert [t for t, a in tests.items() if isinstance(a, Answer) and a.outcome == NOT_DONE] == [
        "water-drop",
        "oil-drop",
    ]
    assert not {"water-drop", "oil-drop"} & {w.test for w in working.desk.tests()}


def test_what_if_changes_nothing(working: Bench) -> None:
    """The ranking that an answer would give is the one that it then gives; nothing is written for asking."""
    pick(working, "alcohol-drop")
    before = read_events(working.desk.session.path) if working.desk.session else []
    told = working.dialogue.reply("whatif 1")
    assert working.desk.session is not None
    assert read_events(working.desk.session.path) == before
    foreseen = [row for row in told if isinstance(row, Ranked)]
    working.say("1")
    now = [row for row in working.dialogue.question.page if isinstance(row, Ranked)]
    assert [(r.name, r.p) for r in foreseen[:3]] == [(r.name, r.p) for r in now]


def test_every_word_works_at_every_prompt(make: Make, examiner: Examiner) -> None:
    """At each question of a whole examination each word answers with something, and why and help always do."""
    bench = make()
    at = ["", *INTAKE, "tests", "alcohol-drop", "3", "list", "", "about", "wood", "oak", "surface", "2"]
    for line in at:
        if line:
            bench.say(line)
        for word in WORDS:
            if word.name in MOVES:
                continue
            before = bench.asked
            text = bench.say(word.name)
            if word.name == "note" and bench.asked != before:
                bench.say("back")
                continue
            assert text or bench.dialogue.timer, (line, word.name)
            assert bench.asked == before, (line, word.name)


def test_why_not_names_finish_and_remover(working: Bench) -> None:
    """By id or by name; anything else is answered with the nearest."""
    assert "polyester" in working.say("whynot polyester").lower()
    assert "works" in working.say("whynot acetone")
    assert "did you mean shellac" in working.say("whynot shelac")


def test_list_edits_and_withdraws(working: Bench) -> None:
    """An answer can be given anew or taken out later, whatever came after it."""
    pick(working, "alcohol-drop")
    working.say("1")
    pick(working, "uv-a")
    working.say("1")
    working.say("list", "1", "3")
    assert working.state.here.tests == {"uv-a": "orange", "alcohol-drop": "no-effect"}
    working.say("list", "withdraw 1")
    assert working.state.here.tests == {"alcohol-drop": "no-effect"}


def test_surfaces_are_added_renamed_copied_dropped(working: Bench) -> None:
    """The list of surfaces can change at any time; the last one cannot be dropped."""
    working.say("surface copy left leaf")
    assert working.state.surface == "left leaf"
    assert working.state.here.wood == "oak"
    working.say("surface rename leaf", "surface add back")
    assert [s.name for s in working.state.piece.surfaces] == ["top", "legs", "leaf", "back"]
    working.say("surface drop", "surface drop legs", "surface drop leaf")
    assert [s.name for s in working.state.piece.surfaces] == ["top"]
    assert "at least one surface" in working.say("surface drop")


def test_intake_is_corrected_at_any_time(working: Bench) -> None:
    """piece, then a line: the wood of one surface, a thickness in inches."""
    working.say("about", "wood", "walnut")
    assert [s.wood for s in working.state.piece.surfaces] == ["walnut", "oak"]
    working.say("about", "build", "veneer", "veneer_mm", "1/32 in")
    assert working.state.here.veneer_mm == pytest.approx(0.79375)
    working.say("piece", "made", "1950")
    assert working.state.piece.made == "1950"


def test_a_surface_that_departs_is_flagged_at_once(working: Bench) -> None:
    """Legs that dissolve in alcohol under a top that resists everything: told with all explanations and what to check."""
    for test, answer in (
        ("alcohol-drop", "3"),
        ("lacquer-thinner-drop", "3"),
        ("acetone-rub", "3"),
        ("film-build", "4"),
    ):
        pick(working, test)
        working.say(answer)
    working.say("surface legs")
    for test, answer in (("alcohol-drop", "1"), ("uv-a", "1"), ("lacquer-thinner-drop", "2")):
        pick(working, test)
        working.say(answer)
    for word in ("refinished", "part of another piece", "maker used another finish", "fit, screw holes, marks"):
        assert word in working.asked


def test_tried_and_stain_are_told(working: Bench) -> None:
    """A remover that was tried is evidence; a stain is kept for the plan."""
    working.say("tried", "denatured-alcohol", "works")
    assert working.state.here.tried[0].remover == "denatured-alcohol"
    assert working.desk.examined().posterior.top in ("shellac", "spirit-varnish")
    working.say("stain", "black-ring")
    assert working.state.here.stains[0].kind == "black-ring"


def test_tried_and_stains_are_acknowledged_and_edited_by_number(working: Bench) -> None:
    """What was told stands in the list with a number, by which it is asked again or taken out."""
    assert "softened" in working.say("tried", "acetone", "softens", "")
    assert working.desk.knowledge.stains["mould"].name in working.say("stain", "mould", "")
    working.say("list", "1", "works", "")
    assert [(t.remover, t.result) for t in working.state.here.tried] == [("acetone", "works")]
    working.say("list", "2", "grease")
    assert [s.kind for s in working.state.here.stains] == ["grease"]
    working.say("list", "withdraw 1", "list", "withdraw 1")
    assert not working.state.here.tried
    assert not working.state.here.stains


def test_room_is_kept_with_the_piece_and_corrected(working: Bench) -> None:
    """Air and flame from one answer; the mask follows what is at hand, and is never taken for granted."""
    room = working.state.piece.room
    assert (room.ventilation, room.flame, room.respirator) == ("unknown", None, False)
    working.say("piece", "room", "closed")
    assert (working.state.piece.room.ventilation, working.state.piece.room.flame) == ("poor", False)
    working.say("have", "vapour-respirator water")
    room = working.state.piece.room
    assert (room.ventilation, room.respirator) == ("poor", True)


def test_surfaces_are_dropped_and_renamed_by_name(working: Bench) -> None:
    """drop and rename take a name; what was lost is told and comes back; a new surface has the wood of all."""
    working.say("rename legs front legs")
    working.say("surface add Back")
    assert [(s.name, s.wood) for s in working.state.piece.surfaces][1:] == [("front legs", "oak"), ("Back", "oak")]
    pick(working, "uv-a")
    working.say("1")
    assert "Back (1 answer); back restores it" in working.say("drop back")
    assert [s.name for s in working.state.piece.surfaces] == ["top", "front legs"]
    working.say("back")
    assert working.state.piece.surfaces[2].tests == {"uv-a": "orange"}


def test_the_name_of_a_test_asks_it_at_any_prompt(working: Bench) -> None:
    """At a test, in a menu, in words or as an id."""
    working.say("UV-A")
    assert working.dialogue.question.test == "uv-a"
    working.say("list", "alcohol drop")
    assert working.dialogue.question.test == "alcohol-drop"


def test_how_is_short_until_all_is_asked(working: Bench) -> None:
    """A dozen lines at 80 columns, and the rest on demand."""
    for test in ("alcohol-drop", "uv-a", "lacquer-thinner-drop", "fingernail", "film-build"):
        pick(working, test)
        working.say("1")
    assert lines_of(working.dialogue.reply("how"), 80) <= 13
    assert "how all" in working.say("how")
    assert len(working.say("how all")) > len(working.say("how"))


def test_notes_go_to_the_answer_or_the_surface(working: Bench) -> None:
    """note before any answer is on the surface, after one on that answer; quotes make a word a text."""
    working.say("note ring by the window")
    assert working.state.here.note == "ring by the window"
    pick(working, "uv-a")
    working.say("1", "note", '"back"')
    assert working.state.here.tests["uv-a"] == Answer(outcome="orange", note="back")


def test_stop_says_why_and_where_to_go(working: Bench) -> None:
    """When no test pays, the way off, its cautions and the next surface stand there."""
    for test, answer in (("alcohol-drop", "1"), ("uv-a", "1"), ("lacquer-thinner-drop", "2"), ("fingernail", "3")):
        pick(working, test)
        working.say(answer)
    for _ in range(12):
        if working.dialogue.question.test is None:
            break
        working.say("skip")
    assert working.asked.count("STOP.") == 1
    route = working.desk.examined().routes[0]
    assert working.desk.knowledge.removers[route.remover].name in working.asked
    for caution in route.cautions:
        assert working.desk.knowledge.cautions[caution].text in working.asked
    working.say("1")
    assert working.state.surface == "legs"


def test_cancel_keeps_the_question(working: Bench) -> None:
    """Ctrl-C in a menu leaves it; nothing is answered."""
    asked = working.asked
    working.say("list")
    working.dialogue.cancel()
    assert working.asked == asked


def test_misread_keeps_the_question_and_the_disk(working: Bench) -> None:
    """An impossible answer is told, and changes nothing."""
    pick(working, "alcohol-drop")
    assert working.desk.session is not None
    before = working.desk.session.path.read_bytes()
    for line in ("9", "0", "x", "-1", "1.5", "dissolv e", "²"):
        assert working.say(line)
        assert working.dialogue.question.test == "alcohol-drop"
    assert working.desk.session.path.read_bytes() == before


def test_resume_offers_itself_where_it_stood(make: Make) -> None:
    """Left and taken up: the same question, the same state, newest first."""
    first = make()
    first.say(*INTAKE, "tests", "alcohol-drop", "3")
    state, asked = first.state, first.asked
    first.say("leave")
    second = make()
    assert "hall table: 2 surfaces, 1 answer" in second.asked
    second.say("1")
    assert (second.state, second.asked) == (state, asked)


def test_second_bench_on_one_piece_is_told(make: Make) -> None:
    """Two shells: the second hears of the first, and can begin another piece."""
    first = make()
    first.say(*INTAKE)
    second = make()
    assert "another oldcoat" in second.say("1")
    second.say("new", "chair")
    assert second.state.piece.piece == "chair"
    first.say("back")


def test_export_is_assessed_the_same_to_the_last_digit(working: Bench, examiner: Examiner, tmp_path: Path) -> None:
    """What the bench believes and what `assess` says of the saved file are equal, skipped tests included."""
    for test, answer in (("alcohol-drop", "u 2"), ("uv-a", "1"), ("fingernail", "2"), ("water-drop", "skip")):
        pick(working, test)
        working.say(answer)
    working.say("tried", "acetone", "softens", "20 min", 'note a "quoted" note: with colon', f"save {tmp_path}/t.yaml")
    read = read_piece(tmp_path / "t.yaml", examiner.knowledge)
    assert read == working.state.piece
    bench = assess(working.state.piece, examiner.knowledge, examiner=examiner)
    assert assess(read, examiner.knowledge, examiner=examiner) == bench
    assert (
        working.desk.examined().posterior.finishes[bench.surfaces[0].ranking[0].finish]
        == bench.surfaces[0].ranking[0].p
    )


LINES = st.one_of(
    st.sampled_from(
        [name for word in WORDS for name in (word.name, *word.short) if word.name not in ("leave", "save")]
    ),
    st.sampled_from(["1", "2", "3", "4", "whatif 2", "surface 2", "surface add x", "surface drop", "unsure 1", "list"]),
    st.sampled_from(["withdraw 1", "alcohol-drop", "oak", "1950", "time 5", "units us", "all", "not 3", "", '"leave"']),
    st.text(max_size=12),
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(lines=st.lists(LINES, max_size=25))
def test_any_lines_leave_a_sound_session(lines: list[str], examiner: Examiner, tmp_path: Path) -> None:
    """Whatever is typed, nothing breaks, something is asked, and the log gives the state that is live."""
    folder = tmp_path / "any"
    shutil.rmtree(folder, ignore_errors=True)
    bench = Bench(folder, examiner)
    bench.say(*INTAKE, *lines)
    assert bench.asked
    assert bench.desk.session is not None
    assert fold(read_events(bench.desk.session.path)) == bench.state
    bench.desk.session.close()


def test_order_of_answers_does_not_change_the_belief(examiner: Examiner, tmp_path: Path) -> None:
    """The same answers given in two orders: the same chances."""
    answers = [("alcohol-drop", "3"), ("uv-a", "2"), ("fingernail", "3"), ("pencil-hardness", "3")]
    beliefs = []
    for order in (answers, answers[::-1]):
        bench = Bench(tmp_path / order[0][0], examiner)
        bench.say(*INTAKE)
        for test, answer in order:
            pick(bench, test)
            bench.say(answer)
        beliefs.append(bench.desk.examined().posterior.finishes)
    assert beliefs[0] == pytest.approx(beliefs[1], abs=1e-12)


def test_help_names_every_word(bench: Bench) -> None:
    """help, on two screens, lists what is understood, with a full stop after each meaning."""
    told = [*bench.dialogue.reply("help"), *bench.dialogue.reply("help 2")]
    marks = " ".join(getattr(item, "mark", "") for item in told)
    assert all(word.name in marks for word in WORDS)
    assert all(word.means.endswith(".") for word in WORDS)
    assert text_of(told)
