"""How good the guesses are: each case left out in turn, guessed from all the others.

Scored by proper scores (log loss in nats, Brier over all finishes) beside the plain
counts, each for the casebook and for the book alone, so that the gain is seen. A case
is left out whole: faces of one piece are not independent. What is known of the finish
from outside is not used, as it would give the answer away.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import log, sqrt

from msgspec import Struct

from ..belief.counts import Counts
from ..belief.evidence import evidence_of
from ..belief.posterior import Model
from ..belief.prior import Shares, prior, shares_under
from ..belief.tables import Tables
from ..belief.weigh import weigh
from ..piece.form import Surface
from .learn import Lesson, Teacher, add, confirmed, counts_of, setting_of
from .record import Case

Progress = Callable[[int, int], None]
BINS = 10
Z95 = 1.96  # two-sided 95 per cent of a normal
TELLS = 0.1  # half the width of an interval that is narrow enough to say anything
FEW = 10  # fewer than these in one line of a table say nothing by themselves


class Judged(Struct, frozen=True, kw_only=True):
    """One surface guessed from all other cases.

    chances: finish -> probability; book: the same from the book alone; gains: test ->
    decibans that the answer, given all others, moved towards the truth; turned: test ->
    +1 if only with it the truth came first, -1 if only without it.
    """

    case: str
    surface: str
    truth: str
    how: str
    chances: dict[str, float]
    book: dict[str, float]
    gains: dict[str, float]
    turned: dict[str, int]


class Marks(Struct, frozen=True, kw_only=True):
    """Scores over some surfaces; shares are 0 to 1, `right_range` is Wilson's 95 per cent interval of `right`.

    log_loss: mean of -ln P(truth), nats. brier: mean sum of squares over all finishes, 0 to 2
    (G. W. Brier, Mon. Weather Rev. 78, 1950). confident_wrong: share that was wrong with P above 0.8.
    """

    n: int
    right: float
    right_range: tuple[float, float]
    first_two: float
    log_loss: float
    brier: float
    confident_wrong: float

    @property
    def tells(self) -> bool:
        """Whether there are enough cases to say how often the guess is right."""
        return (self.right_range[1] - self.right_range[0]) / 2 <= TELLS


class Bin(Struct, frozen=True, kw_only=True):
    """Guesses whose first was given a chance between low and high: what was said, what came true."""

    low: float
    high: float
    n: int
    said: float
    was: float
    was_range: tuple[float, float]


class ByFinish(Struct, frozen=True, kw_only=True):
    """How one finish fares; taken_for: what it was wrongly named, most often first."""

    finish: str
    marks: Marks
    taken_for: dict[str, int]


class Earned(Struct, frozen=True, kw_only=True):
    """What one test brought: mean decibans towards the truth given all other answers, and a minute of it."""

    test: str
    n: int
    decibans: float
    per_minute: float | None
    turned_right: int
    turned_wrong: int


class Score(Struct, frozen=True, kw_only=True):
    """The whole score. calibration_error: mean distance of said from was, weighted by n."""

    cases: int
    casebook: Marks | None
    book: Marks | None
    calibration: list[Bin]
    calibration_error: float
    finishes: list[ByFinish]
    tests: list[Earned]
    how: dict[str, int]


def score(cases: Sequence[Case], tables: Tables, progress: Progress | None = None) -> Score:
    """The score of these cases under the book in `tables` (without counts)."""
    judged = list(judge(cases, tables, progress))
    finishes = sorted({j.truth for j in judged})
    bins = _bins(judged)
    return Score(
        cases=len({j.case for j in judged}),
        casebook=_marks([(j.chances, j.truth) for j in judged]),
        book=_marks([(j.book, j.truth) for j in judged]),
        calibration=bins,
        calibration_error=sum(b.n * abs(b.said - b.was) for b in bins) / max(len(judged), 1),
        finishes=[_by_finish(f, [j for j in judged if j.truth == f]) for f in finishes],
        tests=_earned(judged, tables),
        how={how: sum(j.how == how for j in judged) for how in sorted({j.how for j in judged})},
    )


def judge(cases: Sequence[Case], tables: Tables, progress: Progress | None = None) -> Iterable[Judged]:
    """Each confirmed surface guessed from all cases but its own."""
    teacher = Teacher(tables)
    lessons = [teacher.lessons(case) for case in cases]
    total = counts_of(lesson for rows in lessons for lesson in rows)
    full = Tables(tables.knowledge, total, tables.power)
    shares = shares_under(tables.knowledge, total)
    for number, (case, rows) in enumerate(zip(cases, lessons, strict=True), 1):
        if rows:
            left = left_out(full, total, rows)
            without = Shares(tables.knowledge, left.counts, shares)
            for surface in confirmed(case, tables.knowledge):
                yield _judged(case, surface, left, without, teacher)
        if progress:
            progress(number, len(cases))


def left_out(full: Tables, total: Counts, lessons: Sequence[Lesson]) -> Tables:
    """The tables as they would be without these lessons; only the rows that they touch are new."""
    finishes = {lesson.finish for lesson in lessons}
    contexts = {name for lesson in lessons for name, _ in lesson.contexts}
    rest = Counts(
        {f: {t: dict(o) for t, o in row.items()} if f in finishes else row for f, row in total.seen.items()},
        {c: dict(row) if c in contexts else row for c, row in total.makers.items()},
        dict(total.cases),
        dict(total.found),
        dict(total.expected),
        dict(total.came),
        dict(total.due),
        {remover: dict(row) for remover, row in total.effort.items()},
    )
    touched: dict[str, set[str]] = {}
    for lesson in lessons:
        add(rest, lesson, -1)
        for test, _, _ in lesson.seen:
            touched.setdefault(test, set()).add(lesson.finish)
    return full.without(rest, touched)


def wilson(hits: int, n: int) -> tuple[float, float]:
    """95 per cent interval of a share (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927)."""
    if n == 0:
        return 0.0, 1.0
    share, z2 = hits / n, Z95 * Z95
    middle = (share + z2 / (2 * n)) / (1 + z2 / n)
    half = Z95 * sqrt(share * (1 - share) / n + z2 / (4 * n * n)) / (1 + z2 / n)
    return max(0.0, middle - half), min(1.0, middle + half)


def _judged(case: Case, surface: Surface, left: Tables, shares: Shares, teacher: Teacher) -> Judged:
    knowledge = left.knowledge
    setting = setting_of(case.piece, surface, knowledge.vocabulary.periods)
    evidence = evidence_of(surface, knowledge)
    model = Model(left, prior(setting, knowledge, shares))
    book = Model(teacher.tables, teacher.prior(setting))
    truth = surface.confirmed
    assert truth is not None
    at = left.finishes.index(truth.finish)
    weighed = weigh(model, evidence)
    chances = model.posterior(evidence).finishes
    ok = _first(list(chances.values())) == at
    turned = {e.test: int(ok) - int(_first(rest[:-1]) == at) for e, rest in zip(evidence, weighed.without, strict=True)}
    return Judged(
        case=case.id,
        surface=surface.name,
        truth=truth.finish,
        how=truth.how,
        chances=chances,
        book=book.posterior(evidence).finishes,
        gains={e.test: pulls[truth.finish] for e, pulls in zip(evidence, weighed.decibans, strict=True)},
        turned=turned,
    )


def _first(values: Sequence[float]) -> int:
    return max(range(len(values)), key=lambda i: (values[i], -i))


def _ranked(chances: dict[str, float]) -> list[str]:
    return sorted(chances, key=lambda f: (-chances[f], f))


def _marks(rows: Sequence[tuple[dict[str, float], str]]) -> Marks | None:
    if not rows:
        return None
    n = len(rows)
    orders = [_ranked(chances) for chances, _ in rows]
    right = sum(order[0] == truth for order, (_, truth) in zip(orders, rows, strict=True))
    return Marks(
        n=n,
        right=right / n,
        right_range=wilson(right, n),
        first_two=sum(truth in order[:2] for order, (_, truth) in zip(orders, rows, strict=True)) / n,
        log_loss=sum(-log(chances[truth]) for chances, truth in rows) / n,
        brier=sum((p - (f == truth)) ** 2 for chances, truth in rows for f, p in chances.items()) / n,
        confident_wrong=sum(c[o[0]] > 0.8 and o[0] != t for o, (c, t) in zip(orders, rows, strict=True)) / n,
    )


def _bins(judged: Sequence[Judged]) -> list[Bin]:
    groups: dict[int, list[tuple[float, bool]]] = {}
    for j in judged:
        first = _ranked(j.chances)[0]
        said = j.chances[first]
        groups.setdefault(min(int(said * BINS), BINS - 1), []).append((said, first == j.truth))
    found = []
    for index, rows in sorted(groups.items()):
        n, hits = len(rows), sum(ok for _, ok in rows)
        said = sum(p for p, _ in rows) / n
        low, high = index / BINS, (index + 1) / BINS
        found.append(Bin(low=low, high=high, n=n, said=said, was=hits / n, was_range=wilson(hits, n)))
    return found


def _by_finish(finish: str, judged: Sequence[Judged]) -> ByFinish:
    marks = _marks([(j.chances, j.truth) for j in judged])
    assert marks is not None
    named = [name for name in (_ranked(j.chances)[0] for j in judged) if name != finish]
    taken = {name: named.count(name) for name in sorted(set(named), key=lambda f: (-named.count(f), f))}
    return ByFinish(finish=finish, marks=marks, taken_for=taken)


def _earned(judged: Sequence[Judged], tables: Tables) -> list[Earned]:
    found = []
    for test in sorted({test for j in judged for test in j.gains}):
        rows = [j for j in judged if test in j.gains]
        entry = tables.knowledge.tests.get(test)
        gain = sum(j.gains[test] for j in rows) / len(rows)
        found.append(
            Earned(
                test=test,
                n=len(rows),
                decibans=gain,
                per_minute=gain / entry.minutes if entry else None,
                turned_right=sum(j.turned[test] > 0 for j in rows),
                turned_wrong=sum(j.turned[test] < 0 for j in rows),
            )
        )
    return sorted(found, key=lambda e: (-e.decibans, e.test))
