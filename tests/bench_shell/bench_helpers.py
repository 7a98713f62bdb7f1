"""A bench without a terminal: the dialogue on the shipped knowledge, fed with lines."""

from __future__ import annotations

from pathlib import Path

from oldcoat.engine import Examiner
from oldcoat.engine.casebook.store import Casebook
from oldcoat.engine.session.fold import State
from oldcoat.shell.bench.actions import act
from oldcoat.shell.bench.book import Book
from oldcoat.shell.bench.desk import Desk
from oldcoat.shell.bench.dialogue import Dialogue
from oldcoat.shell.bench.opening import first_question
from oldcoat.shell.bench.page import Caution, Choices, Page, Row
from oldcoat.shell.settings import Settings

INTAKE = [
    "hall table",
    "",
    "1930s",
    "2",
    "top, legs",
    "oak",
    "1",
    "other",
    "all",
    "unknown",
]  # from the name to the room


class Bench:
    """A dialogue, and what was said in it."""

    def __init__(self, folder: Path, examiner: Examiner, over: Settings | None = None) -> None:
        self.settings: list[Settings] = []
        self.desk = Desk(
            book=Book(lambda: examiner),
            folder=folder,
            settings=over or Settings(),
            remember=self.settings.append,
            casebook=lambda: Casebook(folder.parent / "cases"),
        )
        self.dialogue = Dialogue(self.desk, act, first_question(self.desk))

    def say(self, *lines: str) -> str:
        """Say lines one after the other; the text of the last reply."""
        page: Page = []
        for line in lines:
            page = self.dialogue.reply(line)
        return text_of(page)

    @property
    def asked(self) -> str:
        """The text of the question that stands now."""
        return text_of(self.dialogue.question.page)

    @property
    def state(self) -> State:
        """Where the session stands."""
        return self.desk.state


def text_of(page: Page) -> str:
    """All words of a page."""
    parts = []
    for item in page:
        match item:
            case Row() | Caution():
                parts.append(item.text)
            case Choices():
                parts += [choice.text for choice in item.rows]
            case _:
                parts.append(str(item))
    return "\n".join(parts)


def pick(bench: Bench, test: str) -> None:
    """Have a test asked, whatever would be proposed."""
    bench.say("tests", test)
    assert bench.dialogue.question.test == test
