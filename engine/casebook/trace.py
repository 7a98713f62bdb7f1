"""Every number that the casebook changed, traced to the cases that changed it.

"The book says usually; 14 of your 15 cases say so; now almost always." A word for a
learnt chance is found on the scale of the row that the book wrote, so that a row no
case has touched reads back as it was written.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import exp, log

from msgspec import Struct

from ..belief.counts import EVEN, LIGHTER, Counts, departure
from ..belief.prior import came, demanded, shares_under
from ..belief.tables import ORIGINS, Row, Tables, scaled
from ..examine import Examination
from ..knowledge.base import PATCH_PREFIX, Knowledge
from ..knowledge.entries import Context
from ..removal.effort import factor
from ..report.explain import Because
from ..words import listed
from .learn import Lesson
from .similar import Likeness, tally

SHOWN_CASES = 6
LEAST_SHARE = 0.05  # a case that belongs to a context by less than this is not counted as one of its cases
TELLING = 0.2  # how far the share of lines that depart must lie from one half to be told
DOUBTED = 0.5  # a case that counts for less than half of its kind is remarked on
SUBSTANTIAL_DB = 5.0  # weight of evidence that is worth a remark (H. Jeffreys, Theory of Probability, 1961)


class Seen(Struct, frozen=True, kw_only=True):
    """What one case said, and with what weight."""

    case: str
    surface: str
    outcome: str
    weight: float


class Trace(Struct, frozen=True, kw_only=True):
    """One changed row: a test on a finish, or the share of a finish in a context.

    book is None where the book says nothing. decibans: weight of evidence that the
    world is not as the book says (Bayes factor of the counts, book fixed against book
    learnt from).
    """

    about: str
    finish: str
    book: Row | None
    now: Row
    weight: float
    decibans: float
    cases: list[Seen]
    text: str


def trace_row(finish: str, test: str, tables: Tables, lessons: Iterable[Lesson]) -> Trace | None:
    """What the cases made of a finish in a test; None if no case touches it."""
    seen = _votes(finish, test, lessons)
    now = tables.base_row(test, finish)
    if not seen or now is None:
        return None
    book = tables.book_row(test, finish)
    counts = tables.counts.outcomes(finish, test)
    most = max(sorted(counts), key=lambda o: counts[o])
    votes = sum(s.outcome == most for s in seen)
    knowledge = tables.knowledge
    start = f"{knowledge.test_name(test)} on {knowledge.finishes[finish].name}: "
    said = _plain(most)
    written = _written(finish, test, knowledge)
    if book is None:
        told = f"the book says nothing; {_of(votes, len(seen))} {said}; now {_word(now[most], 1, tables)}"
    else:
        scale = sum(written.values()) if written else 1.0
        first = max(sorted(book), key=lambda o: book[o])
        other = "" if first == most else f", {_word(book[first], scale, tables)} {_plain(first)}"
        told = (
            f"the book says {_word(book[most], scale, tables)} {said} ({book[most]:.0%}){other}; "
            f"{_of(votes, len(seen))} {said}; now {_word(now[most], scale, tables)}"
        )
    trust = tables.trust(test)
    standing = ""
    if book and abs(trust.departing - EVEN) >= TELLING:
        few = "most" if trust.departing > EVEN else "few"
        standing = f" By all your cases {few} of the book's lines on this test go otherwise here."
    return Trace(
        about=test,
        finish=finish,
        book=book,
        now=now,
        weight=sum(counts.values()),
        decibans=against_book(book, counts, tables.belief.book_weight) if book else 0.0,
        cases=seen,
        text=f"{start}{told} ({now[most]:.0%}).{standing}",
    )


def trace_context(context: Context, finish: str, tables: Tables, lessons: Iterable[Lesson]) -> Trace | None:
    """What the cases made of the share of a finish in one context of the prior."""
    seen = [
        Seen(case=lesson.case, surface=lesson.surface, outcome=lesson.finish, weight=weight)
        for lesson in lessons
        for name, weight in lesson.contexts
        if name == context.id and weight >= LEAST_SHARE
    ]
    if not seen:
        return None
    knowledge = tables.knowledge
    counts = tables.counts.makers.get(context.id, {})
    shares = shares_under(knowledge, tables.counts)
    book, now = shares.expected_in(context), shares.found_in(context)
    votes = sum(s.outcome == finish for s in seen)
    text = (
        f"{context.about.rstrip('.')}: the book gives {knowledge.finishes[finish].name} {book[finish]:.0%} of what comes to you; "
        f"{votes} of your {len(seen)} cases there were it; now {now[finish]:.0%}."
    )
    return Trace(
        about=context.id,
        finish=finish,
        book=book,
        now=now,
        weight=sum(counts.values()),
        decibans=against_book(book, counts, knowledge.belief.book_weight),
        cases=seen,
        text=text,
    )


def trace_demand(finish: str, tables: Tables, lessons: Iterable[Lesson]) -> Trace | None:
    """What the cases say of how often a finish comes to this workshop, whatever the context."""
    counts, knowledge = tables.counts, tables.knowledge
    found, expected = counts.found.get(finish, 0.0), counts.expected.get(finish, 0.0)
    whole = sum(counts.expected.values())
    if whole <= 0:
        return None
    seen = [
        Seen(case=row.case, surface=row.surface, outcome=finish, weight=row.weight)
        for row in lessons
        if row.finish == finish
    ]
    factor = demanded(knowledge, counts)[finish]
    text = (
        f"{knowledge.finishes[finish].name} in your workshop: the book expects {expected:.1f} among your "
        f"{sum(counts.cases.values())} confirmed surfaces, counted by how well each is known; you found {found:.1f}; "
        f"taken as {factor:.1f} times as common as in the book."
    )
    book, now = {finish: expected / whole}, {finish: factor * expected / whole}
    return Trace(about="workshop", finish=finish, book=book, now=now, weight=found, decibans=0.0, cases=seen, text=text)


def trace_origins(tables: Tables, lessons: Iterable[Lesson]) -> Trace | None:
    """What the tests on the cases say of how often films here are an owner's later ones, given the finish."""
    counts, knowledge = tables.counts, tables.knowledge
    if not counts.due:
        return None
    seen = [
        Seen(case=row.case, surface=row.surface, outcome=most[0], weight=row.weight)
        for row in lessons
        if row.origins
        for most in [max(row.origins, key=lambda o: o[1])]
    ]
    whole, factors = sum(counts.due.values()), came(knowledge, counts)
    book = {origin: counts.due.get(origin, 0.0) / whole for origin in ORIGINS}
    now = scaled({origin: book[origin] * factors[origin] for origin in ORIGINS})
    found = 1 - counts.came.get(ORIGINS[0], 0.0) / whole
    text = (
        f"later films in your workshop: the book expects {1 - book[ORIGINS[0]]:.0%} of your {len(seen)} confirmed "
        f"surfaces to carry an owner's later film; their tests say {found:.0%}; now {1 - now[ORIGINS[0]]:.0%}."
    )
    return Trace(about="origin", finish="", book=book, now=now, weight=whole, decibans=0.0, cases=seen, text=text)


