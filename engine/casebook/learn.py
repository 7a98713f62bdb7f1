"""What one confirmed surface teaches: weighted counts, traceable to the case.

For each answer, try and removal the lesson holds how likely each outcome is to have
come from the film itself, times how well the truth is known (belief.yaml, `learn`):

    w(o) = learn x keeps x share of o that the film makes, given truth and all answers

An answer that wax or grime made, an answer that was not sure, a result told in plain
words ("works") and a finish known only by opinion all count for less than one. The
contexts of the prior share the case in the same way: P(context | finish, origin).

Weights are multiples of 2^-20, so sums of them are exact in any order and a case can be
taken out again without a trace.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import cast

from msgspec import Struct, structs

from ..belief.counts import Counts
from ..belief.evidence import Evidence, evidence_of
from ..belief.posterior import Model, Posterior
from ..belief.prior import Candidates, Prior, Setting, candidates, prior, responsible, shares_under
from ..belief.tables import Tables
from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..piece.form import NOT_DONE, Confirmed, Known, Piece, Removed, Surface, Tried, told_outcome
from ..piece.years import BadYears, parse_years
from .record import Case

GRAIN = 2.0**20


class Lesson(Struct, frozen=True, array_like=True):
    """One confirmed surface: where it is from and what it adds.

    seen: (test, outcome, weight); contexts: (context id, weight) of makers and owners;
    weight: how much it counts; expected: (finish, weight that the book expected).
    """

    case: str
    surface: str
    finish: str
    how: str
    seen: list[tuple[str, str, float]]
    contexts: list[tuple[str, float]]
    weight: float
    expected: list[tuple[str, float]]


class Teacher:
    """Makes lessons under one knowledge; priors of settings that repeat are worked out once."""

    def __init__(self, tables: Tables) -> None:
        self.tables = tables
        self._shares = shares_under(tables.knowledge)
        self._priors: dict[Setting, Prior] = {}
        self._candidates: dict[Setting, Candidates] = {}

    def lessons(self, case: Case) -> list[Lesson]:
        """What a case teaches; nothing if it was withdrawn or nothing in it is confirmed."""
        if case.withdrawn:
            return []
        return [self._lesson(case, surface) for surface in confirmed(case, self.tables.knowledge)]

    def prior(self, setting: Setting) -> Prior:
        """The book's prior of a setting."""
        if setting not in self._priors:
            self._priors[setting] = prior(setting, self.tables.knowledge, self._shares)
        return self._priors[setting]

    def _rows(self, setting: Setting) -> Candidates:
        if setting not in self._candidates:
            self._candidates[setting] = candidates(setting, self.tables.knowledge, self._shares)
        return self._candidates[setting]

    def _lesson(self, case: Case, surface: Surface) -> Lesson:
        truth = cast(Confirmed, surface.confirmed)
        weight = self.tables.belief.learn[truth.how]
        setting = setting_of(case.piece, surface)
        start = self.prior(setting)
        model = Model(self.tables, start, Known(finish=truth.finish, how="laboratory"))
        left = model.posterior(evidence_of(surface, self.tables.knowledge))
        seen = [
            (item.test, outcome, grained(weight * share))
            for item in evidence_of(_ended(surface), self.tables.knowledge)
            for outcome, share in film_shares(item, truth.finish, left, self.tables)
        ]
        contexts = responsible(self._rows(setting), truth.finish, left.origins["original"])
        kept = [(name, grained(weight * share)) for name, share in contexts]
        expected = [(name, grained(weight * sum(row))) for name, row in start.joint.items()]
        return Lesson(
            case.id,
            surface.name,
            truth.finish,
            truth.how,
            [row for row in seen if row[2]],
            [row for row in kept if row[1]],
            grained(weight),
            [row for row in expected if row[1]],
        )


def grained(weight: float) -> float:
    """The nearest multiple of 2^-20."""
    return round(weight * GRAIN) / GRAIN


def confirmed(case: Case, knowledge: Knowledge) -> list[Surface]:
    """The surfaces of a case whose truth this knowledge can name, without what it cannot."""
    known = knowledge.finishes
    return [understood(s, knowledge) for s in case.piece.surfaces if s.confirmed and s.confirmed.finish in known]


