"""What the score makes of guesses, by hand on five invented ones; what cases drawn from the book teach."""

from __future__ import annotations

from math import log
from random import Random

import pytest
from invented import REMOVED, case
from msgspec.structs import replace

import oldcoat.engine.casebook.score as scoring
from oldcoat.engine.belief.prior import Setting, prior, shares_under
from oldcoat.engine.belief.tables import Tables
from oldcoat.engine.casebook.learn import Teacher, counts_of
from oldcoat.engine.casebook.score import Judged, judge, score
from oldcoat.engine.checking.imagined import Imagined
from oldcoat.engine.knowledge.base import Knowledge
from oldcoat.engine.piece.form import Removed, Tried
from oldcoat.engine.removal.clock import Clock
from oldcoat.engine.removal.film import Told


def guess(
    name: str, truth: str, chances: tuple[float, float, float], how: str = "laboratory", **earned: tuple[float, int]
) -> Judged:
    """An invented guess: chances of shellac, wax, epoxy; test -> decibans and turn."""
    named = dict(zip(("shellac", "wax", "epoxy"), chances, strict=True))
    gains = {test.replace("_", "-"): row for test, row in earned.items()}
    return Judged(
        case=name,
        surface="top",
        truth=truth,
        how=how,
        chances=named,
        book={"shellac": 0.25, "wax": 0.25, "epoxy": 0.5},
        gains={test: db for test, (db, _) in gains.items()},
        turned={test: turn for test, (_, turn) in gains.items()},
    )


GUESSES = [
    guess("one", "shellac", (0.9, 0.07, 0.03), alcohol_drop=(6.0, 1)),
    guess("one", "wax", (0.85, 0.1, 0.05), alcohol_drop=(-2.0, -1)),
    guess("two", "wax", (0.3, 0.5, 0.2), film_build=(4.0, 0)),
    guess("three", "epoxy", (0.06, 0.9, 0.04), "opinion", **{"stripper_patch/acetone": (1.0, 0)}),
    guess("four", "shellac", (1.0, 0.0, 0.0), "opinion", alcohol_drop=(5.0, 1)),
]


