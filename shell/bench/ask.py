"""Where a line comes from: keys on a terminal, or plain lines from anywhere."""

from __future__ import annotations

import contextlib
import os
import sys
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from .dialogue import Dialogue
from .page import Question

if TYPE_CHECKING:
    from prompt_toolkit import PromptSession
    from prompt_toolkit.completion import Completer, Completion
    from prompt_toolkit.document import Document
    from prompt_toolkit.history import History
    from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent

HINTS = "why how whatif back list unsure skip tests about cautions surface result help"
SHORT_HINTS = "why how back list skip tests about cautions result help"
MOST_KEYED = 9  # choices that one key can answer
HABIT = 1.2  # seconds after a one-key answer in which one empty Enter belongs to it: a gloved hand is slow


class Asker(Protocol):
    """Asks for one line. Raises KeyboardInterrupt for cancel and EOFError for leave."""

    def line(self, label: str) -> str:
        """One line of the user."""

    def count(self, minutes: float) -> None:
        """Wait so long, or until Enter."""


class LineAsker:
    """Plain lines: no redraw, no keys, as good for a pipe as for a screen reader."""

    def line(self, label: str) -> str:
        """One line from standard input; what comes from a pipe is written out, so that it reads as a dialogue."""
        from ..tell.safe import safe

        line = input(f"{label} ")
        if not sys.stdin.isatty():
            print(safe(line))
        return line

    def count(self, minutes: float) -> None:
        """Nothing moves on the screen: Enter tells that the time is up."""
        from .countdown import told

        input(f"Wait {told(minutes * 60)} from now, then press Enter. ")


class KeyAsker:
    """A terminal: one key answers, Tab completes, the history is kept."""

    def __init__(self, dialogue: Dialogue, history: Path, on_shown: Callable[[], None]) -> None:
        self._dialogue = dialogue
        self._on_shown: Callable[[], None] | None = on_shown
        self._keyed = -HABIT
        self._asked_after_key = True
        self._session = self._made(history)

    def line(self, label: str) -> str:
        """One line, or one key if a single key is an answer.

        What was typed after such a key and before this question stood is dropped; if no
        Enter was among it, one Enter of habit is. A second Enter is always meant.
        """
        if not self._asked_after_key:
            self._asked_after_key = True
            if _enter_typed_ahead(self._session):
                self._keyed = -HABIT
        return self._session.prompt(f"{label} ")

    def count(self, minutes: float) -> None:
        """A countdown in the prompt line; Enter leaves it early, a bell ends it."""
        from prompt_toolkit import PromptSession

        from .countdown import left, told

        began = time.monotonic()
        timer: PromptSession[str] = PromptSession(refresh_interval=0.5)

        def watch() -> None:
            async def end() -> None:
                import asyncio

                while left(minutes, began, time.monotonic()) > 0:
                    await asyncio.sleep(0.2)
                timer.app.exit(result="")

            timer.app.create_background_task(end())

        timer.prompt(lambda: f"{told(left(minutes, began, time.monotonic()))} left, Enter ends it ", pre_run=watch)
        if left(minutes, began, time.monotonic()) <= 0:
            print("\aTime is up.")

    def _made(self, history: Path) -> PromptSession[str]:
        from prompt_toolkit import PromptSession

        session: PromptSession[str] = PromptSession(
            history=_history(history),
            completer=_completer(self._dialogue),
            complete_while_typing=False,
            key_bindings=self._keys(),
            bottom_toolbar=_hints,
        )
        session.app.after_render += self._shown
        return session

    def _shown(self, _app: object) -> None:
        """The first drawing of the first prompt: now there is time to fetch the rest."""
        if self._on_shown is not None:
            on_shown, self._on_shown = self._on_shown, None
            on_shown()

    def _keys(self) -> KeyBindings:
        from prompt_toolkit.filters import Condition
        from prompt_toolkit.key_binding import KeyBindings

        keys = KeyBindings()

        def one_key() -> bool:
            text = self._session.default_buffer.text
            return keyed(self._dialogue.question) and not text and not self._dialogue.reading

        def answer(event: KeyPressEvent) -> None:
            event.current_buffer.insert_text(event.data)
            event.current_buffer.validate_and_handle()
            self._keyed, self._asked_after_key = time.monotonic(), False

        def of_habit() -> bool:
            return time.monotonic() < self._keyed + HABIT and not self._session.default_buffer.text

        def swallow(_event: KeyPressEvent) -> None:
            self._keyed = -HABIT

        def listed() -> bool:
            return bool(self._dialogue.question.choices) and not self._session.default_buffer.text

        def turn(event: KeyPressEvent) -> None:
            event.current_buffer.insert_text("more")
            event.current_buffer.validate_and_handle()

        for key in (" ", "pagedown"):
            keys.add(key, filter=Condition(listed))(turn)
        keys.add("enter", filter=Condition(of_habit), eager=True)(swallow)
        for digit in "123456789":
            keys.add(digit, filter=Condition(one_key))(answer)
        return keys


def keyed(question: Question) -> bool:
    """Whether one key answers a question."""
    return not question.free and 0 < len(question.choices) <= MOST_KEYED


def _enter_typed_ahead(session: PromptSession[str]) -> bool:
    """Drop what was typed before the question stood there, such as a key that bounced; whether an Enter was among it."""
    from prompt_toolkit.input.typeahead import get_typeahead

    typed = "".join(press.data for press in get_typeahead(session.input)).encode()
    with contextlib.suppress(ImportError, OSError, ValueError):
        import fcntl  # these two not on Windows
        import termios

        stdin = sys.stdin.fileno()
        waiting = int.from_bytes(fcntl.ioctl(stdin, termios.FIONREAD, b"\0" * 4), sys.byteorder)
        typed += os.read(stdin, waiting) if waiting else b""
        termios.tcflush(stdin, termios.TCIFLUSH)
    return b"\r" in typed or b"\n" in typed


def _history(path: Path) -> History:
    """Typed lines of earlier sessions, for this user only; a disk that refuses costs only that."""
    from prompt_toolkit.history import FileHistory

    class Private(FileHistory):
        def store_string(self, string: str) -> None:
            from ...engine.storage import make_private

            with contextlib.suppress(OSError):
                make_private(path.parent)
                path.touch(mode=0o600)
                super().store_string(string)

    return Private(path)


def _hints() -> str:
    """Words worth knowing, as many as fit."""
    from prompt_toolkit.application import get_app

    return HINTS if get_app().output.get_size().columns >= len(HINTS) else SHORT_HINTS


def _completer(dialogue: Dialogue) -> Completer:
    from prompt_toolkit.completion import Completer, Completion

    class Words(Completer):
        def get_completions(self, document: Document, _event: object) -> Iterable[Completion]:
            from .complete import complete

            book = dialogue.desk.book
            knowledge = book.knowledge if book.ready else None
            for row in complete(document.text_before_cursor, dialogue.question, knowledge):
                yield Completion(row.text, start_position=-row.replaces, display_meta=row.means)

    return Words()


def asker(dialogue: Dialogue, fancy: bool, history: Path, on_shown: Callable[[], None]) -> Asker:
    """Keys if a person sits at both ends and the console can, else plain lines."""
    if fancy:
        try:
            return KeyAsker(dialogue, history, on_shown)
        except Exception as error:  # a console that prompt_toolkit cannot drive, of many kinds on Windows
            print(f"(plain prompt: {type(error).__name__})", file=sys.stderr)
    on_shown()
    return LineAsker()
