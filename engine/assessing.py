"""The main job: a piece in, the whole answer out."""

from __future__ import annotations

from .belief.counts import Counts
from .examine import Examination, Examiner
from .knowledge.base import Knowledge
from .piece.form import Piece
from .planning.plan import plan
from .report.assessment import Assessment
from .report.sisters import odd_ones
from .report.told import assembled


def assess(
    piece: Piece,
    knowledge: Knowledge,
    counts: Counts | None = None,
    examiner: Examiner | None = None,
    done: list[Examination] | None = None,
) -> Assessment:
    """Everything that is to be said of a piece; same input, same output. `done`: its surfaces, if examined already.

    Raises BadYears or KeyError for a piece that no reader has checked against this knowledge.
    """
    if done is None:
        done = examine_all(piece, examiner or Examiner(knowledge, counts))
    return assembled(piece, plan(piece, done, knowledge), knowledge, odd_ones(done, knowledge))


def examine_all(piece: Piece, examiner: Examiner) -> list[Examination]:
    """Each surface of the piece, in order."""
    return [examiner.examine(piece, surface) for surface in piece.surfaces]
