"""The event log of one session on disk: one JSON line an event, on the disk before it counts.

A kill can only cut the last line short, and that line was not yet acknowledged: it is
dropped when the log is next opened for writing. A damaged line with sound lines after
it is another matter and is refused, as is a log of a newer program.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec
from msgspec import Struct

from ..problems import BadInput, Problem
from .events import AnyEvent

if TYPE_CHECKING:
    from filelock import BaseFileLock

FORMAT = 1
MOST_BYTES = 20_000_000
MEND = "nothing was changed; keep a copy, then mend or take out the line, or begin a new piece"


class Busy(RuntimeError):
    """Another shell has this piece on the bench; the message says what to do."""


class Line(Struct, frozen=True, kw_only=True):
    """One line of a log: format, time of writing, event."""

    v: int
    at: str
    event: AnyEvent


class _Version(Struct):
    v: int


_LINE = msgspec.json.Decoder(Line)
_VERSION = msgspec.json.Decoder(_Version)
_EVENT = msgspec.json.Decoder(AnyEvent)


def checked(event: AnyEvent) -> AnyEvent:
    """The event as a log would give it back. Raises ValidationError if a log would refuse it."""
    found: AnyEvent = _EVENT.decode(msgspec.json.encode(event))
    return found


def read_events(path: Path) -> list[AnyEvent]:
    """All whole events of a log. Raises BadInput for damage in the middle or a newer format."""
    return _parsed(path)[0]


def _parsed(path: Path) -> tuple[list[AnyEvent], int]:
    """Events, and how many bytes of the file they take up."""
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise BadInput(
            [Problem(path=str(path), code="unreadable", message=f"it cannot be read: {error.strerror}")]
        ) from None
    if len(data) > MOST_BYTES:
        raise BadInput(
            [Problem(path=str(path), code="too-large", message=f"more than {MOST_BYTES:,} bytes in one log")]
        )
    events: list[AnyEvent] = []
    sound, lines = 0, data.splitlines(keepends=True)
    for number, line in enumerate(lines, 1):
        event = _decoded(line, path, number, last=number == len(lines))
        if event is None:
            break
        events.append(event)
        sound += len(line)
    return events, sound


def _decoded(line: bytes, path: Path, number: int, last: bool) -> AnyEvent | None:
    """The event of a line; None for a last line that was cut short."""
    try:
        version = _VERSION.decode(line).v
        if version <= FORMAT:
            return _LINE.decode(line).event
    except (msgspec.DecodeError, UnicodeDecodeError):
        if last:
            return None
        message = "this line is damaged, and others follow it"
        raise BadInput(
            [Problem(path=str(path), line=number, column=1, code="damaged-log", message=message, hint=MEND)]
        ) from None
    message = f"a newer oldcoat wrote this (format {version}, this one reads up to {FORMAT})"
    raise BadInput(
        [
            Problem(
                path=str(path),
                line=number,
                column=1,
                code="newer-log",
                message=message,
                hint="update oldcoat; nothing was changed",
            )
        ]
    )


class Log:
    """A log open for writing, held by this process alone."""

    def __init__(self, path: Path, lock: BaseFileLock) -> None:
        self.path = path
        self._lock = lock
        self.events: list[AnyEvent] = _mended(path) if path.exists() else []

    def append(self, event: AnyEvent) -> None:
        """Put an event on the disk; when this returns it survives a kill. Raises OSError."""
        from ..storage import append_line

        line = Line(v=FORMAT, at=datetime.now(UTC).isoformat(timespec="seconds"), event=event)
        try:
            append_line(self.path, msgspec.json.encode(line).decode())
        except OSError:
            _mended(self.path)  # half a line must not stand before the next one
            raise
        self.events.append(event)

    def close(self) -> None:
        """Let another shell have it."""
        self._lock.release()


def open_log(path: Path) -> Log:
    """Open a log for writing, new or old. Raises Busy, BadInput or OSError."""
    from filelock import FileLock, Timeout

    from ..storage import make_private

    make_private(path.parent)
    lock = FileLock(path.with_suffix(".lock"), timeout=0, mode=0o600)
    try:
        lock.acquire()
    except Timeout:
        raise Busy(
            "This piece is open in another oldcoat. Go on there, or leave there first. Nothing here was changed."
        ) from None
    try:
        return Log(path, lock)
    except BaseException:
        lock.release()
        raise


@contextmanager
def held(path: Path) -> Iterator[Log]:
    """A log open for the length of a block. Raises what open_log raises."""
    log = open_log(path)
    try:
        yield log
    finally:
        log.close()


def _mended(path: Path) -> list[AnyEvent]:
    """The events of a log, its cut last line taken off the file."""
    events, sound = _parsed(path)
    size = path.stat().st_size
    if size != sound or not _ends_whole(path, size):
        with path.open("r+b") as file:
            file.truncate(sound)
            file.seek(sound)
            if sound and not _ends_whole(path, sound):
                file.write(b"\n")
            file.flush()
            os.fsync(file.fileno())
    return events


def _ends_whole(path: Path, size: int) -> bool:
    """Whether the byte before `size` ends a line."""
    if size == 0:
        return True
    with path.open("rb") as file:
        file.seek(size - 1)
        return file.read(1) == b"\n"
