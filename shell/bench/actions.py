"""What each word of the list does, at any prompt."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from .page import BookPage, Caution, Choice, Choices, Misread, Page, Question, Row, chosen
from .words import WORDS

if TYPE_CHECKING:
    from ...engine.session.events import AnyEvent
    from .dialogue import Dialogue

LONGEST_COUNT = 24 * 60  # minutes
ON_ONE_SCREEN = 14  # words of help
Action = Callable[["Dialogue", str], "Page | None"]


def _why(dialogue: Dialogue, _rest: str) -> Page:
    told = dialogue.question.why or [Row("Something that you asked for; Enter or a number goes on.")]
    return dialogue.still(told)


def _how(dialogue: Dialogue, rest: str) -> Page:
    from .reasons import how, how_briefly

    dialogue.ready()
    return dialogue.still(how(dialogue.desk) if rest.lower() == "all" else how_briefly(dialogue.desk))


def _why_not(dialogue: Dialogue, rest: str) -> Page | None:
    from .reasons import meant_pages, why_not

    dialogue.ready()
    found = meant_pages(dialogue.desk, rest, "whynot", ("finish", "remover"))
    return _which(dialogue, rest, found, lambda page: why_not(dialogue.desk, page.kind, page.name))


def _which(dialogue: Dialogue, said: str, found: list[BookPage], tell: Callable[[BookPage], Page]) -> Page | None:
    """Tell of what was meant; if several go by that name, ask which."""
    if len(found) == 1:
        return dialogue.still(tell(found[0]))
    by_name = {page.name: page for page in found}
    rows = [Choice(page.name, getattr(page.entry, "name", page.name), page.name) for page in found]
    ask: Page = [Row(f"Several go by the name of {said[:40]}. Which?", style="bold"), Choices(rows)]
    dialogue.show(Question("which", ask, lambda name: dialogue.still(tell(by_name[name])), rows))
    return None


def _what_if(dialogue: Dialogue, rest: str) -> Page:
    from .reasons import what_if

    dialogue.ready()
    return dialogue.still(what_if(dialogue.desk, dialogue.question, rest))


def _result(dialogue: Dialogue, rest: str) -> Page:
    from .reasons import result

    dialogue.ready()
    return dialogue.still(result(dialogue.desk, rest.lower()))


def _find(dialogue: Dialogue, rest: str) -> Page | None:
    from .reasons import meant_pages

    return _which(dialogue, rest, meant_pages(dialogue.desk, rest, "find", ()), lambda page: [page])


def _back(dialogue: Dialogue, _rest: str) -> Page:
    from ...engine.session.events import Answered, NotDone, SurfaceChosen

    desk, session = dialogue.desk, dialogue.desk.session
    if dialogue.one_back():
        return [Row("One question back; what was told since does not count.", style="dim", spare=2)]
    if dialogue.in_menu:
        dialogue.out()
        return []
    gone = session.undoable if session is not None else None
    if session is None or gone is None:
        raise Misread("There is nothing to take back. Another name for the piece: piece, then name.")
    session.undo()
    desk.unsure = False
    dialogue.fresh()
    if isinstance(gone, Answered | NotDone) and desk.knowledge.outcomes_of(
        gone.test
    ):  # the same test again: the next number is meant for it
        if gone.surface != desk.state.surface:
            desk.do(SurfaceChosen(surface=gone.surface))
        desk.picked = desk.returned = gone.test
    return [Row(f"Taken back{_what(gone)}; it does not count.", style="dim")]


def _what(gone: AnyEvent) -> str:
    """What was taken back, where the next screen does not show it."""
    from ...engine.session.events import Noted, StainTold, TriedTold

    match gone:
        case Noted():
            return ": a note"
        case TriedTold():
            return f": what {gone.tried.remover.replace('-', ' ')} did"
        case StainTold():
            return f": the stain, {gone.stain.kind.replace('-', ' ')}"
    return ""


def _more(dialogue: Dialogue, _rest: str) -> None:
    dialogue.turn()


def _list(dialogue: Dialogue, rest: str) -> Page | None:
    from .menus import answers_question, notes

    if rest in ("note", "notes"):
        return dialogue.still(notes(dialogue.desk))
    dialogue.show(answers_question(dialogue.desk, dialogue.show))
    return None


def _tests(dialogue: Dialogue, _rest: str) -> None:
    from .menus import tests_question

    dialogue.ready()
    dialogue.show(tests_question(dialogue.desk))


def _surface(dialogue: Dialogue, rest: str) -> Page | None:
    from .surfaces import surface_words

    return dialogue.taken(lambda: surface_words(dialogue.desk, rest, dialogue.show))


def _piece(dialogue: Dialogue, _rest: str) -> None:
    from .fields import piece_question

    dialogue.show(piece_question(dialogue.desk, dialogue.show))


def _about(dialogue: Dialogue, rest: str) -> None:
    from ...engine.session.events import SurfaceChosen
    from .fields import about_question
    from .surfaces import existing

    if rest:
        dialogue.desk.do(SurfaceChosen(surface=existing(dialogue.desk, rest)))
    dialogue.fresh()
    dialogue.show(about_question(dialogue.desk, dialogue.show))


def _have(dialogue: Dialogue, _rest: str) -> None:
    from .intake import have_question

    dialogue.show(have_question(dialogue.desk))


def _tried(dialogue: Dialogue, _rest: str) -> None:
    from .menus import tried_question

    dialogue.show(tried_question(dialogue.desk, dialogue.show))


def _stain(dialogue: Dialogue, _rest: str) -> None:
    from .menus import stain_question

    dialogue.show(stain_question(dialogue.desk, dialogue.show))


def _done(dialogue: Dialogue, _rest: str) -> None:
    from .ending import ending_question

    dialogue.ready()
    dialogue.show(ending_question(dialogue.desk, dialogue.show))


def _note(dialogue: Dialogue, rest: str) -> Page | None:
    def noted(text: str) -> Page:
        from ...engine.session.events import Noted

        state = dialogue.desk.state
        last = state.last.get(state.surface)
        test = last if last in state.here.tests else None
        dialogue.desk.do(Noted(text=text, surface=state.surface, test=test))
        return [Row("Noted.", style="dim", spare=2)]

    if rest:
        return noted(rest[1:-1] if len(rest) > 2 and rest[0] == rest[-1] == '"' else rest)
    page: Page = [Row("Note, on the last answer here or on the surface:")]
    dialogue.show(Question("note", page, noted, free=True))
    return None


def _surely(sure: bool) -> Action:
    def action(dialogue: Dialogue, rest: str) -> Page | None:
        dialogue.tested()
        dialogue.desk.unsure = not sure
        if rest:
            question = dialogue.question
            return dialogue.taken(lambda: question.take(chosen(question, rest)))
        told = "The next answer counts as " + ("sure." if sure else "not sure: it weighs less.")
        return [Row(told, style="dim", spare=2)]

    return action


def _leave_out(why: str) -> Action:
    def action(dialogue: Dialogue, rest: str) -> None:
        from ...engine.session.events import NotDone

        desk, test = dialogue.desk, dialogue.tested()
        desk.do(NotDone(surface=desk.state.surface, test=test, why=f"{why}. {rest}" if rest else why))
        dialogue.fresh()

    return action


def _withdraw(dialogue: Dialogue, rest: str) -> Page:
    """Take out an answer of the list that stands there. Raises Misread."""
    from ...engine.session.events import Withdrawn

    if not rest:
        raise Misread("Type: withdraw and the number of an answer.")
    dialogue.desk.do(Withdrawn(surface=dialogue.desk.state.surface, test=chosen(dialogue.question, rest)))
    dialogue.fresh()
    return [Row("Taken out; it does not count.", style="dim")]


def _time(dialogue: Dialogue, rest: str) -> Page:
    from .countdown import next_look

    looks = dialogue.question.looks
    if rest:
        try:
            minutes = float(rest)
        except ValueError:
            raise Misread("Type: time, or time and a number of minutes.") from None
        if not 0 < minutes <= LONGEST_COUNT:
            raise Misread(f"No countdown of {rest[:12]} minutes: more than 0, at most {LONGEST_COUNT} (a day).")
        return dialogue.count(minutes)
    if not looks:
        raise Misread("Nothing to time here. Type: time and a number of minutes.")
    passed = dialogue.passed(anew=looks[-1])
    look = next_look(looks, passed) or looks[0]
    after = next_look(looks, look)
    then = f" If nothing has moved by then: time, to the look at {after:g} min." if after else ""
    told: Page = [Row(f"To the look at {look:g} min.{then}", style="dim")] if len(looks) > 1 else []
    return [*told, *dialogue.count(look - passed)]


def _cautions(dialogue: Dialogue, _rest: str) -> Page:
    from ...engine.report.warned import of_the_film, told_cautions
    from .testing import cautions

    desk = dialogue.desk
    page: Page = [item for item in dialogue.question.page if isinstance(item, Caution)]
    of_film = told_cautions(of_the_film(desk.examined(), desk.knowledge), desk.knowledge)
    for head, told in (("Before this film is touched:", of_film), ("For the stains here:", desk.treating())):
        seen = {item.text for item in page if isinstance(item, Caution)}
        more = [item for item in cautions(desk, told) if isinstance(item, Caution) and item.text not in seen]
        page += [Row(head), *more] if more else []
    return dialogue.still(page or [Row("No caution belongs to this question.")])


def _units(dialogue: Dialogue, rest: str) -> Page:
    if rest not in ("metric", "us"):
        raise Misread("Type: units metric, or units us.")
    dialogue.desk.keep(replace(dialogue.desk.settings, units=rest))
    return [Row(f"Units: {rest}. A number without a unit is read so too.", style="dim", spare=2)]


def _save(dialogue: Dialogue, rest: str) -> Page:
    from .saving import written

    desk = dialogue.desk
    if not rest and desk.file is None:
        raise Misread("Type: save and the name of a file, such as table.yaml.")
    return dialogue.still(written(desk, Path(rest).expanduser() if rest else desk.file or Path()))


def _help(dialogue: Dialogue, rest: str) -> Page:
    words, others = WORDS[:ON_ONE_SCREEN], "help 2"
    if rest == "2":
        words, others = WORDS[ON_ONE_SCREEN:], "help"
    rows: Page = [Row("A number answers. These words work at every prompt:", style="bold")]
    for word in words:
        short = f" ({', '.join(word.short)})" if word.short else ""
        rows.append(Row(word.means, mark=f"{word.name}{' ' + word.takes if word.takes else ''}{short}:"))
    rows.append(
        Row('In quotes: text that is also a word, "back"; a name with , or ; in it, "left; right".', style="dim")
    )
    return dialogue.still([*rows, Row(f"The others: {others}. The question again: Enter.", style="dim")])


def _leave(dialogue: Dialogue, _rest: str) -> Page:
    return dialogue.leave()


ACTIONS: dict[str, Action] = {
    "why": _why,
    "how": _how,
    "whynot": _why_not,
    "whatif": _what_if,
    "back": _back,
    "list": _list,
    "note": _note,
    "unsure": _surely(sure=False),
    "sure": _surely(sure=True),
    "skip": _leave_out("skipped"),
    "cannot": _leave_out("could not be done"),
    "tests": _tests,
    "more": _more,
    "time": _time,
    "cautions": _cautions,
    "surface": _surface,
    "about": _about,
    "drop": lambda dialogue, rest: _surface(dialogue, f"drop {rest}".strip()),
    "rename": lambda dialogue, rest: _surface(dialogue, f"rename {rest}".strip()),
    "piece": _piece,
    "have": _have,
    "tried": _tried,
    "stain": _stain,
    "result": _result,
    "find": _find,
    "units": _units,
    "save": _save,
    "done": _done,
    "help": _help,
    "leave": _leave,
    "withdraw": _withdraw,
}


def act(name: str, dialogue: Dialogue, rest: str) -> Page | None:
    """Do what a word says. Raises Misread."""
    return ACTIONS[name](dialogue, rest)
