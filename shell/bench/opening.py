"""What comes on the bench: a piece kept here, a new one, or a piece file; and which counts if two say different things."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from .desk import Desk
from .page import Choice, Choices, Misread, Page, Question, Row

if TYPE_CHECKING:
    from ...engine.piece.form import Piece
    from ...engine.problems import Problem
    from ...engine.session.store import Session


class Held(Exception):
    """Another shell has this piece on the bench; the message says what to do."""


def first_question(desk: Desk) -> Callable[[], Question]:
    """What is asked before all else: which piece of those kept here, the name of a new one, or what counts."""
    state = {"new": desk.file is not None}

    def pick(value: str) -> None:
        if value == "new":
            state["new"] = True
        else:
            _resume(desk, Path(value))

    def ask() -> Question:
        from .intake import name_question, resume_question

        if desk.undecided is not None:
            return _which(desk, desk.undecided)
        if not state["new"] and desk.folder.is_dir():
            from ...engine.session.store import kept

            unread: list[Problem] = []
            found = kept(desk.folder, unread)
            if found or unread:
                return resume_question(found, pick, unread)
        return name_question(lambda name: _begin(desk, name))

    return ask


def _resume(desk: Desk, path: Path) -> None:
    """Go on with a piece kept here; if it has a file, that is looked at again."""
    from ...engine.problems import BadInput
    from ...engine.session.store import open_session

    desk.session = _free(lambda: open_session(path))
    file = Path(desk.session.state.file) if desk.session.state.file else None
    try:
        if file is not None and file.exists():
            _compare(desk, file)
    except BadInput as error:
        desk.session, told = None, error.problems[0]
        line = f", line {told.line}" if told.line else ""
        raise Misread(
            f"This piece stands in {file} too, which cannot be read{line}: {told.message}. Mend it or move it away."
        ) from None
    desk.file = file


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


def open_file(desk: Desk, file: Path) -> None:
    """Put a piece file on the bench, or go on with its session. Raises BadInput or Held."""
    from ...engine.session.store import open_session, path_for_file

    desk.file = file
    if not file.parent.is_dir():
        from ...engine.problems import BadInput, Problem

        message = f"there is no folder {file.parent}; a new piece file needs one to stand in"
        raise BadInput([Problem(path=str(file), code="no-folder", message=message)])
    if not file.exists():
        return
    path = path_for_file(desk.folder, file)
    try:
        desk.session = _free(lambda: open_session(path))
    except Misread as error:
        raise Held(str(error)) from None
    _compare(desk, file)


def _compare(desk: Desk, file: Path) -> None:
    """Read the file of the piece on the bench: it begins the session, or agrees with it, or the user decides."""
    piece = _in_file(desk, file)
    desk.in_file = piece
    if desk.session is None or not desk.session.begun:
        _start_from_file(desk, piece, file)
        return
    desk.wrote[file] = desk.whole  # what stands there and is not this is somebody else's
    if desk.whole != piece:
        desk.undecided = piece


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


def _start_from_file(desk: Desk, piece: Piece, file: Path) -> None:
    from ...engine.session.events import Started
    from .intake import STEPS

    desk.do(Started(piece=piece, asked=["piece", *STEPS], file=str(file)))


def _which(desk: Desk, piece: Piece) -> Question:
    """The file and the answers kept here differ: which counts. Enter decides nothing."""
    from ...engine.session.fold import answered

    count = sum(answered(surface) for surface in piece.surfaces)
    rows = [
        Choice("kept", f"what is kept here, from the last time at the bench; answers: {desk.state.answers}"),
        Choice("file", f"the file as it now stands; answers: {count}. `back` brings the kept ones back"),
    ]

    def take(value: str) -> None:
        if value == "file" and desk.file is not None:
            _start_from_file(desk, piece, desk.file)
        desk.undecided = None

    page: Page = [
        Row(f"{desk.file} and what is kept here differ. Which counts?", style="bold"),
        Choices(rows),
        Row("Nothing is written before that; what a file said is kept beside it in FILE.before.", style="dim"),
    ]
    return Question("which", page, take, rows)
