"""The bench on a real pseudo-terminal, read through a terminal emulator, as a person would see it."""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from bench_helpers import INTAKE

pexpect = pytest.importorskip("pexpect")
pyte = pytest.importorskip("pyte")
pytestmark = pytest.mark.skipif(os.name != "posix", reason="needs a pseudo-terminal")

CALL = "import sys; sys.argv[0] = 'oldcoat'; from oldcoat.shell.main import main; main()"
THEN = ["kind 1-", "made>", "region 1-", "surfaces>", "wood 1-", "build 1-", "place 1-", "have>", "room 1-", "top 1-"]
PATIENCE = 20.0


class Terminal:
    """A process on a pseudo-terminal of a given size, and what its screen shows."""

    def __init__(self, home: Path, columns: int, lines: int, *arguments: str, **env: str) -> None:
        self.screen = pyte.Screen(columns, lines)
        self.stream = pyte.ByteStream(self.screen)
        self.screen.write_process_input = self._answer
        self.child = pexpect.spawn(
            sys.executable,
            ["-c", CALL, "--home", str(home), *arguments],
            dimensions=(lines, columns),
            env={**os.environ, "TERM": "xterm-256color", **env},
        )
        self.child.delaybeforesend = None

    def _answer(self, data: str) -> None:
        """The terminal's own reply, such as where the cursor is."""
        self.child.send(data)

    @property
    def text(self) -> str:
        """What is on the screen now."""
        return "\n".join(line.rstrip() for line in self.screen.display).rstrip()

    def until(self, *wanted: str) -> str:
        """Wait until all texts are on the screen; the screen."""
        end = time.monotonic() + PATIENCE
        while not all(text in self.text for text in wanted):
            assert time.monotonic() < end, f"waited for {wanted}, saw:\n{self.text}"
            try:
                self.stream.feed(self.child.read_nonblocking(65536, timeout=0.2))
            except pexpect.TIMEOUT:
                continue
            except pexpect.EOF:
                assert all(text in self.text for text in wanted), f"ended, saw:\n{self.text}"
        return self.text

    def say(self, line: str, *wanted: str) -> str:
        """Type a line and Enter, and wait."""
        self.child.send(line + "\r")
        return self.until(*wanted)

    def key(self, key: str, *wanted: str) -> str:
        """Press one key, and wait."""
        self.child.send(key)
        return self.until(*wanted)

    def intake(self) -> None:
        """From the name of the piece to the first test."""
        self.until("piece>")
        for line, then in zip(INTAKE, THEN, strict=True):
            if line in ("1", "2"):
                self.key(line, then)
            else:
                self.say(line, then)

    def ended(self) -> int:
        """Wait for the end; the exit code."""
        self.child.expect(pexpect.EOF, timeout=PATIENCE)
        self.child.close()
        return int(self.child.exitstatus if self.child.exitstatus is not None else -1)


Start = Callable[..., Terminal]


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Start]:
    """Starts terminals on one home folder, and ends what is left of them."""
    running: list[Terminal] = []

    def begin(columns: int = 80, lines: int = 24, *arguments: str, **env: str) -> Terminal:
        running.append(Terminal(tmp_path, columns, lines, *arguments, **env))
        return running[-1]

    yield begin
    for terminal in running:
        terminal.child.close(force=True)


@pytest.mark.parametrize(("columns", "lines"), [(80, 24), (60, 20), (120, 40)])
def test_first_test_stands_whole_on_the_screen(start: Start, columns: int, lines: int) -> None:
    """After intake the ranking, how to do the test, its answers and the prompt are on one screen."""
    terminal = start(columns, lines)
    terminal.intake()
    shown = terminal.text
    for text in ("watch:", "   1 ", "or:", "top 1-"):
        assert text in shown
    assert columns == 60 or "hall table: TOP" in shown.splitlines()[0]


