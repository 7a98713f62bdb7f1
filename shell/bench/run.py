"""The bench: opens or begins a session, then asks and shows until it is left."""

from __future__ import annotations

import gc
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from ...engine.words import listed
from ..app import App
from .book import Book
from .desk import Desk
from .dialogue import Dialogue
from .page import LAST, Choice, Choices, Misread, Page, Question, Row
from .shower import Shower

if TYPE_CHECKING:
    from ...engine.examine import Examiner
    from ...engine.piece.form import Piece
    from ...engine.session.store import Session

SHOWN = 2  # files of the user's own with mistakes that are named at the bench


class Held(Exception):
    """Another shell has this piece on the bench; the message says what to do."""


def run_bench(app: App, file: Path | None) -> None:
    """Guide an examination until the user leaves. Raises BadInput, BadKnowledge or Held."""
    book = Book(lambda: _fetched(app))
    desk = Desk(
        book=book,
        folder=app.places.sessions,
        settings=app.settings,
        remember=app.remember,
        casebook=lambda: app.casebook,
    )
    if file is not None:
        desk.file = file.absolute()
    dialogue = Dialogue(desk, _act, first_question(desk), _open_file(desk))
    try:
        _loop(dialogue, app)
    finally:
        if desk.session is not None:
            desk.session.close()


def _act(name: str, dialogue: Dialogue, rest: str) -> Page | None:
    from .actions import act  # late: the first question needs none of it

    return act(name, dialogue, rest)


def _fetched(app: App) -> Examiner:
    """Knowledge, rule network, and what the next questions need: their modules, and what is worked out only once."""
    from ...engine.deciding import escalate  # noqa: F401
    from ...engine.piece.form import Piece, Surface
    from ...engine.report import sisters, standing  # noqa: F401
    from ...engine.session import store  # noqa: F401
    from . import actions, ending, fields, menus, reasons, testing, view  # noqa: F401

    nothing = Piece(piece="nothing yet", surfaces=[Surface(name="none")])
    app.examiner.examine(nothing, nothing.surfaces[0])
    gc.freeze()  # the book stays to the end: to go through it again and again would hold an answer up by a tenth of a second
    return app.examiner


def _loop(dialogue: Dialogue, app: App) -> None:
    fancy = app.interactive() and not app.plain
    shower = Shower(dialogue, app, fancy)
    shower.show([*_no_file(dialogue.desk.file), *_left_out(app, dialogue), *_set_aside(dialogue)], question=True)
    from .ask import asker

    asks = asker(dialogue, fancy, app.places.history, dialogue.desk.book.start)
    while not dialogue.over:
        try:
            line = asks.line(_label(dialogue, fancy, shower.unread))
            if shower.unread and line.strip().lower() in ("", "more", "m"):
                shower.go_on()
                continue
            page = dialogue.reply(line)
            shower.show(
                [*_left_out(app, dialogue), *_set_aside(dialogue), *page],
                question=dialogue.redraw and not dialogue.over,
            )
            if dialogue.timer:
                asks.count(dialogue.timer)
        except KeyboardInterrupt:
            shower.show(dialogue.cancel(), question=True)
        except EOFError:
            shower.show(dialogue.leave(), question=False)


def _left_out(app: App, dialogue: Dialogue) -> Page:
    """Once the book is there, what of the user's own does not count: told once, in a line."""
    if not dialogue.desk.book.ready:
        return []
    own, unread, unknown = app.left_out()
    names = list(dict.fromkeys(f"{Path(p.path).name}:{p.line}" for p in (*own, *unread, *unknown)))
    more = f" and {len(names) - SHOWN} more" if len(names) > SHOWN else ""
    see = " and ".join(["knowledge check"] * bool(own) + ["case list"] * bool(unread or unknown))
    told = f"Left out, of your own: {', '.join(names[:SHOWN])}{more}. See: oldcoat {see}"
    return [Row(told, mark="!", spare=1)] if names else []


def _no_file(file: Path | None) -> Page:
    """That the file which was named is not there: a slip of the keys, or a new piece."""
    return [Row(f"No such file: {file}. A new piece will be written there.")] if file and not file.exists() else []


def _set_aside(dialogue: Dialogue) -> Page:
    """What was told of entries that are not in the knowledge now: named once, in a line."""
    desk = dialogue.desk
    if not desk.begun:
        return []
    names, desk.untold = list(desk.aside and desk.untold), ()
    told = (
        f"Set aside, as the knowledge here does not know it: {listed(names)}. It is kept, and counts when it is back."
    )
    return [Row(told, mark="!", spare=LAST)] if names else []


