"""Using everything in a knowledge base once, so that what breaks the work breaks it here.

The types and the references are checked already; this finds the rest, such as a band
without a number, whichever way it would fail.
"""

from __future__ import annotations

from typing import get_args, get_type_hints

import msgspec

from ..assessing import assess
from ..casebook.learn import Teacher
from ..casebook.record import Case
from ..examine import Examiner
from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..piece.form import Answer, Confirmed, How, Known, Piece, StainSeen, Surface

TASTES = get_args(get_type_hints(Piece)["prefer"])


def try_out(knowledge: Knowledge) -> None:
    """Assess invented pieces that name every test, stain, wood and taste. Raises whatever goes wrong."""
    examiner = Examiner(knowledge)
    for tables in (examiner.tables, examiner.flatter, examiner.sharper):
        for test in (*knowledge.tests, *(f"{PATCH_PREFIX}{remover}" for remover in knowledge.removers)):
            tables.likelihood(test)
            tables.origin_likelihood(test)
    for taste in TASTES:
        bare = Piece(piece="trial", surfaces=[Surface(name="bare question")], prefer=taste)
        msgspec.json.encode(assess(bare, knowledge, examiner=examiner))
    piece = _piece(knowledge)
    msgspec.json.encode(assess(piece, knowledge, examiner=examiner))
    Teacher(examiner.tables).lessons(Case(format=1, id="trial", added="", piece=piece))


def _piece(knowledge: Knowledge) -> Piece:
    """An invented piece: everything at once, each way of knowing a finish, every wood."""
    finish = min(knowledge.finishes)
    answers: dict[str, str | Answer] = {test: entry.outcomes[0].id for test, entry in knowledge.tests.items()}
    surfaces = [Surface(name="all", tests=answers, stains=[StainSeen(kind=stain) for stain in knowledge.stains])]
    surfaces += [
        Surface(name=how, known=Known(finish=finish, how=how), confirmed=Confirmed(finish=finish, how=how))
        for how in get_args(How)
    ]
    surfaces += [Surface(name=f"of {wood}", wood=wood, build="veneer") for wood in knowledge.woods]
    return Piece(piece="trial", made=1930, surfaces=surfaces)
