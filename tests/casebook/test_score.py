"""The score: leaving a case out by patching rows equals working everything out without it."""

from __future__ import annotations

import random
import re

import pytest
from invented import case
from msgspec import structs

from oldcoat.engine.belief.prior import Shares, prior, shares_under
from oldcoat.engine.belief.tables import Tables
from oldcoat.engine.casebook.learn import Teacher, counts_of, setting_of
from oldcoat.engine.casebook.record import Case
from oldcoat.engine.casebook.reference import reference_cases
from oldcoat.engine.casebook.score import left_out, score, wilson
from oldcoat.engine.casebook.similar import faces_of, similar
from oldcoat.engine.knowledge.base import Knowledge

FINISHES = ("shellac", "waterborne", "nitrocellulose-lacquer", "wax")


def some(knowledge: Knowledge, count: int, seed: int = 1) -> list[Case]:
    """Invented cases with answers drawn at random."""
    rng = random.Random(seed)
    asked = ["alcohol-drop", "lacquer-thinner-drop", "film-build"]
    return [
        case(f"invented-{n}", rng.choice(FINISHES), tests={t: rng.choice(knowledge.outcomes_of(t)) for t in asked})
        for n in range(count)
    ]


def test_leaving_out_equals_never_having_had(knowledge: Knowledge) -> None:
    """Counts are exactly those of the others alone, and so are the tables, given how far the whole casebook trusts each test."""
    cases, teacher = some(knowledge, 30), Teacher(Tables(knowledge))
    lessons = [teacher.lessons(c) for c in cases]
    total = counts_of(x for rows in lessons for x in rows)
    full = Tables(knowledge, total)
    for out in range(0, 30, 7):
        rest = counts_of(x for index, rows in enumerate(lessons) if index != out for x in rows)
        left, afresh = left_out(full, total, lessons[out]), Tables(knowledge, rest)
        assert left.counts == rest
        for test in ("alcohol-drop", "lacquer-thinner-drop", "film-build", "scraper"):
            afresh._trusts[test] = full.trust(test)
            assert left.likelihood(test) == afresh.likelihood(test)
    assert full.counts == total == counts_of(x for rows in lessons for x in rows)


def test_the_prior_without_one_case(knowledge: Knowledge) -> None:
    """With the case left out the prior is nearly that of the others alone, and much nearer to it than to that of all."""
    cases, teacher = some(knowledge, 30), Teacher(Tables(knowledge))
    lessons = [teacher.lessons(c) for c in cases]
    total = counts_of(x for rows in lessons for x in rows)
    setting = setting_of(cases[0].piece, cases[0].piece.surfaces[0])
    truth = lessons[0][0].finish
    rest = counts_of(x for rows in lessons[1:] for x in rows)
    left = left_out(Tables(knowledge, total), total, lessons[0]).counts
    all_in = shares_under(knowledge, total)
    near, alone, whole = (
        sum(prior(setting, knowledge, shares).joint[truth])
        for shares in (Shares(knowledge, left, all_in), shares_under(knowledge, rest), all_in)
    )
    assert abs(near - alone) < 0.1 * abs(whole - alone)


def test_scores_of_a_single_case_are_the_books(knowledge: Knowledge) -> None:
    """With nothing left to learn from, casebook and book alone score the same; one case is too few to tell."""
    done = score([case("invented")], Tables(knowledge))
    assert done.casebook
    assert done.casebook == done.book
    assert not done.casebook.tells
    assert done.casebook.right in (0.0, 1.0)


def test_marks_are_proper(knowledge: Knowledge) -> None:
    """Counts add up over finishes and bins; the first is among the first two; Brier and interval in bounds."""
    done = score(some(knowledge, 60), Tables(knowledge))
    marks = done.casebook
    assert marks
    assert sum(row.marks.n for row in done.finishes) == marks.n == sum(b.n for b in done.calibration) == 60
    assert sum(round(row.marks.right * row.marks.n) for row in done.finishes) == round(marks.right * 60)
    assert marks.right <= marks.first_two
    assert 0 <= marks.brier <= 2
    assert marks.right_range[0] <= marks.right <= marks.right_range[1]
    assert {row.test for row in done.tests} == {"alcohol-drop", "lacquer-thinner-drop", "film-build"}


def test_wilson_against_a_published_value() -> None:
    """81 of 263: 0.255 to 0.366 (R. G. Newcombe, Statistics in Medicine 17, 1998, table I, method 3)."""
    assert wilson(81, 263) == pytest.approx((0.2553, 0.3662), abs=5e-4)
    assert wilson(0, 20)[0] == 0.0
    assert wilson(0, 20)[1] == pytest.approx(0.1611, abs=5e-4)


def test_reference_cases_can_be_scored(knowledge: Knowledge) -> None:
    """Every shipped reference case with a truth is scored."""
    cases = reference_cases()
    truths = sum(s.confirmed is not None for c in cases for s in c.piece.surfaces)
    done = score(cases, Tables(knowledge))
    assert done.casebook
    assert done.casebook.n == truths > 0


def test_the_nearest_case_comes_first(knowledge: Knowledge) -> None:
    """More agreeing answers win, then wood and years; one that agrees in nothing is not shown."""
    asked = case("mine", None).piece
    rows = [
        case("agrees", "shellac"),
        case("half", "waterborne", tests={"alcohol-drop": "dissolves-fast", "film-build": "thick-filled"}),
        case("other-wood", "shellac", wood="oak"),
        case("never", "epoxy", tests={"alcohol-drop": "no-effect"}),
        case("unconfirmed", None),
    ]
    found = similar(asked, asked.surfaces[0], [face for row in rows for face in faces_of(row)])
    assert [row.case for row in found] == ["agrees", "other-wood", "half"]
    assert [row.score for row in found] == [4, 3, 2]


def test_a_period_is_years_to_the_nearest_case_too(knowledge: Knowledge) -> None:
    """ "late Victorian" and 1890 overlap, so a point is given; without the names of periods it is not known."""
    asked = structs.replace(case("mine", None).piece, made=1890)
    told = case("told", "shellac")
    faces = faces_of(structs.replace(told, piece=structs.replace(told.piece, made="late Victorian")))
    alike = similar(asked, asked.surfaces[0], faces, knowledge.vocabulary.periods)
    assert alike[0].same_years
    unread = similar(asked, asked.surfaces[0], faces)
    assert (alike[0].score, unread[0].same_years) == (unread[0].score + 1, False)


def test_the_curve_is_drawn_where_the_numbers_are(knowledge: Knowledge) -> None:
    """One mark a bin, and the diagonal; equal widths, so that it lines up on a terminal."""
    from oldcoat.shell.tell.score import curve

    done = score(some(knowledge, 60), Tables(knowledge))
    lines = curve(done.calibration)
    drawn = "".join(line[6:] for line in lines[:11])
    assert 1 <= len(re.findall("[o+]", drawn)) <= len(done.calibration)
    assert len({len(line) for line in lines[:11]}) == 1
