"""What one confirmed surface teaches: weighted counts, traceable to the case.

A confirmed surface adds, for each answered test, its weight to (finish, test, outcome).
The weight is how well the truth is known (belief.yaml, `learn`), less for an answer that
was not sure, and less where wax or grime probably spoiled the test. A removal adds to
the patch of that remover. Contexts of the prior share the case by how well they fit.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import cast

from msgspec import Struct, structs

from ..belief.counts import Counts
from ..belief.evidence import evidence_of
from ..belief.posterior import Model
from ..belief.prior import Prior, Setting, prior
from ..belief.tables import Tables
from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..knowledge.entries import EFFECTS
from ..piece.form import NOT_DONE, Answer, Confirmed, Known, Piece, Surface
from ..piece.years import BadYears, parse_years
from .record import Case

RESULT_TO_EFFECT = {"lifts": "lifts", "softens": "softens", "no-effect": "no-effect"}


class Lesson(Struct, frozen=True, kw_only=True):
    """One confirmed surface: where it is from and what it adds.

    seen: (test, outcome, weight); contexts: (context id, weight) for the maker's prior.
    """

    case: str
    surface: str
    finish: str
    how: str
    seen: list[tuple[str, str, float]]
    contexts: list[tuple[str, float]]


def lessons_of(case: Case, tables: Tables) -> list[Lesson]:
    """What a case teaches; nothing if it was withdrawn or nothing in it is confirmed."""
    if case.withdrawn:
        return []
    known = tables.knowledge.finishes
    confirmed = [s for s in case.piece.surfaces if s.confirmed and s.confirmed.finish in known]
    return [_lesson(case, understood(surface, tables.knowledge), tables) for surface in confirmed]


def understood(surface: Surface, knowledge: Knowledge) -> Surface:
    """The surface without answers and removers that this knowledge does not have."""
    tests = {t: a for t, a in surface.tests.items() if _outcome(a) in [*knowledge.outcomes_of(t), NOT_DONE]}
    tried = [t for t in surface.tried if t.remover in knowledge.removers]
    removed = [r for r in surface.removed if r.remover in knowledge.removers]
    return structs.replace(surface, tests=tests, tried=tried, removed=removed)


def _outcome(answer: str | Answer) -> str:
    return answer if isinstance(answer, str) else answer.outcome


def counts_of(lessons: Iterable[Lesson]) -> Counts:
    """All lessons added up."""
    seen: dict[str, dict[str, dict[str, float]]] = {}
    makers: dict[str, dict[str, float]] = {}
    cases: dict[str, int] = {}
    for lesson in lessons:
        cases[lesson.finish] = cases.get(lesson.finish, 0) + 1
        for test, outcome, weight in lesson.seen:
            row = seen.setdefault(lesson.finish, {}).setdefault(test, {})
            row[outcome] = row.get(outcome, 0.0) + weight
        for context, weight in lesson.contexts:
            shares = makers.setdefault(context, {})
            shares[lesson.finish] = shares.get(lesson.finish, 0.0) + weight
    return Counts(seen, makers, cases)


def setting_of(piece: Piece, surface: Surface, this_year: int | None = None) -> Setting:
    """The context of a surface, for the prior."""
    try:
        years = parse_years(piece.made, this_year)
    except BadYears:
        years = None
    return Setting(
        years=years, region=piece.region, style=piece.style, kind=piece.kind, wood=surface.wood, now=this_year
    )


def _lesson(case: Case, surface: Surface, tables: Tables) -> Lesson:
    truth = cast(Confirmed, surface.confirmed)
    weight = tables.belief.learn[truth.how]
    start = prior(setting_of(case.piece, surface), tables.knowledge)
    clean = _clean(surface, truth.finish, tables, start)
    seen = [*_answers(surface, weight, clean, tables), *_removals(surface, weight, truth.finish, tables)]
    original = start.joint[truth.finish][0] / sum(start.joint[truth.finish])
    contexts = [(name, weight * share * original) for name, share in start.contexts]
    return Lesson(case=case.id, surface=surface.name, finish=truth.finish, how=truth.how, seen=seen, contexts=contexts)


def _clean(surface: Surface, finish: str, tables: Tables, start: Prior) -> float:
    """Chance that nothing lay over the film, given the answers and the truth."""
    model = Model(tables, start, Known(finish=finish, how="laboratory"))
    return model.posterior(evidence_of(surface, tables.knowledge)).contamination.get("clean", 1.0)


def _answers(surface: Surface, weight: float, clean: float, tables: Tables) -> Iterable[tuple[str, str, float]]:
    for test, given in surface.tests.items():
        answer = given if isinstance(given, Answer) else Answer(outcome=given)
        if answer.outcome == NOT_DONE:
            continue
        entry = tables.knowledge.tests.get(test)
        spoiled = clean if entry is not None and entry.masked_by else 1.0
        yield test, answer.outcome, weight * spoiled * (1.0 if answer.sure else tables.belief.unsure_keeps)


def _removals(surface: Surface, weight: float, finish: str, tables: Tables) -> Iterable[tuple[str, str, float]]:
    for row in surface.removed:
        test = f"{PATCH_PREFIX}{row.remover}"
        if row.result in RESULT_TO_EFFECT:
            yield test, RESULT_TO_EFFECT[row.result], weight
        elif row.result == "works":
            book = tables.base_row(test, finish) or dict.fromkeys(EFFECTS, 1.0)
            whole = book["dissolves"] + book["lifts"]
            for effect in ("dissolves", "lifts"):
                yield test, effect, weight * book[effect] / whole
