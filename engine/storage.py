"""Writing files that survive: whole or not at all, on the disk before we say so, private.

A new text is written beside the old one, forced to disk, put in its place in one step,
and the folder is forced to disk too. A kill at any point leaves the old file or the new.
"""

from __future__ import annotations

import contextlib
import errno
import os
import tempfile
from decimal import Decimal
from pathlib import Path
from typing import Any

import msgspec
import yaml

PART = ".part"  # ends the name of a file that is not finished; no reader looks at one


def make_private(folder: Path) -> None:
    """Create a folder, and those above it, for this user only. Raises OSError."""
    if not folder.is_dir():
        if folder.parent != folder:
            make_private(folder.parent)
        folder.mkdir(exist_ok=True, mode=0o700)


def write_whole(path: Path, content: str | bytes) -> None:
    """Put `content` in the file at `path` in one step.

    Raises OSError, leaving what was there; only if the very last step fails, that of
    forcing the folder to disk, the new content may stand there already, whole.
    """
    make_private(path.parent)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}-", suffix=PART)
    try:
        try:
            _write_all(handle, content.encode("utf-8") if isinstance(content, str) else content)
            os.fsync(handle)
        finally:
            os.close(handle)
        Path(name).replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise
    sync_folder(path.parent)


def append_line(path: Path, line: str) -> None:
    """Add one line at the end and force it to disk. Raises OSError."""
    new = not path.exists()
    if new:
        make_private(path.parent)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    try:
        _write_all(handle, line.encode("utf-8") + b"\n")
        os.fsync(handle)
    finally:
        os.close(handle)
    if new:
        sync_folder(path.parent)


def _write_all(handle: int, content: bytes) -> None:
    """All of it: the system may take less than it was given, as on a disk that is nearly full."""
    left = memoryview(content)
    while left:
        left = left[os.write(handle, left) :]


def sync_folder(folder: Path) -> None:
    """Force a folder's list of names to disk, where the system can. Raises OSError if the disk fails."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except (PermissionError, IsADirectoryError):
        return  # a system on which a folder cannot be opened
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP, errno.EBADF):
            raise
    finally:
        os.close(handle)


class _Dumper(yaml.CSafeDumper):
    """Writes what `reading.yamltext` reads: no aliases, no exponents."""

    def ignore_aliases(self, _data: Any) -> bool:
        """Equal values are written out each time."""
        return True


def _fixed(dumper: _Dumper, value: float) -> yaml.ScalarNode:
    text = f"{Decimal(repr(value)):.18f}".rstrip("0")
    return dumper.represent_scalar("tag:yaml.org,2002:float", text + "0" if text.endswith(".") else text)


_Dumper.add_representer(float, _fixed)


def to_yaml(value: Any) -> str:
    """A typed value as YAML text that `reading.yamltext` reads back the same."""
    plain = msgspec.to_builtins(value)
    text = yaml.dump(plain, Dumper=_Dumper, sort_keys=False, allow_unicode=True, default_flow_style=False, width=100)
    return str(text)
