"""Cases out to a folder or an archive and in again; what comes in is not trusted.

An archive is only read, never unpacked: no path of it is ever opened for writing. A
member with a path that leads elsewhere, a link, a device, too much data or an id that
stands there twice condemns the whole archive before anything is taken. Faulty cases are
left out and named; each good one is taken whole, none ever replaces one that is here, and
none is taken that is here under another id.
"""

from __future__ import annotations

import io
import stat
import tarfile
import zipfile
import zlib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path, PurePosixPath
from typing import IO, TYPE_CHECKING, cast

from msgspec import Struct

from ..problems import BadInput, Problem
from ..reading.yamltext import MOST_BYTES, parse
from ..storage import to_yaml, write_whole
from .record import Case, is_id
from .sameness import print_of
from .store import Casebook, KeptAlready, case_of

if TYPE_CHECKING:
    from gzip import GzipFile

MOST_CASES = 20_000
MOST_UNPACKED = 200_000_000  # bytes of all files together, of an archive when unpacked
MOST_MEMBERS = 2 * MOST_CASES
TARS = (".tar", ".tar.gz", ".tgz")
ARCHIVES = (".zip", *TARS)
NO_FOLDERS = (".7z", ".bz2", ".csv", ".gz", ".json", ".rar", ".txt", ".xz", ".yaml", ".yml", ".zst")
MADE = (1980, 1, 1, 0, 0, 0)  # date of every member: equal casebooks give equal archives
_BROKEN = (
    tarfile.TarError,
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    OSError,
    ValueError,
    RuntimeError,
    NotImplementedError,
    OverflowError,
    KeyError,
)

ANOTHER = "if it is another piece: --another"

Progress = Callable[[int, int], None]
Member = tuple[str, bytes]


class Imported(Struct, frozen=True, kw_only=True):
    """What became of each case: taken, here already just so, or refused and why."""

    taken: list[str]
    here: list[str]
    refused: list[Problem]


def export_cases(cases: Iterable[Case], target: Path) -> int:
    """Write cases to a new archive (.zip, .tar.gz) or into a folder; nothing there is replaced.

    Raises BadInput if something is in the way, OSError if it cannot be written.
    """
    members = [(f"{case.id}.yaml", to_yaml(case).encode()) for case in cases]
    if not _is_archive(target):
        in_the_way = [name for name, _ in members if (target / name).exists()]
        if in_the_way or (target.exists() and not target.is_dir()):
            message = "this is in the way: nothing is replaced, nothing was written"
            raise _refused(target / in_the_way[0] if in_the_way else target, "exists", message)
        if target.suffix in NO_FOLDERS and not target.exists():
            message = f"cases go to a folder, or to {', '.join(ARCHIVES)}"
            raise _refused(target, "not-an-archive", message)
        for name, content in members:
            write_whole(target / name, content)
        return len(members)
    if target.exists():
        raise _refused(target, "exists", "this file exists and is not replaced; nothing was written")
    write_whole(target, _zipped(members) if target.suffix == ".zip" else _tarred(members, target))
    return len(members)


def import_cases(
    casebook: Casebook,
    source: Path,
    progress: Progress | None = None,
    here_already: Mapping[bytes, str] | None = None,
) -> Imported:
    """Take the cases of a folder, an archive or one file into the casebook.

    here_already: print (sameness.py) -> id of the cases of the casebook. A case of just the
    same piece as one of them, or as one before it in the source, is refused under another id;
    with None all are taken. Raises BadInput, having taken nothing, for a hostile, broken or
    empty source.
    """
    members = list(_counted(_members(source), source))
    if not members:
        raise _refused(source, "empty", "there is no case in it: a case is a file whose name ends in .yaml")
    prints = None if here_already is None else dict(here_already)
    stems = Counter(PurePosixPath(name).stem for name, _ in members)
    twice = sorted(stem for stem, count in stems.items() if count > 1)
    if twice:
        raise _refused(source, "twice", f"the case {twice[0][:80]!r} stands in it twice")
    taken: list[str] = []
    here: list[str] = []
    refused: list[Problem] = []
    for number, (name, content) in enumerate(members, 1):
        try:
            path = f"{source}/{name}" if name != source.name else str(source)
            case = _case(path, content)
            twin = None if prints is None else prints.setdefault(print_of(case.piece), case.id)
            (taken if casebook.take(case, twin) else here).append(case.id)
        except KeptAlready as error:
            message = f"{error}; this one was left out"
            refused.append(Problem(path=path, code="kept-already", message=message, hint=ANOTHER))
        except BadInput as error:
            refused += error.problems
        if progress:
            progress(number, len(members))
    return Imported(taken=taken, here=here, refused=refused)


def _counted(members: Iterable[Member], source: Path) -> Iterator[Member]:
    """The members, as long as they are not too many or too much."""
    size = 0
    for number, member in enumerate(members, 1):
        size += len(member[1])
        if number > MOST_CASES:
            raise _refused(
                source, "too-many", f"it has more than {MOST_CASES:,} cases, the most that are taken at once"
            )
        if size > MOST_UNPACKED:
            told = f"its cases have more than {MOST_UNPACKED:,} bytes together, the most that are taken at once"
            raise _refused(source, "too-large", told)
        yield member


def _case(path: str, content: bytes) -> Case:
    name = PurePosixPath(path).stem
    if not is_id(name):
        raise _refused(path, "bad-id", f"{name[:80]!r} is not the name of a case")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _refused(path, "not-text", f"byte {error.start} is not UTF-8: this is not a text file") from None
    return case_of(parse(text, path), name)


