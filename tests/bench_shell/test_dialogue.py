"""The dialogue, line by line: what is asked, what an answer does, what every word does at every prompt."""

from __future__ import annotations

import re
from collections.abc import Callable
from io import StringIO

import pytest
from bench_helpers import INTAKE, Bench, pick, text_of

from oldcoat.engine import Examiner
from oldcoat.engine.piece.form import NOT_DONE, Answer, Tried
from oldcoat.engine.session.log import read_events
from oldcoat.shell.bench.page import Caution, Choices, Ranked
from oldcoat.shell.bench.view import draw, fitted, lines_of
from oldcoat.shell.bench.words import WORDS
from oldcoat.shell.tell.screen import Screen

Make = Callable[[], Bench]


MOVES = (
    *("leave", "back", "skip", "cannot", "have", "tests", "list", "surface", "piece", "tried", "stain"),
    *("about", "done", "more"),
)
VENEER = {"water-veneer", "steam-veneer", "veneer-through"}  # the faces of these tests are solid


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
        assert {book.cautions[c].text for c in set(test.cautions) - VENEER} <= {
            i.text for i in page if isinstance(i, Caution)
        }
        small = {i.text for i in fitted(page, 60, 20) if isinstance(i, Caution)}
        for caution in set(test.cautions) - VENEER:
            assert small & {book.cautions[caution].text, book.cautions[caution].short}, (name, caution)


@pytest.mark.parametrize(("width", "height"), [(80, 24), (60, 20), (100, 40)])
def test_every_test_fits_the_screen(working: Bench, width: int, height: int) -> None:
    """Nothing scrolls away: not the ranking at 80 x 24, nowhere the question."""
    pick(working, "fingernail")
    working.say("3")
    for name in working.desk.knowledge.tests:
        pick(working, name)
        working.say("1", "list", name)
        assert working.dialogue.question.test == name
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
    working.say('note "ring by the window"')
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
    for caution in set(route.cautions) - VENEER:
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


def test_help_names_every_word(bench: Bench) -> None:
    """help, on two screens, lists what is understood, with a full stop after each meaning."""
    told = [*bench.dialogue.reply("help"), *bench.dialogue.reply("help 2")]
    marks = " ".join(getattr(item, "mark", "") for item in told)
    assert all(word.name in marks for word in WORDS)
    assert all(word.means.endswith(".") for word in WORDS)
    assert text_of(told)


def test_a_note_stays_when_the_test_is_answered_again(working: Bench) -> None:
    """Through the list and after back: the note is shown and kept; Enter keeps the answer, its doubt and its note."""
    pick(working, "uv-a")
    working.say("unsure 1", "note by the window")
    kept = Answer(outcome="orange", sure=False, note="by the window")
    assert working.state.here.tests["uv-a"] == kept
    working.say("list", "1")
    assert "by the window" in working.asked
    assert "Enter: as before, 1 (not sure)" in working.asked
    working.say("")
    assert working.state.here.tests["uv-a"] == kept
    working.say("list", "1", "2")
    assert working.state.here.tests["uv-a"] == Answer(outcome="yellow-green", note="by the window")
    assert "a note; it does not count" in working.say("back", "back")


def test_enter_after_back_gives_the_answer_again(working: Bench) -> None:
    """What was taken back is what Enter answers, on the surface where it was given; another number replaces it."""
    pick(working, "alcohol-drop")
    working.say("unsure 2")
    before = working.state.piece
    working.say("surface legs", "back")
    assert (working.state.surface, working.dialogue.question.test) == ("top", "alcohol-drop")
    working.say("")
    assert working.state.piece == before
    working.say("back", "3")
    assert working.state.here.tests == {"alcohol-drop": "no-effect"}