def understood(surface: Surface, knowledge: Knowledge) -> Surface:
    """The surface without answers and removers that this knowledge does not have."""
    tests = {t: a for t, a in surface.tests.items() if told_outcome(a) in [*knowledge.outcomes_of(t), NOT_DONE]}
    tried = [t for t in surface.tried if t.remover in knowledge.removers]
    removed = [r for r in surface.removed if r.remover in knowledge.removers]
    return structs.replace(surface, tests=tests, tried=tried, removed=removed)


def counts_of(lessons: Iterable[Lesson]) -> Counts:
    """All lessons added up."""
    total = empty()
    for lesson in lessons:
        add(total, lesson, 1)
    return total


def empty() -> Counts:
    """A sum to add lessons to."""
    return Counts({}, {}, {}, {}, {})


def add(total: Counts, lesson: Lesson, sign: int) -> None:
    """Put a lesson into a sum, or take it out (sign -1); what falls to zero is dropped."""
    _bump(total.cases, lesson.finish, sign)
    _bump(total.found, lesson.finish, sign * lesson.weight)
    for finish, weight in lesson.expected:
        _bump(total.expected, finish, sign * weight)
    for test, outcome, weight in lesson.seen:
        rows = total.seen.setdefault(lesson.finish, {})
        _bump(rows.setdefault(test, {}), outcome, sign * weight)
        _drop_empty(rows, test)
        _drop_empty(total.seen, lesson.finish)
    for context, weight in lesson.contexts:
        _bump(total.makers.setdefault(context, {}), lesson.finish, sign * weight)
        _drop_empty(total.makers, context)


def _bump(row: dict[str, float] | dict[str, int], key: str, by: float) -> None:
    left = row.get(key, 0) + by
    if left:
        row[key] = left  # type: ignore[assignment]
    else:
        row.pop(key, None)


def _drop_empty(rows: dict[str, dict[str, float]] | dict[str, dict[str, dict[str, float]]], key: str) -> None:
    if key in rows and not rows[key]:
        del rows[key]


def setting_of(piece: Piece, surface: Surface) -> Setting:
    """The context of a surface, for the prior."""
    try:
        years = parse_years(piece.made)
    except BadYears:
        years = None
    return Setting(years=years, region=piece.region, style=piece.style, kind=piece.kind, wood=surface.wood)


def film_shares(item: Evidence, finish: str, left: Posterior, tables: Tables) -> Iterator[tuple[str, float]]:
    """outcome -> chance that it was seen and that the film made it, not wax, grime or a slip.

    Hidden states spread a row: films harder or softer than usual show other outcomes. An
    outcome that they make commoner than the typical film does counts for less, so that
    what is learnt is the typical row.
    """
    row = tables.base_row(item.test, finish) if _by_finish(item.test, tables) else None
    if row is None:
        if _by_finish(item.test, tables):
            total = sum(item.weights.values())
            yield from ((o, item.keeps * w / total) for o, w in item.weights.items())
        return
    typical = tables.over_states(item.test, finish, row)
    masks = tables.masks(item.test)
    flat, slip = 1 / len(row), tables.belief.slip
    made = dict.fromkeys(item.weights, 0.0)
    whole = 0.0
    for name, chance in left.contamination.items():
        hides, shows = masks.get(name, (0.0, typical))
        for outcome, agrees in item.weights.items():
            film = (1 - slip) * (1 - hides) * typical[outcome]
            made[outcome] += chance * agrees * film
            whole += chance * agrees * (film + (1 - slip) * hides * shows[outcome] + slip * flat)
    yield from ((o, item.keeps * value / whole * row[o] / typical[o]) for o, value in made.items())


def _by_finish(test: str, tables: Tables) -> bool:
    """Whether a test reads the finish at all, and not only how the film came there."""
    entry = tables.knowledge.tests.get(test)
    return entry is None or bool(entry.bands) or not entry.origin_bands


def _ended(surface: Surface) -> Surface:
    """The surface with its removals as tries: the last of each remover, in the place of any patch of it."""
    ends: dict[str, Removed] = {row.remover: row for row in surface.removed if row.result != "harms"}
    tests = {t: a for t, a in surface.tests.items() if t.removeprefix(PATCH_PREFIX) not in ends}
    tried = [t for t in surface.tried if t.remover not in ends]
    tried += [Tried(remover=name, result=row.result) for name, row in ends.items()]
    return structs.replace(surface, tests=tests, tried=tried)
