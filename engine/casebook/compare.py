"""What the user's cases do to an answer: beside the book alone, and traced to the cases."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from ..belief.tables import Tables
from ..examine import Examination, Examiner
from ..knowledge.base import Knowledge
from ..piece.form import Piece
from ..report.explain import Because
from .learn import Lesson
from .similar import Face, similar
from .trace import because_of, because_similar, told_counts, trace_examination, trace_removals

NOTABLE = 0.05  # a chance that the cases moved by less is not remarked upon
SHOWN = 0.02  # chances below this on both sides are not compared


class Difference(Struct, frozen=True, kw_only=True):
    """One chance by the book alone and with the cases."""

    surface: str
    finish: str
    book_alone: float
    with_casebook: float


def differences(piece: Piece, learnt: Examiner, book: Examiner) -> list[Difference]:
    """Every chance that matters, by the book alone and with the casebook; the likeliest with it first."""
    found = []
    for surface in piece.surfaces:
        ours = learnt.examine(piece, surface).posterior.finishes
        theirs = book.examine(piece, surface).posterior.finishes
        found += [
            Difference(surface=surface.name, finish=f, book_alone=theirs[f], with_casebook=ours[f])
            for f in sorted(ours, key=lambda f: (-ours[f], f))
            if max(ours[f], theirs[f]) >= SHOWN
        ]
    return found


class Moved(Struct, frozen=True, kw_only=True):
    """What the user's cases did to the finish that stands first on one surface; `first_without`: what stood there."""

    surface: str
    finish: str
    cases: int
    p: float
    without: float
    first_without: str


def moved_by_cases(
    piece: Piece, done: Iterable[Examination], learnt: Examiner, lessons: Sequence[Lesson]
) -> list[Moved]:
    """The surfaces whose first finish the casebook moved notably, or put there; `done`: examined by `learnt`."""
    book, found = Examiner(learnt.knowledge), []
    for ours in done:
        alone, top = book.examine(piece, ours.surface).posterior, ours.posterior.top
        p, without = ours.posterior.finishes[top], alone.finishes[top]
        if alone.top != top or abs(p - without) >= NOTABLE:
            traces = trace_examination(ours, list(dict.fromkeys([top, alone.top])), learnt.tables, lessons)
            cases = {seen.case for trace in traces for seen in trace.cases}
            found.append(
                Moved(
                    surface=ours.surface.name,
                    finish=top,
                    cases=len(cases),
                    p=p,
                    without=without,
                    first_without=alone.top,
                )
            )
    return found


def because_of_cases(
    piece: Piece, done: Examination, about: str | None, tables: Tables, lessons: Sequence[Lesson], faces: Sequence[Face]
) -> list[Because]:
    """What the casebook has to say to an explanation: changed rows, similar cases, how much it weighs.

    about: the finish or remover that is explained; None for the ranking.
    """
    knowledge, chances = tables.knowledge, done.posterior.finishes
    order = sorted(chances, key=lambda f: (-chances[f], f))
    if about in knowledge.removers:
        traces = trace_removals(str(about), order[:4], tables, lessons)
    else:
        traces = trace_examination(done, [about] if about in knowledge.finishes else order[:2], tables, lessons)
    rows = because_of(traces)
    rows += because_similar(similar(piece, done.surface, faces, knowledge.vocabulary.periods), knowledge)
    return [*rows, Because(text=told_counts(tables.counts, knowledge))] if rows else []


def because_different(rows: Iterable[Difference], surface: str, knowledge: Knowledge) -> Because:
    """What the cases would change on one surface, as one line of an explanation with a line for each finish."""
    told = [
        f"{knowledge.finishes[d.finish].name}: book alone {d.book_alone:.0%}, with your cases {d.with_casebook:.0%}"
        for d in rows
        if d.surface == surface
    ]
    return Because(text="what your cases would change", rests_on=[Because(text=text) for text in told])
