"""Every system call of a writer made to fail, or to be the last: the old file or the new one, never a half.

The calls are counted in a forked child, which fails or kills itself (SIGKILL, nothing
runs afterwards) at the n-th; n rises until the child gets through.
"""

from __future__ import annotations

import errno
import os
import signal
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from invented import REMOVED, case, piece

from oldcoat.engine.belief.tables import Tables
from oldcoat.engine.casebook.exchange import export_cases, import_cases
from oldcoat.engine.casebook.index import Index
from oldcoat.engine.casebook.store import Casebook
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Confirmed

CALLS = ("open", "write", "fsync", "replace", "close", "mkdir", "unlink")
LAB = Confirmed(finish="shellac", how="laboratory")
DONE, DESPITE, FAILED = 0, 3, 7


def in_child(work: Callable[[], object], at: int, how: str) -> int:
    """Run `work` in a fork whose n-th system call kills it or fails.

    DONE without having come to that call, DESPITE it, FAILED or minus the signal.
    """
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    code = FAILED
    try:
        reached = _rig(at, how)
        work()
        code = DESPITE if reached() else DONE
    except (OSError, sqlite3.Error):
        pass
    finally:
        os._exit(code)


def _rig(at: int, how: str) -> Callable[[], bool]:
    made = 0

    def rigged(real: Callable[..., object]) -> Callable[..., object]:
        def call(*args: object, **more: object) -> object:
            nonlocal made
            made += 1
            if made == at or (how == "full" and made > at and real in (_write, _open)):
                if how == "kill":
                    os.kill(os.getpid(), signal.SIGKILL)
                raise OSError(errno.ENOSPC if how == "full" else errno.EIO, "invented failure")
            return real(*args, **more)

        return call

    _write, _open = os.write, os.open
    for name in CALLS:
        setattr(os, name, rigged(getattr(os, name)))
    return lambda: made >= at


def each_step(work: Callable[[], object], how: str, check: Callable[[int], None]) -> int:
    """Do `work` with each of its calls failing in turn and check after each; the number of calls."""
    for at in range(1, 200):
        code = in_child(work, at, how)
        check(code)
        if code == DONE:
            return at - 1
    raise AssertionError("it never got through")


@pytest.mark.parametrize("how", ["kill", "fail", "full"])
def test_add(book: Casebook, how: str) -> None:
    """A case is there whole or not at all; what was told as kept is there."""
    book.add(piece())
    told = 1

    def check(code: int) -> None:
        nonlocal told
        told += code in (DONE, DESPITE)
        assert len([book.get(name) for name in book.ids()]) >= told

    assert each_step(lambda: book.add(piece()), how, check) >= 4


@pytest.mark.parametrize("how", ["kill", "fail", "full"])
def test_confirm(book: Casebook, how: str) -> None:
    """The file reads as before or as after, at every step."""
    name = book.add(piece()).id
    before = book.path(name).read_text()

    def check(code: int) -> None:
        kept = book.get(name)
        assert code not in (DONE, DESPITE) or kept.piece.surfaces[0].confirmed == LAB
        assert kept.piece.surfaces[0].confirmed in (None, LAB)
        assert len(kept.history) == 1 + (kept.piece.surfaces[0].confirmed is not None)
        if code != DONE:
            book.path(name).write_text(before)

    assert each_step(lambda: book.confirm(name, "top", LAB), how, check) >= 4


def test_migration(book: Casebook) -> None:
    """Cut off while an older file is taken over: the old text is in the file or in the backup, always."""
    from oldcoat.engine.storage import to_yaml

    book.folder.mkdir(parents=True)
    text = to_yaml(piece())
    path, backup = book.path("by-hand"), book.folder / "backup" / "by-hand.format-0.yaml"
    path.write_text(text)

    def check(_code: int) -> None:
        assert text in (path.read_text(), backup.read_text() if backup.exists() else "")
        assert book.get("by-hand").piece.surfaces[0].name == "top"

    each_step(lambda: book.confirm("by-hand", "top", LAB), "kill", check)


@pytest.mark.parametrize("how", ["kill", "fail"])
def test_import(book: Casebook, tmp_path: Path, how: str) -> None:
    """An import that is cut off has taken whole cases only, and may be done again."""
    archive = tmp_path / "cases.tar.gz"
    export_cases([case(f"invented-{n}") for n in range(3)], archive)

    def check(_code: int) -> None:
        assert all(book.get(name) == case(name) for name in book.ids())

    each_step(lambda: import_cases(book, archive), how, check)
    assert import_cases(book, archive).here == [f"invented-{n}" for n in range(3)]


def test_rebuild_killed_at_every_statement(book: Casebook, knowledge: Knowledge, tmp_path: Path) -> None:
    """An index whose building was cut off at any statement ends up the same as one that was not."""
    for number in range(6):
        book.take(case(f"invented-{number}"))
    tables = Tables(knowledge)
    wanted = Index(book, tables, tmp_path / "whole").counts()
    at, code = 0, -1
    while code != DONE:
        at += 1
        code = os.fork()
        if not code:
            _kill_at_statement(at)
            Index(book, tables, tmp_path / "cut").counts()
            os._exit(DONE)
        code = os.waitstatus_to_exitcode(os.waitpid(code, 0)[1])
        if at % 3 == 0:
            assert Index(book, tables, tmp_path / "cut").counts() == wanted
            for path in (tmp_path / "cut").glob("*"):
                path.unlink()
    assert at > 10
    assert Index(book, tables, tmp_path / "cut").counts() == wanted


def _kill_at_statement(at: int) -> None:
    real, made = sqlite3.connect, 0

    def count(_statement: str) -> None:
        nonlocal made
        made += 1
        if made == at:
            os.kill(os.getpid(), signal.SIGKILL)

    def connect(*args: object, **more: object) -> sqlite3.Connection:
        db = real(*args, **more)  # type: ignore[call-overload]
        db.set_trace_callback(count)
        return db  # type: ignore[no-any-return]

    sqlite3.connect = connect  # type: ignore[assignment]


def test_read_only_folder(
    book: Casebook, knowledge: Knowledge, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Writing says so and changes nothing; reading and learning go on without a place for the index."""
    name = book.add(piece()).id
    book.confirm(name, "top", LAB)
    before = {path: path.read_bytes() for path in book.folder.glob("*.yaml")}
    real = os.open

    def refuse(path: object, flags: int, *more: object, **named: object) -> int:
        if flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
            raise OSError(errno.EROFS, os.strerror(errno.EROFS), str(path))
        return real(path, flags, *more, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(os, "open", refuse)
    for work in (lambda: book.add(piece()), lambda: book.removed(name, "top", REMOVED)):
        with pytest.raises(OSError, match="Read-only"):
            work()
    assert Index(book, Tables(knowledge), tmp_path / "cache").counts().cases == {"shellac": 1}
    assert {path: path.read_bytes() for path in book.folder.glob("*.yaml")} == before
