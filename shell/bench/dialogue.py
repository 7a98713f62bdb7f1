"""The dialogue as a state machine: a line in, pages out. Nothing here knows a terminal.

The question in hand is always worked out from the state of the session, so that undo
needs no care of its own; a menu or a correction stands over it until it is answered.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from time import monotonic
from typing import TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from .countdown import next_look
from .desk import Desk
from .page import LAST, Misread, Page, Question, Row, chosen
from .words import Word, split

MOST_LINE = 4000
WITH_TEXT = ("whynot", "note")  # words that stay words before text, even where text is the answer
WHOLE = ("help 2",)
BY_ENTER = "Enter: "  # before what Enter alone answers, on a page
LEAVE = "nothing, leave this"
BEFORE_A_PIECE = ("help", "leave", "why", "units", "more")
NOT_YET = "Not yet: tell what is on the bench first. Enter will do."
UNDECIDED = "Not yet: say first which counts, 1 or 2; or leave, and all stays as it is."

ENDS = re.compile(r'(?:\. |;)(?=(?:[^"]*"[^"]*")*[^"]*\Z)')  # of what Enter answers; within quotes nothing ends


class _Under(Struct, frozen=True):
    """A question under what was opened over it: the word that led to it, and the questions passed up to it."""

    question: Question
    opened: str
    passed: list[tuple[Question, int]]


Act: TypeAlias = "Callable[[str, Dialogue, str], Page | None]"


class Dialogue:
    """One bench session as questions and answers.

    act: does what a word says, by its name; first: the question before there is a piece, or before it is
    said whether its file or what is kept here counts.
    redraw: whether the question follows what was answered; reading: a page has the screen,
    and Enter goes back to the question; part: which part of a long list is looked at.
    _passed: the questions of the menu up to the one that stands, each with how many things had been told then.
    _under: the question that can be asked anew, as those of done can, and stands or is under what was opened since.
    timer: minutes to be counted down now; clock: seconds that run on.
    """

    def __init__(self, desk: Desk, act: Act, first: Callable[[], Question] | None = None) -> None:
        self.desk = desk
        self._act = act
        self._first = first
        self._over: Question | None = None
        self._passed: list[tuple[Question, int]] = []
        self._under: _Under | None = None
        self._main: Question | None = None
        self._opened = ""
        self.over = False
        self.redraw = True
        self.reading = False
        self.part = 0
        self.timer = 0.0
        self.clock: Callable[[], float] = monotonic
        self._timed: tuple[tuple[str, str | None], float] | None = None

    @property
    def question(self) -> Question:
        """What is asked now."""
        if self._over is not None:
            return self._over
        if self._main is None:
            self._main = self._worked_out()
        return self._main

    @property
    def in_menu(self) -> bool:
        """Whether a menu or a picked test stands over the main line; a test that `back` came to is the line itself."""
        return self._over is not None or self.desk.picked not in (None, self.desk.returned)

    def reply(self, line: str) -> Page:
        """Take one line. What is returned is shown; `redraw` says whether the question follows it."""
        line = clean(line)
        was_reading, part = self.reading, self.part
        self.redraw, self.reading, self.part, self.timer = True, False, 0, 0.0
        if was_reading and not line:
            return []
        try:
            page = self._replied(line) or []
            self._come_back()
            return page
        except Misread as error:
            refused = Row(str(error))
        except _refusals() as error:
            refused = Row(f"That cannot be: {error}.")
        except OSError as error:
            told = error.strerror or error
            refused = Row(f"The disk refused ({told}). This was not kept; try again or leave.", mark="!")
        self.redraw, self.part, self.reading = False, part, was_reading
        return [refused]

    def cancel(self) -> Page:
        """Ctrl-C: a menu is left, a half-typed answer forgotten; the question stands."""
        self.desk.unsure, self.redraw, self.reading, self.part = False, True, False, 0
        self._under = None
        self.fresh()
        return [Row("Cancelled. Ctrl-D or leave to go.", style="dim")]

    def leave(self) -> Page:
        """Keep everything and end."""
        self.over = True
        desk = self.desk
        if not desk.begun or desk.session is None:
            return [Row("Nothing was begun, nothing is kept.")]
        page: Page = []
        if desk.file is not None:
            from .saving import left

            page = left(desk, desk.file)
        desk.session.close()
        return [*page, Row("Kept. `oldcoat` takes it up again where it stands.")]

    def show(self, question: Question) -> None:
        """Put a question over the main line; where Enter would answer nothing, it leaves."""
        self._over = question if question.enter is not None else self._left_by_enter(question)
        self._passed.append((self._over, self._told_times()))
        self._stands()

    def fresh(self) -> None:
        """Leave every menu; the question is worked out anew."""
        self._over, self.desk.picked, self.desk.returned, self._main = None, None, None, None
        self._passed.clear()

    def _left_by_enter(self, question: Question) -> Question:
        """The question with a plain way out, told under it, and the word that leads back to it."""
        opened = self._opened
        began = self._passed[0][1] if self._passed else self._told_times()

        def take(line: str) -> Page | None:
            if line:
                return question.take(line)
            kept = "what was told stays" if self._told_times() > began else "nothing was told"
            return [Row(f"{opened} was left; {kept}. To come back: {opened}", style="dim", spare=LAST)]

        page: Page = [*question.page, Row(f"{BY_ENTER}{LEAVE}", style="dim")]
        return replace(question, page=page, enter="", take=take)

    def out(self) -> None:
        """Leave the menu that stands, or the test that was picked; what was under it comes back."""
        if self._under is not None and self._over is self._under.question:
            self._under = None
        self.fresh()

    def _stands(self) -> None:
        """Remember the question that stands, if it can be come back to."""
        if self._over is not None and self._over.again is not None:
            self._under = _Under(self._over, self._opened, list(self._passed))

    def _come_back(self) -> None:
        """Ask the question again that was under a menu or a picked test which is over now."""
        under = self._under
        if under is None or under.question.again is None or self.over or self._over or self.desk.picked is not None:
            return
        self._opened, self._passed = under.opened, under.passed[:-1]
        self.show(under.question.again())

    def one_back(self) -> bool:
        """Go to the question of the menu before this one, as it stood: what was told since is taken back. False at the first."""
        session = self.desk.session
        if self._over is None or len(self._passed) < 2 or session is None:
            return False
        self._passed.pop()
        self._over, told_then = self._passed[-1]
        while session.told_times > told_then:
            session.undo()
        self.desk.unsure, self._main = False, None
        self._stands()
        return True

    def _told_times(self) -> int:
        return self.desk.session.told_times if self.desk.session is not None else 0

    def still(self, page: Page) -> Page:
        """A page that is read before the question is drawn again."""
        self.redraw, self.reading = False, True
        return page

    def turn(self) -> None:
        """The next part of a long list."""
        self.part += 1

    def count(self, minutes: float) -> Page:
        """Have the minutes counted down under the question that stands."""
        self.timer, self.redraw = minutes, False
        return []

    def passed(self, anew: float) -> float:
        """Minutes since this test was first timed here; `anew` minutes after that its clock begins again."""
        asked, now = (self.desk.state.surface, self.question.test), self.clock() / 60
        if self._timed is None or self._timed[0] != asked or next_look([anew], now - self._timed[1]) is None:
            self._timed = (asked, now)
        return now - self._timed[1]

    def tested(self) -> str:
        """The test that is asked. Raises Misread."""
        if self.question.test is None:
            raise Misread("That word works where a test is asked.")
        return self.question.test

    def ready(self) -> None:
        """Whether intake is over, so that there is a ranking to speak of. Raises Misread."""
        from .intake import intake_question

        if intake_question(self.desk) is not None:
            raise Misread("There is no ranking yet: the questions on the piece come first. Enter will do.")

    def taken(self, take: Callable[[], Page | None]) -> Page | None:
        """Do what an answer does: the menu that gave it is gone, unless the answer opens another."""
        before = self._over
        page = take()
        if self._over is before:
            self._over = None
            self._passed.clear()
        self._main = None
        return page

    def word(self, word: Word, rest: str) -> Page | None:
        """Do what a word of the list says. Raises Misread."""
        if not self.desk.begun and word.name not in BEFORE_A_PIECE:
            raise Misread(NOT_YET)
        if self.desk.undecided is not None and word.name not in BEFORE_A_PIECE:
            raise Misread(UNDECIDED)
        before, opened = self._over, self._opened
        self._opened = word.name
        try:
            return self._act(word.name, self, rest)
        finally:
            if self._over is before:  # it opened nothing
                self._opened = opened

    def _replied(self, line: str) -> Page | None:
        question = self.question
        if question.free and len(line) > 2 and line[0] == line[-1] == '"':
            text = line if question.quoted else line[1:-1]
            return self.taken(lambda: question.take(text))
        word, rest = split(line)
        if word is not None and (not question.free or not rest or line.lower() in WHOLE or word.name in WITH_TEXT):
            return self.word(word, rest)
        if question.label == "answers" and line.startswith("withdraw"):
            return self._act("withdraw", self, line.removeprefix("withdraw").strip())
        if line.endswith("?") and line[:-1].strip().isdigit():
            return self.word(*split(f"unsure {line[:-1]}"))  # type: ignore[arg-type]
        if not line and question.enter is None:
            return None
        if self._names_test(question, line):
            return None
        page = self.taken(lambda: question.take(chosen(question, line)))
        if self._over is None and self._under is not None and question is self._under.question:
            self._under = None
        return page if line else [*_by_enter(question), *(page or [])]

    def _names_test(self, question: Question, line: str) -> bool:
        """Whether the line is the name of a test, which is then asked; a choice of that name comes first."""
        from .menus import named_test

        taken = any(line.lower() in (c.value, c.name.lower()) for c in question.choices)
        test = named_test(self.desk, line) if self._may_be_test(question) and not taken else None
        if test is None:
            return False
        self.ready()
        self.fresh()
        self.desk.picked = test
        return True

    def _may_be_test(self, question: Question) -> bool:
        """Whether a test may be named in place of an answer."""
        return self.desk.begun and self.desk.undecided is None and not question.free

    def _worked_out(self) -> Question:
        from .intake import intake_question

        if not self.desk.begun or self.desk.undecided is not None:
            if self._first is None:
                raise LookupError("a dialogue needs a piece or a first question")
            return self._first()
        asked = intake_question(self.desk)
        if asked is not None:
            return asked
        from .testing import work_question

        return work_question(self.desk, self._menu)

    def _menu(self, value: str) -> Page | None:
        """A choice at a stop is a word typed for the user."""
        word, rest = split(value)
        return self.word(word, rest) if word is not None else None


def _by_enter(question: Question) -> Page:
    """What Enter alone took, where the page said that it would."""
    said = [row.text.partition(BY_ENTER)[2] for row in question.page if isinstance(row, Row) and BY_ENTER in row.text]
    took = ENDS.split(said[-1])[0] if said else question.enter if question.free else ""
    return [Row(f"{question.label}: {took} (by Enter)", style="dim", spare=LAST)] if took and took != LEAVE else []


def _refusals() -> tuple[type[Exception], ...]:
    """What a session refuses; imported late because the first question needs none of it."""
    from ...engine.session.fold import BadEvent

    return (BadEvent,)


def clean(line: str) -> str:
    """A typed line without control characters or broken code points, cut to a sane length."""
    kept = "".join(c for c in line[:MOST_LINE] if c == "\t" or unicodedata.category(c) not in ("Cc", "Cs"))
    return unicodedata.normalize("NFC", kept).strip()
