"""What one confirmed surface teaches: weighted counts, traceable to the case.

For each answer, try and removal the lesson holds how likely each outcome is to have
come from the film itself, times how well the truth is known (belief.yaml, `learn`):

    w(o) = learn x keeps x share of o that the film makes, given truth and all answers

An answer that wax or grime made, an answer that was not sure, a result told in plain
words ("works") and a finish known only by opinion all count for less than one. So does
a case whose own answers hardly fit what it is said to be: perhaps the label is wrong.
The contexts of the prior share the case in the same way: P(context | finish, origin).

Weights are multiples of 2^-20, so sums of them are exact in any order and a case can be
taken out again without a trace.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import log
from typing import Any, cast

from msgspec import Struct, structs

from ..belief.counts import Counts
from ..belief.evidence import Evidence, evidence_of
from ..belief.posterior import Model, Posterior
from ..belief.prior import Candidates, Prior, Setting, candidates, prior, responsible, setting_for, shares_under
from ..belief.tables import ORIGINS, Row, Tables
from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..knowledge.entries import Belief
from ..piece.form import NOT_DONE, Confirmed, Known, Piece, Removed, Surface, Tried, told_outcome
from ..piece.years import BadYears, Periods, parse_years
from ..removal.clock import Clock
from ..removal.film import Told
from .record import Case

GRAIN = 2.0**20
ENDED = ("works", "lifts")  # only these tell what the whole removal took
MOST_OFF = log(8)  # a removal told to take eight times the book's hours or more is a slip or another job
LEAST_BELIEF = 0.2
LEAST_PART = 0.02  # a context to which a case belongs by less learns nothing from it


class Lesson(Struct, frozen=True, array_like=True):
    """One confirmed surface: where it is from and what it adds.

    seen: (test, outcome, weight); contexts: (context id, weight) of makers and owners;
    weight: how much it counts; expected: (finish, weight that the book expected).
    origins: (origin, weight by what the tests showed, weight by the book without them).
    effort: (remover, coats or hours, weight, weight x ln(told / by the book)).
    """

    case: str
    surface: str
    finish: str
    how: str
    seen: list[tuple[str, str, float]]
    contexts: list[tuple[str, float]]
    weight: float
    expected: list[tuple[str, float]]
    origins: list[tuple[str, float, float]] = []
    effort: list[tuple[str, str, float, float]] = []


class Teacher:
    """Makes lessons under one knowledge; priors of settings that repeat are worked out once."""

    def __init__(self, tables: Tables) -> None:
        self.tables = tables
        self._shares = shares_under(tables.knowledge)
        self._priors: dict[Setting, Prior] = {}
        self._candidates: dict[Setting, Candidates] = {}
        self._clock = Clock(tables)
        self._lines: dict[tuple[str, str], tuple[Row | None, Row]] = {}

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
        setting = setting_of(case.piece, surface, self.tables.knowledge.vocabulary.periods)
        start = self.prior(setting)
        model = Model(self.tables, start, Known(finish=truth.finish, how="laboratory"))
        evidence = evidence_of(surface, self.tables.knowledge)
        left = model.posterior(evidence)
        weight = self.tables.belief.learn[truth.how] * believable(left, truth, self.tables.belief)
        seen = [
            (item.test, outcome, grained(weight * share))
            for item in (evidence_of(_ended(surface), self.tables.knowledge) if surface.removed else evidence)
            for outcome, share in self._film_shares(item, truth.finish, left)
        ]
        contexts = responsible(self._rows(setting), truth.finish, left.origins["original"])
        kept = [(name, grained(weight * share)) for name, share in contexts if share >= LEAST_PART]
        expected = [(name, grained(weight * sum(row))) for name, row in start.joint.items()]
        if surface.hidden:  # it says nothing of what makers put on the faces that show, nor of which come to a bench
            kept, expected = [], [(truth.finish, grained(weight))]
        return Lesson(
            case.id,
            surface.name,
            truth.finish,
            truth.how,
            [row for row in seen if row[2]],
            kept,
            grained(weight),
            [row for row in expected if row[1]],
            _origins(model, truth.finish, left, weight),
            [row for end in _ends(surface) for row in self._effort(end, case.piece, surface, weight)],
        )

    def _film_shares(self, item: Evidence, finish: str, left: Posterior) -> Iterator[tuple[str, float]]:
        """outcome -> chance that it was seen and that the film made it, not wax, grime or a slip.

        Hidden states spread a row: films harder or softer than usual show other outcomes. An
        outcome that they make commoner than the typical film does counts for less, so that
        what is learnt is the typical row.
        """
        if not _by_finish(item.test, self.tables):
            return
        row, typical = self._typical(item.test, finish)
        if row is None:
            total = sum(item.weights.values())
            yield from ((o, item.keeps * w / total) for o, w in item.weights.items())
            return
        masks = self.tables.masks(item.test)
        flat, slip = 1 / len(row), self.tables.belief.slip
        made = dict.fromkeys(item.weights, 0.0)
        for name, chance in left.contamination.items():
            hides, shows = masks.get(name, (0.0, typical))
            film = {o: agrees * (1 - slip) * (1 - hides) * typical[o] for o, agrees in item.weights.items()}
            rest = sum(a * ((1 - slip) * hides * shows[o] + slip * flat) for o, a in item.weights.items())
            whole = sum(film.values()) + rest
            for outcome, part in film.items():
                made[outcome] += chance * part / whole  # `chance` knows of this answer already
        yield from ((o, item.keeps * value * row[o] / typical[o]) for o, value in made.items())

    def _typical(self, test: str, finish: str) -> tuple[Row | None, Row]:
        """The row of a typical film, and the same over the states that such films are in."""
        key = (test, finish)
        if key not in self._lines:
            row = self.tables.base_row(test, finish)
            self._lines[key] = (row, self.tables.over_states(test, finish, row) if row else {})
        return self._lines[key]

    def _effort(
        self, end: Removed, piece: Piece, surface: Surface, weight: float
    ) -> Iterator[tuple[str, str, float, float]]:
        """Coats and hours of a removal that came to its end, against the middle of the book's range for this face.

        Hours on a face whose area is not told say nothing.
        """
        if end.result not in ENDED:
            return
        film = Told(surface.film_um, surface.film_coats)
        finish = cast(Confirmed, surface.confirmed).finish
        times = self._clock.times(end.remover, film, piece.room.temperature_c)[finish]
        hours = (times.hours_m2, end.hours / surface.area_m2) if end.hours and surface.area_m2 else None
        coats = (times.coats, end.coats) if end.coats else None
        for what, row in (("coats", coats), ("hours", hours)):
            if row and min(row[0]) > 0:
                ratio = log(row[1]) - (log(row[0][0]) + log(row[0][1])) / 2
                yield end.remover, what, grained(weight), grained(weight * max(-MOST_OFF, min(ratio, MOST_OFF)))


def believable(left: Posterior, truth: Confirmed, belief: Belief) -> float:
    """How far the answers of a surface let its label stand, against a label of that kind alone; at most 1.

    P(the label is right | all answers, trust in a laboratory) / that trust: a slip of the pen
    or a mixed-up sample is seen by answers that speak for another finish. It never falls
    below LEAST_BELIEF, since it may be the book that is wrong.
    """
    return max(LEAST_BELIEF, min(1.0, left.finishes[truth.finish] / belief.known["laboratory"]))


def _origins(model: Model, finish: str, left: Posterior, weight: float) -> list[tuple[str, float, float]]:
    """How the film came there by the tests, and by the book for this finish before them."""
    before = model.start[model.finishes.index(finish)]
    rows = zip(ORIGINS, before, strict=True)
    return [(o, grained(weight * left.origins[o]), grained(weight * p / sum(before))) for o, p in rows]


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
    return Counts({}, {}, {}, {}, {}, {}, {}, {})


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
    for origin, came, due in lesson.origins:
        _bump(total.came, origin, sign * came)
        _bump(total.due, origin, sign * due)
    for remover, what, weight, off in lesson.effort:
        row = total.effort.setdefault(remover, {})
        before = row.get(what, (0.0, 0.0))
        row[what] = (before[0] + sign * weight, before[1] + sign * off)
        if not row[what][0]:
            del row[what]
        _drop_empty(total.effort, remover)


def _bump(row: dict[str, float] | dict[str, int], key: str, by: float) -> None:
    left = row.get(key, 0) + by
    if left:
        row[key] = left  # type: ignore[assignment]
    else:
        row.pop(key, None)


def _drop_empty(rows: dict[str, Any], key: str) -> None:
    if key in rows and not rows[key]:
        del rows[key]


def setting_of(piece: Piece, surface: Surface, periods: Periods | None = None) -> Setting:
    """The context of a surface, for the prior; `periods` are names that may stand for years."""
    try:
        years = parse_years(piece.made, None, periods)
    except BadYears:
        years = None
    return setting_for(piece, surface, years)


def _by_finish(test: str, tables: Tables) -> bool:
    """Whether a test reads the finish at all, and not only how the film came there."""
    entry = tables.knowledge.tests.get(test)
    return entry is None or bool(entry.bands) or not entry.origin_bands


def _ended(surface: Surface) -> Surface:
    """The surface with its removals as tries: the last of each remover, in the place of any patch of it."""
    ends = {row.remover: row.result for row in surface.removed if row.result not in (None, "harms")}
    tests = {t: a for t, a in surface.tests.items() if t.removeprefix(PATCH_PREFIX) not in ends}
    tried = [t for t in surface.tried if t.remover not in ends]
    tried += [Tried(remover=name, result=result) for name, result in ends.items() if result]
    return structs.replace(surface, tests=tests, tried=tried)


def _ends(surface: Surface) -> list[Removed]:
    """The last word on each remover."""
    return list({row.remover: row for row in surface.removed}.values())