def test_one_enter_of_habit_is_swallowed_and_no_other(start: Start) -> None:
    """After a key one Enter belongs to it, be it typed with the key or just after; the next Enter answers."""
    terminal = start()
    terminal.until("piece>")
    for line, then in zip(INTAKE[:6], THEN, strict=False):
        terminal.say(line, then, "why how")
    terminal.key("1\r", "place 1-", "why how")  # in one burst: the Enter is gone before the question stands
    terminal.key("\r", "have>", "why how")
    terminal.say("back", "place 1-", "why how")
    began = time.monotonic()
    terminal.key("5", "have>", "why how")
    terminal.child.send("\r")  # just after: swallowed
    if time.monotonic() - began > 1.1:
        pytest.skip("this machine is too slow to be as quick as a habit")
    time.sleep(0.1)
    terminal.key("\r", "room 1-", "why how")
    time.sleep(0.3)
    assert "room 1-" in terminal.until("room 1-")


def test_the_enter_of_a_gloved_hand_is_swallowed_once(start: Start) -> None:
    """Enter 0.7 s after a one-key answer belongs to it, a key that bounced or not; Enter after that answers, and says what."""
    terminal = start()
    terminal.until("piece>")
    for line, then in zip(INTAKE[:6], THEN, strict=False):
        terminal.say(line, then, "why how")
    began = time.monotonic()
    terminal.key("11", "place 1-", "why how")
    time.sleep(max(0.0, began + 0.7 - time.monotonic()))
    if time.monotonic() - began > 1.1:
        pytest.skip("this machine is too slow to be as quick as a hand")
    terminal.child.send("\r")
    time.sleep(0.4)
    assert "place 1-5, one key answers>" in terminal.until("place 1-")
    terminal.key("\r", "have>", "(by Enter)")


def test_a_burst_answers_one_question(start: Start) -> None:
    """A digit and Enter, or a digit twice, sent in one burst: one answer, and the next question stands unanswered."""
    terminal = start()
    terminal.intake()
    terminal.say("tests", "test 1-")
    terminal.say("alcohol-drop", "Alcohol drop")
    for burst, count in (("1\r", "1 answer"), ("11", "2 answers")):
        terminal.key(burst, count, "why how")
        time.sleep(0.5)
        assert count in terminal.until("top 1-").splitlines()[0]


def test_long_lists_and_pages_are_shown_in_parts(start: Start) -> None:
    """At 60 x 20 the list of tests is turned with the space bar, a page with Enter, which answers nothing."""
    terminal = start(60, 20)
    terminal.intake()
    shown = terminal.say("tests", "Tests, and the minutes", "the others: more", "test 1-")
    assert "   1 " in shown
    assert "   1 " not in terminal.key(" ", "Tests, and the minutes", "the others: more", " 20 ", "test 1-")
    terminal.say("result all", "more lines: Enter", "Enter: more>")
    terminal.say("back", "top 1-", "watch:")


def test_one_key_answers_and_the_ranking_moves(start: Start) -> None:
    """A digit alone, without Enter; then the change by that answer is in sight."""
    terminal = start()
    terminal.intake()
    terminal.say("tests", "test 1-")
    shown = terminal.say("alcohol-drop", "Alcohol drop", "Catches fire")
    assert "moved:" not in shown
    shown = terminal.key("1", "moved: alcohol drop: up shellac")
    assert "1 answer" in shown.splitlines()[0]


def test_kill_and_resume(start: Start) -> None:
    """kill -9 after a key: the answer is on disk, resume offers itself, and shows the same screen."""
    terminal = start()
    terminal.intake()
    terminal.say("tests", "test 1-")
    terminal.say("alcohol-drop", "Alcohol drop")
    before = terminal.key("1", "moved:", "range:", "top 1-", "why how")
    os.kill(terminal.child.pid, signal.SIGKILL)
    terminal.child.wait()
    again = start()
    again.until("1 hall table: 1 answer, ", "piece 1-2,")
    after = again.key("1", "moved:", "range:", "top 1-", "why how")
    assert after.splitlines()[:12] == before.splitlines()[:12]


