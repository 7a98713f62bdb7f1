"""What stands on the screen: a question alone on it, or a page that is read part by part."""

from __future__ import annotations

import sys
import textwrap
from shutil import get_terminal_size

from ..app import App
from .dialogue import Dialogue
from .page import Choices, Page, Row

BELOW = 3  # lines under a page that is read: the prompt, the hints, and one to spare


class Shower:
    """Shows what a dialogue answers. On a terminal a long page is shown in parts, one for each Enter."""

    def __init__(self, dialogue: Dialogue, app: App, fancy: bool) -> None:
        self._dialogue = dialogue
        self._app = app
        self._fancy = fancy
        self._first = True
        self._rest: list[str] = []

    @property
    def unread(self) -> bool:
        """Whether a part of the page is still to be read."""
        return bool(self._rest)

    def show(self, page: Page, question: bool) -> None:
        """A page and then, if wanted, the question; on a terminal a question has the screen to itself."""
        dialogue, self._rest = self._dialogue, []
        whole = [*page, *dialogue.question.page] if question else page
        if self._first and all(isinstance(item, Row | Choices) for item in whole) and not dialogue.desk.book.ready:
            self._first = False
            _show_early(whole, wrap=sys.stdout.isatty() and not self._app.plain)
        elif dialogue.reading and self._fancy and not self._app.screen.console.legacy_windows:
            self._read(page)
        else:
            self._draw(whole, alone=question and self._fancy)

    def cancelled(self, page: Page) -> None:
        """The question again, and that it was Ctrl-C: below it where lines roll on, as a long question hides what is above."""
        if self._fancy:
            self.show(page, question=True)
        else:
            self.show([*self._dialogue.question.page, *page], question=False)

    def go_on(self) -> None:
        """The next part of what is read."""
        screen = self._app.screen
        screen.console.clear()
        size = max(screen.console.height - BELOW, 6)
        if len(self._rest) > size:
            size -= 1
        now, self._rest = self._rest[:size], self._rest[size:]
        more = [f"  ... {len(self._rest)} more lines: Enter"] if self._rest else []
        screen.console.file.write("\n".join([*now, *more]) + "\n")
        screen.console.file.flush()

    def _read(self, page: Page) -> None:
        with self._app.screen.console.capture() as captured:
            self._draw(page, alone=False)
        self._rest = captured.get().strip("\n").split("\n")
        self.go_on()

    def _draw(self, page: Page, alone: bool) -> None:
        from .view import draw

        screen, desk = self._app.screen, self._dialogue.desk
        if alone:
            screen.console.clear()
        height = screen.console.height if alone else None
        draw(page, screen, desk.knowledge if desk.begun else None, height, self._dialogue.part)


def _show_early(page: Page, wrap: bool) -> None:
    """The first question, without waiting for what draws the later ones."""
    from ..tell.safe import safe

    width = max(40, get_terminal_size().columns) if wrap else 10_000
    for item in page:
        if isinstance(item, Row):
            print("\n".join(textwrap.wrap(safe(item.text), width)))
        elif isinstance(item, Choices):
            for number, choice in enumerate(item.rows, 1):
                lines = textwrap.wrap(
                    safe(choice.text), width, initial_indent=f" {number:>2} ", subsequent_indent=" " * 4
                )
                print("\n".join(lines))
