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
from .fold import BadEvent, State, apply, fold, taken_back, told_times, undoable
from .log import MEND, Log, checked, open_log, read_events

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
        self._state = _folded(log.path, log.events)

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
    def told_times(self) -> int:
        """How many things were told that could be taken back one by one."""
        return told_times(self._log.events)

    @property
    def taken_back(self) -> list[AnyEvent]:
        """What was taken back, the latest first."""
        return taken_back(self._log.events)

    def close(self) -> None:
        """Let another shell have it."""
        self._log.close()


def _folded(path: Path, events: list[AnyEvent]) -> State | None:
    """The state after the events of a log. Raises BadInput with the line of the first that does not fit."""
    try:
        return fold(events)
    except BadEvent as error:
        line = next(n for n in range(1, len(events) + 1) if not _fits(events[:n]))
        message = f"this event does not fit those before it: {error}"
        raise BadInput(
            [Problem(path=str(path), line=line, column=1, code="damaged-log", message=message, hint=MEND)]
        ) from None


def _fits(events: list[AnyEvent]) -> bool:
    try:
        fold(events)
    except BadEvent:
        return False
    return True


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


def kept(folder: Path, unread: list[Problem], most: int = 9) -> list[Kept]:
    """The newest sessions, newest first; why those among them that cannot be read cannot is added to `unread`."""
    found: list[Kept] = []
    if not folder.is_dir():
        return found
    stamped = [(path.stat().st_mtime, path) for path in folder.glob(f"*{SUFFIX}")]
    for stamp, path in sorted(stamped, key=lambda pair: (-pair[0], pair[1].name)):
        try:
            state = _folded(path, read_events(path))
        except BadInput as error:
            unread += error.problems[:1]
            continue
        if state is not None:
            found.append(Kept(path=path, when=datetime.fromtimestamp(stamp), state=state))
        if len(found) == most:
            break
    return found