@pytest.mark.parametrize(
    "lines",
    [("tried",), ("tried", "acetone"), ("stain",), ("note",), ("tried", "acetone", "softens"), ("stain", "mould")],
)
def test_enter_leaves_every_question_beside_the_line(working: Bench, lines: tuple[str, ...]) -> None:
    """Each says so on its screen; then the question that stood before stands again."""
    label = working.dialogue.question.label
    working.say(*lines)
    assert "Enter:" in working.asked
    working.say("")
    assert working.dialogue.question.label == label


def test_a_try_that_is_corrected_keeps_its_minutes(working: Bench) -> None:
    """From the list: Enter keeps what did it and how long, a number changes only the result."""
    working.say("tried", "acetone", "softens", "20", "list", "1", "", "")
    assert working.state.here.tried == [Tried(remover="acetone", result="softens", minutes=20)]
    working.say("list", "1", "works", "")
    assert working.state.here.tried == [Tried(remover="acetone", result="works", minutes=20)]


def test_the_whole_piece_is_told_in_words_of_the_bench(working: Bench) -> None:
    """No key of the file format and no option of a command that is not typed here."""
    screen = Screen(plain=True)
    screen.console.file = StringIO()
    draw(working.dialogue.reply("result piece"), screen, working.desk.knowledge)
    told = screen.console.file.getvalue()
    assert "(piece, then money)" in told
    assert "result all" in told
    assert "`" not in told
    assert "explain FILE" not in told


def test_facts_are_told_in_words(working: Bench) -> None:
    """how all has no dotted key and no True or False in it, a chance is told in per cent, and rules stand apart from what moved the ranking."""
    working.say("alcohol-drop", "1")
    screen = Screen(plain=True)
    screen.console.file = StringIO()
    draw(working.dialogue.reply("how all"), screen, working.desk.knowledge)
    told = screen.console.file.getvalue()
    ranking, work = told.split("move no chance")
    assert "(rule " not in ranking
    assert ": " in work
    assert not re.search(r"\b0\.\d{3}", told)
    book = working.desk.knowledge
    on_removers = [r.id for rows in book.rules.values() for r in rows.rules if r.then.veto or r.then.harm]
    assert not any(f"(rule {name})" in told for name in on_removers)
    assert not re.search(r"\b[a-z]+\.[a-z-]+ (is|:)|\b(True|False)\b", told)


def test_the_first_step_names_what_comes_if_it_fails(working: Bench) -> None:
    """At the stop no step is named by a number: the steps are not on that screen."""
    working.say("alcohol-drop", "1", "uv-a", "1", "lacquer-thinner-drop", "2")
    for _ in range(12):
        if working.dialogue.question.test is None:
            break
        working.say("skip")
    assert "If not: a patch with" in working.asked
    assert not re.search(r"step \d", working.asked)


def test_cautions_fit_the_surface(bench: Bench) -> None:
    """Damp heat on solid pine says nothing of veneer; on a face that may be veneered it does."""
    bench.say(*INTAKE[:5], "pine", *INTAKE[6:])
    pick(bench, "damp-heat")
    assert "veneer" not in " ".join(i.text for i in bench.dialogue.question.page if isinstance(i, Caution))
    bench.say("about", "build", "unknown", "")
    pick(bench, "damp-heat")
    assert "Water lifts veneer" in bench.asked


@pytest.mark.parametrize(("width", "height"), [(80, 24), (60, 20)])
def test_a_caution_is_told_whole_or_in_its_own_short_words(working: Bench, width: int, height: int) -> None:
    """On a small screen other text gives way first, then the book's short form stands; never a part of a caution."""
    pick(working, "fingernail")
    working.say("3")
    book = working.desk.knowledge
    whole = {form for caution in book.cautions.values() for form in (caution.text, caution.short)}
    for name in book.tests:
        pick(working, name)
        shown = [i.text for i in fitted(working.dialogue.question.page, width, height) if isinstance(i, Caution)]
        assert set(shown) <= whole, name
    pick(working, "lead-swab")
    lead = book.cautions["lead-until-tested"]
    assert {lead.text, lead.short} & {
        i.text for i in fitted(working.dialogue.question.page, 60, 20) if isinstance(i, Caution)
    }
