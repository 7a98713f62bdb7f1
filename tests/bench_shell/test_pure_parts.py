"""Parts of the bench that are functions of their arguments: sizes, tools, countdown, completion, fitting."""

from __future__ import annotations

import gc
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest
from bench_helpers import Bench
from hypothesis import given
from hypothesis import strategies as st

from oldcoat.engine import Examiner
from oldcoat.shell.app import App
from oldcoat.shell.bench import ask
from oldcoat.shell.bench.complete import complete
from oldcoat.shell.bench.countdown import left, told
from oldcoat.shell.bench.dialogue import clean
from oldcoat.shell.bench.intake import told_tools
from oldcoat.shell.bench.measure import millimetres, square_metres
from oldcoat.shell.bench.page import Caution, Choice, Choices, Misread, Page, Row
from oldcoat.shell.bench.run import _fetched
from oldcoat.shell.bench.shower import _show_early
from oldcoat.shell.bench.view import fitted, lines_of


@pytest.mark.parametrize(
    ("line", "units", "mm"),
    [
        ("0.6", "metric", 0.6),
        ("0,6 mm", "us", 0.6),
        ("1/32 in", "metric", 0.79375),  # 1 inch is 25.4 mm exactly
        ("1/32", "us", 0.79375),
        ("1-1/2 in", "metric", 38.1),
        ('1/4"', "us", 6.35),
        ("20 thou", "us", 0.508),
        ("", "us", None),
        ("unknown", "metric", None),
    ],
)
def test_thickness_as_people_write_it(line: str, units: str, mm: float | None) -> None:
    """Metric and US forms; a bare number is in the user's units."""
    assert millimetres(line, units) == (None if mm is None else pytest.approx(mm))


def test_area_in_square_feet() -> None:
    """One square foot is 0.09290304 m2 exactly (international yard and pound agreement, 1959)."""
    assert square_metres("10 sq ft", "metric") == pytest.approx(0.9290304)
    assert square_metres("10", "us") == pytest.approx(0.9290304)


@given(st.text(max_size=12))
def test_a_size_is_read_or_refused(line: str) -> None:
    """No text breaks it, and nothing out of range comes through."""
    try:
        value = millimetres(line, "metric")
    except Misread:
        return
    assert value is None or 0 < value <= 1000


@given(st.floats(0.01, 1000))
def test_a_size_in_mm_is_kept(mm: float) -> None:
    """What is typed in millimetres comes back, to the sixth decimal."""
    assert millimetres(f"{mm:.6f} mm", "us") == pytest.approx(mm, abs=1e-6)


def test_tools_by_number_by_name_and_by_what_is_missing() -> None:
    """Numbers, ids, `not`, all, and keeping what was told before."""
    tools = ["alcohol", "loupe", "coin"]
    assert told_tools("1 3", tools, None) == ["alcohol", "coin"]
    assert told_tools("not 2", tools, None) == ["alcohol", "coin"]
    assert told_tools("not loupe", tools, ["loupe", "coin"]) == ["coin"]
    assert told_tools("all", tools, ["coin"]) is None
    assert told_tools("keep", tools, ["coin"]) == ["coin"]
    for wrong in ("4", "hammer", "not", "0"):
        with pytest.raises(Misread):
            told_tools(wrong, tools, None)


def test_countdown_runs_to_nought() -> None:
    """Rounded up, so that 0:00 is told only when the time is up; never below."""
    assert told(left(1, 100.0, 100.0)) == "1:00"
    assert told(left(1, 100.0, 159.1)) == "0:01"
    assert told(left(1, 100.0, 161.0)) == "0:00"
    assert told(3 * 3600 + 62) == "3:01:02"


def test_completion_says_what_things_mean(working: Bench) -> None:
    """Answers and words at the start of a line, ids after whynot, with their names; nothing on an empty line."""
    question, book = working.dialogue.question, working.desk.knowledge
    assert complete("", question, book) == []
    assert [c.text for c in complete("wh", question, book)] == ["why", "whynot", "whatif"]
    rows = complete("whynot she", question, book)
    assert [(c.text, c.replaces) for c in rows] == [("shellac", 3)]
    assert rows[0].means == book.finishes["shellac"].name
    first = question.choices[0]
    assert (first.value, first.text) in [(c.text, c.means) for c in complete(first.value[:2], question, book)]


def test_a_full_screen_loses_what_can_be_spared_and_no_caution() -> None:
    """Spare rows go in their order; a caution gives its short form before the last of them goes, and never goes."""
    caution = "First sentence here. Second sentence here. " + "Third one is longer than the others by far. " * 4
    choices = Choices([Choice("a", "what is seen")])
    page: Page = [
        Row("spare", spare=9),
        Row("less so", spare=1),
        Caution(caution, short="In short."),
        *[Row("how") for _ in range(9)],
        choices,
    ]
    assert fitted(page, 80, None) == page
    assert fitted(page, 80, 40) == page
    tight = fitted(page, 80, 14)
    assert [type(i) for i in tight].count(Caution) == 1
    assert Row("spare", spare=9) not in tight
    assert tight[-1] == choices
    assert lines_of(tight, 80) <= 12
    assert Caution("In short.") in tight
    assert Caution(caution, short="In short.") in fitted(page, 80, 17)


def test_no_line_stays_free_that_a_spared_row_could_have() -> None:
    """A long row that goes leaves room for a short one that went before it; order as on the page."""
    page: Page = [Row("short", spare=9), Row("word " * 60, spare=1), *[Row("how") for _ in range(12)]]
    assert fitted(page, 80, 15) == [page[0], *page[2:]]
    assert fitted(page, 80, 14) == page[2:]


def test_the_book_does_not_hold_up_an_answer(examiner: Examiner) -> None:
    """Once fetched it is left out of garbage collection, which else goes through all of it in the middle of an answer."""
    try:
        assert _fetched(cast(App, SimpleNamespace(examiner=examiner))) is examiner
        assert gc.get_freeze_count() > 10_000
    finally:
        gc.unfreeze()


@given(st.text(max_size=60))
def test_a_typed_line_is_made_harmless(line: str) -> None:
    """No control character and no broken code point reaches the session or the screen."""
    cleaned = clean(line)
    assert all(c.isprintable() or c in " \t" or ord(c) > 127 for c in cleaned)
    assert "\x1b" not in cleaned
    cleaned.encode()


def test_a_console_that_refuses_falls_back_to_lines(
    bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Some consoles cannot be driven (git-bash on Windows): a plain prompt, not a crash."""

    def refuses(*_arguments: object) -> None:
        raise RuntimeError("no console screen buffer")

    monkeypatch.setattr(ask.KeyAsker, "__init__", refuses)
    fetched: list[bool] = []
    found = ask.asker(bench.dialogue, True, tmp_path / "history", lambda: fetched.append(True))
    assert isinstance(found, ask.LineAsker)
    assert fetched == [True]
    assert "plain prompt" in capsys.readouterr().err


def test_the_first_list_is_parted_between_words(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Before what draws pages is there, a long choice hangs under its number and no word is cut."""
    text = "washstand: 3 answers, 29 Nov 2026 11:02; top, splashback and 2 more, in washstand-of-an-aunt.yaml"
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("LINES", "24")
    _show_early([Choices([Choice("a", text), Choice("new", "a new piece")])], wrap=True)
    lines = capsys.readouterr().out.splitlines()
    assert all(len(line) <= 80 for line in lines)
    assert [lines[0][:4], lines[1][:4], lines[2]] == ["  1 ", "    ", "  2 a new piece"]
    assert " ".join(line[4:] for line in lines[:2]) == text
