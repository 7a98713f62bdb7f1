"""The casebook on disk: one YAML file a case, a lock for writers, nothing ever lost.

The files are the truth. A writer takes the lock of the folder, writes the new file
whole, forces it to disk and lets go; readers need no lock. An id is made of the name
of the piece, the day and a few random letters, and never reaches a path unchecked.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import get_args

from msgspec import structs

from ..piece.form import Confirmed, How, Piece, Removed, Surface
from ..problems import BadInput, Problem, nearest
from ..reading.shape import shaped
from ..reading.yamltext import Document, read, read_text
from ..storage import make_private, to_yaml, write_whole
from .record import FORMAT, Case, Change, format_of, is_id, migrated, now_text, slug
from .sameness import ENOUGH, agreement, likely_same, same

LOCK_SECONDS = 30
LOCK_LOOKS = 0.005  # seconds between two looks whether the lock is free
BACKUP = "backup"
WAYS = get_args(How)  # of knowing a truth, the surest first
TAIL_HYPHENS = 2  # an id is the name, the day and a few letters


class NoSuchCase(LookupError):
    """No case, or no surface of it, goes by that name; the message says which do."""


class Busy(RuntimeError):
    """Another process holds the casebook for longer than we wait."""


class KeptAlready(ValueError):
    """The piece is in the casebook under `case`; `exactly`: word for word, but for how it ended."""

    def __init__(self, case: Case, exactly: bool) -> None:
        self.case, self.exactly = case.id, exactly
        told = "the same piece is in the casebook already" if exactly else "this looks like a piece in the casebook"
        super().__init__(f"{told}, as {case.id}{' (withdrawn)' if case.withdrawn else ''}")


class NothingToDo(ValueError):
    """The case is as it was to become; nothing was written."""


class AnotherPiece(ValueError):
    """What was to amend a case looks like quite another piece; nothing was written."""


class KnownBetter(ValueError):
    """The truth is confirmed already, and by a surer way; nothing was written."""


class Casebook:
    """The cases of one folder. Opening it costs nothing and writes nothing.

    Every method that writes raises Busy or OSError if it could not make sure, and leaves
    the whole old file or the whole new one whenever it fails or is cut off.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def ids(self) -> list[str]:
        """Ids of all case files, sorted."""
        if not self.folder.is_dir():
            return []
        return sorted(p.stem for p in self.folder.glob("*.yaml") if is_id(p.stem))

    def get(self, name: str) -> Case:
        """One case. Raises NoSuchCase, or BadInput if its file is faulty."""
        path = self.path(name)
        if not path.is_file():
            raise NoSuchCase(f"there is no case {name[:80]!r}")
        return read_case(path)

    def path(self, name: str) -> Path:
        """Where a case stands. Raises NoSuchCase for anything that is not an id."""
        if not is_id(name):
            raise NoSuchCase(f"{name[:80]!r} is not the name of a case")
        return self.folder / f"{name}.yaml"

    def find(self, start: str) -> str:
        """The id of the one case whose id is `start` or begins so. Raises NoSuchCase."""
        ids = self.ids()
        found = [start] if start in ids else [name for name in ids if name.startswith(start)]
        if len(found) == 1:
            return found[0]
        if found:
            raise NoSuchCase(f"{start[:80]!r} begins the names of {len(found)} cases: {_some(found)}")
        if not is_id(start):
            raise NoSuchCase(f"{start[:80]!r} is not the name of a case")
        stem = start.rsplit("-", TAIL_HYPHENS)[0]
        alike = [name for name in ids if name.rsplit("-", TAIL_HYPHENS)[0] == stem]
        told = f"; of a piece so called there is {_some(alike)}" if alike else ""
        raise NoSuchCase(f"there is no case {start[:80]!r}{told}")

    def add(self, piece: Piece, once: bool = False, twin: str | None = None) -> Case:
        """Keep a piece as a new case. Raises KeptAlready if `once` and it seems to be here.

        `twin`: a case under whatever name that an index holds to be the same.
        """
        with self._locked():
            if once:
                self._refuse_twice(piece, twin)
            when = now_text()
            history = [Change(when=when, what="added")]
            case = Case(format=FORMAT, id=self._free_id(piece), added=when, history=history, piece=piece)
            self._put(case)
        return case

    def take(self, case: Case, twin: str | None = None) -> bool:
        """Keep a case that comes from elsewhere under its own id.

        False if the same case is here already. Raises BadInput if another one has its id;
        KeptAlready if `twin`, a case that an index holds to be the same, is so.
        """
        with self._locked():
            path = self.path(case.id)
            if not path.exists():
                if twin not in (None, case.id):
                    self._refuse_twin(case.piece, self.path(str(twin)))
                self._put(case)
                return True
            if read_case(path) == case:
                return False
        message = f"another case {case.id} is in the casebook already; it was left as it is"
        raise BadInput([Problem(path=str(path), code="twice", message=message)])

    def confirm(self, name: str, surface: str, truth: Confirmed, anyway: bool = False) -> Case:
        """Write down what was really on a surface. Raises NoSuchCase.

        Raises KnownBetter if a surer way has confirmed it already, unless `anyway`.
        """

        def change(old: Surface) -> tuple[Surface, str]:
            before = old.confirmed
            if before and not anyway and WAYS.index(before.how) < WAYS.index(truth.how):
                raise KnownBetter(f"{surface} is confirmed as {before.finish} by {before.how}, which is surer")
            was = f", before that {before.finish} ({before.how})" if before else ""
            what = f"{surface}: confirmed as {truth.finish} ({truth.how}){was}"
            return structs.replace(old, confirmed=truth), what

        return self._change_surface(name, surface, change)

    def removed(self, name: str, surface: str, row: Removed) -> Case:
        """Write down how a removal ended. Raises NoSuchCase."""
        what = f"{surface}: {row.remover} {row.result}"
        return self._change_surface(
            name, surface, lambda old: (structs.replace(old, removed=[*old.removed, row]), what)
        )

    def amend(self, name: str, piece: Piece, why: str = "", whatever: bool = True) -> Case:
        """Put a corrected piece in the place of the old one, which stays in the history.

        What was confirmed and removed stays with the surfaces of the same name, unless
        the new piece says otherwise. Raises NoSuchCase; NothingToDo if nothing in it is new;
        AnotherPiece if it looks like one, unless `whatever`.
        """

        def change(case: Case) -> Case:
            kept = {s.name: s for s in case.piece.surfaces}
            surfaces = [_with_ends(s, kept.get(s.name)) for s in piece.surfaces]
            change = Change(when=now_text(), what=f"amended: {why or 'no reason given'}", before=case.piece)
            whole = structs.replace(piece, surfaces=surfaces)
            if whole == case.piece:
                raise NothingToDo(f"case {name} says all this already")
            if not whatever and agreement(whole, case.piece) < ENOUGH:
                raise AnotherPiece(f"this looks like another piece than case {name}, {case.piece.piece!r}")
            return structs.replace(case, piece=whole, history=[*case.history, change])

        return self._change(name, change)

    def withdraw(self, name: str, why: str = "", back: bool = False) -> Case:
        """Take a case out of learning, or back into it; its history is kept.

        Raises NoSuchCase; NothingToDo if it is so already.
        """
        word = "taken back" if back else "withdrawn"

        def change(case: Case) -> Case:
            if case.withdrawn is not back:
                last = next((row for row in reversed(case.history) if row.what.startswith("withdrawn")), None)
                told = f", {last.when}: {last.what.removeprefix('withdrawn: ')}" if last and not back else ""
                raise NothingToDo(f"case {name} {'counts' if back else 'is withdrawn'} already{told}")
            row = Change(when=now_text(), what=f"{word}: {why or 'no reason given'}")
            return structs.replace(case, withdrawn=not back, history=[*case.history, row])

        return self._change(name, change)

    def _change_surface(self, name: str, surface: str, change: Callable[[Surface], tuple[Surface, str]]) -> Case:
        def whole(case: Case) -> Case:
            names = [s.name for s in case.piece.surfaces]
            if surface not in names:
                raise NoSuchCase(f"case {name} has no surface {surface[:80]!r}: {nearest(surface, names)}")
            index = names.index(surface)
            new, what = change(case.piece.surfaces[index])
            surfaces = [*case.piece.surfaces[:index], new, *case.piece.surfaces[index + 1 :]]
            piece = structs.replace(case.piece, surfaces=surfaces)
            return structs.replace(case, piece=piece, history=[*case.history, Change(when=now_text(), what=what)])

        return self._change(name, whole)

    def _change(self, name: str, change: Callable[[Case], Case]) -> Case:
        """Read, change and write one case under the lock; an older format is backed up first."""
        self.get(name)
        with self._locked():
            case = change(self.get(name))
            self._back_up(self.path(name))
            self._put(case)
        return case

    def _back_up(self, path: Path) -> None:
        found = format_of(read(path).value)
        if found is not None and found < FORMAT:
            write_whole(self.folder / BACKUP / f"{path.stem}.format-{found}.yaml", read_text(path))

    def _put(self, case: Case) -> None:
        """Write one case file, whole. Only under the lock."""
        write_whole(self.path(case.id), to_yaml(case))

    def _refuse_twin(self, piece: Piece, path: Path) -> Case | None:
        """The case at `path`, None if it cannot be read. Raises KeptAlready if it is of just this piece."""
        with suppress(BadInput):
            case = read_case(path)
            if same(piece, case.piece):
                raise KeptAlready(case, exactly=True)
            return case
        return None

    def _refuse_twice(self, piece: Piece, twin: str | None) -> None:
        """Look at the twin and the cases whose id is made of the same name; faulty ones are passed over."""
        if twin:
            self._refuse_twin(piece, self.path(twin))
        start = slug(piece.piece)
        alike: KeptAlready | None = None
        for path in sorted(self.folder.glob(f"{start}-*.yaml")):
            if path.stem.removeprefix(start).count("-") != TAIL_HYPHENS:
                continue
            case = self._refuse_twin(piece, path)
            if case is not None and alike is None and likely_same(piece, case.piece):
                alike = KeptAlready(case, exactly=False)
        if alike:
            raise alike

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
            with FileLock(self.folder / ".lock", timeout=LOCK_SECONDS, poll_interval=LOCK_LOOKS, mode=0o600):
                yield
        except Timeout:
            raise Busy(f"another oldcoat has held {self.folder} for {LOCK_SECONDS} seconds; try again") from None


