"""A piece without what the knowledge at hand does not know."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec.structs import replace

from ..knowledge.base import PATCH_PREFIX, Knowledge
from .form import NOT_DONE, Piece, StainSeen, Surface, told_outcome


def set_aside(piece: Piece, book: Knowledge) -> tuple[Piece, tuple[str, ...]]:
    """The piece without tests, outcomes, removers, stains, treatments, finishes, woods and coats that are not in the book.

    With it their names, in the order in which they were met; the piece itself if there are none.
    """
    gone: dict[str, None] = {}
    surfaces = [_surface(surface, book, gone) for surface in piece.surfaces]
    coat = piece.next_coat if _known(piece.next_coat, book.recoat.coats, gone) else None
    return (replace(piece, surfaces=surfaces, next_coat=coat), tuple(gone)) if gone else (piece, ())


def knows_answer(test: str, outcome: str, book: Knowledge) -> bool:
    """Whether a test is in the book and may have this outcome."""
    allowed = book.outcomes_of(test)
    return bool(allowed) and (outcome == NOT_DONE or outcome in allowed)


def _surface(here: Surface, book: Knowledge, gone: dict[str, None]) -> Surface:
    tests = {test: answer for test, answer in here.tests.items() if knows_answer(test, told_outcome(answer), book)}
    gone |= dict.fromkeys(test.removeprefix(PATCH_PREFIX) for test in here.tests if test not in tests)
    return replace(
        here,
        tests=tests,
        tried=[t for t in here.tried if _known(t.remover, book.removers, gone)],
        removed=[r for r in here.removed if _known(r.remover, book.removers, gone)],
        stains=[_treated(s, book, gone) for s in here.stains if _known(s.kind, book.stains, gone)],
        known=here.known if here.known and _known(here.known.finish, book.finishes, gone) else None,
        confirmed=here.confirmed if here.confirmed and _known(here.confirmed.finish, book.finishes, gone) else None,
        under=here.under if _known(here.under, book.finishes, gone) else None,
        wood=here.wood if _known(here.wood, [*book.woods, "unknown"], gone) else "unknown",
        next_coat=here.next_coat if _known(here.next_coat, book.recoat.coats, gone) else None,
    )


def _treated(stain: StainSeen, book: Knowledge, gone: dict[str, None]) -> StainSeen:
    return replace(stain, tried={t: n for t, n in stain.tried.items() if _known(t, book.treatments, gone)})


def _known(name: str | None, names: Iterable[str] | Mapping[str, object], gone: dict[str, None]) -> bool:
    """Whether the book knows a name; one that it does not is taken down in `gone`."""
    if name is None or name in names:
        return True
    gone[name] = None
    return False
