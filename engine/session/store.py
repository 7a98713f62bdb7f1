"""All sessions of a user: listed newest first, begun, resumed, told apart by file.

What only writing needs is imported there: the list stands before the first question.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import msgspec
from msgspec import Struct

from ..piece.form import Piece
from ..problems import BadInput, Problem
from .events import AnyEvent, Started, Undone
from .fold import BadEvent, State, apply, fold, taken_back, undoable
from .log import Log, checked, open_log, read_events

SUFFIX = ".jsonl"


class Kept(Struct, frozen=True, kw_only=True):
    """A session as a list shows it."""

    path: Path
    when: datetime
    state: State


class Session:
    """A piece on the bench: events on disk, state in hand, always the same."""

    def __init__(self, log: Log) -> None:
        self._log = log
        try:
            self._state = fold(log.events)
        except BadEvent as error:
            raise damaged(log.path, str(error)) from None

    @property
    def path(self) -> Path:
        """Where the log stands."""
        return self._log.path

    @property
    def begun(self) -> bool:
        """Whether a piece is on the bench yet."""
        return self._state is not None

    @property
    def state(self) -> State:
        """Where it stands now. Raises BadEvent if no piece was started."""
        if self._state is None:
            raise BadEvent("a session begins with a piece")
        return self._state

    def do(self, event: AnyEvent) -> State:
        """Check one event, put it on the disk, then let it count. Raises BadEvent or OSError."""
        try:
            event = checked(event)
        except (msgspec.MsgspecError, UnicodeEncodeError) as error:
            raise BadEvent(str(error)) from None
        new = fold([*self._log.events, event]) if isinstance(event, Undone) else apply(self._state, event)
        self._log.append(event)
        self._state = new
        return self.state

    def undo(self) -> State:
        """Take the last thing back. Raises BadEvent if there is none."""
        return self.do(Undone())

    @property
    def undoable(self) -> AnyEvent | None:
        """What would be taken back next; None if nothing is left."""
        return undoable(self._log.events)

    @property
    def taken_back(self) -> list[AnyEvent]:
        """What was taken back, the latest first."""
        return taken_back(self._log.events)

    def close(self) -> None:
        """Let another shell have it."""
        self._log.close()


def damaged(path: Path, message: str) -> BadInput:
    """A log whose events do not fit together."""
    return BadInput([Problem(path=str(path), code="damaged-log", message=f"the events do not fit together: {message}")])


def open_session(path: Path) -> Session:
    """A session, new or old. Raises Busy, BadInput or OSError."""
    log = open_log(path)
    try:
        return Session(log)
    except BaseException:
        log.close()
        raise


def begin(path: Path, piece: Piece, asked: list[str], file: str = "") -> Session:
    """A new session with its piece put on the bench. Raises Busy, BadInput or OSError."""
    session = open_session(path)
    session.do(Started(piece=piece, asked=asked, file=file))
    return session


def new_path(folder: Path, name: str) -> Path:
    """A free place for a new session of a piece."""
    from secrets import token_hex

    from ..casebook.record import slug

    return folder / f"{slug(name)}-{token_hex(4)}{SUFFIX}"


def path_for_file(folder: Path, file: Path) -> Path:
    """The one place for the session of a piece file."""
    import hashlib

    from ..casebook.record import slug

    whole = file.absolute().resolve()
    return (
        folder
        / f"{slug(file.stem)}-{hashlib.sha256(str(whole).encode(errors='surrogateescape')).hexdigest()[:12]}{SUFFIX}"
    )


def kept(folder: Path, most: int = 9) -> list[Kept]:
    """The newest sessions that can be read, newest first."""
    found: list[Kept] = []
    if not folder.is_dir():
        return found
    stamped = [(path.stat().st_mtime, path) for path in folder.glob(f"*{SUFFIX}")]
    for stamp, path in sorted(stamped, key=lambda pair: (-pair[0], pair[1].name)):
        try:
            state = fold(read_events(path))
        except (BadInput, BadEvent):
            continue
        if state is not None:
            found.append(Kept(path=path, when=datetime.fromtimestamp(stamp), state=state))
        if len(found) == most:
            break
    return found
