"""Pages of the demo pieces (invented, as they say themselves), made once."""

from __future__ import annotations

from pathlib import Path

import pytest

from oldcoat import cases
from oldcoat.engine import Examiner, assess, parse_piece, read_piece
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Piece
from oldcoat.engine.report.assessment import Assessment
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


LONG = "Topofthecabinetwithaverylongunbrokennamethatgoesonandonandonandonandonwithoutasinglespaceanywhereinit"
CROWDED = f"""
piece: "<script>alert(1)</script> {LONG}"
made: 1900-1920
kind: cabinet
place: uk
next_coat: toner
surfaces:
  - {{name: {LONG}, wood: mahogany, build: solid, tests: {{alcohol-drop: dissolves-fast}}, stains: [{{kind: black-ring}}]}}
  - {{name: "left side & <b>bold</b>", wood: mahogany, build: veneer, tests: {{alcohol-drop: no-effect, lacquer-thinner-drop: dissolves}}}}
  - {{name: right side, wood: oak, build: solid, known: {{finish: shellac, how: laboratory}},
     stains: [{{kind: organic, tried: {{enzyme-wash: 3, chlorine-bleach: 3}}}}], repairs: [joints-loose, filler]}}
  - {{name: "doors\u202ereversed", wood: walnut, build: veneer, veneer_mm: 0.5, stains: [{{kind: white-bloom}}]}}
  - {{name: drawer fronts of the lower half with the stringing and the brass, wood: satinwood, build: veneer,
     features: [inlay, metal-inlay], tests: {{alcohol-drop: dissolves-fast}}}}
  - {{name: plinth, wood: pine, build: solid, tests: {{alcohol-drop: no-effect, lacquer-thinner-drop: dissolves}}}}
  - {{name: cornice, wood: mahogany, build: solid, tests: {{alcohol-drop: dissolves-fast}}, stains: [{{kind: mould}}]}}
  - {{name: inside of the doors, wood: cedar, build: solid, hidden: true}}
  - {{name: back, wood: pine, build: solid, hidden: true}}
parts:
  - {{label: D1-{LONG}, what: door, surface: right side, matched: true, screws: [{{count: 6, mm: 20, holes: upper hinge}}]}}
"""


@pytest.fixture(scope="session")
def crowded(knowledge: Knowledge, examiner: Examiner) -> Made:
    """Nine invented surfaces with hostile and unbroken names, and much to do on them."""
    piece = parse_piece(CROWDED, "invented.yaml", knowledge)
    return Made(piece, assess(piece, knowledge, examiner=examiner), knowledge)