def read_case(path: Path) -> Case:
    """The case in a file. Raises BadInput."""
    return case_of(read(path), path.stem)


def case_of(document: Document, name: str) -> Case:
    """A document as a case whose id is its file's name. Raises BadInput."""
    found = format_of(document.value)
    if found is not None and found > FORMAT:
        message = f"this case has format {found}, this program reads up to {FORMAT}"
        raise BadInput([document.problem(("format",), "newer-format", message, "update oldcoat to read it")])
    if found is not None and 0 <= found < FORMAT:
        document = Document(document.path, migrated(document.value, found, name), {(): (1, 1)})
    case = shaped(document, Case)
    if case.format != FORMAT:
        raise BadInput([document.problem(("format",), "no-format", f"there is no format {case.format}")])
    if case.id != name:
        raise BadInput([document.problem(("id",), "other-id", f"the id {case.id} is not the file's name {name}")])
    return case


def _some(names: Sequence[str], most: int = 5) -> str:
    more = len(names) - most
    return ", ".join(names[:most]) + (f" and {more} more" if more > 0 else "")


def _with_ends(new: Surface, old: Surface | None) -> Surface:
    if old is None:
        return new
    return structs.replace(new, confirmed=new.confirmed or old.confirmed, removed=new.removed or old.removed)
