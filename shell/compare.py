"""What the user's cases do to an answer: beside the book alone, and traced to the cases."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct, structs

from .app import App

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..engine.examine import Examination
    from ..engine.piece.form import Piece
    from ..engine.report.explain import Because

NOTABLE = 0.05  # a chance that the cases moved by less is not remarked upon
SHOWN = 0.02  # chances below this on both sides are not compared


class Difference(Struct, frozen=True, kw_only=True):
    """One chance by the book alone and with the cases."""

    surface: str
    finish: str
    book_alone: float
    with_casebook: float


def differences(app: App, piece: Piece) -> list[Difference]:
    """Every chance that matters, by the book alone and with the casebook."""
    from ..engine import Examiner

    learnt, book = Examiner(app.knowledge, app.index.counts()), Examiner(app.knowledge)
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


def moved_by_cases(app: App, piece: Piece, done: Sequence[Examination]) -> list[Moved]:
    """The surfaces whose first finish the casebook moved notably, or put there."""
    if not app.uses_casebook or not app.examiner.counts.cases:
        return []
    from ..engine import Examiner
    from ..engine.casebook.trace import trace_examination

    book, lessons = Examiner(app.knowledge), app.index.lessons()
    found = []
    for ours in done:
        alone, top = book.examine(piece, ours.surface).posterior, ours.posterior.top
        p, without = ours.posterior.finishes[top], alone.finishes[top]
        if alone.top != top or abs(p - without) >= NOTABLE:
            traces = trace_examination(ours, list(dict.fromkeys([top, alone.top])), app.examiner.tables, lessons)
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


def from_cases(app: App, piece: Piece, done: Examination, about: str | None, reason: Because, differ: bool) -> Because:
    """The explanation with what the casebook has to say to it: changed rows, similar cases, the difference made."""
    if not app.places.cases.is_dir():
        return reason
    from ..engine.report.explain import Because

    rows = [*reason.rests_on]
    if app.with_casebook:
        rows += _traced(app, piece, done, about)
    elif differ:
        changed = [d for d in differences(app, piece) if d.surface == done.surface.name]
        told = [
            Because(
                text=f"{app.knowledge.finishes[d.finish].name}: book alone {d.book_alone:.0%}, with your cases {d.with_casebook:.0%}"
            )
            for d in changed
        ]
        rows.append(Because(text="what your cases would change", rests_on=told))
    return structs.replace(reason, rests_on=rows)


def _traced(app: App, piece: Piece, done: Examination, about: str | None) -> list[Because]:
    from ..engine.casebook.similar import similar
    from ..engine.casebook.trace import because_of, because_similar, told_counts, trace_examination, trace_removals
    from ..engine.report.explain import Because

    tables, lessons = app.examiner.tables, app.index.lessons()
    chances = done.posterior.finishes
    order = sorted(chances, key=lambda f: (-chances[f], f))
    if about in app.knowledge.removers:
        traces = trace_removals(str(about), order[:4], tables, lessons)
    else:
        traces = trace_examination(done, [about] if about in app.knowledge.finishes else order[:2], tables, lessons)
    rows = because_of(traces)
    periods = app.knowledge.vocabulary.periods
    rows += because_similar(similar(piece, done.surface, app.index.faces(), periods), app.knowledge)
    return [*rows, Because(text=told_counts(tables.counts, app.knowledge))] if rows else []
