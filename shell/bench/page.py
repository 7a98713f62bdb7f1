"""What is to be shown, as data: rows, ranked rows, trees of reasons. No terminal, no width."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct, field

if TYPE_CHECKING:
    from ...engine.report.assessment import Assessment, SurfaceReport
    from ...engine.report.explain import Because


LAST = -1  # spare only when nothing else is
LEAST_LETTERS = 3


class Row(Struct, frozen=True):
    """A paragraph; `spare` says how soon it goes if the screen is full: 9 first, then down to 1, then LAST; 0 never.

    `short` stands for it on the fullest screen.
    """

    text: str
    mark: str = ""
    style: str = ""
    indent: int = 0
    spare: int = 0
    short: str = ""


class Caution(Struct, frozen=True):
    """A warning; on a screen that is full of it the whole of `short` stands for it, never a part.

    `early`: it is shortened before other things are left out, as nothing is in hand yet.
    `head`: what stands for it on the fullest screen, in the line that tells where the surface stands.
    """

    text: str
    early: bool = False
    short: str = ""
    head: str = ""


class Ranked(Struct, frozen=True):
    """One finish of the ranking, with what the last answer did to it; on a full screen `short` stands for it and the title."""

    name: str
    p: float
    change: float
    word: str
    spare: int = 0
    short: str = ""


class Choice(Struct, frozen=True):
    """One numbered answer: what it means to the program and to the eye."""

    value: str
    text: str
    name: str = ""


class Choices(Struct, frozen=True):
    """The numbered answers of a question; `short` ones may stand side by side.

    first: the number of the first, where only a part of them is shown; whole: long ones are never cut.
    """

    rows: Sequence[Choice]
    short: bool = False
    first: int = 1
    whole: bool = False


class BookPage(Struct, frozen=True):
    """A page of the knowledge base: kind, id, entry."""

    kind: str
    name: str
    entry: object


Page = list["Row | Caution | Ranked | Choices | Because | SurfaceReport | Assessment | BookPage"]


class Misread(Exception):
    """An answer that cannot be taken; the message says what can."""


class Question(Struct, frozen=True):
    """What is asked, and what is done with an answer.

    take: gets the answer (a choice's value, or the text as typed); what it returns is shown; raises Misread.
    enter: what Enter alone answers; None if it answers nothing.
    free: any text is an answer, so only whole words are commands; quoted: it may hold names in quotes.
    looks: minutes at which to look, from the start; the word `time` counts down to the next of them.
    again: asks it anew by what was told since; what was opened over such a question comes back to it.
    """

    label: str
    page: Page
    take: Callable[[str], Page | None]
    choices: Sequence[Choice] = ()
    enter: str | None = None
    free: bool = False
    quoted: bool = False
    why: Page = field(default_factory=list)
    looks: Sequence[float] = ()
    test: str | None = None
    again: Callable[[], Question] | None = None


def _begins(choice: Choice, low: str) -> bool:
    return choice.value.lower().startswith(low) or choice.name.lower().startswith(low)


def chosen(question: Question, line: str) -> str:
    """The answer that a line means: a number, a value or name, or a part of just one. Raises Misread."""
    choices = question.choices
    if not line and question.enter is not None:
        return question.enter
    if not choices:
        if question.free:
            return line
        raise Misread("There is nothing to choose here; Enter goes on.")
    if line.isascii() and line.isdigit():
        if 1 <= int(line) <= len(choices):
            return choices[int(line) - 1].value
        if question.free:
            return line
        raise Misread(f"There is no number {line[:9]}; 1 to {len(choices)} stand above.")
    low = line.lower()
    exact = [c for c in choices if low in (c.value.lower(), c.name.lower())]
    enough = len(low) >= LEAST_LETTERS  # a key hit by a glove is no answer
    begun = (
        exact
        or [c for c in choices if enough and _begins(c, low)]
        or [c for c in choices if enough and low in c.name.lower()]
    )
    if len(begun) == 1:
        return begun[0].value
    if question.free:
        return line
    if begun:
        raise Misread("More than one is like that: " + ", ".join(c.name or c.value for c in begun[:6]) + ".")
    raise Misread(f"Not understood: {line[:40]!r}. Type a number of 1 to {len(choices)}, or help.")