def test_kill_during_intake_and_resume(start: Start) -> None:
    """Killed in the middle of intake: the next question is the one that stood there."""
    terminal = start()
    terminal.until("piece>")
    terminal.say("hall table", "kind 1-")
    terminal.say("", "made>")
    os.kill(terminal.child.pid, signal.SIGKILL)
    terminal.child.wait()
    again = start()
    again.until("piece 1-2,")
    again.key("1", "When was it made?")


def test_ctrl_c_cancels_and_ctrl_d_leaves(start: Start) -> None:
    """Ctrl-C drops what is half typed and keeps the question; Ctrl-D keeps everything and ends with 0."""
    terminal = start()
    terminal.intake()
    terminal.key("half typed", "half typed")
    terminal.key("\x03", "Cancelled", "top 1-")
    terminal.key("\x04", "Kept.")
    assert terminal.ended() == 0


def test_second_shell_is_told(start: Start) -> None:
    """Another shell on the same piece hears of the first, and the first goes on."""
    first = start()
    first.intake()
    second = start()
    second.until("piece 1-2,")
    second.key("1", "another oldcoat")
    first.say("back", "room 1-")


def test_tab_completes_with_meanings(start: Start) -> None:
    """Tab after whynot fills in the id."""
    terminal = start()
    terminal.intake()
    terminal.key("whynot shel\t", "whynot shellac")
    terminal.say("", "shellac stands", "SOURCES")


def test_countdown_can_be_left_early(start: Start) -> None:
    """time counts down in the prompt; Enter ends it and the question stands."""
    terminal = start()
    terminal.intake()
    terminal.say("time 5", "4:5", "left, Enter ends it")
    terminal.say("", "top 1-")


def test_countdown_runs_out(start: Start) -> None:
    """When the time is up the prompt comes back by itself."""
    terminal = start()
    terminal.intake()
    terminal.say("time 0.02", "Time is up.", "top 1-")


def test_no_colour_and_dumb_terminals(start: Start) -> None:
    """TERM=dumb: plain lines, no escape code at all, numbers and Enter."""
    terminal = start(80, 24, TERM="dumb")
    terminal.child.expect_exact("piece, or help>", timeout=PATIENCE)
    assert b"\x1b" not in terminal.child.before
    terminal.child.send("hall table\r")
    terminal.child.expect_exact("kind 1-19, or help>", timeout=PATIENCE)
    assert b"\x1b" not in terminal.child.before


def test_history_is_kept_and_private(start: Start, tmp_path: Path) -> None:
    """The arrow brings what was typed in an earlier session; only the user can read it."""
    terminal = start()
    terminal.until("piece>")
    terminal.say("hall table", "kind 1-")
    terminal.key("\x04", "Kept.")
    terminal.ended()
    assert (tmp_path / "history").stat().st_mode & 0o077 == 0
    again = start()
    again.until("piece 1-2,")
    again.key("\x1b[A", "> hall table")


def test_a_dumb_terminal_cuts_no_word_and_shows_a_cancel(start: Start, tmp_path: Path) -> None:
    """TERM=dumb at 60 columns: lines break between words; Ctrl-C says so right above the prompt."""
    file = tmp_path / "box.yaml"
    file.write_text("piece: box\nsurfaces: [{name: lid, tests: {alcohol-drop: dissolves-fast}}]\n", encoding="utf-8")
    terminal = start(60, 40, "bench", str(file), TERM="dumb")
    shown = terminal.until("lid 1-", "range:")
    cut = [
        (line, after)
        for line, after in zip(shown.splitlines(), shown.splitlines()[1:], strict=False)
        if len(line) == 60 and line[-1].isalnum() and after[:1].isalnum()
    ]
    assert not cut
    assert max(map(len, shown.splitlines())) <= 60
    time.sleep(0.5)  # the signal must find the process reading, not between its prompt and that
    terminal.key("\x03", "Cancelled. Ctrl-D or leave to go.\nlid 1-")