@pytest.fixture
def done(knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> scoring.Score:
    """The score of the five."""
    monkeypatch.setattr(scoring, "judge", lambda *_: iter(GUESSES))
    return score([], Tables(knowledge))


def test_marks_by_hand(done: scoring.Score) -> None:
    """Three of five right, four among the first two, two wrong above 0.8; log loss and Brier (1950) by their formulas."""
    marks = done.casebook
    assert marks
    assert (marks.n, marks.right, marks.first_two, marks.confident_wrong) == (5, 0.6, 0.8, 0.4)
    assert marks.log_loss == pytest.approx(-(log(0.9) + log(0.1) + log(0.5) + log(0.04)) / 5)
    assert marks.brier == pytest.approx((0.0158 + 1.535 + 0.38 + 1.7352) / 5)
    assert done.book
    assert done.book.right == 0.2
    assert (done.cases, done.how) == (4, {"laboratory": 3, "opinion": 2})


def test_calibration_by_hand(done: scoring.Score) -> None:
    """Tenths of what was said, a certain guess in the last; the error is the mean distance by guesses: 2.15 in 5."""
    rows = [(b.low, b.high, b.n, b.was) for b in done.calibration]
    assert rows == [(0.5, 0.6, 1, 1.0), (0.8, 0.9, 1, 0.0), (0.9, 1.0, 3, 2 / 3)]
    assert [b.said for b in done.calibration] == pytest.approx([0.5, 0.85, 2.8 / 3])
    assert done.calibration_error == pytest.approx((0.5 + 0.85 + 3 * (2.8 / 3 - 2 / 3)) / 5)


def test_one_guess_and_none(knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """A right guess of nine in ten is one in ten off; without a guess there is nothing to mark."""
    monkeypatch.setattr(scoring, "judge", lambda *_: iter(GUESSES[:1]))
    assert score([], Tables(knowledge)).calibration_error == pytest.approx(0.1)
    monkeypatch.setattr(scoring, "judge", lambda *_: iter(()))
    none = score([], Tables(knowledge))
    assert (none.cases, none.casebook, none.book, none.calibration_error, none.tests) == (0, None, None, 0, [])


def test_progress_is_told_by_the_case(knowledge: Knowledge) -> None:
    """Each case once, those without a truth too."""
    told: list[tuple[int, int]] = []
    score([case("a"), case("b", None), case("c")], Tables(knowledge), lambda n, of: told.append((n, of)))
    assert told == [(1, 3), (2, 3), (3, 3)]


def test_what_was_taken_for_what_by_hand(done: scoring.Score) -> None:
    """By finish, with what it was named instead."""
    rows = {row.finish: (row.marks.n, row.marks.right, row.taken_for) for row in done.finishes}
    assert rows == {"epoxy": (1, 0.0, {"wax": 1}), "shellac": (2, 1.0, {}), "wax": (2, 0.5, {"shellac": 1})}


def test_what_tests_earned_by_hand(done: scoring.Score, knowledge: Knowledge) -> None:
    """Mean decibans, the best first, a minute of the test, its wait in it; a patch has no minutes of its own."""
    drop = knowledge.tests["alcohol-drop"]
    rows = [(e.test, e.n, e.decibans, e.turned_right, e.turned_wrong) for e in done.tests]
    assert rows == [
        ("film-build", 1, 4.0, 0, 0),
        ("alcohol-drop", 3, 3.0, 2, 1),
        ("stripper-patch/acetone", 1, 1.0, 0, 0),
    ]
    assert done.tests[1].per_minute == pytest.approx(3 / drop.minutes)
    assert done.tests[2].per_minute is None


def test_a_turn_is_for_the_truth_or_against_it(knowledge: Knowledge) -> None:
    """An answer turned right only where the truth came first with it, wrong only where it did not."""
    answers = [
        {"alcohol-drop": a, "lacquer-thinner-drop": b, "film-build": c}
        for a, b in (("dissolves-fast", "no-effect"), ("no-effect", "dissolves"), ("no-effect", "no-effect"))
        for c in ("thin-open-pore", "thick-filled")
    ]
    truths = ("shellac", "nitrocellulose-lacquer", "wax")
    cases = [case(f"{t}-{n}", t, tests=dict(row)) for t in truths for n, row in enumerate(answers)]
    turns = set()
    for judged in judge(cases, Tables(knowledge)):
        first = max(judged.chances, key=lambda f: judged.chances[f]) == judged.truth
        turns |= set(judged.turned.values())
        assert set(judged.turned.values()) <= ({0, 1} if first else {0, -1})
    assert turns == {-1, 0, 1}


def test_cases_drawn_from_the_book_teach_the_book(knowledge: Knowledge) -> None:
    """Shellac surfaces with wax, slips and states as common as the book has them: what is learnt of the film is its own line."""
    tables, rng = Tables(knowledge), Random(3)
    tests = ("alcohol-drop", "lacquer-thinner-drop", "acetone-rub", "water-drop")
    surfaces = [Imagined("shellac", tables, rng) for _ in range(1000)]
    rows = [case(f"c{n}", "shellac", tests={t: s.show(t) for t in tests}) for n, s in enumerate(surfaces)]
    teacher = Teacher(tables)
    seen = counts_of(lesson for row in rows for lesson in teacher.lessons(row)).seen["shellac"]
    for test in tests:
        total, line = sum(seen[test].values()), tables.base_row(test, "shellac")
        assert line
        off = {o: (seen[test][o] / total - p) / (p * (1 - p) / total) ** 0.5 for o, p in line.items()}
        assert max(map(abs, off.values())) < 2.8, (test, off)


def test_a_removal_takes_the_place_of_tries_of_its_remover(knowledge: Knowledge) -> None:
    """And of its patch; tries of other removers and other answers teach beside it."""
    teacher = Teacher(Tables(knowledge))
    one = case(
        "c",
        tests={"alcohol-drop": "dissolves-fast", "stripper-patch/denatured-alcohol": "softens"},
        tried=[Tried(remover="denatured-alcohol", result="no-effect"), Tried(remover="acetone", result="softens")],
        removed=[REMOVED],
    )
    (lesson,) = teacher.lessons(one)
    by_test = {test: [o for t, o, _ in lesson.seen if t == test] for test, _, _ in lesson.seen}
    assert by_test.keys() == {"alcohol-drop", "stripper-patch/denatured-alcohol", "stripper-patch/acetone"}
    patch = {o: w for t, o, w in lesson.seen if t == "stripper-patch/denatured-alcohol"}
    assert max(patch, key=lambda o: patch[o]) == "dissolves"
    assert len(patch) == len(by_test["stripper-patch/denatured-alcohol"]) == 4


def test_a_context_needs_a_fiftieth_of_a_case(knowledge: Knowledge) -> None:
    """Contexts to which a case hardly belongs learn nothing from it; the rest share no more than its weight."""
    (lesson,) = Teacher(Tables(knowledge)).lessons(case("c"))
    parts = [weight for _, weight in lesson.contexts]
    assert len(parts) > 1
    assert min(parts) >= 0.02 * lesson.weight - 1e-6
    assert 0.8 * lesson.weight < sum(parts) <= lesson.weight + 1e-5


def test_a_removal_of_a_thousand_hours_counts_as_eight_times_the_book(knowledge: Knowledge) -> None:
    """A slip or another job: no farther off than a factor of eight, either way."""
    for hours, coats, off in ((1e5, 1e4, log(8)), (1e-5, 1e-4, -log(8))):
        end = Removed(remover="denatured-alcohol", result="works", hours=hours, coats=coats)
        (lesson,) = Teacher(Tables(knowledge)).lessons(case("c", area_m2=1.0, removed=[end]))
        assert [what for _, what, _, _ in lesson.effort] == ["coats", "hours"]
        for _, _, weight, times in lesson.effort:
            assert weight == lesson.weight
            assert times == pytest.approx(weight * off, abs=1e-5)


def test_a_removal_as_the_book_says_counts_too(knowledge: Knowledge) -> None:
    """Coats in the middle of the book's range weigh a case and move nothing."""
    book = Clock(Tables(knowledge)).times("denatured-alcohol", Told(), 20.0)["shellac"]
    end = Removed(remover="denatured-alcohol", result="works", coats=(book.coats[0] * book.coats[1]) ** 0.5)
    (lesson,) = Teacher(Tables(knowledge)).lessons(case("c", removed=[end]))
    assert counts_of([lesson]).effort == {"denatured-alcohol": {"coats": (lesson.weight, 0.0)}}


def test_where_the_book_is_silent_an_answer_is_shared(knowledge: Knowledge) -> None:
    """Without a line nothing is known of wax or slips: an answer that stands for three outcomes is a third of each."""
    silent = replace(knowledge.tests["film-build"], bands=[])
    book = replace(knowledge, tests={**knowledge.tests, "film-build": silent})
    one = case("c", hidden=True, tests={"hidden-face": "same-as-show"})
    (lesson,) = Teacher(Tables(book)).lessons(one)
    parts = [weight for test, _, weight in lesson.seen if test == "film-build"]
    assert parts == pytest.approx([lesson.weight / 3] * 3, abs=1e-5)


def test_a_hidden_face_says_nothing_of_those_that_show(knowledge: Knowledge) -> None:
    """Twenty bare insides leave the chance of bare wood on a show face, and on another inside, nearly as it was."""
    teacher = Teacher(Tables(knowledge))
    inside = [case(f"c{n}", "bare-wood", hidden=True, tests={"hidden-face": "unfinished"}) for n in range(20)]
    counts = counts_of(lesson for row in inside for lesson in teacher.lessons(row))
    assert counts.cases == {"bare-wood": 20}
    assert counts.makers == {}
    for hidden in (False, True):
        setting = Setting(years=(1930, 1945), region="north-america", kind="table", now=2026, hidden=hidden)
        before = sum(prior(setting, knowledge).joint["bare-wood"])
        after = sum(prior(setting, knowledge, shares_under(knowledge, counts)).joint["bare-wood"])
        assert after == pytest.approx(before, rel=0.1)