def trace_effort(remover: str, tables: Tables, lessons: Iterable[Lesson]) -> Trace | None:
    """What finished removals say of the hours and coats of a remover against the book's; None without any."""
    counts, knowledge = tables.counts, tables.knowledge
    seen = [
        Seen(case=row.case, surface=row.surface, outcome=f"{exp(off / weight):.1f} times the {what}", weight=weight)
        for row in lessons
        for name, what, weight, off in row.effort
        if name == remover and weight
    ]
    if not seen:
        return None
    now = {what: factor(remover, what, counts, knowledge.belief.book_weight) for what in counts.effort[remover]}
    told = listed([f"{value:.2f} times the {what} of the book" for what, value in sorted(now.items())])
    text = f"{knowledge.removers[remover].name}: by {_removals(len({s.case for s in seen}))} now taken as {told}."
    return Trace(
        about=f"effort/{remover}",
        finish="",
        book=None,
        now=now,
        weight=sum(s.weight for s in seen),
        decibans=0.0,
        cases=seen,
        text=text,
    )


def doubted(lessons: Iterable[Lesson], knowledge: Knowledge) -> list[str]:
    """The surfaces whose answers hardly fit what they are said to be, in words."""
    found = []
    for row in lessons:
        full = knowledge.belief.learn[row.how]
        if row.weight < DOUBTED * full:
            name = knowledge.finishes[row.finish].name
            found.append(
                f"{row.case}, {row.surface}: its answers hardly fit {name}, so it counts {row.weight:.2f} "
                f"instead of {full:.2f}. Was the right surface confirmed?"
            )
    return found


