"""The nearest confirmed surfaces and how they ended: evidence that a person trusts.

The score is plain enough to check by hand: one point for each answer that agrees, one
off for each that differs, one for the same wood, one for years that overlap. Ties go
to the case whose truth is better known, then by id.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import get_args

from msgspec import Struct

from ..belief.evidence import RESULT_EFFECTS
from ..knowledge.base import PATCH_PREFIX
from ..piece.form import NOT_DONE, UNKNOWN, How, Piece, Removed, Surface, told_outcome
from ..piece.years import BadYears, Periods, Years, parse_years
from .record import Case

TRUST = get_args(How)


class Face(Struct, frozen=True, array_like=True):
    """What of a confirmed surface is compared, and how it ended."""

    case: str
    piece: str
    surface: str
    finish: str
    how: str
    wood: str
    made: int | str
    answers: dict[str, str]
    removed: list[Removed]


class Likeness(Struct, frozen=True, kw_only=True):
    """One similar surface: its score, what it rests on, and how it ended.

    score: a point for each answer that is the same, one off for each that is not, one each for wood and years.
    """

    case: str
    piece: str
    surface: str
    score: int
    same: list[str]
    other: list[str]
    same_wood: bool
    same_years: bool
    finish: str
    how: str
    removed: list[Removed]


def faces_of(case: Case) -> list[Face]:
    """The confirmed surfaces of a case; none if it was withdrawn."""
    if case.withdrawn:
        return []
    return [_face(case.id, case.piece, s) for s in case.piece.surfaces if s.confirmed]


def similar(
    piece: Piece, surface: Surface, faces: Iterable[Face], periods: Periods | None = None, most: int = 5
) -> list[Likeness]:
    """The surfaces most like this one that share at least one answer, best first; `periods` as in parse_years."""
    mine = _face("", piece, surface)
    found = [_likeness(mine, face, periods) for face in faces if face.answers.keys() & mine.answers.keys()]
    found = [row for row in found if row.same and row.score > 0]
    return sorted(found, key=lambda r: (-r.score, TRUST.index(r.how), r.case, r.surface))[:most]


def tally(likenesses: Sequence[Likeness]) -> list[tuple[str, int]]:
    """(finish, number of the similar surfaces that turned out so), most first."""
    finishes = [row.finish for row in likenesses]
    return sorted(((f, finishes.count(f)) for f in set(finishes)), key=lambda pair: (-pair[1], pair[0]))


def _face(case: str, piece: Piece, surface: Surface) -> Face:
    truth = surface.confirmed
    return Face(
        case,
        piece.piece,
        surface.name,
        truth.finish if truth else "",
        truth.how if truth else "",
        surface.wood,
        piece.made,
        _seen(surface),
        surface.removed,
    )


def _seen(surface: Surface) -> dict[str, str]:
    """Answers that say something; a try counts as its patch where the result is one of a patch's."""
    seen: dict[str, str] = {
        f"{PATCH_PREFIX}{t.remover}": t.result for t in surface.tried if t.result in RESULT_EFFECTS["works"]
    }
    for test, given in surface.tests.items():
        outcome = told_outcome(given)
        if outcome != NOT_DONE:
            seen[test] = outcome
    return seen


def _years(made: int | str, periods: Periods | None) -> Years | None:
    """Years of making; unknown where the words mean nothing here, as in a case from another workshop."""
    try:
        return parse_years(made, None, periods)
    except BadYears:
        return None


def _likeness(mine: Face, face: Face, periods: Periods | None) -> Likeness:
    shared = sorted(mine.answers.keys() & face.answers.keys())
    same = [test for test in shared if mine.answers[test] == face.answers[test]]
    wood = mine.wood == face.wood != UNKNOWN
    ours, theirs = _years(mine.made, periods), _years(face.made, periods)
    years = bool(ours and theirs and ours[0] <= theirs[1] and theirs[0] <= ours[1])
    return Likeness(
        case=face.case,
        piece=face.piece,
        surface=face.surface,
        score=2 * len(same) - len(shared) + wood + years,
        same=same,
        other=[test for test in shared if test not in same],
        same_wood=wood,
        same_years=years,
        finish=face.finish,
        how=face.how,
        removed=face.removed,
    )
