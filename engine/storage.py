"""Writing files that survive: whole or not at all, on the disk before we say so, private.

A new text is written beside the old one, forced to disk, put in its place in one step,
and the folder is forced to disk too. A kill at any point leaves the old file or the new.
"""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path
from typing import Any

import msgspec
import yaml


def make_private(folder: Path) -> None:
    """Create a folder, and those above it, for this user only."""
    if not folder.is_dir():
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)


def write_whole(path: Path, text: str) -> None:
    """Put `text` in the file at `path` in one step. Raises OSError, leaving what was there."""
    make_private(path.parent)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}-", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(text.encode("utf-8"))
            file.flush()
            os.fsync(file.fileno())
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
        os.write(handle, line.encode("utf-8") + b"\n")
        os.fsync(handle)
    finally:
        os.close(handle)
    if new:
        sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Force a folder's list of names to disk, where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def to_yaml(value: Any) -> str:
    """A typed value as YAML text that `reading.yamltext` reads back the same."""
    plain = msgspec.to_builtins(value)
    return yaml.safe_dump(plain, sort_keys=False, allow_unicode=True, default_flow_style=False, width=100)