def trace_case(case: str, tables: Tables, lessons: Sequence[Lesson]) -> list[Trace]:
    """Every changed row that one case has a part in."""
    rows = [(lesson.finish, test) for lesson in lessons if lesson.case == case for test, _, _ in lesson.seen]
    found = [trace_row(finish, test, tables, lessons) for finish, test in dict.fromkeys(rows)]
    removers = dict.fromkeys(name for lesson in lessons if lesson.case == case for name, *_ in lesson.effort)
    found += [trace_effort(remover, tables, lessons) for remover in removers]
    return [row for row in found if row]


def trace_examination(
    done: Examination, finishes: Sequence[str], tables: Tables, lessons: Sequence[Lesson]
) -> list[Trace]:
    """The changed rows behind the chances of `finishes` on one surface."""
    knowledge = tables.knowledge
    contexts = {c.id: c for c in (*knowledge.priors.makers, *knowledge.priors.refinish.eras)}
    found = [trace_row(f, e.test, tables, lessons) for e in done.evidence for f in finishes]
    found += [trace_demand(f, tables, lessons) for f in finishes]
    found.append(trace_origins(tables, lessons))
    found += [
        trace_context(contexts[c], f, tables, lessons)
        for c, share in done.prior.contexts
        if share >= 0.1
        for f in finishes
    ]
    return [row for row in found if row]


def trace_removals(remover: str, finishes: Sequence[str], tables: Tables, lessons: Sequence[Lesson]) -> list[Trace]:
    """What the cases made of one remover on each of `finishes`."""
    found = [trace_row(finish, f"{PATCH_PREFIX}{remover}", tables, lessons) for finish in finishes]
    found.append(trace_effort(remover, tables, lessons))
    return [row for row in found if row]


def contradictions(tables: Tables, lessons: Sequence[Lesson]) -> list[Trace]:
    """The rows of the book that this user's cases speak against, strongest first."""
    counts, weight = tables.counts, tables.belief.book_weight
    strong = []
    for finish, tests in counts.seen.items():
        for test, seen in tests.items():
            book = tables.book_row(test, finish)
            if book and against_book(book, seen, weight) >= SUBSTANTIAL_DB:
                strong.append((finish, test))
    found = [trace_row(finish, test, tables, lessons) for finish, test in strong]
    return sorted((row for row in found if row), key=lambda row: (-row.decibans, row.finish, row.about))


def against_book(book: Row, counts: Mapping[str, float], weight: float) -> float:
    """Weight of evidence, in decibans, that the chances here are not quite the book's."""
    return departure(book, counts, weight) * 10 / log(10)


def because_of(rows: Iterable[Trace]) -> list[Because]:
    """Traces as lines of an explanation, each resting on its cases."""
    return [Because(text=f"casebook: {row.text}", rests_on=[Because(text=_cases(row.cases))]) for row in rows]


def because_similar(rows: Sequence[Likeness], knowledge: Knowledge) -> list[Because]:
    """Similar cases as one line of an explanation with a line for each."""
    if not rows:
        return []
    ends = listed([f"{count} {knowledge.finishes[f].name}" for f, count in tally(rows) if f in knowledge.finishes])
    return [
        Because(
            text=f"your {len(rows)} most similar surfaces turned out: {ends}",
            rests_on=[_like(r, knowledge) for r in rows],
        )
    ]


