"""The dialogue as a state machine: a line in, pages out. Nothing here knows a terminal.

The question in hand is always worked out from the state of the session, so that undo
needs no care of its own; a menu or a correction stands over it until it is answered.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from pathlib import Path

import msgspec

from .desk import Desk
from .page import Caution, Misread, Page, Question, Row
from .words import WORDS, Word, split

MOST_LINE = 4000
ON_ONE_SCREEN = 14  # words of help
WITH_TEXT = ("whynot", "note")  # words that stay words before text, even where text is the answer
WHOLE = ("help 2",)
NOT_YET = "Not yet: tell what is on the bench first. Enter will do."


class Dialogue:
    """One bench session as questions and answers.

    first: the question before there is a piece; over: a question that stands before all others.
    """

    def __init__(self, desk: Desk, first: Callable[[], Question] | None = None, over: Question | None = None) -> None:
        self.desk = desk
        self._first = first
        self._over = over
        self._main: Question | None = None
        self.over = False
        self.redraw = True
        self.timer = 0.0
        self._words: dict[str, Callable[[str], Page | None]] = {
            "why": self._why,
            "how": self._how,
            "whynot": self._why_not,
            "whatif": self._what_if,
            "back": self._back,
            "list": self._list,
            "note": self._note,
            "unsure": lambda rest: self._surely(rest, sure=False),
            "sure": lambda rest: self._surely(rest, sure=True),
            "skip": lambda rest: self._leave_out("skipped", rest),
            "cannot": lambda rest: self._leave_out("could not be done", rest),
            "tests": self._tests,
            "time": self._time,
            "cautions": self._cautions,
            "surface": self._surface,
            "drop": lambda rest: self._surface(f"drop {rest}".strip()),
            "rename": lambda rest: self._surface(f"rename {rest}".strip()),
            "piece": self._piece,
            "have": self._have,
            "tried": self._tried,
            "stain": self._stain,
            "result": self._result,
            "units": self._units,
            "save": self._save,
            "help": self._help,
            "leave": self._leave,
        }

    @property
    def question(self) -> Question:
        """What is asked now."""
        if self._over is not None:
            return self._over
        if self._main is None:
            self._main = self._worked_out()
        return self._main

    def reply(self, line: str) -> Page:
        """Take one line. What is returned is shown; `redraw` says whether the question follows it."""
        line = clean(line)
        self.redraw, self.timer = True, 0.0
        try:
            page = self._replied(line)
        except Misread as error:
            self.redraw = False
            return [Row(str(error))]
        except _refusals() as error:
            self.redraw = False
            return [Row(f"That cannot be: {error}.")]
        except OSError as error:
            self.redraw = False
            return [
                Row(f"The disk refused ({error.strerror or error}). This was not kept; try again or leave.", mark="!")
            ]
        return page or []

    def cancel(self) -> Page:
        """Ctrl-C: a menu is left, a half-typed answer forgotten; the question stands."""
        self._over, self.desk.picked, self.desk.unsure, self.redraw = None, None, False, True
        self._main = None
        return [Row("Cancelled. Ctrl-D or leave to go.", style="dim")]

    def leave(self) -> Page:
        """Keep everything and end."""
        self.over = True
        desk = self.desk
        if not desk.begun or desk.session is None:
            return [Row("Nothing was begun, nothing is kept.")]
        page: Page = []
        if desk.file is not None:
            page = self._written(desk.file)
        desk.session.close()
        return [*page, Row("Kept. `oldcoat` takes it up again where it stands.")]

    def _replied(self, line: str) -> Page | None:
        question = self.question
        if question.free and len(line) > 2 and line[0] == line[-1] == '"':
            return self._taken(question, line[1:-1])
        word, rest = split(line)
        if word is not None and (not question.free or not rest or line.lower() in WHOLE or word.name in WITH_TEXT):
            return self._word(word, rest)
        if question.label == "answers" and line.startswith("withdraw"):
            return self._withdraw(question, line.removeprefix("withdraw").strip())
        if line.endswith("?") and line[:-1].strip().isdigit():
            return self._surely(line[:-1].strip(), sure=False)
        if not line and question.enter is None:
            return None
        if self._names_test(question, line):
            return None
        return self._taken(question, self._chosen(question, line))

    def _names_test(self, question: Question, line: str) -> bool:
        """Whether the line is the name of a test, which is then asked; a choice of that name comes first."""
        from .menus import named_test

        taken = any(line.lower() in (c.value, c.name.lower()) for c in question.choices)
        test = named_test(self.desk, line) if self.desk.begun and not question.free and not taken else None
        if test is None:
            return False
        self._ready()
        self.desk.picked, self._over, self._main = test, None, None
        return True

    def _chosen(self, question: Question, line: str) -> str:
        from .page import chosen

        return chosen(question, line)

    def _taken(self, question: Question, value: str) -> Page | None:
        """An answer: the menu that gave it is gone, unless the answer opens another."""
        before = self._over
        page = question.take(value)
        if self._over is before:
            self._over = None
        self._main = None
        return page

    def _word(self, word: Word, rest: str) -> Page | None:
        if not self.desk.begun and word.name not in ("help", "leave", "why", "units"):
            raise Misread(NOT_YET)
        return self._words[word.name](rest)

    def _show(self, question: Question) -> None:
        self._over = question

    def _worked_out(self) -> Question:
        from .intake import intake_question

        if not self.desk.begun:
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
        return self._words[word.name](rest) if word is not None else None

    def _still(self, page: Page) -> Page:
        """A page that is read before the question is drawn again."""
        self.redraw = False
        return page

    def _tested(self) -> str:
        """The test that is asked. Raises Misread."""
        if self.question.test is None:
            raise Misread("That word works where a test is asked.")
        return self.question.test

    def _ready(self) -> None:
        """Whether intake is over, so that there is a ranking to speak of. Raises Misread."""
        from .intake import intake_question

        if intake_question(self.desk) is not None:
            raise Misread("There is no ranking yet: the questions on the piece come first. Enter will do.")

    def _why(self, _rest: str) -> Page:
        return self._still(self.question.why or [Row("Something that you asked for; Enter or a number goes on.")])

    def _how(self, rest: str) -> Page:
        from .reasons import how, how_briefly

        self._ready()
        return self._still(how(self.desk) if rest.lower() == "all" else how_briefly(self.desk))

    def _why_not(self, rest: str) -> Page:
        from .reasons import why_not

        self._ready()
        return self._still(why_not(self.desk, rest))

    def _what_if(self, rest: str) -> Page:
        from .reasons import what_if

        self._ready()
        return self._still(what_if(self.desk, self.question, rest))

    def _result(self, _rest: str) -> Page:
        from .reasons import result

        self._ready()
        return self._still(result(self.desk))

    def _back(self, _rest: str) -> Page:
        session = self.desk.session
        if self._over is not None or self.desk.picked is not None:
            self._over, self.desk.picked, self._main = None, None, None
            return []
        if session is None or not session.can_undo:
            raise Misread("There is nothing to take back.")
        session.undo()
        self.desk.unsure, self._main = False, None
        return [Row("Taken back; it does not count.", style="dim")]

    def _list(self, _rest: str) -> None:
        from .menus import answers_question

        self._show(answers_question(self.desk, self._show))

    def _tests(self, _rest: str) -> None:
        from .menus import tests_question

        self._ready()
        self._show(tests_question(self.desk))

    def _surface(self, rest: str) -> Page | None:
        from .menus import surface_words

        before = self._over
        page = surface_words(self.desk, rest, self._show)
        if self._over is before:
            self._over = None
        self._main = None
        return page

    def _piece(self, _rest: str) -> None:
        from .menus import piece_question

        self._show(piece_question(self.desk, self._ask_field))

    def _ask_field(self, field: str, surface: str | None) -> None:
        from .intake import field_question
        from .menus import measure_question

        if surface is not None and field not in ("wood", "build"):
            self._show(measure_question(self.desk, field, surface))
        else:
            self._show(field_question(self.desk, field, surface))

    def _have(self, _rest: str) -> None:
        from .intake import have_question

        self._show(have_question(self.desk))

    def _tried(self, _rest: str) -> None:
        from .menus import tried_question

        self._show(tried_question(self.desk, self._show))

    def _stain(self, _rest: str) -> None:
        from .menus import stain_question

        self._show(stain_question(self.desk))

    def _note(self, rest: str) -> Page | None:
        if not rest:
            page: Page = [Row("Note, on the last answer here or on the surface:")]
            self._show(Question("note", page, self._noted, free=True))
            return None
        self._noted(rest)
        return self._still([Row("Noted.", style="dim")])

    def _noted(self, text: str) -> None:
        from ...engine.session.events import Noted

        state = self.desk.state
        last = state.last.get(state.surface)
        test = last if last in state.here.tests else None
        self.desk.do(Noted(text=text, surface=state.surface, test=test))

    def _surely(self, rest: str, sure: bool) -> Page | None:
        self._tested()
        self.desk.unsure = not sure
        if rest:
            return self._taken(self.question, self._chosen(self.question, rest))
        told = "The next answer counts as " + ("sure." if sure else "not sure: it weighs less.")
        return self._still([Row(told)])

    def _leave_out(self, why: str, rest: str) -> None:
        from ...engine.session.events import NotDone

        test = self._tested()
        self.desk.do(NotDone(surface=self.desk.state.surface, test=test, why=f"{why}. {rest}".strip() if rest else why))
        self.desk.picked, self._main = None, None

    def _withdraw(self, question: Question, rest: str) -> Page:
        from ...engine.session.events import Withdrawn

        if not rest:
            raise Misread("Type: withdraw and the number of an answer.")
        self.desk.do(Withdrawn(surface=self.desk.state.surface, test=self._chosen(question, rest)))
        self._over, self._main = None, None
        return [Row("Taken out; it does not count.", style="dim")]

    def _time(self, rest: str) -> Page:
        minutes = self.question.minutes
        if rest:
            try:
                minutes = float(rest)
            except ValueError:
                raise Misread("Type: time, or time and a number of minutes.") from None
        if not 0 < minutes <= 24 * 60:
            raise Misread("Nothing to time here. Type: time and a number of minutes.")
        self.timer = minutes
        return self._still([])

    def _cautions(self, _rest: str) -> Page:
        found: Page = [item for item in self.question.page if isinstance(item, Caution)]
        return self._still(found or [Row("No caution belongs to this question.")])

    def _units(self, rest: str) -> Page:
        if rest not in ("metric", "us"):
            raise Misread("Type: units metric, or units us.")
        self.desk.keep(msgspec.structs.replace(self.desk.settings, units=rest))
        return self._still([Row(f"Units: {rest}. A number without a unit is read so too.")])

    def _save(self, rest: str) -> Page:
        if not rest and self.desk.file is None:
            raise Misread("Type: save and the name of a file, such as table.yaml.")
        return self._still(self._written(Path(rest).expanduser() if rest else self.desk.file or Path()))

    def _written(self, path: Path) -> Page:
        from ...engine.session.export import export

        try:
            aside = export(self.desk.state.piece, path, self.desk.in_file)
        except OSError as error:
            return [
                Row(f"{path} could not be written ({error.strerror}); the answers are kept all the same.", mark="!")
            ]
        if path == self.desk.file:
            self.desk.in_file = self.desk.state.piece
        page: Page = [Row(f"Written: {path}. `oldcoat assess` reads it.")]
        return [*page, Row(f"What stood there before is in {aside}.")] if aside else page

    def _help(self, rest: str) -> Page:
        words, others = WORDS[:ON_ONE_SCREEN], "help 2"
        if rest == "2":
            words, others = WORDS[ON_ONE_SCREEN:], "help"
        rows: Page = [Row("A number answers. These words work at every prompt:", style="bold")]
        for word in words:
            short = f" ({', '.join(word.short)})" if word.short else ""
            rows.append(Row(word.means, mark=f"{word.name}{' ' + word.takes if word.takes else ''}{short}:"))
        rows.append(Row('Text that is also a word goes in quotes: "back".', style="dim"))
        return self._still([*rows, Row(f"The others: {others}. The question again: Enter.", style="dim")])

    def _leave(self, _rest: str) -> Page:
        return self.leave()


def _refusals() -> tuple[type[Exception], ...]:
    """What a session refuses; imported late because the first question needs none of it."""
    from ...engine.session.fold import BadEvent

    return (BadEvent,)


def clean(line: str) -> str:
    """A typed line without control characters or broken code points, cut to a sane length."""
    kept = "".join(c for c in line[:MOST_LINE] if c == "\t" or unicodedata.category(c) not in ("Cc", "Cs"))
    return unicodedata.normalize("NFC", kept).strip()
