"""What the bench keeps on disk and writes: resumed, told apart, exported, whatever was typed."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from bench_helpers import INTAKE, Bench, pick
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from oldcoat.engine import Examiner, assess, read_piece
from oldcoat.engine.session.fold import fold
from oldcoat.engine.session.log import read_events
from oldcoat.shell.bench.actions import act
from oldcoat.shell.bench.dialogue import Dialogue
from oldcoat.shell.bench.opening import first_question
from oldcoat.shell.bench.words import WORDS

Make = Callable[[], Bench]


def test_resume_offers_itself_where_it_stood(make: Make) -> None:
    """Left and taken up: the same question, the same state, newest first."""
    first = make()
    first.say(*INTAKE, "tests", "alcohol-drop", "3")
    state, asked = first.state, first.asked
    first.say("leave")
    second = make()
    assert "hall table: 1 answer, " in second.asked
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


def test_two_of_one_name_are_told_apart(make: Make, tmp_path: Path) -> None:
    """By their surfaces, their answers and the file that they are written to."""
    for faces, file in (("top, legs, sides, back", None), ("door", tmp_path / "old.yaml")):
        bench = make()
        bench.desk.file = file
        bench.dialogue = Dialogue(bench.desk, act, first_question(bench.desk))
        bench.say("table", "", "", "", faces, "leave")
    asked = make().asked
    assert "; top, legs and 2 more\n" in asked
    assert "; door, in old.yaml\n" in asked


def test_a_long_name_in_the_list_shows_that_it_was_cut(make: Make) -> None:
    """Two dots stand where a name was cut; one that just fits is whole."""
    bench = make()
    bench.say("table", "", "", "", "left rail of the splashback, twenty letters long.", "leave")
    assert "; left rail of the spl.., twenty letters long.\n" in make().asked


def test_the_name_of_a_piece_is_corrected(make: Make) -> None:
    """A slip at the first prompt: at the next one already, then on every screen; Enter keeps it, back brings the old one."""
    bench = make()
    bench.say("tabel")
    assert "piece, then name" in bench.say("back")
    bench.say("piece", "name", "oak table", "")
    assert bench.state.piece.piece == "oak table"
    assert "Enter: Table" in bench.asked  # the kind that the new name tells of
    bench.say("piece", "name", "desk")
    assert "name: desk\n" in bench.asked
    bench.say("", "back", "piece", "name", "", "")
    assert bench.state.piece.piece == "oak table"
    bench.say("back")
    assert bench.state.piece.piece == "tabel"


@pytest.mark.parametrize("line", [1, 3])
def test_a_damaged_session_is_named_with_its_line(make: Make, line: int) -> None:
    """A line of rubbish: the piece is named in the list by file and line, and not a byte of it is changed."""
    first = make()
    first.say(*INTAKE)
    assert first.desk.session is not None
    path = first.desk.session.path
    first.say("leave")
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([*lines[: line - 1], b"garbage\n", *lines[line - 1 :]]))
    broken, second = path.read_bytes(), make()
    assert f"{path.name}, line {line}: this line is damaged" in second.asked
    assert "nothing was changed" in second.asked
    second.say("1", "chair", "leave")
    assert path.read_bytes() == broken
    path.write_bytes(b"".join(lines))
    assert "hall table" in make().asked


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