def told_counts(counts: Counts, knowledge: Knowledge) -> str:
    """How much the casebook weighs against the book, in a sentence."""
    surfaces = sum(counts.cases.values())
    few, usual, many = (times * knowledge.belief.book_weight for times in LIGHTER)
    return (
        f"{surfaces} confirmed surfaces count; where they contradict a line of the book, about {usual:g} of one "
        f"finish, proved in a laboratory, weigh as much as the line: {few:g} where your cases show the test to go "
        f"otherwise here, {many:g} where they bear the book out."
    )


def _like(row: Likeness, knowledge: Knowledge) -> Because:
    name = knowledge.finishes[row.finish].name if row.finish in knowledge.finishes else row.finish
    also = ["same wood"] * row.same_wood + ["same years"] * row.same_years
    ended = [f"{r.remover} {r.result or 'used'}" + _effort(r.coats, r.hours) for r in row.removed]
    tail = f"; {listed(ended)}" if ended else ""
    agree = f"{len(row.same)} of {len(row.same) + len(row.other)} answers alike"
    return Because(
        text=f"{row.case}, {row.surface}: {name} ({row.how.replace('-', ' ')}){tail}. "
        f"Score {row.score}: {listed([agree, *also])}."
    )


def _effort(coats: float | None, hours: float | None) -> str:
    parts = ([f"{coats:g} coats"] if coats is not None else []) + ([f"{hours:g} h"] if hours is not None else [])
    return f" ({', '.join(parts)})" if parts else ""


def _votes(finish: str, test: str, lessons: Iterable[Lesson]) -> list[Seen]:
    """For each surface, the outcome that it speaks for most."""
    found = []
    for lesson in lessons:
        rows = [(weight, outcome) for t, outcome, weight in lesson.seen if t == test] if lesson.finish == finish else []
        if rows:
            _, outcome = max(rows)
            weight = sum(w for w, _ in rows)
            found.append(Seen(case=lesson.case, surface=lesson.surface, outcome=outcome, weight=weight))
    return found


def _written(finish: str, test: str, knowledge: Knowledge) -> dict[str, float] | None:
    """The weights that the words of the book's row stand for; None for derived removals."""
    if test.startswith(PATCH_PREFIX):
        return None
    family = knowledge.finishes[finish].family
    rows = knowledge.tests[test].bands
    named = [r for r in rows if finish in r.finishes] or [r for r in rows if family in r.finishes]
    if not named:
        return None
    bands, unlisted = knowledge.belief.bands, knowledge.belief.unlisted
    return {o: bands[named[-1].gives.get(o, unlisted)] for o in knowledge.outcomes_of(test)}


def _word(chance: float, scale: float, tables: Tables) -> str:
    """The band nearest to a chance on the scale of its row."""
    value = min(max(chance * scale, 1e-6), 1 - 1e-6)
    bands = tables.belief.bands
    return min(bands, key=lambda b: abs(log(bands[b] / (1 - bands[b])) - log(value / (1 - value)))).replace("-", " ")


def _of(votes: int, cases: int) -> str:
    return "your one case says" if cases == 1 else f"{votes} of your {cases} cases say"


def _removals(count: int) -> str:
    return "one removal of yours" if count == 1 else f"{count} of your removals"


def _plain(outcome: str) -> str:
    return f"“{outcome.replace('-', ' ')}”"


def _cases(seen: Sequence[Seen]) -> str:
    heaviest = sorted(seen, key=lambda s: (-s.weight, s.case))
    shown = [f"{s.case} ({s.outcome.replace('-', ' ')}, weight {s.weight:.2f})" for s in heaviest[:SHOWN_CASES]]
    more = len(seen) - SHOWN_CASES
    return "cases: " + ", ".join(shown) + (f" and {more} more" if more > 0 else "")
