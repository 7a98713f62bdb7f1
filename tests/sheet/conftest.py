"""Pages of the demo pieces (invented, as they say themselves), made once."""

from __future__ import annotations

from pathlib import Path

import pytest

from oldcoat import cases
from oldcoat.engine import Examiner, assess, read_piece
from oldcoat.engine.assessment import Assessment
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Piece
from oldcoat.shell.sheet.sheet import sheet

from .markup import Page

DEMOS = sorted((Path(cases.__file__).parent / "demo").glob("*.yaml"))


class Made:
    """A piece, what is said of it, and its page."""

    def __init__(self, piece: Piece, answer: Assessment, knowledge: Knowledge) -> None:
        self.piece, self.answer, self.knowledge = piece, answer, knowledge
        self.html = sheet(answer, piece, knowledge)
        self.page = Page(self.html)


@pytest.fixture(scope="session", params=DEMOS, ids=lambda path: path.stem)
def made(request: pytest.FixtureRequest, knowledge: Knowledge, examiner: Examiner) -> Made:
    """Each demo piece in turn."""
    piece = read_piece(request.param, knowledge)
    return Made(piece, assess(piece, knowledge, examiner=examiner), knowledge)
