"""What is long or wide on the screen: notes in parts, letters of two columns, names with signs in them."""

from __future__ import annotations

from pathlib import Path

import pytest
from bench_helpers import INTAKE, Bench, text_of
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from oldcoat.shell.bench.page import Choice, Choices, Row
from oldcoat.shell.bench.view import lines_for, lines_of

WORDS = st.lists(st.text(st.sampled_from("ab-日本語ﾊé"), min_size=1, max_size=90), min_size=1, max_size=12)


def _bar(_share: float, cells: int) -> str:
    return " " * cells


@given(words=WORDS, width=st.integers(40, 100), mark=st.sampled_from(["", "note:", "日本:"]))
def test_no_line_is_wider_than_the_screen(words: list[str], width: int, mark: str) -> None:
    """Counted in columns as a terminal counts them; nothing is lost and the order stays."""
    text = " ".join(words)
    lines = [line for line, _ in lines_for(Row(text, mark=mark), width, _bar)]
    assert max(map(cell_len, lines)) <= width
    assert "".join("".join(lines).split()) == mark + "".join(words)


def test_columns_of_wide_names_stand_under_each_other() -> None:
    """Every second column begins at one place."""
    names = ["脚の裏", "top", "日本の引き出し", "legs", "é", "side", "back", "天板", "x", "y"]
    lines = [line for line, _ in lines_for(Choices([Choice(n, n) for n in names], short=True), 60, _bar)]
    assert len(lines) < len(names)
    second = [cell_len(line[: line.index(f"{len(lines) + i:>2} ")]) for i, line in enumerate(lines, 1)][:2]
    assert len(set(second)) == 1


def test_a_long_note_is_cut_in_the_list_and_read_in_parts(working: Bench) -> None:
    """The list stays on one screen; `list notes` tells all of them to the last letter, as a page that is read."""
    long = "word " * 790 + "end"
    working.say("alcohol-drop", "3", f"note {long}", "surface 2", f"note {long}", "surface 1", "list")
    assert lines_of(working.dialogue.question.page, 80) <= 20
    assert "in full: list notes" in working.asked
    page = working.dialogue.reply("list notes")
    assert working.dialogue.reading
    assert text_of(page).split()[-1] == "end"
    assert text_of(page).split().count("word") == 790
    working.say("", "1")
    assert working.dialogue.question.test == "alcohol-drop"


def test_what_enter_took_is_told_whole(bench: Bench) -> None:
    """Names in quotes with ; or a point in them are not where the sentence ends."""
    bench.say(*INTAKE[:4], 'flap, "left; right", "no. 3; b", x', "back")
    assert bench.say("").startswith('surfaces: flap, "left; right", "no. 3; b", x, as told before (by Enter)')


@pytest.mark.parametrize("line", ["time 99999", "time -3", "time nan", "time 1441"])
def test_a_time_that_cannot_be_counted_is_told(working: Bench, line: str) -> None:
    """What is wrong with it and what is allowed; a day can."""
    assert "at most 1440" in working.say(line)
    assert not working.dialogue.timer
    working.say("time 1440")
    assert working.dialogue.timer == 1440


def test_save_makes_no_folder(working: Bench, tmp_path: Path) -> None:
    """A folder that is not there is mostly a slip."""
    assert "there is no folder" in working.say(f"save {tmp_path}/nowhere/x.yaml")
    assert not (tmp_path / "nowhere").exists()
    assert "Written" in working.say(f"save {tmp_path}/x.yaml")
