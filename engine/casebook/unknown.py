"""What a case names and this knowledge does not have: slips of a hand-edited file, or knowledge that was not given."""

from __future__ import annotations

from pathlib import Path

from ..knowledge.base import Knowledge
from ..piece.form import Piece
from ..piece.reader import mistakes
from ..problems import BadInput, Problem
from ..reading.yamltext import Document, read
from .record import Case, format_of

NOWHERE = Document("", None, {})


def unknown_in(case: Case, path: Path, knowledge: Knowledge) -> list[Problem]:
    """Every id or year in a case that makes no sense with this knowledge, at its line; none for a withdrawn case.

    `path`: the file of the case, read again only if there is something to tell.
    """
    if case.withdrawn or not any(mistakes(NOWHERE, case.piece, knowledge)):
        return []
    try:
        whole = read(path)
    except BadInput as error:
        return list(error.problems)
    return list(mistakes(whole.within("piece") if format_of(whole.value) else whole, case.piece, knowledge))


def missing_truths(piece: Piece, knowledge: Knowledge) -> list[str]:
    """The finishes that its surfaces are confirmed as and that this knowledge does not have."""
    return [s.confirmed.finish for s in piece.surfaces if s.confirmed and s.confirmed.finish not in knowledge.finishes]
