"""The shipped reference cases, read as cases, so that they are scored like a user's own."""

from __future__ import annotations

from pathlib import Path

from ..piece.form import Piece
from ..reading.shape import shaped
from ..reading.yamltext import read
from .record import FORMAT, Case

FOLDER = Path(__file__).resolve().parents[2] / "cases" / "reference"


def reference_cases(folder: Path = FOLDER) -> list[Case]:
    """Every reference case; what this knowledge does not know of them is left out later. Raises BadInput."""
    pieces = [(path.stem, shaped(read(path), Piece)) for path in sorted(folder.glob("*.yaml"))]
    return [Case(format=FORMAT, id=name, added="", piece=piece) for name, piece in pieces]
