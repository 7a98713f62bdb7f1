"""A session's piece as a piece file that `assess` reads with the same result."""

from __future__ import annotations

from itertools import count
from pathlib import Path

from ..piece.form import Piece
from ..storage import to_yaml, write_whole


def export(piece: Piece, path: Path, before: Piece | None = None) -> Path | None:
    """Write the piece in one step. Raises OSError.

    before: the piece that we believe to stand in the file. Anything else that stands
    there, comments included, is first kept beside it; its place is returned.
    """
    text = to_yaml(piece).encode()
    old = path.read_bytes() if path.is_file() else None
    ours = old in (None, text) or (before is not None and old == to_yaml(before).encode())
    aside = None if ours or old is None else _free(path)
    if aside is not None and old is not None:
        write_whole(aside, old)
    write_whole(path, text)
    return aside


def _free(path: Path) -> Path:
    """A name beside `path` that is not taken."""
    names = (path.with_name(f"{path.name}.before{number or ''}") for number in count())
    return next(name for name in names if not name.exists())
