"""A derived index over the case files, so that ten thousand of them cost nothing at start.

SQLite holds, for each file, its size and time and what it teaches, and the sum of all
lessons. It is kept in the cache folder, belongs to one folder of cases and one state of
the knowledge, and is rebuilt when it is missing, damaged or of another state. The case
files are the truth; the index is never needed to read them.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from hashlib import blake2b
from pathlib import Path

import msgspec
from msgspec import Struct

from ..belief.counts import Counts
from ..belief.tables import Tables
from ..problems import BadInput, Problem
from ..storage import make_private
from .learn import Lesson, counts_of, lessons_of
from .store import Casebook, read_case

Progress = Callable[[int, int], None]
_TABLES = """
create table if not exists files (name text primary key, time integer, size integer, summary blob, lessons blob, problem text);
create table if not exists meta (key text primary key, value blob);
"""


class Summary(Struct, frozen=True, kw_only=True):
    """One line of `case list`."""

    id: str
    piece: str
    added: str
    withdrawn: bool
    surfaces: int
    confirmed: dict[str, str]


class Index:
    """The index of one casebook under one knowledge."""

    def __init__(self, casebook: Casebook, tables: Tables, cache: Path) -> None:
        self.casebook = casebook
        self.tables = tables
        key = blake2b(str(casebook.folder.absolute()).encode(), digest_size=8).hexdigest()
        self.path = cache / f"casebook-{key}.sqlite"

    def counts(self) -> Counts:
        """The sum of all lessons: from the index if the folder has not changed, else after a refresh."""
        if not self.casebook.folder.is_dir():
            return Counts()
        with self._open() as db:
            if self._meta(db, "folder") == self._folder_state():
                kept = self._meta(db, "counts")
                if kept is not None:
                    return msgspec.json.decode(kept, type=Counts)
        self.refresh()
        with self._open() as db:
            kept = self._meta(db, "counts")
            return msgspec.json.decode(kept, type=Counts) if kept is not None else Counts()

    def refresh(self, progress: Progress | None = None) -> list[Problem]:
        """Bring the index up to the files; only files that changed are read. Returns what could not be read."""
        if not self.casebook.folder.is_dir():
            return []
        state = self._folder_state()
        with self._open() as db:
            known = {name: (time, size) for name, time, size in db.execute("select name, time, size from files")}
            present = dict(self._scan())
            changed = [name for name, stamp in present.items() if known.get(name) != stamp]
            gone = [(name,) for name in known.keys() - present.keys()]
            for number, name in enumerate(changed, 1):
                db.execute("insert or replace into files values (?, ?, ?, ?, ?, ?)", (name, *present[name], *self._digest(name)))
                if progress:
                    progress(number, len(changed))
            db.executemany("delete from files where name = ?", gone)
            if changed or gone or self._meta(db, "counts") is None:
                self._set(db, "counts", msgspec.json.encode(counts_of(self._lessons(db))))
            self._set(db, "folder", state)
            db.commit()
            rows = db.execute("select problem from files where problem is not null order by name").fetchall()
        return [problem for (blob,) in rows for problem in msgspec.json.decode(blob, type=list[Problem])]

    def summaries(self) -> list[Summary]:
        """All cases, newest first."""
        self.refresh()
        with self._open() as db:
            rows = db.execute("select summary from files where summary is not null").fetchall()
        found = [msgspec.json.decode(blob, type=Summary) for (blob,) in rows]
        return sorted(found, key=lambda s: (s.added, s.id), reverse=True)

    def lessons(self) -> list[Lesson]:
        """Every lesson of every case, by case id."""
        self.refresh()
        with self._open() as db:
            return list(self._lessons(db))

    def _digest(self, name: str) -> tuple[bytes | None, bytes, bytes | None]:
        try:
            case = read_case(self.casebook.folder / f"{name}.yaml")
        except BadInput as error:
            return None, b"[]", msgspec.json.encode(error.problems)
        confirmed = {s.name: s.confirmed.finish for s in case.piece.surfaces if s.confirmed}
        summary = Summary(
            id=case.id,
            piece=case.piece.piece,
            added=case.added,
            withdrawn=case.withdrawn,
            surfaces=len(case.piece.surfaces),
            confirmed=confirmed,
        )
        return msgspec.json.encode(summary), msgspec.json.encode(lessons_of(case, self.tables)), None

    def _scan(self) -> Iterator[tuple[str, tuple[int, int]]]:
        with os.scandir(self.casebook.folder) as entries:
            for entry in entries:
                if entry.name.endswith(".yaml") and not entry.name.startswith(".") and entry.is_file():
                    stat = entry.stat()
                    yield entry.name[: -len(".yaml")], (stat.st_mtime_ns, stat.st_size)

    def _folder_state(self) -> bytes:
        return str(self.casebook.folder.stat().st_mtime_ns).encode()

    @contextmanager
    def _open(self) -> Iterator[sqlite3.Connection]:
        make_private(self.path.parent)
        try:
            db = self._connected()
        except sqlite3.DatabaseError:
            with suppress(OSError):
                self.path.unlink()
            db = self._connected()
        with closing(db):
            yield db

    def _connected(self) -> sqlite3.Connection:
        db = sqlite3.connect(self.path, timeout=30)
        try:
            db.execute("pragma journal_mode=wal")
            db.executescript(_TABLES)
            if self._meta(db, "knowledge") != self.tables.knowledge.version.encode():
                db.executescript("delete from files; delete from meta;")
                self._set(db, "knowledge", self.tables.knowledge.version.encode())
                db.commit()
            self.path.chmod(0o600)
        except BaseException:
            db.close()
            raise
        return db

    @staticmethod
    def _meta(db: sqlite3.Connection, key: str) -> bytes | None:
        row = db.execute("select value from meta where key = ?", (key,)).fetchone()
        return bytes(row[0]) if row else None

    @staticmethod
    def _set(db: sqlite3.Connection, key: str, value: bytes) -> None:
        db.execute("insert or replace into meta values (?, ?)", (key, value))

    @staticmethod
    def _lessons(db: sqlite3.Connection) -> Iterator[Lesson]:
        for (blob,) in db.execute("select lessons from files order by name"):
            yield from msgspec.json.decode(blob, type=list[Lesson])