def _members(source: Path) -> Iterator[Member]:
    """(name, content) of every case file in a source. Raises BadInput."""
    if source.is_dir():
        yield from _folder(source)
    elif not source.is_file():
        raise _refused(source, "no-such-file", "there is no such file or folder")
    elif not _is_archive(source):
        if source.suffix != ".yaml":
            raise _refused(source, "not-an-archive", f"cases come as a folder, .yaml, {', '.join(ARCHIVES)}")
        yield source.name, _limited(source)
    else:
        yield from _unpacked(source)


def _folder(source: Path) -> Iterator[Member]:
    paths = sorted(p for p in source.iterdir() if p.suffix == ".yaml" and not p.name.startswith("."))
    for path in paths:
        if path.is_symlink() or not path.is_file():
            raise _refused(path, "link", "this is a link, a folder or a device, not a case file")
        yield path.name, _limited(path)


def _limited(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return _most(file, path)
    except OSError as error:
        raise _refused(path, "unreadable", f"it cannot be read: {error.strerror or error}") from None


def _most(file: IO[bytes], path: object) -> bytes:
    content = file.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise _refused(path, "too-large", f"a case has at most {MOST_BYTES:,} bytes")
    return content


def _unpacked(source: Path) -> Iterator[Member]:
    try:
        with source.open("rb") as file:
            yield from _from_zip(file, source) if source.suffix == ".zip" else _from_tar(file, source)
    except _BROKEN as error:
        raise _refused(
            source, "broken-archive", f"this archive cannot be read: {str(error)[:200] or error!r}"
        ) from None


def _from_zip(file: IO[bytes], source: Path) -> Iterator[Member]:
    with zipfile.ZipFile(file) as archive:
        rows = archive.infolist()
        if len(rows) > MOST_MEMBERS:
            raise _refused(source, "too-many", f"it has more than {MOST_MEMBERS:,} members, the most that are read")
        if sum(row.file_size for row in rows) > MOST_UNPACKED:
            raise _refused(source, "too-large", f"it unpacks to more than {MOST_UNPACKED:,} bytes")
        for row in rows:
            _check_path(row.orig_filename, source)
            kind = stat.S_IFMT(row.external_attr >> 16)
            if kind not in (0, stat.S_IFREG, stat.S_IFDIR):
                raise _refused(f"{source}/{row.filename}", "link", "this is a link or a device, not a case file")
            if _wanted(row.filename) and not row.is_dir():
                with archive.open(row) as member:
                    yield row.filename, _most(member, f"{source}/{row.filename}")


def _from_tar(file: IO[bytes], source: Path) -> Iterator[Member]:
    """Read as a stream whose length is bounded, whatever its headers claim."""
    import gzip

    stream = file if source.suffix == ".tar" else gzip.GzipFile(fileobj=file)
    with tarfile.open(fileobj=cast(IO[bytes], _Bounded(stream)), mode="r|", errorlevel=2) as archive:
        for number, row in enumerate(archive):
            if number >= MOST_MEMBERS:
                raise _refused(source, "too-many", f"it has more than {MOST_MEMBERS:,} members, the most that are read")
            _check_path(row.name, source)
            if not (row.isreg() or row.isdir()) or row.issparse():
                raise _refused(f"{source}/{row.name}", "link", "this is a link or a device, not a case file")
            if row.size > MOST_BYTES:
                raise _refused(f"{source}/{row.name}", "too-large", f"a case has at most {MOST_BYTES:,} bytes")
            member = archive.extractfile(row) if row.isreg() and _wanted(row.name) else None
            if member is not None:
                yield row.name, _most(member, f"{source}/{row.name}")


class _Bounded:
    """A stream that ends in an error once it has given more than an archive may hold."""

    def __init__(self, stream: IO[bytes] | GzipFile) -> None:
        self._stream = stream
        self._given = 0

    def read(self, size: int) -> bytes:
        """At most `size` bytes."""
        content = self._stream.read(size)
        self._given += len(content)
        if self._given > MOST_UNPACKED:
            raise ValueError(f"it unpacks to more than {MOST_UNPACKED:,} bytes")
        return content


def _check_path(name: str, source: Path) -> None:
    """Refuses a member that would land outside of the folder it is unpacked in, though none is unpacked."""
    path = PurePosixPath(name)
    if not name or path.is_absolute() or ".." in path.parts or any(c in name for c in "\\:\0"):
        raise _refused(f"{source}/{name[:200]!r}", "path", "the path of this member leads out of the archive")


def _wanted(name: str) -> bool:
    path = PurePosixPath(name)
    return path.suffix == ".yaml" and not any(part.startswith(".") for part in path.parts)


def _is_archive(path: Path) -> bool:
    return path.name.endswith(ARCHIVES)


def _zipped(members: Iterable[Member]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members:
            row = zipfile.ZipInfo(name, MADE)
            row.external_attr = (stat.S_IFREG | 0o600) << 16
            archive.writestr(row, content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _tarred(members: Iterable[Member], target: Path) -> bytes:
    import gzip

    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode="w") as archive:
        for name, content in members:
            row = tarfile.TarInfo(name)
            row.size, row.mode = len(content), 0o600
            archive.addfile(row, io.BytesIO(content))
    return out.getvalue() if target.suffix == ".tar" else gzip.compress(out.getvalue(), mtime=0)


def _refused(path: object, code: str, message: str) -> BadInput:
    return BadInput([Problem(path=str(path), code=code, message=message)])