def _label(dialogue: Dialogue, fancy: bool, unread: bool) -> str:
    from .ask import keyed

    if dialogue.reading and fancy:
        return "Enter: more>" if unread else "Enter: the question>"
    question = dialogue.question
    count = len(question.choices)
    numbers = f" 1-{count}" if count and not question.free else ""
    unsure = " (not sure)" if dialogue.desk.unsure else ""
    unsure += ", one key answers" if fancy and keyed(question) else ""
    return f"{question.label[:24]}{numbers}{unsure}{'' if fancy else ', or help'}>"


def first_question(desk: Desk) -> Callable[[], Question]:
    """What is asked before there is a piece: which of those kept here, or the name of a new one."""
    state = {"new": desk.file is not None}

    def pick(value: str) -> None:
        if value == "new":
            state["new"] = True
        else:
            _resume(desk, Path(value))

    def ask() -> Question:
        from .intake import name_question, resume_question

        if not state["new"] and desk.folder.is_dir():
            from ...engine.session.store import kept

            found = kept(desk.folder)
            if found:
                return resume_question(found, pick)
        return name_question(lambda name: _begin(desk, name))

    return ask


def _resume(desk: Desk, path: Path) -> None:
    from ...engine.session.store import open_session

    desk.session = _free(lambda: open_session(path))
    if desk.state.file:
        desk.file = Path(desk.state.file)


def _free(action: Callable[[], Session]) -> Session:
    """A session, or word that another shell has it."""
    from ...engine.session.log import Busy

    try:
        return action()
    except Busy as error:
        raise Misread(str(error)) from None


def _begin(desk: Desk, name: str) -> None:
    from ...engine.piece.form import Piece, Surface
    from ...engine.session.store import begin, new_path, path_for_file
    from .intake import WHOLE

    settings = desk.settings
    asked = ["piece", *(["place"] if settings.place else []), *(["have"] if settings.have_told else [])]
    piece = Piece(piece=name, surfaces=[Surface(name=WHOLE)], place=settings.place or "other", have=settings.have)
    path = path_for_file(desk.folder, desk.file) if desk.file else new_path(desk.folder, name)
    desk.session = _free(lambda: begin(path, piece, asked, str(desk.file or "")))


def _open_file(desk: Desk) -> Question | None:
    """Put a piece file on the bench, or go on with its session; a question if the two differ."""
    from ...engine.session.store import open_session, path_for_file

    if desk.file is None:
        return None
    if not desk.file.parent.is_dir():
        from ...engine.problems import BadInput, Problem

        message = f"there is no folder {desk.file.parent}; a new piece file needs one to stand in"
        raise BadInput([Problem(path=str(desk.file), code="no-folder", message=message)])
    if not desk.file.exists():
        return None
    path = path_for_file(desk.folder, desk.file)
    try:
        desk.session = _free(lambda: open_session(path))
    except Misread as error:
        raise Held(str(error)) from None
    piece = _in_file(desk, desk.file)
    desk.in_file = piece
    if not desk.session.begun:
        _start_from_file(desk, piece)
    elif desk.whole != piece:
        return _which(desk, piece)
    return None


def _in_file(desk: Desk, file: Path) -> Piece:
    """The whole piece in the file. Raises BadInput.

    What it says of entries that are gone may stand if the bench wrote it, or if they are the user's own.
    """
    from ...engine.piece.reader import form_of, read_piece
    from ...engine.problems import BadInput

    session = desk.session
    try:
        if session is not None and session.begun and form_of(file) == session.state.piece:
            return session.state.piece
        aside: list[str] = []
        piece = read_piece(file, desk.knowledge, aside)
        return form_of(file) or piece if aside else piece
    except BadInput:
        if session is not None:
            session.close()
        raise


def _start_from_file(desk: Desk, piece: Piece) -> None:
    from ...engine.session.events import Started
    from .intake import STEPS

    desk.do(Started(piece=piece, asked=["piece", *STEPS], file=str(desk.file)))


def _which(desk: Desk, piece: Piece) -> Question:
    """The file and the answers kept here differ: which counts."""
    rows = [
        Choice("kept", f"the {desk.state.answers} answers kept here, from the last time at the bench"),
        Choice("file", "the file as it now stands; `back` brings the kept answers back"),
    ]

    def take(value: str) -> None:
        if value == "file":
            _start_from_file(desk, piece)

    page: Page = [Row(f"{desk.file} and what is kept here differ. Which counts?", style="bold"), Choices(rows)]
    return Question("which", page, take, rows, enter="kept")
