"""What the user's cases do to an answer: beside the book alone, and traced to the cases."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct, structs

from .app import App

if TYPE_CHECKING:
    from ..engine.examine import Examination
    from ..engine.explain import Because
    from ..engine.piece.form import Piece

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


def from_cases(app: App, piece: Piece, done: Examination, about: str | None, reason: Because, differ: bool) -> Because:
    """The explanation with what the casebook has to say to it: changed rows, similar cases, the difference made."""
    if not app.places.cases.is_dir():
        return reason
    from ..engine.explain import Because

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
    from ..engine.explain import Because

    tables, lessons = app.examiner.tables, app.index.lessons()
    chances = done.posterior.finishes
    order = sorted(chances, key=lambda f: (-chances[f], f))
    if about in app.knowledge.removers:
        traces = trace_removals(str(about), order[:4], tables, lessons)
    else:
        traces = trace_examination(done, [about] if about else order[:2], tables, lessons)
    rows = because_of(traces)
    rows += because_similar(similar(piece, done.surface, app.index.faces()), app.knowledge)
    return [*rows, Because(text=told_counts(tables.counts, app.knowledge))] if rows else []
