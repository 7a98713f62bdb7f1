"""The bench: opens or begins a session, then asks and shows until it is left."""

from __future__ import annotations

import gc
from pathlib import Path
from typing import TYPE_CHECKING

from ...engine.words import listed
from ..app import App
from .book import Book
from .desk import Desk
from .dialogue import Dialogue
from .opening import first_question, open_file
from .page import LAST, Page, Row
from .shower import Shower

if TYPE_CHECKING:
    from ...engine.examine import Examiner

SHOWN = 2  # files of the user's own with mistakes that are named at the bench


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
        open_file(desk, file.absolute())
    dialogue = Dialogue(desk, _act, first_question(desk))
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
            shower.cancelled(dialogue.cancel())
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
