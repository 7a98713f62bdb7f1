"""The casebook on disk: one YAML file a case, a lock for writers, nothing ever lost.

The files are the truth. A writer takes the lock of the folder, writes the new file
whole, forces it to disk and lets go; readers need no lock. An id is made of the name
of the piece, the day and a few random letters, and never reaches a path unchecked.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import msgspec

from ..knowledge.base import Knowledge
from ..piece.form import Confirmed, Piece, Removed, Surface
from ..problems import BadInput, Problem, nearest
from ..reading.shape import shaped
from ..reading.yamltext import Document, read
from ..storage import make_private, to_yaml, write_whole
from .record import FORMAT, ID, Case, Change, now_text, slug

LOCK_SECONDS = 30


class NoSuchCase(LookupError):
    """No case, or no surface of it, goes by that name; the message says which do."""


class Busy(RuntimeError):
    """Another process holds the casebook for longer than we wait."""


class Casebook:
    """The cases of one folder. Opening it costs nothing and writes nothing."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def ids(self) -> list[str]:
        """Ids of all case files, sorted."""
        if not self.folder.is_dir():
            return []
        return sorted(p.stem for p in self.folder.glob("*.yaml") if ID.match(p.stem))

    def get(self, name: str) -> Case:
        """One case. Raises NoSuchCase, or BadInput if its file is faulty."""
        path = self.path(name)
        if not path.is_file():
            raise NoSuchCase(f"there is no case {name[:80]!r}: {nearest(name, self.ids())}")
        return read_case(path)

    def path(self, name: str) -> Path:
        """Where a case stands. Raises NoSuchCase for anything that is not an id."""
        if not ID.match(name) or len(name) > 80:
            raise NoSuchCase(f"{name[:80]!r} is not the name of a case")
        return self.folder / f"{name}.yaml"

    def add(self, piece: Piece) -> Case:
        """Keep a piece as a new case. Raises Busy or OSError, having written nothing."""
        with self._locked():
            name = self._free_id(piece)
            when = now_text()
            case = Case(format=FORMAT, id=name, added=when, history=[Change(when=when, what="added")], piece=piece)
            self.put(case)
        return case

    def confirm(self, name: str, surface: str, truth: Confirmed) -> Case:
        """Write down what was really on a surface. Raises NoSuchCase, Busy or OSError."""
        what = f"{surface}: confirmed as {truth.finish} ({truth.how})"
        return self._change_surface(name, surface, what, lambda s: msgspec.structs.replace(s, confirmed=truth))

    def removed(self, name: str, surface: str, row: Removed) -> Case:
        """Write down how a removal ended. Raises NoSuchCase, Busy or OSError."""
        what = f"{surface}: {row.remover} {row.result}"
        return self._change_surface(name, surface, what, lambda s: msgspec.structs.replace(s, removed=[*s.removed, row]))

    def withdraw(self, name: str, why: str) -> Case:
        """Take a case out of learning, keeping it and its history."""
        with self._locked():
            case = self.get(name)
            change = Change(when=now_text(), what=f"withdrawn: {why or 'no reason given'}")
            case = msgspec.structs.replace(case, withdrawn=True, history=[*case.history, change])
            self.put(case)
        return case

    def put(self, case: Case) -> None:
        """Write one case file, whole. For use under the lock."""
        write_whole(self.path(case.id), to_yaml(case))

    def _change_surface(self, name: str, surface: str, what: str, change: Callable[[Surface], Surface]) -> Case:
        with self._locked():
            case = self.get(name)
            names = [s.name for s in case.piece.surfaces]
            if surface not in names:
                raise NoSuchCase(f"case {name} has no surface {surface[:80]!r}: {nearest(surface, names)}")
            surfaces = [change(s) if s.name == surface else s for s in case.piece.surfaces]
            piece = msgspec.structs.replace(case.piece, surfaces=surfaces)
            history = [*case.history, Change(when=now_text(), what=what)]
            case = msgspec.structs.replace(case, piece=piece, history=history)
            self.put(case)
        return case

    def _free_id(self, piece: Piece) -> str:
        while True:
            name = f"{slug(piece.piece)}-{datetime.now(UTC):%Y%m%d}-{secrets.token_hex(3)}"
            if not self.path(name).exists():
                return name

    @contextmanager
    def _locked(self) -> Iterator[None]:
        from filelock import FileLock, Timeout

        make_private(self.folder)
        try:
            with FileLock(self.folder / ".lock", timeout=LOCK_SECONDS, mode=0o600):
                yield
        except Timeout:
            raise Busy(f"another oldcoat has held {self.folder} for {LOCK_SECONDS} seconds; try again") from None


def read_case(path: Path) -> Case:
    """The case in a file. Raises BadInput."""
    return case_of(read(path), path.stem)


def case_of(document: Document, name: str) -> Case:
    """A document as a case whose id is its file's name. Raises BadInput."""
    value = document.value
    found = value.get("format") if isinstance(value, dict) else None
    if isinstance(found, int) and found > FORMAT:
        message = f"this case has format {found}, this program reads up to {FORMAT}"
        raise BadInput([document.problem(("format",), "newer-format", message, "update oldcoat to read it")])
    case = shaped(document, Case)
    if case.id != name:
        raise BadInput([document.problem(("id",), "other-id", f"the id {case.id} is not the file's name {name}")])
    return case


def unknown_ids(case: Case, knowledge: Knowledge) -> list[Problem]:
    """Finishes, tests, outcomes and removers of a case that the knowledge does not have."""
    from ..piece.reader import mistakes

    document = Document(case.id, None, {(): (1, 1)})
    return list(mistakes(document, case.piece, knowledge))
