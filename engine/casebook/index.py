"""A derived index over the case files, so that ten thousand of them cost nothing at start.

SQLite, in the cache folder, one file for each folder of cases. `files` holds each case
as JSON, its faces for finding similar ones and its print for finding the same one, under
the stamp of its file; `taught` holds what each case teaches under each state of the
knowledge, and what that knowledge does not have of it; `meta` the sums. The
case files are the truth: what is stale is read anew, and an index that is damaged or
cannot be written is built again, in memory if need be.

At every commit the counts kept are the exact sum of the lessons kept: weights are
multiples of 2^-20 (learn.py), so taking one out and putting one in leaves no trace.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from hashlib import blake2b
from pathlib import Path
from typing import TypeVar

import msgspec

from ..belief.counts import Counts
from ..belief.tables import Tables
from ..piece.form import Piece
from ..problems import BadInput, Problem
from ..storage import make_private
from .learn import Lesson, Teacher, add, empty
from .record import Case, is_id
from .sameness import print_of
from .similar import Face, faces_of
from .store import Casebook, read_case
from .unknown import unknown_in

T = TypeVar("T")
Progress = Callable[[int, int], None]
Found = tuple[str, int, int, int]  # name, times, size, inode
FORMAT = 5
BATCH = 250  # files a commit: a rebuild that is cut off loses no more than these
KEPT_STATES = 3  # states of the knowledge whose lessons are kept
_TABLES = """
create table if not exists files (name text primary key, stamp text, print blob, body blob, faces blob, problems blob);
create table if not exists taught (
  state text, name text, stamp text, lessons blob, problems blob, primary key (state, name)
);
create table if not exists meta (key text primary key, value blob);
create index if not exists prints on files (print, name) where print is not null;
create index if not exists unread on files (name) where problems is not null;
create index if not exists unknown on taught (state, name) where problems is not null;
"""
_LESSONS = msgspec.json.Decoder(list[Lesson])
_PROBLEMS = msgspec.json.Decoder(list[Problem])
_FACES = msgspec.json.Decoder(list[Face])
_CASE = msgspec.json.Decoder(Case)


class Index:
    """The index of one casebook under one knowledge.

    `unread`: files that could not be read, `unknown`: what cases that count name and this
    knowledge does not have, both as of the last time that anything was asked.
    """

    def __init__(self, casebook: Casebook, tables: Tables, cache: Path, progress: Progress | None = None) -> None:
        self.casebook = casebook
        self.progress = progress
        self.tables = tables
        self.state = tables.knowledge.version
        key = blake2b(os.fsencode(casebook.folder.absolute()), digest_size=8).hexdigest()
        self.path = cache / f"casebook-{key}.sqlite"
        self.unread: list[Problem] = []
        self.unknown: list[Problem] = []
        self._memory: sqlite3.Connection | None = None

    def counts(self) -> Counts:
        """The sum of all lessons: one blob if no file has changed, else after a refresh."""
        return self._safely(self._counts)

    def refresh(self) -> list[Problem]:
        """Bring the index up to the files; only files that changed are read. Returns what could not be read."""
        self._safely(lambda _: None)
        return self.unread

    def prints(self) -> dict[bytes, str]:
        """Print of a piece (sameness.py) -> id of a case of just that piece."""
        query = "select print, name from files where print is not null order by name desc"
        return self._safely(lambda db: {bytes(mark): str(name) for mark, name in db.execute(query)})

    def twin(self, piece: Piece) -> str | None:
        """The id of a case of just this piece, if there is one."""
        query, mark = "select name from files where print = ? order by name", print_of(piece)
        row = self._safely(lambda db: db.execute(query, (mark,)).fetchone())
        return str(row[0]) if row else None

    def cases(self) -> list[Case]:
        """Every case that can be read, by id."""
        blobs = self._safely(_column("select body from files where body is not null order by name"))
        return [_CASE.decode(blob) for blob in blobs]

    def faces(self) -> list[Face]:
        """Every confirmed surface of every case that counts, for finding similar ones."""
        blobs = self._safely(_column("select faces from files where faces is not null order by name"))
        return [face for blob in blobs for face in _FACES.decode(blob)]

    def lessons(self) -> list[Lesson]:
        """Every lesson of every case, by case id."""
        blobs = self._safely(_column("select lessons from taught where state = ? order by name", self.state))
        return [lesson for blob in blobs for lesson in _LESSONS.decode(blob)]

    def _safely(self, ask: Callable[[sqlite3.Connection], T]) -> T:
        """Ask something of an index that is up to date.

        A damaged index is built anew; one that is locked for long or cannot be written is
        built in memory for this once.
        """
        try:
            return self._asked(ask)
        except (OSError, sqlite3.OperationalError):
            pass
        except (sqlite3.Error, msgspec.DecodeError, TypeError):
            with suppress(OSError, sqlite3.Error, msgspec.DecodeError):
                for tail in ("", "-wal", "-shm"):
                    Path(f"{self.path}{tail}").unlink(missing_ok=True)
                return self._asked(ask)
        self._memory = self._prepared(sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False))
        return self._asked(ask)

    def _asked(self, ask: Callable[[sqlite3.Connection], T]) -> T:
        if not self.casebook.folder.is_dir():
            with closing(
                self._prepared(sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False))
            ) as empty:
                return ask(empty)
        found, token = self._scan()
        with self._open() as db:
            if self._meta(db, f"token/{self.state}") != token:
                self._read_files(db, _stamps(found))
                self._teach(db)
                with _commit(db):
                    self._set(db, f"token/{self.state}", token)
                    self._forget_states(db)
            self.unread, self.unknown = self._problems(db)
            return ask(db)

    def _problems(self, db: sqlite3.Connection) -> tuple[list[Problem], list[Problem]]:
        """What could not be read, and what cases name that this knowledge does not have."""
        unread = _column("select problems from files where problems is not null order by name")
        query = "select problems from taught where state = ? and problems is not null order by name"
        found = (unread(db), _column(query, self.state)(db))
        first, second = ([p for blob in blobs for p in _PROBLEMS.decode(blob)] for blobs in found)
        return first, second

    def _read_files(self, db: sqlite3.Connection, present: dict[str, str]) -> None:
        known = dict(db.execute("select name, stamp from files"))
        changed = [name for name, stamp in present.items() if known.get(name) != stamp]
        for start in range(0, len(changed), BATCH):
            rows = []
            for number, name in enumerate(changed[start : start + BATCH], start + 1):
                rows.append((name, present[name], *self._digest(name)))
                if self.progress:
                    self.progress(number, len(changed))
            with _commit(db):
                db.executemany("insert or replace into files values (?, ?, ?, ?, ?, ?)", rows)
        gone = [(name,) for name in known.keys() - present.keys()]
        if gone:
            with _commit(db):
                db.executemany("delete from files where name = ?", gone)

    def _teach(self, db: sqlite3.Connection) -> None:
        """Work out the lessons that are missing or stale under this state of the knowledge."""
        teacher = Teacher(self.tables)
        wanted = """select f.name, f.stamp, f.body from files f left join taught t on t.name = f.name and t.state = ?
            where t.stamp is null or t.stamp != f.stamp order by f.name"""
        rows = db.execute(wanted, (self.state,)).fetchall()
        for start in range(0, len(rows), BATCH):
            done = []
            for number, (name, stamp, body) in enumerate(rows[start : start + BATCH], start + 1):
                case = _CASE.decode(body) if body else None
                lessons, unknown = (teacher.lessons(case), self._unknown(case)) if case else ([], None)
                done.append((name, stamp, lessons, unknown))
                if self.progress:
                    self.progress(number, len(rows))
            self._keep(db, done)
        gone = "select name from taught where state = ? and name not in (select name from files)"
        self._keep(db, [(name, None, [], None) for (name,) in db.execute(gone, (self.state,)).fetchall()])

    def _unknown(self, case: Case) -> bytes | None:
        """What a case that counts names and this knowledge does not have, with its place in the file."""
        found = unknown_in(case, self.casebook.folder / f"{case.id}.yaml", self.tables.knowledge)
        return msgspec.json.encode(found) if found else None

    def _keep(self, db: sqlite3.Connection, done: list[tuple[str, str | None, list[Lesson], bytes | None]]) -> None:
        """Replace the lessons of some files, and the sum with them, in one step; no stamp means gone."""
        if not done:
            return
        with _commit(db):
            counts = self._counts(db)
            for name, stamp, lessons, unknown in done:
                key = (self.state, name)
                old = db.execute("select lessons from taught where state = ? and name = ?", key).fetchone()
                for lesson in _LESSONS.decode(old[0]) if old else ():
                    add(counts, lesson, -1)
                for lesson in lessons:
                    add(counts, lesson, 1)
                if stamp is None:
                    db.execute("delete from taught where state = ? and name = ?", key)
                else:
                    row = (*key, stamp, msgspec.json.encode(lessons), unknown)
                    db.execute("insert or replace into taught values (?, ?, ?, ?, ?)", row)
            self._set(db, f"counts/{self.state}", msgspec.json.encode(counts))

    def _forget_states(self, db: sqlite3.Connection) -> None:
        """Keep the lessons of the few states of the knowledge that were used last."""
        used = msgspec.json.decode(self._meta(db, "states") or b"[]", type=list[str])
        used = [self.state, *(s for s in used if s != self.state)]
        for state in used[KEPT_STATES:]:
            db.execute("delete from taught where state = ?", (state,))
            db.execute("delete from meta where key in (?, ?)", (f"counts/{state}", f"token/{state}"))
        self._set(db, "states", msgspec.json.encode(used[:KEPT_STATES]))

    def _digest(self, name: str) -> tuple[bytes | None, bytes | None, bytes | None, bytes | None]:
        """(print, case, faces, problems) of one file."""
        path = self.casebook.folder / f"{name}.yaml"
        try:
            if not is_id(name):
                message = "the name of a case file is its id: lower-case words joined by hyphens"
                raise BadInput([Problem(path=str(path), code="bad-id", message=message)])
            case = read_case(path)
        except BadInput as error:
            return None, None, None, msgspec.json.encode(error.problems)
        return print_of(case.piece), msgspec.json.encode(case), msgspec.json.encode(faces_of(case)), None

    def _scan(self) -> tuple[list[Found], bytes]:
        """Stamps of all case files, and one token for them all.

        A stamp holds inode, size and both times, so a file is seen to have changed however
        it was changed and whichever way the clock went.
        """
        with os.scandir(self.casebook.folder) as entries:
            names = [entry for entry in entries if entry.name.endswith(".yaml") and entry.name[0] != "."]
            try:
                stats = [(entry.name, entry.stat()) for entry in names]
            except OSError:  # one went away just now
                stats = list(_still_there(names))
        found = [(name, stat.st_mtime_ns + stat.st_ctime_ns, stat.st_size, stat.st_ino) for name, stat in stats]
        times, sizes, inodes = sum(r[1] for r in found), sum(r[2] for r in found), sum(r[3] for r in found)
        return found, f"{len(found)}/{times}/{sizes}/{inodes}".encode()

    @contextmanager
    def _open(self) -> Iterator[sqlite3.Connection]:
        if self._memory is not None:
            yield self._memory
            return
        make_private(self.path.parent)
        os.close(os.open(self.path, os.O_RDWR | os.O_CREAT, 0o600))
        with closing(self._prepared(sqlite3.connect(self.path, timeout=30, isolation_level=None))) as db:
            yield db

    def _prepared(self, db: sqlite3.Connection) -> sqlite3.Connection:
        """The connection with the tables of this format in it."""
        try:
            if _format(db) != FORMAT:
                db.execute("pragma journal_mode=wal")
                with _commit(db):
                    if _format(db) != FORMAT:
                        _make_tables(db)
            db.execute("pragma synchronous=normal")
        except BaseException:
            db.close()
            raise
        return db

    def _counts(self, db: sqlite3.Connection) -> Counts:
        kept = self._meta(db, f"counts/{self.state}")
        return msgspec.json.decode(kept, type=Counts) if kept is not None else empty()

    @staticmethod
    def _meta(db: sqlite3.Connection, key: str) -> bytes | None:
        row = db.execute("select value from meta where key = ?", (key,)).fetchone()
        return bytes(row[0]) if row else None

    @staticmethod
    def _set(db: sqlite3.Connection, key: str, value: bytes) -> None:
        db.execute("insert or replace into meta values (?, ?)", (key, value))


def _still_there(entries: list[os.DirEntry[str]]) -> Iterator[tuple[str, os.stat_result]]:
    for entry in entries:
        with suppress(OSError):
            yield entry.name, entry.stat()


def _column(query: str, *values: str) -> Callable[[sqlite3.Connection], list[bytes]]:
    return lambda db: [row[0] for row in db.execute(query, values)]


def _stamps(found: list[Found]) -> dict[str, str]:
    """name -> stamp of its file; a name that is not text is spelt out."""
    names = [os.fsencode(row[0]).decode("utf-8", "backslashreplace").removesuffix(".yaml") for row in found]
    return {name: f"{times}/{size}/{inode}" for name, (_, times, size, inode) in zip(names, found, strict=True)}


def _format(db: sqlite3.Connection) -> int:
    return int(db.execute("pragma user_version").fetchone()[0])


def _make_tables(db: sqlite3.Connection) -> None:
    for table in ("files", "taught", "meta"):
        db.execute(f"drop table if exists {table}")
    for statement in _TABLES.strip().split(";"):
        db.execute(statement)
    db.execute(f"pragma user_version={FORMAT}")


@contextmanager
def _commit(db: sqlite3.Connection) -> Iterator[None]:
    """One transaction of a writer: all of it or none."""
    db.execute("begin immediate")
    try:
        yield
    except BaseException:
        db.execute("rollback")
        raise
    db.execute("commit")
